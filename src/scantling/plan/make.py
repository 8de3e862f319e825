"""From sections, catalogue and house rules to a frozen plan."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from ipaddress import AddressValueError
from types import ModuleType
from typing import Any, TypeVar

from scantling.brief import Declined, Office, Section
from scantling.catalogue import Catalogue, CatalogueError, House
from scantling.figures import Chosen, Figure, Finding, Ledger, Page, Pin, PinError, Slot, Weight
from scantling.figures.numbers import counted, in_currency, text
from scantling.handbook.choosing import silent
from scantling.plan.evidence import Evidence
from scantling.plan.laying import unused
from scantling.plan.holding import held_to
from scantling.plan.pinned import PinPrice
from scantling.plan.purchase import Confirmation, Purchase, bought, checked, question
from scantling.plan.spine import Book, Function, PlanError, functions, ordered, run, trades
from scantling.standing import NOTHING, Standing

R = TypeVar("R")
PLACE = re.compile(r"\{([A-Za-z_][\w.-]*)(?::([^{}|]*)\|([^{}|]*))?\}")
UNFIT = (PlanError, PinError, CatalogueError, ArithmeticError, LookupError, ValueError)
ORDER = {Weight.STOP: 0, Weight.MEND: 1, Weight.NOTE: 2}


@dataclass(frozen=True)
class Inputs:
    """What a plan is computed from: sections by class, stock and house rules, pins by figure id."""

    sections: Mapping[type[Section], Section]
    catalogue: Catalogue
    house: House
    pins: Mapping[str, Pin]
    standing: Standing = NOTHING

    def all(self) -> dict[type[Any], Any]:
        """By the class that a trade's signature names."""
        return {**self.sections, Catalogue: self.catalogue, House: self.house, Standing: self.standing}


@dataclass(frozen=True)
class Told:
    """A finding with its sentence made, and who declined it, if anybody."""

    finding: Finding
    says: str
    declined: str = ""
    trade: str = ""
    """Whose finding it is."""

    @property
    def weight(self) -> str:
        """stop, mend or note."""
        return self.finding.weight.value


@dataclass(frozen=True)
class Plan:
    """Figures by id, records by kind with their trade, findings, the purchase. Immutable; nothing else is kept."""

    office: Office
    currency: str
    figures: Mapping[str, Figure[Any]]
    entries: Mapping[type[Any], Sequence[tuple[str, Any]]]
    findings: tuple[Told, ...]
    checked: tuple[Finding, ...]
    """Findings that do not hold: looked at and found well."""
    purchase: Purchase
    pins: Mapping[str, Pin] = field(default_factory=dict)
    """What was set by hand, by figure id."""
    pin_prices: tuple[PinPrice, ...] = ()
    """What each pin costs; empty until it was asked."""
    confirmed: Confirmation | None = None
    """What a second solver said of the purchase; None until it was asked."""
    proof: Evidence | None = None
    """What the proof of the firewall's rules says; None where there are none, or until they were proved."""

    def records(self, kind: type[R]) -> tuple[R, ...]:
        """All records of a kind, in the order they were made."""
        return tuple(record for _, record in self.entries.get(kind, ()))

    def pages(self) -> tuple[Page, ...]:
        """The trades' sheets in the order of the drawing set."""
        order = "GNSBPAOTW"
        return tuple(sorted(self.records(Page), key=lambda page: (order.index(page.letter), page.order, page.slug)))

    @property
    def stops(self) -> tuple[Told, ...]:
        """Stop findings that nobody has declined."""
        return tuple(told for told in self.findings if told.weight == Weight.STOP.value and not told.declined)

    @property
    def provisional(self) -> bool:
        """Whether a need had to give way."""
        return self.purchase.easing is not None or bool(self.purchase.given_up)

    @property
    def sketched(self) -> bool:
        """Whether the parts are those of an earlier plan, held until a search says what is cheapest now."""
        return self.purchase.sketched


Held = Plan | Purchase | Chosen
"""What was bought before."""


@cache
def _all_functions(modules: tuple[ModuleType, ...]) -> tuple[Function, ...]:
    return tuple(ordered(functions(modules)))


def planned_functions() -> tuple[Function, ...]:
    """Every trade's functions in order; read once for the same trades."""
    return _all_functions(tuple(trades()))


def make(inputs: Inputs, tell: Callable[[int], None] = silent, held: Held | None = None) -> Plan:
    """Asks, purchase, design, cross-checks. Raises PlanError, PinError with a person's words.

    With `held`, the plan or purchase of an earlier brief, nothing is searched for: what was found stands where the same is
    asked again, else the parts held are kept and the plan is `sketched`; what they no longer meet is found as P-1. Where they
    are not on offer, or nothing can be laid out with them, they are searched for after all. What `tell` raises ends it.
    """
    try:
        return _made(inputs, tell, held)
    except (ArithmeticError, AddressValueError) as wrong:  # a rate of nought, a subnet at the end of all addresses
        if not inputs.pins:
            raise
        pins = ", ".join(f"{id_} = {pin.text} ({pin.place})" for id_, pin in inputs.pins.items())
        raise PinError(f"nothing can be reckoned with what is pinned: {pins}: {wrong}; pin another value") from None


def _made(inputs: Inputs, tell: Callable[[int], None], held: Held | None) -> Plan:
    many = planned_functions()
    ledger, book = Ledger(inputs.pins), Book()
    run([function for function in many if not function.late], inputs.all(), ledger, book)
    asked = question(book, ledger, inputs.standing)
    found = None if held is None else held_to(asked, held.purchase if isinstance(held, Plan) else held)
    if found is None:
        found = bought(asked, tell)
    late = [function for function in many if function.late]
    if not found.sketched:
        return _designed(inputs, (ledger, book), found, late)
    try:
        return _designed(inputs, (ledger, book), found, late)
    except UNFIT:  # parts that do not go together may leave a trade without an answer
        return _made(inputs, tell, None)


def _designed(inputs: Inputs, asked: tuple[Ledger, Book], purchase: Purchase, late: Sequence[Function]) -> Plan:
    """All that follows from a purchase, beside what was asked for it."""
    ledger, book = asked
    for figure in purchase.chosen.picked.values():
        ledger.figures[figure.id] = figure
    for finding in (*checked(book, purchase, ledger), *unused(book.every(Slot), inputs.standing)):
        book.add("purchase", finding)
    run(late, {**inputs.all(), Chosen: purchase.chosen}, ledger, book)
    _all_pins_used(ledger)
    return _frozen(inputs, ledger, book, purchase)


def _all_pins_used(ledger: Ledger) -> None:
    if unused := sorted(set(ledger.pins) - ledger.used):
        pin = ledger.pins[unused[0]]
        near = get_close_matches(unused[0], ledger.figures, 1, 0.5)
        hint = f"; did you mean {near[0]}?" if near else ""
        message = f"{pin.place}: pin {unused[0]}: this plan has no figure of that name{hint}"
        raise PinError(message)


def _all_declined_known(declined: Section | None, codes: set[str]) -> None:
    """A refusal of advice that nobody gives is a slip of the pen. Raises PlanError."""
    for code, refusal in (declined.items if isinstance(declined, Declined) else {}).items():
        if code.upper() not in codes:
            near = get_close_matches(code.upper(), sorted(codes), 1, 0.5)
            hint = f"; did you mean {near[0]}?" if near else ""
            place = getattr(refusal.by.how, "place", "")
            message = f"{place}: declined.{code}: there is no finding of that code in this plan{hint}"
            raise PlanError(message)


def _frozen(inputs: Inputs, ledger: Ledger, book: Book, purchase: Purchase) -> Plan:
    office = inputs.sections[Office]
    assert isinstance(office, Office)
    declined = inputs.sections.get(Declined)
    currency = str(office.currency.value)
    found = book.entries.pop(Finding, [])
    _all_declined_known(declined, {finding.code for _, finding in found})
    told = [_tell(trade, f, declined, currency) for trade, f in found if f.when.value]
    told.sort(key=lambda t: (bool(t.declined), ORDER[t.finding.weight], t.finding.code, t.finding.about, t.says))
    well = tuple(f for _, f in found if not f.when.value)
    return Plan(office, currency, ledger.figures, dict(book.entries), tuple(told), well, purchase, dict(inputs.pins))


def _tell(trade: str, finding: Finding, declined: Section | None, currency: str) -> Told:
    return Told(finding, in_currency(sentence(finding), currency), _declined(finding, declined), trade)


def sentence(finding: Finding) -> str:
    """What a finding says, with its figures in their places."""
    return PLACE.sub(lambda found: _filled(finding.shown, found), finding.says)


def _filled(shown: Mapping[str, Figure[Any]], found: re.Match[str]) -> str:
    """What stands for a place of a sentence; a client's own braces stay as they are."""
    if found[1] not in shown:
        return found[0]
    figure = shown[found[1]]
    if found[2] is None:
        return text(figure)
    return counted(figure.value, found[2], found[3])


def _declined(finding: Finding, declined: Section | None) -> str:
    items = declined.items if isinstance(declined, Declined) else {}
    by = next((refusal for code, refusal in items.items() if code.upper() == finding.code), None)
    return f"declined by {text(by.by)} on {text(by.on)}: {text(by.because)}" if by is not None else ""
