"""What demands and costs say of plain options, read straight from their terms and apart from the search."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Any

from scantling.figures import Attribute, Cost, Demand, Figure, Option, Slot
from scantling.figures.terms import Across, Of, Over
from scantling.figures.units import MONEY, SAME, Unit, convert

Places = Mapping[str, int]
"""Which option of each slot, by its place."""
Reader = Callable[[Places], Any]


def argument_units(term: Over[Any]) -> dict[str, Unit[Any]]:
    """The unit that each argument of a rule is read in; those of any unit take that of the first such argument."""
    units = {name: parameter.unit for name, parameter in term.rule.parameters.items()}
    free = [name for name, unit in units.items() if unit is SAME]
    return units | (dict.fromkeys(free, term.terms[free[0]].unit) if free else {})


class Offers:
    """The slots in the order of their ids, each column of numbers read once."""

    def __init__(self, slots: Sequence[Slot], columns: dict[tuple[str, str], list[Any]] | None = None) -> None:
        self.slots = {slot.id: slot for slot in sorted(slots, key=lambda slot: slot.id)}
        self.columns = {} if columns is None else columns
        self.had: dict[str, list[str]] = {}

    def left(self, kept: Mapping[str, Sequence[int]]) -> "Offers":
        """Only these options of each slot."""
        slots = [replace(s, options=tuple(s.options[place] for place in kept[s.id])) for s in self.slots.values()]
        columns = {(slot, name): [column[p] for p in kept[slot]] for (slot, name), column in self.columns.items()}
        return Offers(slots, columns)

    def column(self, slot: str, attribute: Attribute[Any]) -> list[Any]:
        """The numbers of a slot's options in the attribute's unit, None where one has none."""
        key = (slot, attribute.name)
        if key not in self.columns:
            self.columns[key] = [option.get(attribute) for option in self.slots[slot].options]
        return self.columns[key]

    def having(self, attribute: Attribute[Any]) -> list[str]:
        """The slots of which some option has the attribute."""
        if attribute.name not in self.had:
            self.had[attribute.name] = [
                slot
                for slot, (own, rows) in self._made_of.items()
                if attribute in own or any(row.get(attribute) is not None for row in rows)
            ]
        return self.had[attribute.name]

    @cached_property
    def _made_of(self) -> dict[str, tuple[set[Attribute[Any]], list[Any]]]:
        """What the options of each slot have of their own, and the rows that they are made of, each once."""
        made = {}
        for id_, slot in self.slots.items():
            own = {attribute for option in slot.options for attribute in option.own}
            rows = {id(row): row for option in slot.options for row, _ in option.parts}
            made[id_] = (own, list(rows.values()))
        return made

    def read(self, term: Any) -> frozenset[str]:
        """The slots that a term reads."""
        if isinstance(term, Over):
            return frozenset[str]().union(*map(self.read, term.terms.values()))
        if isinstance(term, Of):
            return frozenset({term.slot})
        return frozenset(self.having(term.attribute)) if isinstance(term, Across) else frozenset()

    def numbers(self, slot: str, terms: Iterable[Any]) -> list[tuple[Any, ...]]:
        """For each option of a slot whatever these terms read of it."""
        read = {attribute.name: attribute for term in terms for attribute in self._attributes(term, slot)}
        columns = [self.column(slot, attribute) for _, attribute in sorted(read.items())]
        return list(zip(*columns, strict=True)) or [()] * len(self.slots[slot].options)

    def _attributes(self, term: Any, slot: str) -> Iterator[Attribute[Any]]:
        """What a term reads of one slot."""
        if isinstance(term, Over):
            for inner in term.terms.values():
                yield from self._attributes(inner, slot)
        elif isinstance(term, (Of, Across)) and slot in self.read(term):
            yield term.attribute

    def reader(self, term: Any, want: Unit[Any]) -> Reader:
        """The number of a term, in the unit wanted, for one option of each slot that it reads.

        Raises KeyError when an option taken lacks an attribute that it is asked for by name.
        """
        if isinstance(term, Figure):
            fixed = convert(term.value, term.unit, want)
            return lambda _: fixed
        if isinstance(term, Over):
            return self._ruled(term, want)
        if isinstance(term, Of):
            return self._one(term, want)
        return self._gathered(term, want)

    def _ruled(self, term: Over[Any], want: Unit[Any]) -> Reader:
        units = argument_units(term)
        inner = [self.reader(term.terms[name], unit) for name, unit in units.items()]
        function, given = term.rule.function, term.unit
        if given is want:
            return lambda places: function(*[read(places) for read in inner])
        return lambda places: convert(function(*[read(places) for read in inner]), given, want)

    def _one(self, term: Of[Any], want: Unit[Any]) -> Reader:
        slot, column, unit = term.slot, self.column(term.slot, term.attribute), term.attribute.unit

        def number(places: Places) -> Any:
            found = column[places[slot]]
            if found is None:
                raise KeyError(f"{slot}: {self.slots[slot].options[places[slot]].slug} has no {term.attribute.name}")
            return found if unit is want else convert(found, unit, want)

        return number

    def _gathered(self, term: Across[Any], want: Unit[Any]) -> Reader:
        kind: Any = want.kind
        unit, nought = term.attribute.unit, kind()
        columns = [(slot, self.column(slot, term.attribute)) for slot in self.having(term.attribute)]

        def number(places: Places) -> Any:
            had = [column[places[slot]] for slot, column in columns]
            return term.fold([convert(one, unit, want) for one in had if one is not None], nought)

        return number


@dataclass(frozen=True)
class Wanted:
    """A demand as plain numbers: its bounds in the term's own unit; with neither the term must be true."""

    id: str
    term: Any
    least: Any = None
    most: Any = None

    def kept(self, amount: Any) -> bool:
        """Whether that amount is enough and not too much."""
        if self.least is None and self.most is None:
            return bool(amount)
        return (self.least is None or amount >= self.least) and (self.most is None or amount <= self.most)

    def halves(self) -> Iterable["Wanted"]:
        """A floor and a ceiling each by itself."""
        if self.least is None or self.most is None:
            return (self,)
        return (Wanted(self.id, self.term, self.least), Wanted(self.id, self.term, None, self.most))


def wanted(demand: Demand) -> Wanted:
    """A demand's term and its bounds."""
    unit = demand.what.unit
    bounds = (None if f is None else convert(f.value, f.unit, unit) for f in (demand.at_least, demand.at_most))
    return Wanted(demand.id, demand.what, *bounds)


@dataclass(frozen=True)
class Bought:
    """One option of each slot, to be judged and priced by itself."""

    chosen: Mapping[str, Option]

    @cached_property
    def _offers(self) -> Offers:
        return Offers([Slot(slot, (option,)) for slot, option in self.chosen.items()])

    def amount(self, term: Any, want: Unit[Any]) -> Any:
        """What a term comes to."""
        return self._offers.reader(term, want)(dict.fromkeys(self.chosen, 0))

    def misses(self, one: Wanted) -> bool:
        """Whether a demand is missed."""
        return not one.kept(self.amount(one.term, one.term.unit))

    def price(self, costs: Sequence[Cost]) -> Decimal:
        """What it costs in minor units, with what it drags behind it; exact."""
        dragged = sum((self.amount(cost.what, MONEY) for cost in costs), Decimal(0))
        return sum((option.minor_units for option in self.chosen.values()), Decimal(0)) + dragged * 100
