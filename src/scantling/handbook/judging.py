"""Demands and costs over slots, made ready for a search: terms compiled against the slots, demands as tests.

A demand that fails even at the most favourable ends of all open columns fails for every completion.
"""

from collections.abc import Callable, Sequence
from functools import cached_property
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.buying import Demand, Slot
from scantling.figures.terms import Across, Attribute, Of, Over, Row
from scantling.figures.units import SAME, Unit, convert
from scantling.handbook.nodes import Call, Column, Fixed, Together, columns_of

Picks = Sequence[int]


class Test:
    """A demand made ready: a node and its bounds in the node's unit.

    It waits while a slot is open whose column has no direction; `waiting` counts those. A `goal` is a demand whose
    bound rises while it is searched for, so that nothing passes it for certain.
    """

    def __init__(self, id_: str, node: Any, least: Any = None, most: Any = None, *, goal: bool = False) -> None:
        self.id, self.node, self.least, self.most, self.goal = id_, node, least, most, goal
        self.scope: frozenset[int] = node.scope
        self.waits: frozenset[int] = node.undirected
        self.waiting = 0

    def passes(self, picks: Picks) -> bool:
        """Whether a whole set, one option for each slot by its place, meets it."""
        for column in self.columns:
            column.at(picks[column.slot])
            column.pick(picks[column.slot])
        return self.holds(self.node.high())

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Every column that it reads."""
        return tuple(columns_of(self.node))

    def can_pass(self) -> bool:
        """True unless no completion of what is picked can pass."""
        if self.waiting:
            return True
        if self.least is not None:
            return bool(self.node.high() >= self.least) and (self.most is None or bool(self.node.low() <= self.most))
        return bool(self.node.low() <= self.most) if self.most is not None else bool(self.node.high())

    def holds(self, value: Any) -> bool:
        """Whether a value is within the bounds."""
        if self.least is None and self.most is None:
            return bool(value)
        return (self.least is None or value >= self.least) and (self.most is None or value <= self.most)

    def certain(self) -> bool:
        """True when every completion passes, and always will."""
        if self.waiting or self.goal:
            return False
        if self.most is not None and not self.node.high() <= self.most:
            return False
        if self.least is not None:
            return bool(self.node.low() >= self.least)
        return self.most is not None or bool(self.node.low())

    @property
    def senses(self) -> frozenset[int]:
        """Which way it pulls: up, down, or both."""
        down = self.most is not None
        up = self.least is not None or not down
        return frozenset(way for way, wanted in ((1, up), (-1, down)) if wanted)


def worth(node: Any, picks: Picks) -> Any:
    """What a node comes to for a whole set, one option for each slot by its place."""
    for column in columns_of(node):
        column.at(picks[column.slot])
        column.pick(picks[column.slot])
    return node.high()


class Bench:
    """Slots in the order of their ids, laid out as columns of plain numbers; terms are compiled against them."""

    def __init__(self, slots: Sequence[Slot]) -> None:
        self.slots = sorted(slots, key=lambda slot: slot.id)
        self.position = {slot.id: place for place, slot in enumerate(self.slots)}
        self.columns: dict[tuple[int, str, int, bool], Column] = {}
        self.derived: list[Column] = []
        self.having: dict[str, list[int]] = {}
        self.known: dict[tuple[Any, ...], Any] = {}

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
        if len(columns) == 1:  # gathered or not, it is that column
            return self._derived(columns[0].slot, lambda option: term.fold([columns[0].at(option)], kind()))
        return Together(columns, term.fold, kind()) if columns else Fixed(term.fold([], kind()))

    def _having(self, attribute: Attribute[Any]) -> list[int]:
        """The slots of which some option has the attribute."""
        if attribute.name not in self.having:
            self.having[attribute.name] = [
                place
                for place, (own, rows) in enumerate(self._made_of)
                if attribute in own or any(row.get(attribute) is not None for row in rows)
            ]
        return self.having[attribute.name]

    @cached_property
    def _made_of(self) -> list[tuple[set[Attribute[Any]], list[Row]]]:
        """For each slot what its options have of their own, and the rows that they are made of, each once."""
        made = []
        for slot in self.slots:
            owns = {frozenset(option.own) for option in slot.options if option.own}
            rows = {id(row): row for option in slot.options for row, _ in option.parts}
            made.append((set[Attribute[Any]]().union(*owns), list(rows.values())))
        return made

    def _column(self, slot: int, attribute: Attribute[Any], want: Unit[Any], nought: Any = None) -> Column:
        key = (slot, attribute.name, id(want), nought is None)
        if key not in self.columns:
            get, unit = self._reader(slot, attribute), attribute.unit

            def read(option: int) -> Any:
                value = get(option)
                if value is None and nought is None:
                    lacking = self.slots[slot].options[option].slug
                    raise KeyError(f"{self.slots[slot].id}: {lacking} has no {attribute.name}")
                return nought if value is None else value if unit is want else convert(value, unit, want)

            self.columns[key] = Column(slot, len(self.slots[slot].options), read)
        return self.columns[key]

    def _reader(self, slot: int, attribute: Attribute[Any]) -> Callable[[int], Any]:
        """What `Option.get` says, with each row read once for all the options that are so many of it."""
        options, own, rows = self.slots[slot].options, attribute in self._made_of[slot][0], dict[int, Any]()

        def get(option: int) -> Any:
            one = options[option]
            if own or one.stands or len(one.parts) != 1:
                return one.get(attribute)
            ((row, count),) = one.parts
            if id(row) not in rows:
                rows[id(row)] = row.get(attribute)
            value = rows[id(row)]
            return value * count if attribute.sums and value is not None else value

        return get

    def _derived(self, slot: int, read: Callable[[int], Any]) -> Column:
        self.derived.append(Column(slot, len(self.slots[slot].options), read))
        return self.derived[-1]

    def _call(self, term: Over[Any], want: Unit[Any]) -> Any:
        rule, given = term.rule, term.unit
        units = {name: parameter.unit for name, parameter in rule.parameters.items()}
        for name, unit in units.items():  # a rule for any unit takes that of its first such argument
            units[name] = _shared(term) if unit is SAME else unit
        inner = [(self.node(term.terms[name], unit), rule.direction.get(name, 0)) for name, unit in units.items()]
        call = Call(rule.function, inner)
        if not call.scope:
            return Fixed(convert(call.low(), given, want))
        if len(call.scope) > 1:
            return call if given is want else Call(lambda inner: convert(inner, given, want), [(call, 1)])
        (slot,) = call.scope
        worked = self._worked(call)
        return self._derived(slot, worked if given is want else lambda option: convert(worked(option), given, want))

    def _worked(self, call: Call) -> Callable[[int], Any]:
        """A rule of one slot on an option's numbers; the same numbers are worked out once, whatever slot they are of."""
        reads, known, function = [node.at for node, _ in call.arguments], self.known, call.function

        def read(option: int) -> Any:
            key = (function, *[at(option) for at in reads])
            if key not in known:
                known[key] = function(*key[1:])
            return known[key]

        return read


def _shared(term: Over[Any]) -> Unit[Any]:
    names = (name for name, parameter in term.rule.parameters.items() if parameter.unit is SAME)
    unit: Unit[Any] = term.terms[next(names)].unit
    return unit
