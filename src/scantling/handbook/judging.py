"""Demands and costs over slots, made ready for a search: plain numbers, bounds for what is still open, senses.

A demand is a small tree: rules over attributes of slots, gatherings over all slots, and figures. While slots are open each
column takes its most favourable end over the options still open: rising arguments high and falling ones low for a
floor, the other way round for a ceiling. A demand that fails even then fails for every completion.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.buying import Demand, Slot
from scantling.figures.terms import Across, Attribute, Of, Over
from scantling.figures.units import SAME, Unit, convert

OPEN = -1
Picks = list[int]


class UnknownEndError(Exception):
    """An argument of no declared direction is still open, so that this end can't be told yet."""


class Fixed:
    """A figure: the same whatever is chosen."""

    scope: frozenset[int] = frozenset()

    def __init__(self, value: Any) -> None:
        self.value = value

    def end(self, picks: Picks, high: bool | None) -> Any:  # noqa: ARG002, FBT001 - one signature for every node
        """The value itself."""
        return self.value


class Column:
    """One number for each option of one slot."""

    def __init__(self, slot: int, values: list[Any]) -> None:
        self.slot, self.values, self.scope = slot, values, frozenset((slot,))
        self.ends: tuple[Any, Any] = (None, None)

    def narrow(self, left: list[int]) -> None:
        """Keep the least and the largest value over the options left."""
        seen = [self.values[option] for option in left]
        self.ends = (min(seen), max(seen)) if _ordered(seen) else (None, None)

    def end(self, picks: Picks, high: bool | None) -> Any:  # noqa: FBT001 - one signature for every node
        """The picked value, else the end asked for. Raises UnknownEndError without one."""
        pick = picks[self.slot]
        if pick != OPEN:
            return self.values[pick]
        if high is None or self.ends[0] is None:
            raise UnknownEndError
        return self.ends[high]


class Together:
    """One attribute gathered over every slot that has it."""

    def __init__(self, columns: list[Column], fold: Callable[[Iterable[Any], Any], Any], nought: Any) -> None:
        self.columns, self.fold, self.nought = columns, fold, nought
        self.scope = frozenset(column.slot for column in columns)

    def end(self, picks: Picks, high: bool | None) -> Any:  # noqa: FBT001 - one signature for every node
        """All columns at that end, folded."""
        return self.fold([column.end(picks, high) for column in self.columns], self.nought)


class Call:
    """A rule on such nodes: node and direction of each argument, in the rule's own order."""

    def __init__(self, function: Callable[..., Any], arguments: list[tuple[Any, int]]) -> None:
        self.function, self.arguments = function, arguments
        self.scope = frozenset(slot for node, _ in arguments for slot in node.scope)

    def end(self, picks: Picks, high: bool | None) -> Any:  # noqa: FBT001 - one signature for every node
        """The rule at the end asked for, each argument turned by its direction."""
        low = None if high is None else not high
        return self.function(
            *[node.end(picks, high if way > 0 else low if way else None) for node, way in self.arguments]
        )


def _shared(term: Over[Any]) -> Unit[Any]:
    names = (name for name, parameter in term.rule.parameters.items() if parameter.unit is SAME)
    unit: Unit[Any] = term.terms[next(names)].unit
    return unit


def _ordered(values: Sequence[Any]) -> bool:
    return bool(values) and not isinstance(values[0], (str, type(None)))


@dataclass
class Test:
    """A demand made ready: a node and its bounds in the node's unit."""

    id: str
    node: Any
    least: Any = None
    most: Any = None

    def passes(self, picks: Picks) -> bool:
        """True unless no completion can pass."""
        return self._floor(picks) and self._ceiling(picks)

    def _floor(self, picks: Picks) -> bool:
        if self.least is None and self.most is not None:
            return True
        try:
            value = self.node.end(picks, True)  # noqa: FBT003 - the high end
        except UnknownEndError:
            return True
        return bool(value) if self.least is None else value >= self.least

    def _ceiling(self, picks: Picks) -> bool:
        if self.most is None:
            return True
        try:
            return bool(self.node.end(picks, False) <= self.most)  # noqa: FBT003 - the low end
        except UnknownEndError:
            return True

    @property
    def senses(self) -> frozenset[int]:
        """Which way it pulls: up, down, or both."""
        down = self.most is not None
        up = self.least is not None or not down
        return frozenset(way for way, wanted in ((1, up), (-1, down)) if wanted)


def pulls(node: Any, sense: int, found: dict[Column, set[int]]) -> None:
    """Which way each column helps: up (1), down (-1), or only as it is (0)."""
    if isinstance(node, Column):
        found.setdefault(node, set()).add(sense if _ordered(node.values) else 0)
    elif isinstance(node, Together):
        for column in node.columns:
            pulls(column, sense, found)
    elif isinstance(node, Call):
        for inner, way in node.arguments:
            pulls(inner, sense * way, found)


class Bench:
    """Slots laid out as columns of plain numbers; terms are compiled against them."""

    def __init__(self, slots: Sequence[Slot]) -> None:
        self.slots = sorted(slots, key=lambda slot: slot.id)
        self.position = {slot.id: place for place, slot in enumerate(self.slots)}
        self.columns: dict[tuple[int, str, int], Column] = {}
        self.derived: list[Column] = []
        self.having: dict[Attribute[Any], list[int]] = {}

    def test(self, demand: Demand) -> Test:
        """A demand made ready. Raises KeyError for a slot that nobody offers."""
        unit = demand.what.unit
        least, most = (
            None if f is None else convert(f.value, f.unit, unit) for f in (demand.at_least, demand.at_most)
        )
        return Test(demand.id, self.node(demand.what, unit), least, most)

    def node(self, term: Any, want: Unit[Any]) -> Any:
        """A term compiled; whatever reads one slot alone becomes a column of that slot."""
        if isinstance(term, Figure):
            return Fixed(convert(term.value, term.unit, want))
        if isinstance(term, Over):
            return self._call(term, want)
        if isinstance(term, Of):
            return self._column(self.position[term.slot], term.attribute, want)
        return self._across(term, want)

    def _across(self, term: Across[Any], want: Unit[Any]) -> Any:
        kind: Any = want.kind
        columns = [self._column(place, term.attribute, want, nought=kind()) for place in self._having(term.attribute)]
        return Together(columns, term.fold, kind()) if columns else Fixed(kind())

    def _having(self, attribute: Attribute[Any]) -> list[int]:
        """The slots of which some option has the attribute."""
        if attribute not in self.having:
            self.having[attribute] = [
                place
                for place, slot in enumerate(self.slots)
                if any(option.get(attribute) is not None for option in slot.options)
            ]
        return self.having[attribute]

    def _column(self, slot: int, attribute: Attribute[Any], want: Unit[Any], nought: Any = None) -> Column:
        key = (slot, attribute.name, id(want))
        if key not in self.columns:
            raw = [option.get(attribute) for option in self.slots[slot].options]
            values = [nought if value is None else convert(value, attribute.unit, want) for value in raw]
            if None in values:
                lacking = self.slots[slot].options[values.index(None)].slug
                message = f"{self.slots[slot].id}: {lacking} has no {attribute.name}"
                raise KeyError(message)
            self.columns[key] = Column(slot, values)
        return self.columns[key]

    def _call(self, term: Over[Any], want: Unit[Any]) -> Any:
        rule = term.rule
        given = term.unit
        units = {name: parameter.unit for name, parameter in rule.parameters.items()}
        for name, unit in units.items():  # a rule for any unit takes that of its first such argument
            units[name] = _shared(term) if unit is SAME else unit
        inner = [(self.node(term.terms[name], unit), rule.direction.get(name, 0)) for name, unit in units.items()]
        call = Call(rule.function, inner)
        if not call.scope:
            return Fixed(convert(call.end([], None), given, want))
        if len(call.scope) > 1:
            return call if given is want else Call(lambda inner: convert(inner, given, want), [(call, 1)])
        (slot,) = call.scope
        picks = [OPEN] * len(self.slots)
        values = []
        for option in range(len(self.slots[slot].options)):
            picks[slot] = option
            values.append(convert(call.end(picks, None), given, want))
        self.derived.append(Column(slot, values))
        return self.derived[-1]
