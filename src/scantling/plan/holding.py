"""A purchase without a search: the one before where the same is asked again, else its parts held until a search has ended."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from scantling.figures import Choosing, Chosen, Figure, Option
from scantling.figures.buying import Cost, Demand, Slot
from scantling.figures.numbers import with_unit
from scantling.figures.terms import Over
from scantling.figures.units import CURRENCY
from scantling.handbook.choosing import Assembly
from scantling.handbook.market import Market
from scantling.plan.purchase import Purchase, Question, told

HUNDRED = Decimal(100)


def held_to(asked: Question, held: Purchase | Chosen) -> Purchase | None:
    """What was found before where the same was asked, else the same parts, sketched.

    None where a slot is new, or where the part held is no longer offered in its slot.
    """
    if isinstance(held, Purchase):
        if not held.sketched and _same(asked, held):
            return _again(asked, held)
        held = held.chosen
    options = _parts(asked.slots, held)
    return None if options is None else _sketched(asked, options)


def _same(asked: Question, held: Purchase) -> bool:
    """Whether a search would be given the very same numbers, so that it would find the very same sets."""
    return (
        len(asked.demands) == len(held.demands)
        and len(asked.costs) == len(held.costs)
        and all(map(_same_demand, asked.demands, held.demands))
        and all(map(_same_cost, asked.costs, held.costs))
        and _same_slots(asked.slots, held.slots)
    )


def _same_slots(these: Sequence[Slot], those: Sequence[Slot]) -> bool:
    """By what is offered; names are not searched by."""
    return [slot.id for slot in these] == [slot.id for slot in those] and all(
        one.options is other.options or one.options == other.options for one, other in zip(these, those, strict=True)
    )


def _same_demand(one: Demand, other: Demand) -> bool:
    """By id, kind, term and amounts; the words for it are not searched by."""
    return (
        (one.id, one.need) == (other.id, other.need)
        and _alike(one.what, other.what)
        and _alike(one.at_least, other.at_least)
        and _alike(one.at_most, other.at_most)
    )


def _same_cost(one: Cost, other: Cost) -> bool:
    return one.id == other.id and _alike(one.what, other.what)


def _alike(one: Any, other: Any) -> bool:
    """Whether two terms come to the same for every choice; where their figures come from is all one."""
    if isinstance(one, Figure) and isinstance(other, Figure):
        return one.unit is other.unit and bool(one.value == other.value)
    if isinstance(one, Over) and isinstance(other, Over):
        same = one.rule is other.rule and one.terms.keys() == other.terms.keys()
        return same and all(_alike(term, other.terms[name]) for name, term in one.terms.items())
    return type(one) is type(other) and bool(one == other)


def _again(asked: Question, held: Purchase) -> Purchase:
    """What was found, told of the demands as they are now: their figures know their new places."""
    demands = {demand.id: demand for demand in asked.demands}
    easings = tuple(replace(easing, demand=demands[easing.demand.id]) for easing in held.easings)
    made = told(asked, held.best, easings[0] if easings else None)
    return replace(made, easings=easings, given_up=held.given_up)


def _parts(slots: Sequence[Slot], held: Chosen) -> list[Option] | None:
    """The option held in every slot, by its slug, in the order of the slots' ids; None where there is no such."""
    found = []
    for slot in sorted(slots, key=lambda slot: slot.id):
        slug = held.options[slot.id].slug if held.has(slot.id) else None
        option = next((one for one in slot.options if one.slug == slug), None)
        if option is None:
            return None
        found.append(option)
    return found


def _sketched(asked: Question, options: Sequence[Option]) -> Purchase:
    best = _priced(asked, options)
    price = with_unit(best.price / HUNDRED, CURRENCY)
    because = Choosing(
        f"part of the set bought before, held for now ({price})",
        others="The search for the cheapest set has still to be made",
    )
    return replace(told(asked, [best], None, because), sketched=True)


def _priced(asked: Question, options: Sequence[Option]) -> Assembly:
    by_id = sorted(asked.slots, key=lambda slot: slot.id)
    alone = [replace(slot, options=(option,)) for slot, option in zip(by_id, options, strict=True)]
    return Market(alone, (), asked.costs).assembly([0] * len(alone))
