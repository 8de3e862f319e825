"""A term over several slots as a function of a few columns of numbers: what a program in whole numbers can be made of."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scantling.figures.terms import Across, Levels, Most, Over, Sum
from scantling.figures.units import Unit, convert
from scantling.trials.plain import Offers, argument_units


@dataclass(frozen=True, eq=False)
class Atom:
    """Numbers of the options by slot; gathered over all its slots, or of one slot alone."""

    columns: Mapping[str, Sequence[Any]]
    across: Across[Any] | None = None
    nought: Any = None

    @property
    def slot(self) -> str:
        """The slot of one that is not gathered."""
        (slot,) = self.columns
        return slot

    def fold(self, values: Iterable[Any]) -> Any:
        """Its numbers of several slots as one."""
        assert self.across is not None
        return self.across.fold(values, self.nought)

    @property
    def ends(self) -> tuple[Any, Any]:
        """The least and the largest it can be, gathered."""
        return self.fold(map(min, self.columns.values())), self.fold(map(max, self.columns.values()))

    @property
    def adds(self) -> bool:
        """Whether it is a sum, of levels too, and not a largest."""
        return isinstance(self.across, (Sum, Levels))

    @property
    def known(self) -> bool:
        """Whether the way it is gathered is one that a row can hold."""
        return isinstance(self.across, (Sum, Levels, Most))

    def weight(self, number: Any) -> float:
        """What a number puts on the scale: itself, or the power of a level, which is what adds up."""
        if isinstance(self.across, Levels):
            return float(10 ** (number / 10)) if number > 0 else 0.0
        return float(number)


@dataclass(frozen=True)
class Shape:
    """A term as atoms and what it makes of one number of each."""

    atoms: Sequence[Atom]
    made: Callable[[Sequence[Any]], Any]

    @property
    def slots(self) -> tuple[str, ...]:
        """The slots it reads, in order."""
        return tuple(sorted({slot for atom in self.atoms for slot in atom.columns}))

    def alike(self, slot: str, place: int) -> list[int]:
        """The places of a slot's options that are the same to this term as that one."""
        columns = [atom.columns[slot] for atom in self.atoms if slot in atom.columns]
        mine = [column[place] for column in columns]
        return [other for other, key in enumerate(zip(*columns, strict=True)) if list(key) == mine]


class Shaping:
    """Takes one term apart; atoms that stand in it twice are one."""

    def __init__(self, offers: Offers) -> None:
        self.offers = offers
        self.atoms: list[Atom] = []
        self.known: dict[Any, int] = {}

    def shape(self, term: Any, want: Unit[Any]) -> Shape:
        """The whole term."""
        return Shape(self.atoms, self._made(term, want))

    def _made(self, term: Any, want: Unit[Any]) -> Callable[[Sequence[Any]], Any]:
        slots = self.offers.read(term)
        if not slots:
            fixed = self.offers.reader(term, want)({})
            return lambda _: fixed
        if len(slots) == 1 or not isinstance(term, Over):
            place = self._atom(term, want, slots)
            return lambda numbers: numbers[place]
        units = argument_units(term)
        inner = [self._made(term.terms[name], unit) for name, unit in units.items()]
        function, given = term.rule.function, term.unit
        if given is want:
            return lambda numbers: function(*[made(numbers) for made in inner])
        return lambda numbers: convert(function(*[made(numbers) for made in inner]), given, want)

    def _atom(self, term: Any, want: Unit[Any], slots: frozenset[str]) -> int:
        """The place of a gathering over several slots, or of whatever reads one slot alone."""
        key = (type(term), term.attribute, want) if len(slots) != 1 else id(term)
        if key not in self.known:
            self.known[key] = len(self.atoms)
            self.atoms.append(
                self._gathered(term, want, slots) if len(slots) != 1 else self._alone(term, want, slots)
            )
        return self.known[key]

    def _alone(self, term: Any, want: Unit[Any], slots: frozenset[str]) -> Atom:
        (slot,) = slots
        read = self.offers.reader(term, want)
        return Atom({slot: [read({slot: place}) for place in range(len(self.offers.slots[slot].options))]})

    def _gathered(self, term: Across[Any], want: Unit[Any], slots: frozenset[str]) -> Atom:
        kind: Any = want.kind
        unit = term.attribute.unit
        columns = {
            slot: [
                kind() if had is None else convert(had, unit, want)
                for had in self.offers.column(slot, term.attribute)
            ]
            for slot in sorted(slots)
        }
        return Atom(columns, term, kind())
