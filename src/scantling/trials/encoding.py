"""Demands and costs over several slots as rows of a program in whole numbers: exact, or a little looser, never tighter.

Where few combinations of equal options exist, each allowed one is a column of its own (a table). Where a demand turns on a
sum, a largest or one long column, the rule itself is asked at which amount it turns, for each combination of the rest,
and one row holds the sum against that amount. Which way it turns is seen, not taken from what the rule declares. Amounts
are set a little loose; whatever slips through, or has no such shape, is cut off later by the demand's own rule.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Any

from scantling.figures.terms import Most, Sum
from scantling.trials.plain import Wanted
from scantling.trials.program import INFINITE, Program
from scantling.trials.shapes import Atom, Shape
from scantling.trials.turning import Turn, turn_between

MOST_COMBINATIONS = 1_000
MOST_TOTALS = 300
LOOSE = 1e-6

Numbers = dict[int, Any]
"""What some atoms of a shape come to, by their places."""


@dataclass(frozen=True)
class Group:
    """Ways of which exactly one is so: what each says of some atoms, and the columns that add up to one when it is.

    Without columns it is a gathered sum, whose ways are the totals it can come to.
    """

    ways: Sequence[Numbers]
    columns: Sequence[Sequence[int]] = ()


@dataclass(frozen=True)
class Way:
    """One way of each group: the numbers it says, which ways, and the columns that add up to one when it is so."""

    numbers: Numbers
    ways: Sequence[int]
    columns: Sequence[int] = ()


class Encoder:
    """Writes demands into a program; `columns` are those of the options, by slot."""

    def __init__(self, program: Program, columns: Mapping[str, Sequence[int]]) -> None:
        self.program, self.columns = program, columns

    def demand(self, wanted: Wanted, shape: Shape) -> bool:
        """Write it; False where it has no shape that rows can hold, so that it must be watched."""
        gathered = [place for place, atom in enumerate(shape.atoms) if atom.across is not None]
        if len(gathered) == 1 and self._at_pivot(wanted, shape, gathered[0]):
            return True
        groups = self.groups(shape, range(len(shape.atoms)))
        if groups is None:
            return not gathered and self._at_pivot(wanted, shape, _pivot(shape))
        kept = [way for way in combined(groups) if wanted.kept(shape.made(in_order(way.numbers)))]
        self.linked(groups, kept, shape)
        return True

    def groups(self, shape: Shape, places: Iterable[int]) -> list[Group] | None:
        """The atoms at these places as groups: slot by slot, and the totals of what is gathered; None for too many."""
        by_slot: dict[str, list[int]] = {}
        groups = []
        for place in places:
            atom = shape.atoms[place]
            if atom.across is None:
                by_slot.setdefault(atom.slot, []).append(place)
            elif (totals := _totals(atom)) is not None:
                groups.append(Group([{place: total} for total in totals]))
            else:
                return None
        for slot, mine in sorted(by_slot.items()):
            classes: dict[tuple[Any, ...], list[int]] = {}
            for option, key in enumerate(zip(*(shape.atoms[place].columns[slot] for place in mine), strict=True)):
                classes.setdefault(key, []).append(self.columns[slot][option])
            groups.append(Group([dict(zip(mine, key, strict=True)) for key in classes], list(classes.values())))
        return groups if prod(len(group.ways) for group in groups) <= MOST_COMBINATIONS else None

    def linked(self, groups: Sequence[Group], kept: Sequence[Way], shape: Shape) -> list[Way]:
        """Only the kept ways may be: each gets its columns, tied to the options that make it."""
        held = [group.columns or self._held(group, shape) for group in groups]
        if len(groups) == 1:
            for place in set(range(len(held[0]))) - {way.ways[0] for way in kept}:
                for column in held[0][place]:
                    self.program.shut(column)
            return [Way(way.numbers, way.ways, held[0][way.ways[0]]) for way in kept]
        made = [Way(way.numbers, way.ways, (self.program.column(),)) for way in kept]
        for place, columns in enumerate(held if groups else ()):
            rows = [dict.fromkeys(options, -1.0) for options in columns]
            for way in made:
                rows[way.ways[place]][way.columns[0]] = 1.0
            for row in rows:
                self.program.row(0.0, row, 0.0)
        return made

    def _held(self, group: Group, shape: Shape) -> list[Sequence[int]]:
        """A column for each total that a gathered sum can come to, exactly one of which is so."""
        ((place, _),) = group.ways[0].items()
        atom = shape.atoms[place]
        made = [self.program.column(whole=True) for _ in group.ways]
        self.program.row(1.0, dict.fromkeys(made, 1.0), 1.0)
        row = self.weighed(atom) | {column: -float(way[place]) for column, way in zip(made, group.ways, strict=True)}
        self.program.row(-LOOSE, row, LOOSE)
        return [(column,) for column in made]

    def weighed(self, atom: Atom) -> dict[int, float]:
        """What each option's column puts on the scale."""
        return {
            column: atom.weight(number)
            for slot, numbers in atom.columns.items()
            for column, number in zip(self.columns[slot], numbers, strict=True)
        }

    def _at_pivot(self, wanted: Wanted, shape: Shape, pivot: int) -> bool:
        """Hold one atom against the amount at which the demand turns; False, and nothing written, where it does not."""
        atom = shape.atoms[pivot]
        groups = self.groups(shape, [place for place in range(len(shape.atoms)) if place != pivot])
        if groups is None or not _steps(atom):
            return False
        scale = _ranked(atom) if atom.across is None else None
        ways = list(combined(groups))
        turns = [_turn(wanted, shape, pivot, scale, way.numbers) for way in ways]
        known = [turn for turn in turns if turn is not None]
        rising = any(turn.rises for turn in known)
        if len(known) < len(turns) or (rising and (any(t.falls for t in known) or isinstance(atom.across, Most))):
            return False
        kept = [(way, turn) for way, turn in zip(ways, known, strict=True) if turn.turns or turn.held]
        linked = self.linked(groups, [way for way, _ in kept], shape)
        if any(turn.turns for _, turn in kept) or not kept:
            self._hold(atom, scale, list(zip(linked, (turn for _, turn in kept), strict=True)), rising=rising)
        return True

    def _hold(
        self, atom: Atom, scale: Sequence[Any] | None, ways: Sequence[tuple[Way, Turn]], *, rising: bool
    ) -> None:
        """A row for each scale: what is put on it against the amount of the way that is so."""
        weighed = self._ranks(atom, scale) if scale is not None else self.weighed(atom)
        by_slot = [[weighed[column] for column in self.columns[slot]] for slot in atom.columns]
        if isinstance(atom.across, Most):
            for slot, mine in zip(atom.columns, by_slot, strict=True):
                row = {column: weighed[column] for column in self.columns[slot]}
                self._row(atom, row, ways, (min(mine), max(mine)), rising=rising)
        else:
            ends = (sum(map(min, by_slot)), sum(map(max, by_slot)))
            self._row(atom, weighed, ways, ends, rising=rising)

    def _row(
        self,
        atom: Atom,
        weighed: Mapping[int, float],
        ways: Sequence[tuple[Way, Turn]],
        ends: tuple[float, float],
        *,
        rising: bool,
    ) -> None:
        """What is put on the scale, less the amount of the way that is so; where a way asks for nothing, the scale's end."""
        row, free = dict(weighed), 0.0
        for way, turn in ways:
            amount = _amount(atom, turn, rising=rising) if turn.turns else ends[0 if rising else 1]
            if not way.columns:
                free = amount
            for column in way.columns:
                row[column] = row.get(column, 0.0) - amount
        low, high = (free, INFINITE) if rising else (-INFINITE, free)
        self.program.row(low, row, high)

    def _ranks(self, atom: Atom, scale: Sequence[Any]) -> dict[int, float]:
        """The place of each option's number among all there are."""
        place = {number: float(rank) for rank, number in enumerate(scale)}
        return dict(zip(self.columns[atom.slot], (place[n] for n in atom.columns[atom.slot]), strict=True))


def combined(groups: Sequence[Group]) -> Iterator[Way]:
    """Every way to take one way of each group."""
    for ways in product(*(range(len(group.ways)) for group in groups)):
        numbers: Numbers = {}
        for group, way in zip(groups, ways, strict=True):
            numbers |= group.ways[way]
        yield Way(numbers, ways)


def in_order(numbers: Numbers) -> list[Any]:
    """The numbers of all atoms by their places."""
    return [numbers[place] for place in range(len(numbers))]


def _totals(atom: Atom) -> list[Any] | None:
    """What a gathered sum can come to; None for another gathering, or for too many totals."""
    if not isinstance(atom.across, Sum):
        return None
    totals = {atom.nought}
    for column in atom.columns.values():
        totals = {atom.fold([total, number]) for total in totals for number in set(column)}
        if len(totals) > MOST_TOTALS:
            return None
    return sorted(totals)


def _pivot(shape: Shape) -> int:
    """The atom to hold against an amount: one that leaves the fewest slots, then one with the most different numbers."""

    def worth(place: int) -> tuple[int, int]:
        others = {slot for number, atom in enumerate(shape.atoms) if number != place for slot in atom.columns}
        return -len(others), len(set(shape.atoms[place].columns[shape.atoms[place].slot]))

    return max((place for place, atom in enumerate(shape.atoms) if _steps(atom)), key=worth, default=0)


def _ranked(atom: Atom) -> list[Any]:
    return sorted(set(atom.columns[atom.slot]))


def _steps(atom: Atom) -> bool:
    """Whether it can be held against an amount: numbers, gathered in a way that rows can hold."""
    return atom.known if atom.across is not None else not isinstance(atom.columns[atom.slot][0], (str, bool))


def _turn(wanted: Wanted, shape: Shape, pivot: int, scale: Sequence[Any] | None, rest: Numbers) -> Turn | None:
    """Where the demand turns as the pivot grows, the rest being so."""

    def passes(number: Any) -> bool:
        return wanted.kept(shape.made(in_order({**rest, pivot: number})))

    if scale is not None:
        return turn_between(lambda place: passes(scale[place]), 0, len(scale) - 1, whole=True)
    atom = shape.atoms[pivot]
    low, high = atom.ends
    return turn_between(passes, low, high, whole=isinstance(low, int) and isinstance(high, int))


def _amount(atom: Atom, turn: Turn, *, rising: bool) -> float:
    """The amount on the scale at the turn: between two whole numbers, else a little on the loose side."""
    if isinstance(turn.last, int) and isinstance(turn.first, int):
        return (turn.last + turn.first) / 2
    amount = atom.weight(turn.last if rising else turn.first)
    loose = LOOSE * max(1.0, abs(amount))
    return amount - loose if rising else amount + loose
