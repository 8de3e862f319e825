"""The purchase: pins on choices, the search, what it decided told back, and each demand held against what it got."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from functools import partial
from typing import Any

from scantling.figures import (
    Choosing, Chosen, Cost, Demand, Finding, Ledger, Pin, PinError, Slot, Weight, text,
)  # fmt: skip
from scantling.figures.figure import Figure
from scantling.figures.numbers import with_unit
from scantling.figures.units import CURRENCY
from scantling.handbook.choosing import Assembly, Search, silent
from scantling.handbook.easing import Easing, eased, eased_to, least_easing
from scantling.handbook.sizing import beyond, negated, shorter
from scantling.plan.laying import laid
from scantling.plan.spine import Book, PlanError
from scantling.plan.standing_parts import stood
from scantling.standing import NOTHING, Standing

NEXT_BEST = 2
NEEDED = (
    "Nothing in the catalogue meets all that is asked for. Ease this need with the client, or widen the catalogue."
)
UNFIT = "These parts do not go together. Take the pin off, or pin parts that fit."
HELD = "These are the parts of the plan before. Wait for the search: it says whether other parts meet this too."
TOLD_IN_ORDER = ("host", "processor", "memory", "boot", "fast", "bulk", "switch", "ups", "cabinet", "near", "away")


@dataclass(frozen=True)
class Confirmation:
    """What a second solver found: the exact price in minor units (None of no set), whether it agrees, and its words.

    `finished` is false when it came to no end, so that nothing is said either way.
    """

    price: Decimal | None
    agrees: bool
    says: str
    finished: bool = True


@dataclass(frozen=True)
class Purchase:
    """What was bought, what came next, and the need that gave way if nothing met them all."""

    chosen: Chosen
    best: tuple[Assembly, ...]
    slots: tuple[Slot, ...]
    easing: Easing | None = None
    given_up: tuple[str, ...] = ()
    demands: tuple[Demand, ...] = ()
    costs: tuple[Cost, ...] = ()
    easings: tuple[Easing, ...] = ()
    """Every single need whose easing alone makes a set possible, cheapest first; empty when all needs are met."""
    sketched: bool = False
    """Whether these are the parts of an earlier plan, held until a search says what is cheapest now."""


@dataclass(frozen=True)
class Question:
    """What a purchase is asked: the slots with what stands laid over them and pins kept to, the demands, the costs."""

    slots: tuple[Slot, ...]
    demands: tuple[Demand, ...]
    costs: tuple[Cost, ...]
    pins: Mapping[str, Pin]
    """Pins on choices by slot."""


def question(book: Book, ledger: Ledger, standing: Standing = NOTHING) -> Question:
    """What is to be bought for a book of records. Raises PinError for a pin on no such option."""
    slots = tuple(_pinned(slot, ledger) for slot in laid(book.every(Slot), standing))
    pins = {slot.id: pin for slot in slots if (pin := ledger.pins.get(f"purchase.{slot.id}")) is not None}
    return Question(slots, book.every(Demand), book.every(Cost), pins)


def bought(asked: Question, tell: Callable[[int], None] = silent) -> Purchase:
    """The cheapest set that meets every demand; if there is none, the cheapest under the least easing of one need.

    Raises PlanError when not even the fits can be met, PinError where that is for what is pinned.
    """
    tell(0)
    best = Search(asked.slots, asked.demands, asked.costs, tell).best(1 + NEXT_BEST)
    if best:
        return told(asked, best)
    if easings := tuple(eased(asked.slots, asked.demands, asked.costs, tell)):
        return replace(told(asked, [easings[0].assembly], easings[0]), easings=easings)
    return _only_fits(asked, tell)


def _only_fits(asked: Question, tell: Callable[[int], None]) -> Purchase:
    """No single need is enough: let all go that can, one after the other, so that as few as possible are missed."""
    slots, demands, costs, pins = asked.slots, asked.demands, asked.costs, asked.pins
    search = Search(slots, demands, costs, tell)
    kept = [demand for demand in demands if not demand.need]
    tests = [test for demand, test in zip(demands, search.tests, strict=True) if not demand.need]
    best = search.best(1, tests=tests)
    if not best and pins:
        laid_by = ", ".join(f"purchase.{slot} = {pin.text} ({pin.place})" for slot, pin in pins.items())
        raise PinError(
            f"no set of parts fits together with what is pinned: {laid_by}; take a pin off, or pin parts that fit"
        )
    if not best:
        empty = [slot.id for slot in slots if not slot.options]
        what = f"no option at all for {', '.join(empty)}" if empty else "no set of parts fits together"
        message = f"nothing in the catalogue can be bought: {what}"
        raise PlanError(message)
    for demand, test in [(d, t) for d, t in zip(demands, search.tests, strict=True) if d.need]:
        picks = [slot.options.index(one) for slot, one in zip(search.slots, best[0].options, strict=True)]
        if test.passes(picks):  # the cheapest of all that meet the others meets this one too
            kept, tests = [*kept, demand], [*tests, test]
        elif trial := search.best(1, tests=[*tests, test]):
            kept, tests, best = [*kept, demand], [*tests, test], trial
    given_up = [demand for demand in demands if demand not in kept]
    for demand in given_up:  # each gives way as little as it can beside those that are kept and eased already
        easing = least_easing(slots, [*kept, demand], costs, demand, tell)
        assert easing is not None
        if demand.bounds:
            kept.append(eased_to(demand, easing.reached))
        best = [easing.assembly]
    return replace(told(asked, best), given_up=tuple(demand.id for demand in given_up))


def _pinned(slot: Slot, ledger: Ledger) -> Slot:
    """A pin on a choice restricts the options before the search."""
    id_ = f"purchase.{slot.id}"
    if (pin := ledger.pins.get(id_)) is None:
        return slot
    ledger.used.add(id_)
    kept = tuple(option for option in slot.options if option.slug == pin.text)
    if not kept:
        slugs = [option.slug for option in slot.options]
        near = get_close_matches(pin.text, slugs, 3, 0.3) or slugs[:3]
        message = f"{pin.place}: pin {id_}: {pin.text!r} is not on offer; near to it: {', '.join(near)}"
        raise PinError(message)
    return replace(slot, options=kept)


def told(
    asked: Question, best: Sequence[Assembly], easing: Easing | None = None, because: Choosing | None = None
) -> Purchase:
    """The first of some sets as what is bought, with its reason (that it is the cheapest, unless another is given)."""
    reason = because or _cheapest(best, easing)
    by_id = sorted(asked.slots, key=lambda slot: slot.id)
    options = {slot.id: option for slot, option in zip(by_id, best[0].options, strict=True)}
    options = {id_: options[id_] for id_ in sorted(options, key=_place)}
    names = {slot.id: slot.name or slot.id for slot in asked.slots}
    reasons = {id_: _by_hand(asked.pins[id_], reason) if id_ in asked.pins else reason for id_ in options}
    chosen = Chosen(options, {d.id: d for d in asked.demands}, reasons, names)
    made = Purchase(chosen, tuple(best), asked.slots, easing, demands=asked.demands, costs=asked.costs)
    chosen.stood = stood(made)
    return made


def _cheapest(best: Sequence[Assembly], easing: Easing | None) -> Choosing:
    first = best[0]
    others = tuple((_difference(first, other), _dearer(other.price - first.price)) for other in best[1:])
    what = "that meets every demand" if easing is None else f"once {easing.demand.label} gives way"
    price = with_unit(first.price / 100, CURRENCY)
    return Choosing(f"part of the cheapest set {what} ({price})", others, "No other set fits", "Next best whole sets")


def _by_hand(pin: Pin, reason: Choosing) -> Choosing:
    """A choice that a person made: their reason first; the line of the pin is left out, since lines move."""
    return replace(reason, because=f"pinned ({pin.because}); {reason.because}")


def _place(slot: str) -> tuple[int, str]:
    """Where a slot stands in a list of what to buy: the server first, its parts, what carries it, its copies."""
    return (TOLD_IN_ORDER.index(slot) if slot in TOLD_IN_ORDER else len(TOLD_IN_ORDER), slot)


def _difference(first: Assembly, other: Assembly) -> str:
    return ", ".join(theirs.slug for theirs, mine in zip(other.options, first.options, strict=True) if theirs != mine)


def _dearer(minor_units: Decimal) -> str:
    return f"+{with_unit(minor_units / 100, CURRENCY)}"


def checked(book: Book, purchase: Purchase, ledger: Ledger) -> Iterator[Finding]:
    """What each demand gets, entered under the demand's id, and held against its amount once more (P-1)."""
    for demand in book.every(Demand):
        given: Figure[Any] = ledger.enter(demand.id, demand.label, purchase.chosen.met(demand.id))
        purchase.chosen.entered[demand.id] = given  # a pin may have put another in its place
        about = _about(purchase.chosen.touched(demand.what))
        got, sketched = f"{demand.label}: {text(given)}", purchase.sketched
        missed = partial(_missed, demand, given, about, HELD if sketched else NEEDED if demand.need else UNFIT)
        if not demand.bounds:
            yield missed(negated.of(given=given), f"{demand.label}: no")
        if demand.at_least is not None:
            less = shorter.of(have=given, need=demand.at_least)
            yield missed(less, f"{got}, at least {text(demand.at_least)} wanted")
        if demand.at_most is not None:
            more = beyond.of(have=given, limit=demand.at_most)
            yield missed(more, f"{got}, at most {text(demand.at_most)} wanted")


def _about(slots: frozenset[str]) -> str:
    """The part that a drawing circles: what a demand reads last in the list of what to buy, the host for its own parts."""
    last = max(slots, key=_place, default="")
    return "host" if last in ("processor", "memory") else last


def _missed(demand: Demand, given: Figure[Any], about: str, remedy: str, when: Figure[bool], says: str) -> Finding:
    return Finding("P-1", Weight.STOP, when, says, remedy, {demand.id: given}, about)
