"""Drops options that others beat (dominance): no dearer, and no worse in whatever a demand beyond the unit reads.

A demand that passes with an option even at the worst ends of all others no longer asks anything of it, so that what it reads
counts for nothing against that option. Of a merged unit a sum counts as a whole; sums of binary fractions must differ by
more than their rounding, or be of the very same parts.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import inf
from operator import ge
from typing import Any

from scantling.handbook.board import Board, Option
from scantling.handbook.judging import Test
from scantling.handbook.nodes import Call, Column, Together, columns_of

ROUNDING = 1e-12


@dataclass(frozen=True)
class Merit:
    """Something of a unit that demands read: one column of it, a gathering over several, or a rule on its columns alone."""

    node: Any
    columns: tuple[tuple[int, Column], ...]

    def parts(self, options: Sequence[Option]) -> list[tuple[Any, ...]]:
        """For each option the numbers that it is made of."""
        columns = [[column.values[option[number]] for option in options] for number, column in self.columns]
        return list(zip(*columns, strict=True))

    def wholes(self, options: Sequence[Option]) -> list[Any]:
        """For each option the one number that counts."""
        if isinstance(self.node, Together):
            return [self.node.fold(parts, self.node.nought) for parts in self.parts(options)]
        if isinstance(self.node, Call):
            return list(self._ruled(self.node, options))
        ((number, column),) = self.columns
        values = column.values
        return [values[option[number]] for option in options]

    def _ruled(self, node: Call, options: Sequence[Option]) -> Iterator[Any]:
        for option in options:
            for number, column in self.columns:
                column.pick(option[number])
            yield node.high()
        for _, column in self.columns:
            column.free()


Ways = dict[Merit, int]
"""1 where more is better, -1 where less is, 0 where only the same will do."""
Numbers = tuple[Any, ...]


@dataclass(frozen=True)
class Wish:
    """What is looked for: so many sets, none dearer than the cheapest by more than the slack.

    `priced` when a dearer option is worse; `settled` when the ends of all columns are known, so that what is certain may
    be left out.
    """

    count: int = 1
    priced: bool = True
    settled: bool = False
    slack: Decimal | None = None


def undominated(board: Board, place: int, wish: Wish) -> list[int]:
    """The places of a unit's options without those that `count` others beat, or one that is cheaper by more than the slack."""
    return sorted(_field(board, place, wish).kept(wish))


def beaters(board: Board, place: int) -> dict[int, int]:
    """For each of a unit's options that is beaten, the place of one that beats it and is itself not beaten."""
    return _field(board, place, Wish()).beaters()


def _field(board: Board, place: int, wish: Wish) -> "_Field":
    """The options of a unit as numbers, by whatever the demands beyond it read."""
    slots, options = board.units[place].slots, board.units[place].options
    if len(options) <= 1:
        return _Field([()] * len(options), [()] * len(options), [], board.units[place].ranks)
    read = [(_ways(slots, [(test.node, sense) for sense in test.senses]), test) for test in board.watch[place]]
    paid = _ways(slots, [(extra, -1) for extra in board.extras])
    ways: Ways = {}
    for merits in (*(merits for merits, _ in read), paid):
        for merit, way in merits.items():
            ways[merit] = way if ways.setdefault(merit, way) == way else 0
    better = {merit: way for merit, way in ways.items() if way}
    nothing: list[Numbers] = [()] * len(options)
    equal = list(zip(*(merit.parts(options) for merit in ways if merit not in better), strict=True)) or nothing
    columns = [[way * one for one in merit.wholes(options)] for merit, way in better.items()]
    if wish.settled:
        asked = _asked(board, place, read, [merit for merit in better if merit not in paid])
        columns = [_where(asked.get(merit), column) for merit, column in zip(better, columns, strict=True)]
    numbers = list(zip(*columns, strict=True)) or nothing
    sums = [(n, merit.parts(options)) for n, merit in enumerate(better) if isinstance(merit.node, Together)]
    return _Field(numbers, equal, sums, board.units[place].ranks)


@dataclass(frozen=True)
class _Field:
    """The options of one unit as numbers, more being better; what must be the same; which numbers are sums, and of what."""

    numbers: Sequence[Numbers]
    equal: Sequence[Numbers]
    sums: Sequence[tuple[int, Sequence[Numbers]]]
    ranks: Sequence[Decimal]

    def kept(self, wish: Wish) -> list[int]:
        """The places of those that are not beaten."""
        groups: dict[Numbers, list[int]] = {}
        kept = []
        for n in self._order(priced=wish.priced):
            others = groups.setdefault(self.equal[n], [])
            if self._beaten(n, others, wish) < wish.count:
                others.append(n)
                kept.append(n)
        return kept

    def beaters(self) -> dict[int, int]:
        """For each that is beaten, the first that beats it."""
        groups: dict[Numbers, list[int]] = {}
        found = {}
        for n in range(len(self.numbers)):
            others = groups.setdefault(self.equal[n], [])
            by = next((other for other in others if self._beats(other, n)), None)
            if by is None:
                others.append(n)
            else:
                found[n] = by
        return found

    def _beats(self, one: int, other: int) -> bool:
        """Whether the one, which comes first in price, is no worse than the other in anything."""
        return all(map(ge, self.numbers[one], self.numbers[other])) and (not self.sums or self._surely(one, other))

    def _order(self, *, priced: bool) -> Sequence[int]:
        """Cheapest first, as they come; or the best first, so that none is beaten by a later one."""
        places = range(len(self.numbers))
        return places if priced else sorted(places, key=lambda n: (tuple(-one for one in self.numbers[n]), n))

    def _beaten(self, n: int, others: Sequence[int], wish: Wish) -> int:
        """How many beat it; one that is cheaper by more than the slack is enough."""
        beaten, numbers, less = 0, self.numbers, self.numbers[n]
        for other in reversed(
            others
        ):  # the nearest in price are the most alike, so that one of them beats it soonest
            if all(map(ge, numbers[other], less)) and (not self.sums or self._surely(other, n)):
                much = wish.slack is not None and self.ranks[n] - self.ranks[other] > wish.slack
                beaten += wish.count if much else 1
                if beaten >= wish.count:
                    break
        return beaten

    def _surely(self, one: int, other: int) -> bool:
        """Whether every sum of binary fractions is more by more than its rounding, or of the very same parts."""
        for number, parts in self.sums:
            more, less = self.numbers[one][number], self.numbers[other][number]
            close = isinstance(less, float) and less != inf and more - less <= ROUNDING * max(1.0, abs(less))
            if close and parts[one] != parts[other]:
                return False
        return True


def _asked(
    board: Board, place: int, read: Sequence[tuple[Ways, Test]], merits: Sequence[Merit]
) -> dict[Merit, list[bool]]:
    """For each merit, of every option whether it still matters: whether a demand that reads it does not pass for certain."""
    certain = board.certain(place, [test for _, test in read])
    asked = {}
    for merit in merits:
        mine = [passes for passes, (ways, _) in zip(certain, read, strict=True) if merit in ways]
        asked[merit] = [not all(passes) for passes in zip(*mine, strict=True)]
    return asked


def _where(asked: Sequence[bool] | None, numbers: list[Any]) -> list[Any]:
    """The numbers that matter, and more than any in the place of those that do not."""
    return (
        numbers if asked is None else [one if matters else inf for matters, one in zip(asked, numbers, strict=True)]
    )


def _ways(slots: Sequence[int], nodes: Sequence[tuple[Any, int]]) -> Ways:
    """What of these slots the nodes read, and which way it helps."""
    found: dict[Merit, set[int]] = {}
    for node, sense in nodes:
        _pulls(slots, node, sense, found)
    return {merit: min(senses) if len(senses) == 1 else 0 for merit, senses in found.items()}


def _pulls(slots: Sequence[int], node: Any, sense: int, found: dict[Merit, set[int]]) -> None:
    if isinstance(node, Column) and node.slot in slots:
        found.setdefault(Merit(node, ((slots.index(node.slot), node),)), set()).add(sense if node.ordered else 0)
    elif isinstance(node, Together):
        mine = tuple((slots.index(column.slot), column) for column in node.columns if column.slot in slots)
        if mine:
            found.setdefault(Merit(node if len(mine) > 1 else mine[0][1], mine), set()).add(sense)
    elif isinstance(node, Call) and node.scope <= set(slots):
        columns = sorted(columns_of(node), key=lambda column: column.slot)
        merit = Merit(node, tuple((slots.index(column.slot), column) for column in columns))
        found.setdefault(merit, set()).add(sense)
    elif isinstance(node, Call):
        for inner, way in node.arguments:
            _pulls(slots, inner, sense * way, found)
