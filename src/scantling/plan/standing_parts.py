"""What stands in a slot held against what was chosen: whether it stays, what it fails, and the price of replacing it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from scantling.figures import Choosing, Figure, Option, Origin, Slot
from scantling.figures.chosen import Stood
from scantling.figures.numbers import with_unit
from scantling.figures.units import CURRENCY, MONEY, TRUTH
from scantling.handbook.choosing import Assembly, Search
from scantling.handbook.judging import Bench
from scantling.handbook.money import to_minor_unit
from scantling.plan.laying import sold

if TYPE_CHECKING:
    from scantling.plan.purchase import Purchase


def stood(purchase: Purchase) -> Mapping[str, Stood]:
    """Every slot in which something stands, by its name."""
    by_id = sorted(purchase.slots, key=lambda slot: slot.id)
    found = {}
    for place, slot in enumerate(by_id):
        if any(option.changes or option.stands or option.left_out for option in slot.options):
            found[slot.id] = _stood(purchase, by_id, place)
    return found


def _stood(purchase: Purchase, slots: Sequence[Slot], place: int) -> Stood:
    slot, best = slots[place], purchase.best[0]
    chosen = best.options[place]
    there = next((option for option in slot.options if not option.changes), None)
    parts = _words(there) if there is not None else "nothing that can stay just as it is"
    because = _fails(purchase, slots, place, there) if chosen.changes and there is not None else ""
    origin = Origin("standing", f"{slot.id}: {parts}; chosen: {chosen.slug}")
    changed = Figure(chosen.changes, TRUTH, origin, None, "", f"{slot.id} does not stay just as it stands")
    gave_way = Figure(chosen.left_out > 0, TRUTH, origin, None, "", f"what stands as {slot.id} gives way")
    return Stood(slot.id, parts, changed, gave_way, because, _replacing(purchase, slots, place, best))


def _words(option: Option) -> str:
    return ", ".join(f"{count} × {row.slug}" for row, count in option.parts) or option.slug


def _fails(purchase: Purchase, slots: Sequence[Slot], place: int, there: Option | None) -> str:
    """The demands that are missed when what stands stays and all else is as chosen."""
    bench = Bench(slots)
    picks = [s.options.index(o) for s, o in zip(bench.slots, purchase.best[0].options, strict=True)]
    picks[place] = bench.slots[place].options.index(there) if there is not None else picks[place]
    missed = [demand.label for demand in purchase.demands if not bench.test(demand).passes(picks)]
    return ", ".join(missed) or "another part costs less beside it"


def _replacing(purchase: Purchase, slots: Sequence[Slot], place: int, best: Assembly) -> Figure[Decimal]:
    """The cheapest set when what stands in this slot is gone, less the set as chosen."""
    stripped = [replace(option, stands=(), changes=False, left_out=0) for option in slots[place].options]
    bare = tuple(option for option in stripped if sold(option))
    without = [replace(s, options=bare) if n == place else s for n, s in enumerate(slots)]
    met = [
        demand for demand in purchase.demands if demand.id not in purchase.given_up and not _gave(purchase, demand.id)
    ]
    found = Search(without, met, purchase.costs).best(1)
    price = found[0].price if found else best.price
    dearer = to_minor_unit(max(price - best.price, Decimal(0)) / 100)
    told = f"the cheapest set without it costs {with_unit(price / 100, CURRENCY)} instead of {with_unit(best.price / 100, CURRENCY)}"
    label = f"Replacing what stands as {slots[place].name or slots[place].id}"
    return Figure(dearer, MONEY, Choosing(told), {}, "", label)


def _gave(purchase: Purchase, id_: str) -> bool:
    return purchase.easing is not None and purchase.easing.demand.id == id_
