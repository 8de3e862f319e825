"""What stands in a slot held against what was chosen: whether it stays, what it fails, and the price of replacing it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from scantling.figures import Choosing, Figure, Option, Origin, Slot
from scantling.figures.chosen import Stood
from scantling.figures.units import MONEY, TRUTH
from scantling.handbook.judging import Bench, worth
from scantling.handbook.money import to_minor_unit
from scantling.plan.laying import sold

if TYPE_CHECKING:
    from scantling.plan.purchase import Purchase


def stood(purchase: Purchase) -> Mapping[str, Stood]:
    """Every slot in which something stands, by its name."""
    table = _Table(purchase)
    return {slot.id: _stood(table, place) for place, slot in enumerate(table.bench.slots) if _held(slot)}


def _held(slot: Slot) -> bool:
    """Whether anything stands in a slot."""
    return any(option.changes or option.stands or option.left_out for option in slot.options)


def _cut(slot: Slot, chosen: Option) -> Slot:
    """A slot in which nothing stands has only what was chosen: nothing else is tried there."""
    return slot if _held(slot) else replace(slot, options=(chosen,))


class _Table:
    """The slots of a purchase with what was picked in each, and its demands and costs made ready once."""

    def __init__(self, purchase: Purchase) -> None:
        self.best = purchase.best[0]
        by_id = sorted(purchase.slots, key=lambda slot: slot.id)
        self.bench = Bench([_cut(slot, one) for slot, one in zip(by_id, self.best.options, strict=True)])
        self.picks = [s.options.index(o) for s, o in zip(self.bench.slots, self.best.options, strict=True)]
        self.tests = [(demand, self.bench.test(demand)) for demand in purchase.demands]
        self.costs = [self.bench.node(cost.what, cost.what.unit) for cost in purchase.costs]
        self.missed_anyway = set(self.missed(self.picks))

    def missed(self, picks: Sequence[int]) -> list[str]:
        """Labels of the demands that these picks miss."""
        return [demand.label for demand, test in self.tests if not test.passes(picks)]

    def fits(self, place: int, option: int) -> bool:
        """Whether all that is met now is still met with another option in one slot."""
        picks = self.with_pick(place, option)
        return all(
            test.passes(picks) or demand.label in self.missed_anyway
            for demand, test in self.tests
            if place in test.scope
        )

    def price(self, place: int, number: int, option: Option) -> Decimal:
        """What an option costs in one slot, with what it drags behind it beyond what is dragged now, in minor units."""
        touched = [node for node in self.costs if place in node.scope]
        other = self.with_pick(place, number)
        return option.minor_units + sum(
            ((worth(node, other) - worth(node, self.picks)) * 100 for node in touched), Decimal(0)
        )

    def with_pick(self, place: int, option: int) -> list[int]:
        """The picks with another option in one slot."""
        return [option if n == place else pick for n, pick in enumerate(self.picks)]


def _stood(table: _Table, place: int) -> Stood:
    slot, chosen = table.bench.slots[place], table.best.options[place]
    there = min(slot.options, key=lambda option: (option.changes, -sum(count for _, count in option.stands)))
    parts = _words(there)
    fails = (
        _fails(table, place, slot.options.index(there)) if there.stands else "the kind of part that is wanted there"
    )
    because = fails if chosen.changes else ""
    origin = Origin("standing", f"{slot.id}: {parts}; chosen: {chosen.slug}")
    changed = Figure(chosen.changes, TRUTH, origin, None, "", f"{slot.id} does not stay just as it stands")
    gave_way = Figure(chosen.left_out > 0, TRUTH, origin, None, "", f"what stands as {slot.id} gives way")
    return Stood(slot.id, parts, changed, gave_way, because, _replacing(table, place))


def _words(option: Option) -> str:
    """What of it stands, and how many parts stand there beside."""
    used = ", ".join(f"{count} × {row.slug}" for row, count in option.stands) or "nothing that is of use"
    return f"{used} and {option.left_out:,} more" if option.stands and option.left_out else used


def _fails(table: _Table, place: int, there: int) -> str:
    """The demands that are missed when what stands stays and all else is as chosen."""
    return ", ".join(table.missed(table.with_pick(place, there))) or "another part costs less beside it"


def _replacing(table: _Table, place: int) -> Figure[Decimal]:
    """The cheapest that would have to be bought here if nothing stood, beside all the rest as chosen."""
    slot = table.bench.slots[place]
    bare = [replace(option, stands=()) if option.stands else option for option in slot.options]
    prices = sorted((table.price(place, n, one), one.slug, n) for n, one in enumerate(bare))
    fitting = (found for found in prices if sold(bare[found[2]]) and table.fits(place, found[2]))
    price, slug, number = next(fitting, (Decimal(0), "nothing that is still sold fits here", None))
    dearer = to_minor_unit((price - table.best.options[place].minor_units) / 100)
    told = f"{slug}, the cheapest that fits beside all the rest, bought new" if number is not None else slug
    return Figure(
        max(dearer, Decimal(0)), MONEY, Choosing(told), {}, "", f"Replacing what stands as {slot.name or slot.id}"
    )
