"""The purchase against trying every set, from a million sets to a million million million, and what is asked of it afterwards.

Trying every set is measured on the first sets of each size in the same run and extrapolated; the sizes are Millrace's own
slots, thinned evenly, the bought option kept.
"""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import islice, product
from math import prod
from pathlib import Path
from time import perf_counter

from measuring import Row, best
from scantling import api
from scantling.figures import Slot
from scantling.handbook.choosing import Search
from scantling.outputs.publish import published
from scantling.plan.make import Plan, make
from scantling.plan.weighing import never_chosen, next_best, prices_of_demands
from scantling.trials.confirming import confirmed
from scantling.trials.second_solver import cheapest

BRIEF = Path(__file__).parent.parent / "examples/millrace/brief.yaml"
SIZES = (10**6, 10**9, 10**12, 10**15)
TRIED = 5_000
"""Sets that the plain loop tries before its rate is taken."""


@cache
def _plan() -> Plan:
    """Millrace over the whole catalogue."""
    return api.plan(BRIEF)


def _sets(slots: list[Slot]) -> int:
    return prod(len(slot.options) for slot in slots)


def _thinned(most: int) -> list[Slot]:
    """Millrace's slots with every so many of their options, so that no more than so many sets are left."""
    purchase = _plan().purchase
    kept = {slot.id: len(slot.options) for slot in purchase.slots}
    while prod(kept.values()) > most:
        longest = max(kept, key=lambda slot: kept[slot])
        kept[longest] -= 1
    return [_thin(slot, kept[slot.id], purchase.chosen.options[slot.id].slug) for slot in purchase.slots]


def _thin(slot: Slot, count: int, bought: str) -> Slot:
    step = len(slot.options) / count
    places = {int(number * step) for number in range(count)}
    mine = next(place for place, option in enumerate(slot.options) if option.slug == bought)
    if mine not in places:
        places.remove(max(places, key=lambda place: -abs(place - mine)))
        places.add(mine)
    return replace(slot, options=tuple(slot.options[place] for place in sorted(places)))


def _every(slots: list[Slot]) -> Iterator[bool]:
    """The plain loop: every set, every demand in turn until one fails."""
    purchase = _plan().purchase
    search = Search(slots, purchase.demands, purchase.costs)
    for picks in product(*(range(len(slot.options)) for slot in search.slots)):
        yield all(test.passes(picks) for test in search.tests)


def _by_trying(slots: list[Slot]) -> float:
    """Seconds that trying every set would take, from the rate of the first ones."""
    began = perf_counter()
    tried = sum(1 for _ in islice(_every(slots), TRIED))
    return (perf_counter() - began) / tried * _sets(slots)


def bench_against_trying_every_set() -> list[Row]:
    """The proven cheapest of so many sets; brute force is extrapolated."""
    purchase = _plan().purchase
    rows = []
    for size in SIZES:
        slots = _thinned(size)
        search = best(lambda slots=slots: Search(slots, purchase.demands, purchase.costs).best(1), repeats=3)  # type: ignore[misc]
        label = f"cheapest of {_sets(slots):.1e} sets, proven"
        rows.append(Row(label, search, "trying every set, extrapolated", _by_trying(slots), "under 50 ms"))
    return rows


def bench_whole_catalogue() -> list[Row]:
    """Millrace over the whole catalogue: compiled and searched, one set, three, ten; and the second solver."""
    purchase = _plan().purchase

    def search(count: int) -> float:
        return best(lambda: Search(purchase.slots, purchase.demands, purchase.costs).best(count), repeats=3)

    one = search(1)
    size = f"{_sets(list(purchase.slots)):.1e} sets"
    whole = best(lambda: cheapest(purchase.slots, purchase.demands, purchase.costs), repeats=3)
    second = best(lambda: confirmed(_plan()), repeats=3)
    return [
        Row(f"cheapest of {size}, proven", one, "trying every set, extrapolated", _by_trying(list(purchase.slots)), "under 100 ms"),
        Row("the three cheapest", search(3), "the cheapest", one, "reported"),
        Row("the cheapest and ten next best", search(11), "the cheapest", one, "under 0.5 s; beyond: 0.3 s"),
        Row("the cheapest, by the second solver", whole, "by the search", one, "reported"),
        Row("a plan confirmed", second, "the search", one, "under 100 ms with import"),
    ]  # fmt: skip


def bench_weighing() -> list[Row]:
    """What is asked of a purchase afterwards, Millrace over the whole catalogue."""
    made = _plan()
    purchase = made.purchase
    one = best(lambda: Search(purchase.slots, purchase.demands, purchase.costs).best(1), repeats=3)
    return [
        Row("the ten next best, told", best(lambda: next_best(made), repeats=3), "the cheapest", one, "under 0.5 s"),
        Row("the price of every demand", best(lambda: prices_of_demands(made), repeats=3), "the cheapest", one, "under 1 s"),
        Row("why the rest is never chosen", best(lambda: never_chosen(made), repeats=3), "the cheapest", one, "reported"),
    ]  # fmt: skip


def bench_nothing_fits() -> list[Row]:
    """A brief that can't be met: every need whose easing alone is enough, and by how much."""
    hopeless = BRIEF.read_text("utf-8").replace("hold: 10 min", "hold: 1400 min")
    read = api.inputs(hopeless, BRIEF.name, api.stock())
    whole, fine = best(lambda: make(read), repeats=2), best(lambda: make(api.planning.inputs_at(BRIEF)), repeats=2)
    return [Row("a plan of a brief that can't be met", whole, "of one that can", fine, "reported")]


def bench_plan_without_purchase() -> list[Row]:
    """What is left of a plan when the search is taken out."""
    read = api.planning.inputs_at(BRIEF)
    purchase = make(read).purchase
    whole = best(lambda: make(read), repeats=3)
    search = best(lambda: Search(purchase.slots, purchase.demands, purchase.costs).best(3), repeats=3)
    return [Row("Millrace without purchase", max(whole - search, 0.0), "Millrace whole", whole, "under 50 ms")]


def bench_book() -> list[Row]:
    """Every file of Millrace, and the same with what was weighed."""
    planning = best(lambda: api.plan(BRIEF), repeats=2)
    files = best(lambda: published(_plan()), repeats=2)
    weighing = best(lambda: api.weigh(_plan()), repeats=2)
    return [
        Row("all files of the book", files, "the plan, brief read", planning, "under 2 s"),
        Row("weighing for the book", weighing, "all files of the book", files, "reported"),
    ]
