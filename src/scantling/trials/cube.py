"""The bit cube: a second engine for lists of rules, written apart from the interval diagram and sharing no code with it.

Each dimension is cut wherever some box begins or ends; pieces that no box tells apart are one class. One cell of the cube stands for
all points of one class in every dimension, one bit of a whole number for one cell, and a set of cells is that number: what a rule
decides is an AND with what is left, and what it leaves an AND-NOT. Good for few rules in few dimensions, where a plain way is wanted
that is easily believed; judging a list with one rule changed costs as little as the changed rule.
"""

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from math import prod

Box = tuple[tuple[tuple[int, int], ...], ...]
"""Of each dimension intervals in order, first and last number inside."""
MOST = 1 << 30
"""Cells of the largest cube: 128 MiB for one set of them."""


@dataclass(frozen=True)
class Axis:
    """One dimension, in classes of numbers that no box tells apart."""

    last: int
    forms: frozenset[tuple[tuple[int, int], ...]]

    @cached_property
    def pieces(self) -> tuple[tuple[int, int], ...]:
        """First and last number of each piece between two cuts."""
        cuts = {0, self.last + 1}
        for form in self.forms:
            for first, last in form:
                cuts |= {first, last + 1}
        ordered = sorted(cuts)
        return tuple((start, end - 1) for start, end in pairwise(ordered))

    @cached_property
    def classes(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """Pieces of each class, by the lowest number of the class."""
        found: dict[tuple[bool, ...], list[tuple[int, int]]] = {}
        for first, last in self.pieces:
            found.setdefault(tuple(_holds(form, first) for form in self.forms), []).append((first, last))
        return tuple(tuple(pieces) for pieces in found.values())

    @cached_property
    def chosen(self) -> dict[tuple[tuple[int, int], ...], tuple[int, ...]]:
        """The classes in each form."""
        lowest = [pieces[0][0] for pieces in self.classes]
        return {
            form: tuple(place for place, number in enumerate(lowest) if _holds(form, number)) for form in self.forms
        }


@dataclass(frozen=True)
class Part:
    """The cells that one rule decides."""

    place: int | None
    """Its place in the list, from 0; None: no rule does."""
    value: Hashable
    cells: int


class Cube:
    """All points of some dimensions, as cells that the boxes given can't tell apart inside."""

    def __init__(self, lasts: Sequence[int], boxes: Iterable[Box]) -> None:
        """Largest number of each dimension, and every box there will be a question about.

        Raises ValueError for a box that is none, and for more cells than MOST.
        """
        self.lasts = tuple(lasts)
        known = {*boxes, tuple(((0, last),) for last in self.lasts)}
        for box in known:
            self._check(box)
        self.axes = tuple(Axis(last, frozenset(box[at] for box in known)) for at, last in enumerate(self.lasts))
        self.cells = prod(len(axis.classes) for axis in self.axes)
        if self.cells > MOST:
            raise ValueError(f"{self.cells} cells are more than the {MOST} that a cube may have")
        self.whole = (1 << self.cells) - 1
        self._masks: dict[Box, int] = {}

    def _check(self, box: Box) -> None:
        if len(box) != len(self.lasts):
            raise ValueError(f"{len(box)} dimensions instead of {len(self.lasts)}")
        for form, largest in zip(box, self.lasts, strict=True):
            numbers = [-1, *(number for pair in form for number in pair), largest + 1]
            rising = all(one < other for one, other in zip(numbers[::2], numbers[1::2], strict=True))
            if not form or not rising or any(first > last for first, last in form):
                raise ValueError(f"no intervals in order from 0 to {largest}: {form}")

    def set_of(self, box: Box) -> int:
        """The cells of a box. Raises KeyError for one that was not given at the beginning and cuts elsewhere."""
        if box not in self._masks:
            self._masks[box] = self._set_of(box)
        return self._masks[box]

    def _set_of(self, box: Box) -> int:
        cells, size = 1, 1
        for axis, form in zip(reversed(self.axes), reversed(box), strict=True):
            row = 0
            for first, count in _runs(axis.chosen[form]):
                row |= _repeated(cells, size, count) << first * size
            cells, size = row, size * len(axis.classes)
        return cells

    def first_match(self, rules: Sequence[tuple[Box, Hashable]], default: Hashable) -> tuple[Part, ...]:
        """What each rule decides, in order, and last what none does; the parts are counted: together they are the whole.

        Raises KeyError as set_of, RuntimeError should the parts not be the whole.
        """
        left, parts = self.whole, []
        for place, (box, value) in enumerate(rules):
            mine = left & self.set_of(box)
            parts.append(Part(place, value, mine))
            left &= ~mine
        parts.append(Part(None, default, left))
        if sum(part.cells.bit_count() for part in parts) != self.cells or self.where(parts) != self.whole:
            raise RuntimeError("the parts of a cube are not the whole")
        return tuple(parts)

    def where(self, parts: Iterable[Part]) -> int:
        """All cells of some parts."""
        cells = 0
        for part in parts:
            cells |= part.cells
        return cells

    def differing(self, one: Sequence[Part], other: Sequence[Part]) -> int:
        """The cells to which two lists give different values."""
        values = dict.fromkeys(part.value for part in (*one, *other))
        found = 0
        for value in values:
            found |= self.where(p for p in one if p.value == value) ^ self.where(p for p in other if p.value == value)
        return found

    def witness(self, cells: int) -> tuple[int, ...] | None:
        """A point in the lowest of some cells: the lowest number of its class in each dimension; None where there is no cell."""
        if not cells:
            return None
        place, point = (cells & -cells).bit_length() - 1, []
        for axis in reversed(self.axes):
            place, at = divmod(place, len(axis.classes))
            point.append(axis.classes[at][0][0])
        return tuple(reversed(point))

    def points(self, cells: int) -> int:
        """How many points some cells stand for."""
        sizes = [[sum(last - first + 1 for first, last in pieces) for pieces in axis.classes] for axis in self.axes]
        return _weighed(cells, self.cells, sizes)


def _holds(form: tuple[tuple[int, int], ...], number: int) -> bool:
    return any(first <= number <= last for first, last in form)


def _runs(places: Sequence[int]) -> Iterator[tuple[int, int]]:
    """First of each run of neighbours, and how many."""
    for _, run in groupby(enumerate(places), key=lambda pair: pair[1] - pair[0]):
        members = [place for _, place in run]
        yield members[0], len(members)


def _repeated(cells: int, size: int, count: int) -> int:
    """The same cells so many times one after the other, by doubling."""
    found, done = 0, 0
    block, length = cells, 1
    while count:
        if count & 1:
            found |= block << done * size
            done += length
        count >>= 1
        if count:
            block |= block << length * size
            length *= 2
    return found


def _weighed(cells: int, size: int, sizes: Sequence[Sequence[int]]) -> int:
    """Points of some cells: each class in turn, what is empty passed over."""
    if not cells or not sizes:
        return cells
    step = size // len(sizes[0])
    mask = (1 << step) - 1
    return sum(
        weight * _weighed(cells >> place * step & mask, step, sizes[1:]) for place, weight in enumerate(sizes[0])
    )
