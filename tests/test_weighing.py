"""What else could have been bought, against brute force on small random purchases, and on the offices by the second solver."""

import random
from collections.abc import Iterator, Mapping
from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace
from typing import Any, cast

import pytest
from offices import changed, fold, millrace, planned
from purchase_samples import case
from purchase_shapes import Case
from referees.sets import Ranked, Raw, Taken, sets

from scantling.figures import Chosen, Slot
from scantling.handbook.choosing import Search
from scantling.handbook.easing import eased, nearest
from scantling.plan.make import Plan
from scantling.plan.purchase import Purchase
from scantling.plan.weighing import (
    DemandPrice, NeverChosen, Weighing, as_met, never_chosen, next_best, prices_of_demands,
)  # fmt: skip
from scantling.trials.plain import Bought, wanted
from scantling.trials.second_solver import cheapest

HUNDRED = 100


def weighed(made: Case) -> Weighing | None:
    """The weighing of a random purchase; None where nothing fits."""
    best = Search(made.slots, made.demands, made.costs).best(1)
    if not best:
        return None
    bought = Purchase(
        cast("Chosen", None), tuple(best), tuple(made.slots), demands=tuple(made.demands), costs=tuple(made.costs)
    )
    return Weighing(cast("Plan", SimpleNamespace(purchase=bought)))


def possible(made: Case, but: str = "") -> list[tuple[Ranked, Taken]]:
    """All sets that meet every demand but one, in order, with their options."""
    conditions = [c for demand, c in zip(made.demands, made.conditions, strict=True) if demand.id != but]
    by_slug = {slot: {option.slug: option for option in options} for slot, options in made.raw.items()}
    names = sorted(made.raw)
    found = sets(made.raw, conditions, made.dragged)
    return [(one, {slot: by_slug[slot][slug] for slot, slug in zip(names, one.slugs, strict=True)}) for one in found]


def purchases(count: int) -> Iterator[tuple[Case, Weighing]]:
    """Random purchases in which something fits."""
    for seed in range(count):
        made = case(random.Random(seed))
        weighing = weighed(made)
        if weighing is not None:
            yield made, weighing


def test_the_ten_next_best_are_those_of_brute_force(scale: Any) -> None:
    """In order, with their prices and what differs."""
    for made, weighing in purchases(scale(short=80, full=400)):
        expected = possible(made)
        found = weighing.next_best(10)
        assert [one.price * HUNDRED for one in found] == [ranked.price for ranked, _ in expected[1:11]]
        first = dict(zip(sorted(made.raw), expected[0][0].slugs, strict=True))
        for runner, (ranked, _) in zip(found, expected[1:], strict=False):
            theirs = dict(zip(sorted(made.raw), ranked.slugs, strict=True))
            assert {c.slot: (c.bought, c.instead) for c in runner.changes} == {
                slot: (first[slot], theirs[slot]) for slot in first if first[slot] != theirs[slot]
            }
            assert runner.dearer * HUNDRED == ranked.price - expected[0][0].price


def by_value(made: Case, one: DemandPrice) -> dict[Any, Decimal]:
    """For every value that some set attains, all else met: the price of the cheapest that gives at least (at most) that."""
    rising = one.demand.at_least is not None
    attained = [(made.values[one.demand.id](taken), ranked.price) for ranked, taken in possible(made, one.demand.id)]
    return {
        value: min(price for other, price in attained if (other >= value if rising else other <= value))
        for value, _ in attained
    }


def test_the_price_of_every_demand_is_that_of_brute_force(scale: Any) -> None:
    """Every distinct attained value is tried: the nearest at which the cheapest set is cheaper, and what dropping it saves."""
    told = 0
    for made, weighing in purchases(scale(short=150, full=500)):
        best = weighing.best.price
        for one in weighing.prices():
            if len(one.demand.bounds) > 1:
                continue
            rising = one.demand.at_least is not None
            stairs = by_value(made, one)
            cheaper = [value for value, price in stairs.items() if price < best]
            near = (max(cheaper) if rising else min(cheaper)) if cheaper else None
            assert (one.easier and one.easier.value) == near, one.demand.id
            if near is not None:
                assert one.easier is not None
                assert one.easier.moves * HUNDRED == stairs[near] - best
                told += 1
            assert one.dropped * HUNDRED == best - min([*stairs.values(), best])
    assert told >= 20


def test_a_step_harder_is_the_cheapest_other_part_in_one_place(scale: Any) -> None:
    """Among all sets that differ in one slot which the demand reads, and give more."""
    told = 0
    for made, weighing in purchases(scale(short=120, full=400)):
        first, mine = possible(made)[0]
        for one in weighing.prices():
            if len(one.demand.bounds) > 1:
                continue
            rising = one.demand.at_least is not None
            value = made.values[one.demand.id]
            better = [
                (ranked.order, value(taken))
                for ranked, taken in possible(made)
                if sum(a != b for a, b in zip(ranked.slugs, first.slugs, strict=True)) == 1
                and (value(taken) > value(mine) if rising else value(taken) < value(mine))
            ]
            if not better:
                assert one.harder is None, one.demand.id
                continue
            assert one.harder is not None
            assert one.harder.value == min(better)[1]
            assert one.harder.moves * HUNDRED == min(better)[0][0] - first.price
            told += 1
    assert told >= 20


def test_a_need_gives_way_as_little_as_brute_force_says(scale: Any) -> None:
    """Where nothing fits: every need whose easing alone is enough, its least amount, and the cheapest set then."""
    tried = 0
    for seed in range(scale(short=150, full=600)):
        made = case(random.Random(seed))
        if any(len(demand.bounds) > 1 for demand in made.demands) or possible(made):
            continue
        expected = {}
        for demand in [demand for demand in made.demands if demand.need]:
            value = made.values[demand.id]
            if attained := [(value(taken), ranked) for ranked, taken in possible(made, demand.id)]:
                reached = (max if demand.at_least is not None else min)(amount for amount, _ in attained)
                expected[demand.id] = reached, next(ranked.price for amount, ranked in attained if amount == reached)
        found = eased(made.slots, made.demands, made.costs)
        assert {e.demand.id: (e.reached, e.assembly.price) for e in found} == expected, seed
        assert [e.assembly.price for e in found] == sorted(e.assembly.price for e in found)
        tried += bool(expected)
    assert tried >= 10


def test_of_a_floor_and_a_ceiling_the_floor_gives_way_first() -> None:
    """Neither is dropped where the other is enough."""
    seen = set()
    for seed in range(400):
        made = case(random.Random(seed))
        search = Search(made.slots, made.demands, made.costs)
        place = next((n for n, demand in enumerate(made.demands) if len(demand.bounds) > 1), None)
        if place is None or search.best(1):
            continue
        test, easing = search.tests[place], nearest(search, place)
        if easing is not None:
            value = made.values[made.demands[place].id]
            below = [value(taken) for _, taken in possible(made, made.demands[place].id) if value(taken) <= test.most]
            assert easing.reached == (max(below) if below else easing.reached)
            seen.add(bool(below))
    assert seen == {True, False}


def pruned(slots: tuple[Slot, ...], never: list[NeverChosen]) -> list[Slot]:
    """The slots without what is never chosen."""
    out = {(one.slot, one.option) for one in never}
    return [replace(slot, options=tuple(o for o in slot.options if (slot.id, o.slug) not in out)) for slot in slots]


def test_without_what_is_never_chosen_the_cheapest_is_the_same(scale: Any) -> None:
    """By brute force: the same set, though every option named is taken away at once."""
    for made, weighing in purchases(scale(short=80, full=400)):
        out = {(one.slot, one.option) for one in weighing.never()}
        left = {slot: [o for o in options if (slot, o.slug) not in out] for slot, options in made.raw.items()}
        assert sets(left, made.conditions, made.dragged)[0] == possible(made)[0][0]


def test_every_reason_holds(scale: Any) -> None:
    """Each against all the sets there are, by the referee."""
    seen: set[str] = set()
    for made, weighing in purchases(scale(short=120, full=400)):
        everything = sets(made.raw, [], made.dragged)
        fitting = {one.slugs: one for one, _ in possible(made)}
        never = list(weighing.never())
        by_themselves = {(one.slot, one.option) for one in never if one.why == "fails"}
        for one in never:
            at = sorted(made.raw).index(one.slot)
            with_it = [ranked for ranked in everything if ranked.slugs[at] == one.option]
            feasible = [ranked for ranked in with_it if ranked.slugs in fitting]
            seen.add(one.why)
            if one.why == "beaten":
                assert all(fitting[instead(ranked, at, one.by)].order < ranked.order for ranked in feasible)
            elif one.why == "too dear":
                assert all(ranked.price > weighing.best.price for ranked in feasible)
            else:
                assert not feasible
                assert missed(made, one, sound(made, with_it, by_themselves - {(one.slot, one.option)}))
    assert seen == {"fails", "fits nothing", "beaten", "too dear"}


def instead(one: Ranked, at: int, slug: str) -> tuple[str, ...]:
    """The same set with another option in one slot."""
    return (*one.slugs[:at], slug, *one.slugs[at + 1 :])


def sound(made: Case, found: list[Ranked], out: set[tuple[str, str]]) -> list[Ranked]:
    """The sets in which nothing fails by itself."""
    names = sorted(made.raw)
    return [ranked for ranked in found if not out.intersection(zip(names, ranked.slugs, strict=True))]


def missed(made: Case, one: NeverChosen, with_it: list[Ranked]) -> bool:
    """Whether the demand that is named is missed by every set with that option."""
    condition = next(c for d, c in zip(made.demands, made.conditions, strict=True) if d.label == one.demand)
    by_slug: Mapping[str, Mapping[str, Raw]] = {
        slot: {option.slug: option for option in options} for slot, options in made.raw.items()
    }
    names = sorted(made.raw)
    return not any(
        condition({slot: by_slug[slot][slug] for slot, slug in zip(names, ranked.slugs, strict=True)})
        for ranked in with_it
    )


OFFICES = pytest.mark.parametrize("text", [fold(), millrace()], ids=["fold", "millrace"])


@OFFICES
def test_an_office_keeps_its_optimum_without_what_is_never_chosen(text: str) -> None:
    """By the second solver."""
    made = planned(text)
    slots = pruned(made.purchase.slots, list(never_chosen(made)))
    found = cheapest(slots, made.purchase.demands, made.purchase.costs)
    assert found is not None
    assert found.price == made.purchase.best[0].price
    before = sum(len(slot.options) for slot in made.purchase.slots)
    assert sum(len(slot.options) for slot in slots) < before / 3


@OFFICES
def test_the_next_best_of_an_office_meet_every_demand_and_get_dearer(text: str) -> None:
    """Judged by each demand's own rule; nothing lies between the best and the first of them, says the second solver."""
    made = planned(text)
    found = next_best(made)
    assert len(found) == 10
    assert [one.dearer for one in found] == sorted(one.dearer for one in found)
    for one in found:
        options = dict(made.purchase.chosen.options)
        slots = {slot.id: slot for slot in made.purchase.slots}
        for change in one.changes:
            assert change.bought == options[change.slot].slug
            options[change.slot] = next(o for o in slots[change.slot].options if o.slug == change.instead)
        bought = Bought(options)
        assert not any(bought.misses(wanted(demand)) for demand in made.purchase.demands)
        assert bought.price(made.purchase.costs) == one.price * HUNDRED


@OFFICES
def test_each_demand_of_an_office_costs_what_the_second_solver_says(text: str, scale: Any) -> None:
    """Dropped, the price moves by what is told: every sixth in short, all in full."""
    made = planned(text)
    found = prices_of_demands(made)
    assert {one.demand.id for one in found} == {d.id for d in made.purchase.demands if d.need and d.bounds}
    best = made.purchase.best[0].price
    for one in found[:: scale(short=6, full=1)]:
        others = [demand for demand in made.purchase.demands if demand.id != one.demand.id]
        without = cheapest(made.purchase.slots, others, made.purchase.costs)
        assert without is not None
        assert best - without.price == one.dropped * HUNDRED, one.demand.id
        assert (one.easier is None) == (one.dropped == 0)


def test_a_plan_in_which_a_need_gave_way_is_weighed_by_what_it_reached() -> None:
    """The demands as they were met, so that the set bought is the cheapest of them."""
    made = planned(changed(fold(), "noise: 38 dB", "noise: 10 dB"))
    assert made.provisional
    (heard,) = [demand for demand in as_met(made.purchase) if demand.id == "premises.noise.heard"]
    assert heard.at_most is not None
    assert made.purchase.easing is not None
    assert heard.at_most.value == made.purchase.easing.reached
    assert next_best(made)[0].dearer >= 0
    assert never_chosen(made)
    assert prices_of_demands(made)
    assert made.purchase.easings[0] == made.purchase.easing
