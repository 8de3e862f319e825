"""Which need must give way when nothing meets them all, by how much at least, and what the cheapest set costs then."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import inf
from typing import Any

from scantling.figures import Figure, Origin
from scantling.figures.buying import Cost, Demand, Slot
from scantling.handbook.choosing import Assembly, Search, silent
from scantling.handbook.hunting import Hunt
from scantling.handbook.quests import Quest, next_step
from scantling.handbook.judging import Test


@dataclass(frozen=True)
class Easing:
    """A need that gave way: the least it had to, and the cheapest assembly then."""

    demand: Demand
    reached: Any
    assembly: Assembly


def eased(
    slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost], tell: Callable[[int], None] = silent
) -> list[Easing]:
    """Every single need whose easing alone makes an assembly possible, each eased as little as can be, cheapest first.

    `tell` hears the number of nodes before each need and now and then; what it raises ends the search.
    """
    search = Search(slots, demands, costs, tell)
    tried = []
    for place in [place for place, demand in enumerate(demands) if demand.need]:
        tell(search.nodes)
        tried.append(nearest(search, place))
    found = [easing for easing in tried if easing is not None]
    return sorted(found, key=lambda easing: (easing.assembly.price, easing.demand.id))


def least_easing(
    slots: Sequence[Slot],
    demands: Sequence[Demand],
    costs: Sequence[Cost],
    which: Demand,
    tell: Callable[[int], None] = silent,
) -> Easing | None:
    """One need eased as little as can be; None where even without it there is no assembly."""
    return nearest(Search(slots, demands, costs, tell), list(demands).index(which))


def nearest(search: Search, place: int, below: Decimal | None = None) -> Easing | None:
    """The set that comes nearest to a demand, all others met, and of those the cheapest.

    It is asked where no set meets all demands, or none that ranks `below` an amount: so whatever comes near misses this one. A
    demand without an amount is just dropped; of one with a floor and a ceiling the floor gives way if that is enough, else
    the ceiling.
    """
    demand, test = search.demands[place], search.tests[place]
    others = without(search, place)
    if not demand.bounds:
        best = search.best(1, tests=others, below=below)
        return Easing(demand, reached=False, assembly=best[0]) if best else None
    ends = [(end, other) for end, other in ((test.least, test.most), (test.most, test.least)) if end is not None]
    for end, other in ends:
        rising = end is test.least
        kept = [] if other is None else [_held(test, other, rising=not rising)]
        goal = _held(test, -inf if rising else inf, rising=rising, goal=True)
        hunt = Hunt(search, Quest([*others, *kept], below=below, goal=goal, miss=test))
        if hunt.run():
            return _cheapest(search, demand, [*others, *kept], hunt)
    return None


def nearer(search: Search, place: int, cheapest: Assembly, below: Decimal) -> Easing:
    """The same, where the `cheapest` set of all without that demand is known already, and the demand has one bound."""
    demand, test = search.demands[place], search.tests[place]
    others, reached = without(search, place), search.given(place, cheapest)
    rising = test.least is not None
    step = next_step(reached)
    goal = _held(test, reached + step if rising else reached - step, rising=rising, goal=True)
    hunt = Hunt(search, Quest(others, below=below, goal=goal, miss=test))
    if not hunt.run():
        return Easing(demand, reached, cheapest)
    return _cheapest(search, demand, others, hunt)


def dropped(search: Search, place: int, below: Decimal) -> Assembly | None:
    """The cheapest set without a demand that ranks below an amount; None where there is none.

    No set that meets all demands ranks below it: so whatever is found misses this one.
    """
    quest = Quest(without(search, place), below=below, miss=search.tests[place])
    return next(iter(Hunt(search, quest).run()), None)


def without(search: Search, place: int) -> list[Test]:
    """All demands but one."""
    return [*search.tests[:place], *search.tests[place + 1 :]]


def _cheapest(search: Search, demand: Demand, others: Sequence[Test], hunt: Hunt) -> Easing:
    """The cheapest set that gives what the hunt has reached."""
    assert hunt.goal is not None
    held = _held(hunt.goal, hunt.reached, rising=hunt.goal.least is not None)
    (cheapest,) = search.best(1, tests=[*others, held], known=hunt.found[0])
    return Easing(demand, hunt.reached, cheapest)


def _held(test: Test, bound: Any, *, rising: bool, goal: bool = False) -> Test:
    """The same demand held to one bound: a floor, or a ceiling."""
    return Test(test.id, test.node, bound if rising else None, None if rising else bound, goal=goal)


def next_value(test: Test, given: Any) -> Test:
    """The same demand held to strictly more than what is given (less, where it is a ceiling)."""
    rising = test.least is not None
    step = next_step(given)
    return _held(test, given + step if rising else given - step, rising=rising)


def eased_to(demand: Demand, reached: Any) -> Demand:
    """The same demand held only to what can be reached; one without an amount is no longer asked for."""
    bound = Figure(reached, demand.what.unit, Origin("standard", "what can be reached"), None, "", demand.label)
    if demand.at_least is not None:
        return replace(demand, at_least=bound, at_most=None)
    return replace(demand, at_most=bound)
