"""Which need must give way when nothing meets them all, by how much at least, and what the cheapest set costs then."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import inf
from typing import Any

from scantling.figures import Figure, Origin
from scantling.figures.buying import Cost, Demand, Slot
from scantling.handbook.choosing import Assembly, Search
from scantling.handbook.hunting import Hunt, Quest
from scantling.handbook.judging import Test


@dataclass(frozen=True)
class Easing:
    """A need that gave way: the least it had to, and the cheapest assembly then."""

    demand: Demand
    reached: Any
    assembly: Assembly


def eased(slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost]) -> list[Easing]:
    """Every single need whose easing alone makes an assembly possible, each eased as little as can be, cheapest first."""
    search = Search(slots, demands, costs)
    tried = [nearest(search, place) for place, demand in enumerate(demands) if demand.need]
    found = [easing for easing in tried if easing is not None]
    return sorted(found, key=lambda easing: (easing.assembly.price, easing.demand.id))


def least_easing(
    slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost], which: Demand
) -> Easing | None:
    """One need eased as little as can be; None where even without it there is no assembly."""
    return nearest(Search(slots, demands, costs), list(demands).index(which))


def nearest(search: Search, place: int, below: Decimal | None = None) -> Easing | None:
    """The set that comes nearest to a demand, all others met, and of those the cheapest.

    With `below` only sets that rank below it are looked at. A demand without an amount is just dropped; of one with a floor and
    a ceiling the floor gives way if that is enough, else the ceiling.
    """
    demand, test = search.demands[place], search.tests[place]
    others = [*search.tests[:place], *search.tests[place + 1 :]]
    if not demand.bounds:
        best = search.best(1, tests=others, below=below)
        return Easing(demand, reached=False, assembly=best[0]) if best else None
    ends = [(end, other) for end, other in ((test.least, test.most), (test.most, test.least)) if end is not None]
    for end, other in ends:
        rising = end is test.least
        kept = [] if other is None else [_held(test, other, rising=not rising)]
        goal = _held(test, -inf if rising else inf, rising=rising, goal=True)
        hunt = Hunt(search, Quest([*others, *kept], below=below, goal=goal))
        if hunt.run():
            held = _held(test, hunt.reached, rising=rising)
            (cheapest,) = search.best(1, tests=[*others, *kept, held], below=below)
            return Easing(demand, hunt.reached, cheapest)
    return None


def _held(test: Test, bound: Any, *, rising: bool, goal: bool = False) -> Test:
    """The same demand held to one bound: a floor, or a ceiling."""
    return Test(test.id, test.node, bound if rising else None, None if rising else bound, goal=goal)


def eased_to(demand: Demand, reached: Any) -> Demand:
    """The same demand held only to what can be reached; one without an amount is no longer asked for."""
    bound = Figure(reached, demand.what.unit, Origin("standard", "what can be reached"), None, "", demand.label)
    if demand.at_least is not None:
        return replace(demand, at_least=bound, at_most=None)
    return replace(demand, at_most=bound)
