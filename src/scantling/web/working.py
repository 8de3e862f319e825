"""What the margin tells of one figure: its value, how it came about, what it rests on, and what rests on it."""

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from functools import cache
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from typing import Any
from urllib.parse import quote

from scantling.api.dependents import Resting, Web, web_of
from scantling.catalogue import Catalogue, House
from scantling.catalogue.reading import all_columns
from scantling.figures import Attribute, Figure, Origin
from scantling.figures.numbers import CANONICAL, in_currency, number, text, with_unit
from scantling.figures.quantities import parse, symbol_of
from scantling.plan.make import Plan, Told
from scantling.plan.spine import columns, trades
from scantling.plan.telling import NoSuchFigureError, find, source_of
from scantling.web.form import field_of
from scantling.web.form_kinds import Field
from scantling.web.parts import View

MOST_INPUTS = 60
"""More inputs than these are told when they are asked for."""
PURCHASE = "purchase."
MOST_OFFERED = 120
SINGLE = (bool, int, float, Decimal, str, date, Enum, IPv4Address, IPv4Network, IPv6Address, IPv6Network)
"""What one line of a brief can say; a table or a course over time can't be set by hand."""


@dataclass(frozen=True)
class Leaf:
    """Where a value comes from that rests on nothing: its kind, its place, and what stands there."""

    kind: str
    says: str
    place: str
    assumed: bool = False
    answer: str = ""
    """The id of the answer, for a line of the brief."""
    field: Field | None = None
    rows: tuple[tuple[str, str], ...] = ()
    """What else stands at that place, such as the columns of a catalogue row."""
    line: str = ""
    """The line of the file."""


@dataclass(frozen=True)
class Branch:
    """One input as a line: opened in place where it has something below."""

    address: str
    label: str
    words: str
    before: str | None
    below: "Level | None" = None

    @property
    def link(self) -> str:
        """Its address as part of an address on the web."""
        return linked(self.address)


@dataclass(frozen=True)
class Level:
    """What is told of one figure when it is opened: how it came about, its inputs or its place, and what was left out."""

    says: str
    source: str
    inputs: tuple[Branch, ...]
    leaf: Leaf | None
    more: int = 0


@dataclass(frozen=True)
class Pinning:
    """How a figure is set by hand: what to write there, what stands there already, and what it costs."""

    written: str
    offered: tuple[tuple[str, str], ...]
    because: str = ""
    price: str = ""
    pinned: bool = False


@dataclass(frozen=True)
class Working:
    """All that the margin tells of one figure."""

    address: str
    label: str
    value: str
    unit: str
    before: str | None
    level: Level
    resting: Resting
    findings: tuple[tuple[int, Told], ...]
    pinning: Pinning | None

    @property
    def link(self) -> str:
        """Its address as part of an address on the web."""
        return linked(self.address)


def linked(address: str) -> str:
    """An address as one step of an address on the web."""
    return quote(address, safe="")


class Teller:
    """Tells workings of one plan."""

    def __init__(self, view: View, opened: Collection[str] = (), *, whole: bool = False) -> None:
        assert view.state.planned is not None
        self.view, self.inputs, self.plan = view, view.state.planned.inputs, view.state.planned.plan
        self.web: Web = web_of(self.plan)
        self.most = 10**6 if whole else MOST_INPUTS
        self._waiting = set(opened)

    def figure(self, address: str) -> Figure[Any]:
        """The figure at an address. Raises NoSuchFigureError naming the nearest."""
        found = self.web.nodes.get(address)
        return found if found is not None else find(self.plan, address)

    def working(self, address: str) -> Working:
        """Everything about one figure. Raises NoSuchFigureError."""
        figure = self.figure(address)
        self._waiting.discard(address)
        value, unit = self._parted(figure)
        return Working(
            address, _titled(figure, address), value, unit, self._before(figure.id), self.level(figure, address),
            self.web.resting_on(figure.id or address), self.web.shown_by(figure.id), pinning(self.plan, address, figure),
        )  # fmt: skip

    def level(self, figure: Figure[Any], address: str) -> Level:
        """What is told of a figure when it is opened."""
        says = in_currency(figure.how.working(figure), self.plan.currency)
        leaf = self._leaf(figure, figure.how) if isinstance(figure.how, Origin) else None
        inputs = list(figure.addressed())
        labels = Counter(parent.label for _, parent in inputs)
        told = []
        for argument, parent in inputs[: self.most]:
            alike = parent.label and labels[parent.label] > 1
            label = f"{parent.label}, {last_step(argument)}" if alike else parent.label or last_step(argument)
            told.append(self._branch(parent, parent.id or f"{address}/{argument}", label))
        return Level(says, source_of(figure), tuple(told), leaf, max(0, len(inputs) - self.most))

    def _branch(self, parent: Figure[Any], address: str, label: str) -> Branch:
        below = None
        if address in self._waiting:
            self._waiting.discard(address)
            below = self.level(parent, address)
        return Branch(address, label, self._words(parent), self._before(parent.id), below)

    def _words(self, figure: Figure[Any]) -> str:
        return in_currency(text(figure), self.plan.currency)

    def _parted(self, figure: Figure[Any]) -> tuple[str, str]:
        """Value and unit apart, since they are set in two sizes."""
        whole = self._words(figure)
        if not (figure.unit.numeric and figure.unit.symbol):
            return whole, ""
        value, _, unit = whole.partition(" ")
        return value, unit

    def _before(self, id_: str) -> str | None:
        moved = self.view.state.moved.get(id_)
        return moved[0] if moved is not None else None

    def _leaf(self, figure: Figure[Any], how: Origin) -> Leaf:
        where, place = in_currency(how.where, self.plan.currency), how.place
        line = place.rpartition(":")[2]
        head, _, rest = figure.id.partition(".")
        if how.kind == "brief" or head == "brief":
            answer = rest or where.partition(":")[0]
            return Leaf(how.kind, where, place, how.assumed, answer, field_of(self.view, answer), (), line)
        if how.kind == "catalogue":
            return Leaf(how.kind, where, place, rows=_row(self.inputs.catalogue, how.where), line=line)
        if how.kind == "house rule":
            return Leaf(how.kind, where, place, rows=_rule(self.inputs.house, where.partition(":")[0]), line=line)
        return Leaf(how.kind, where, place, line=line)


def _titled(figure: Figure[Any], address: str) -> str:
    """What a figure is called at the head of its working; an answer of the brief with the thing it belongs to."""
    above = figure.id.removeprefix("brief.").rpartition(".")[0] if figure.id.startswith("brief.") else ""
    label = figure.label or last_step(address)
    return f"{label} ({above})" if above else label


def last_step(argument: str) -> str:
    """The last word of an address or an argument, as people read it."""
    return argument.rpartition("/")[2].rpartition(".")[2].replace("_", " ")


@cache
def _columns() -> Mapping[str, tuple[Attribute[Any], ...]]:
    """The columns of every kind of row, with their units."""
    return all_columns(columns(trades()))


def _row(catalogue: Catalogue, where: str) -> tuple[tuple[str, str], ...]:
    """Every column of the row that a figure is taken from."""
    kind, slug, _ = (*where.split(".", 2), "", "")[:3]
    row = catalogue.rows.get(kind, {}).get(slug)
    if row is None:
        return ()
    units = {one.name: one.unit for one in _columns().get(kind, ())}
    told = [("row", f"{kind.replace('_', ' ')} {slug}")]
    for name, value in row.values.items():
        symbol = units[name].symbol if name in units else ""
        told.append((name.replace("_", " "), in_currency(with_unit(value, symbol), catalogue.currency)))
    return tuple(told)


def _rule(house: House, key: str) -> tuple[tuple[str, str], ...]:
    """Range, reason and source of a house rule."""
    line = house.lines.get(key)
    if line is None:
        return ()
    told = (
        ("rule", key), ("as written", ", ".join(line.texts)), ("usual range", line.range), ("reason", line.reason),
        ("source", line.source),
    )  # fmt: skip
    return tuple((name, says) for name, says in told if says)


# ------------------------------------------------------------------------------------------------------------ by hand


def pinning(plan: Plan, address: str, figure: Figure[Any]) -> Pinning | None:
    """How a figure of the plan can be set by hand; None for what is no figure of its own, and for tables."""
    if address not in plan.figures or not isinstance(figure.value, SINGLE):
        return None
    offered = _offered(plan, address)
    pin = plan.pins.get(address)
    if pin is None:
        return Pinning(written(figure, plan.currency), offered)
    return Pinning(pin.text, offered, pin.because, _priced(plan, address), pinned=True)


def written(figure: Figure[Any], currency: str) -> str:
    """A value as it is written into a brief: digits without commas, and the unit; empty for one that none could write."""
    value, unit = figure.value, figure.unit
    words = number(value)
    if unit.numeric and not isinstance(value, bool):
        digits = f"{Decimal(f'{value:.{CANONICAL}g}'):f}" if isinstance(value, float) else f"{value}"
        words = f"{digits} {symbol_of(unit, currency)}".rstrip()
    try:
        parse(words, unit, currency)
    except ValueError:  # without end, or beyond what an answer may be
        return ""
    return words


def _offered(plan: Plan, address: str) -> tuple[tuple[str, str], ...]:
    """What else could be bought there, cheapest first, with prices."""
    slot = next((one for one in plan.purchase.slots if f"{PURCHASE}{one.id}" == address), None)
    options = sorted(slot.options, key=lambda one: (one.price, one.slug)) if slot is not None else []
    return tuple((one.slug, with_unit(one.price, plan.currency)) for one in options[:MOST_OFFERED])


def _priced(plan: Plan, id_: str) -> str:
    """What a pin costs, in words; empty until that was reckoned."""
    from scantling.outputs.summary import pinned  # noqa: PLC0415 - one place has the words

    told = dict(zip(sorted(plan.pins), pinned(plan), strict=True)).get(id_, "")
    pin = plan.pins[id_]
    return told.removeprefix(f"pinned: {id_} = {pin.text} ({pin.because})").removeprefix(": ")


__all__ = [
    "Branch",
    "Leaf",
    "Level",
    "NoSuchFigureError",
    "Pinning",
    "Teller",
    "Working",
    "linked",
    "pinning",
    "written",
]
