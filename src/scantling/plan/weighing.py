"""What else could have been bought: the next best whole sets, what each demand costs, and why the rest is never chosen."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from scantling.figures import Demand, Slot
from scantling.handbook.choosing import Assembly, Search
from scantling.handbook.easing import dropped, eased_to, nearer, nearest, next_value, without
from scantling.handbook.passing import Passed, passed
from scantling.plan.make import Plan
from scantling.plan.purchase import Confirmation, Purchase

NEXT_BEST = 10
HUNDRED = 100


@dataclass(frozen=True)
class Change:
    """One slot of another set: its name, what stands there instead, and what the plan buys."""

    slot: str
    name: str
    instead: str
    bought: str


@dataclass(frozen=True)
class Runner:
    """One of the next best whole sets: its rank, its price and how much dearer it is in money, and what differs."""

    rank: int
    price: Decimal
    dearer: Decimal
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Step:
    """A demand at another value: the value, and by how much the cheapest set's price moves, in money."""

    value: Any
    moves: Decimal


@dataclass(frozen=True)
class DemandPrice:
    """What one need costs.

    `given` is what the plan gets, `asked` the amount asked for, both in the demand's own unit. `easier` is the nearest value at
    which the cheapest set is cheaper, None where nothing is cheaper even without the need; `dropped` is what dropping it
    saves; `harder` is what the cheapest other part in one place gives beyond that, None where no one part does.
    """

    demand: Demand
    asked: Any
    given: Any
    easier: Step | None
    dropped: Decimal
    harder: Step | None


@dataclass(frozen=True)
class NeverChosen:
    """An option that can be in no cheapest set, and the one reason: `fails`, `fits nothing`, `beaten` or `too dear`.

    `demand` is the label of what it misses, `by` the slug of what beats it, `dearer` by how much even the cheapest of all
    else makes it dearer than the set bought, in money.
    """

    slot: str
    name: str
    option: str
    why: str
    demand: str = ""
    by: str = ""
    dearer: Decimal = Decimal(0)

    @property
    def because(self) -> str:
        """The reason in words, the amount of money aside."""
        return {
            "fails": f"fails: {self.demand}",
            "fits nothing": f"whatever else could be bought, it fails: {self.demand}",
            "beaten": f"{self.by} costs no more and is no worse in anything that counts",
            "too dear": "even with the cheapest of all else the set is dearer",
        }[self.why]


class Weighing:
    """One plan's purchase, compiled once for all the questions."""

    def __init__(self, plan: Plan) -> None:
        self.purchase = plan.purchase
        self.demands = as_met(plan.purchase)
        self.search = Search(plan.purchase.slots, self.demands, plan.purchase.costs)

    @cached_property
    def best(self) -> Assembly:
        """The set that was bought."""
        return self.purchase.best[0]

    @cached_property
    def names(self) -> dict[str, str]:
        """What people call the slots."""
        return {slot.id: slot.name or slot.id for slot in self.purchase.slots}

    def next_best(self, count: int) -> tuple[Runner, ...]:
        """The next best whole sets in order; fewer where there are no more."""
        found = self.search.best(1 + count)
        others = [one for one in found if one.slugs != self.best.slugs][:count]
        return tuple(self._runner(rank, other) for rank, other in enumerate(others, 1))

    def _runner(self, rank: int, other: Assembly) -> Runner:
        both = zip(self.search.slots, other.options, self.best.options, strict=True)
        changes = [
            Change(slot.id, self.names[slot.id], theirs.slug, ours.slug)
            for slot, theirs, ours in both
            if theirs.slug != ours.slug
        ]
        return Runner(rank, other.price / HUNDRED, self._moves(other), tuple(changes))

    def prices(self) -> Iterator[DemandPrice]:
        """What each need with an amount costs, dearest first."""
        places = [place for place, demand in enumerate(self.demands) if demand.need and demand.bounds]
        yield from sorted(map(self._price, places), key=lambda one: (-one.dropped, one.demand.id))

    def _price(self, place: int) -> DemandPrice:
        demand, test, bound = self.demands[place], self.search.tests[place], self.best.price
        given = self.search.given(place, self.best)
        asked = test.least if test.least is not None else test.most
        harder = self._harder(place, given)
        free = dropped(self.search, place, bound)
        if free is None:
            return DemandPrice(demand, asked, given, None, Decimal(0), harder)
        both = len(demand.bounds) > 1
        near = nearest(self.search, place, bound) if both else nearer(self.search, place, free, bound)
        easier = Step(near.reached, self._moves(near.assembly)) if near is not None else None
        return DemandPrice(demand, asked, given, easier, -self._moves(free), harder)

    def _moves(self, other: Assembly) -> Decimal:
        return (other.price - self.best.price) / HUNDRED

    def _harder(self, place: int, given: Any) -> Step | None:
        """The cheapest set that does better than the one bought by another part in one place."""
        better = next_value(self.search.tests[place], given)
        other = self.search.beside(self.best, [*without(self.search, place), better], better.scope)
        return None if other is None else Step(self.search.given(place, other), self._moves(other))

    def never(self) -> Iterator[NeverChosen]:
        """Every option that can be in no cheapest set, with the reason."""
        labels = {demand.id: demand.label for demand in self.demands}
        for one in passed(self.search, self.best.rank):
            slot = self.search.slots[one.slot]
            yield _never(one, slot, self.names[slot.id], labels, self.best.rank)


def _never(one: Passed, slot: Slot, name: str, labels: dict[str, str], best: Decimal) -> NeverChosen:
    option = slot.options[one.option].slug
    if one.fails or one.alone:
        why = "fails" if one.fails else "fits nothing"
        return NeverChosen(slot.id, name, option, why, demand=labels[one.fails or one.alone])
    if one.beaten_by is not None:
        return NeverChosen(slot.id, name, option, "beaten", by=slot.options[one.beaten_by].slug)
    assert one.least is not None
    return NeverChosen(slot.id, name, option, "too dear", dearer=(one.least - best) / HUNDRED)


def as_met(purchase: Purchase) -> tuple[Demand, ...]:
    """The demands as the plan meets them: needs that gave way held to what was reached, or not at all."""
    gave = {purchase.easing.demand.id} if purchase.easing is not None else set(purchase.given_up)
    kept = []
    for demand in purchase.demands:
        if demand.id not in gave:
            kept.append(demand)
        elif demand.bounds:
            kept.append(eased_to(demand, purchase.chosen.met(demand.id).value))
    return tuple(kept)


def next_best(plan: Plan, count: int = NEXT_BEST) -> tuple[Runner, ...]:
    """The next best whole sets of a plan, with what differs and how much dearer."""
    return Weighing(plan).next_best(count)


def prices_of_demands(plan: Plan) -> tuple[DemandPrice, ...]:
    """For each need with an amount the saving at the next value that changes the cheapest set."""
    return tuple(Weighing(plan).prices())


def never_chosen(plan: Plan) -> tuple[NeverChosen, ...]:
    """For each slot the options that can be in no cheapest set, and why."""
    return tuple(Weighing(plan).never())


@dataclass(frozen=True)
class Weighed:
    """All that can be said beside the purchase: next best sets, prices of demands, never chosen, the second solver's word."""

    next_best: tuple[Runner, ...]
    prices: tuple[DemandPrice, ...]
    never: tuple[NeverChosen, ...]
    second: Confirmation | None


def weighed(plan: Plan, count: int = NEXT_BEST) -> Weighed:
    """Everything at once, the purchase compiled once."""
    weighing = Weighing(plan)
    return Weighed(weighing.next_best(count), tuple(weighing.prices()), tuple(weighing.never()), plan.confirmed)
