"""Address plans of small invented offices without any purchase, as text and records, for tests that need many of them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, TypeVar, cast

from scantling import api
from scantling.api.planning import Found, inputs
from scantling.brief import Office
from scantling.figures import Finding, Ledger
from scantling.plan.issuing import issued, new_lines
from scantling.plan.make import Plan, planned_functions
from scantling.plan.spine import Book, Function, run
from scantling.standing.writing import Line, plain_answers, tree_of, with_lines

R = TypeVar("R")
SERVICES = ("firewall", "directory", "names and addresses", "files", "backup")
MORE_SERVICES = (
    "print",
    "wireless controller",
    "network monitor",
    "content filter",
    "camera recorder",
    "remote access",
)
KINDS = ("pc", "laptop", "printer", "phone", "camera", "control", "payment terminal", "access point")
TRADES = frozenset({"addresses", "sixth", "legs", "reservations", "register"})
"""Those whose designs make an address plan."""
ZONES = ("staff", "phones", "cameras", "payments", "stage", "workshop", "other")


@dataclass(frozen=True)
class Small:
    """An office as far as its address plan goes: devices by slug (kind, zone, count), heads, further services, visitors."""

    devices: Mapping[str, tuple[str, str, int]]
    heads: int = 5
    services: frozenset[str] = frozenset()
    visitors: int = 0
    block: str = ""
    prefix6: str = ""
    more: tuple[str, ...] = ()

    def brief(self) -> str:
        """As a brief."""
        return "\n".join(_lines(self)) + "\n"


def _lines(office: Small) -> Iterator[str]:
    yield "office: {name: Test, country: IE, currency: EUR, as_of: 2026-11-25}"
    yield f"people: {{roles: {{all: {{name: All, heads: {office.heads}, growth: 0 %/year}}}}}}"
    if office.devices:
        yield "devices:"
        for slug, (kind, zone, count) in office.devices.items():
            yield f"  {slug}: {{kind: {kind}, zone: {zone}, count: {count}}}"
    if office.visitors:
        yield f'visitors: {{events: {{day: {{name: Day, people: {office.visitors}, days: mon-fri, doors: "10:00"}}}}}}'
    yield "services:"
    for profile in (*SERVICES, *sorted(office.services)):
        yield f"  {profile.replace(' ', '-')}: {{profile: {profile}, down: 8 h, lost: 24 h}}"
    known = {"block": office.block, "prefix6": office.prefix6}
    if any(known.values()):
        yield "network: {" + ", ".join(f'{word}: "{net}"' for word, net in known.items() if net) + "}"
    yield from office.more


@dataclass(frozen=True)
class Addressed:
    """The records, figures and findings of an address plan."""

    book: Book
    ledger: Ledger = field(default_factory=Ledger)

    def records(self, kind: type[R]) -> tuple[R, ...]:
        """All of a kind."""
        return self.book.every(kind)

    def codes(self) -> set[str]:
        """Findings of the address plan that hold."""
        return {finding.code for finding in self.records(Finding) if finding.when.value and finding.code[0] in "AG"}

    def lines(self) -> list[Line]:
        """What it issues."""
        return list(issued(cast("Plan", self)))


@cache
def _functions(*, named: bool) -> tuple[list[Function], list[Function]]:
    every, trades = planned_functions(), TRADES | {"names"} if named else TRADES
    return [one for one in every if not one.late], [one for one in every if one.late and one.trade in trades]


def addressed(office: Small, stands: str = "", *, named: bool = False) -> Addressed:
    """The address plan of an office beside what stands, with the names of everything if asked. Raises UserError."""
    read = inputs(office.brief(), "brief.yaml", api.stock(), Found(stands))
    ledger, book = Ledger(read.pins), Book()
    given: dict[type[Any], Any] = read.all()
    assert Office in given
    for many in _functions(named=named):
        run(many, given, ledger, book)
    return Addressed(book, ledger)


def keeping(stands: str, plan: Addressed) -> str:
    """The standing file after the plan was kept; nothing in it may have been otherwise."""
    tree = tree_of(stands, "standing.yaml")
    added, conflicts = new_lines(plan.lines(), plain_answers(tree) if tree is not None else {})
    assert not conflicts
    return with_lines(stands, added, "standing.yaml") if added else stands
