"""Interval diagrams: what becomes of every point of a space, exactly; the same function is always the same node.

Every number a header can hold is a dimension of whole numbers, of any width. A node cuts one dimension into intervals, each
with the node that goes on; leaves carry what becomes of the point. Since each node stands once in its space and the order of
dimensions is fixed, two diagrams are equal if and only if they are the same node: a proof, not a sample. Whatever builds a diagram
raises TooLargeError when its boxes cross each other in too many ways.
Interval diagrams: Strehl & Thiele 1998; for lists of rules: Gouda & Liu 2004 (both from memory). Standard library only.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Any, Generic, TypeVar, cast

from scantling.trials.proof import walking
from scantling.trials.proof.merging import combined, over, retold
from scantling.trials.proof.nodes import Box, Interval, Intervals, Point, Space, TooLargeError
from scantling.trials.proof.sieve import NOBODY, Sieve

__all__ = [
    "Box", "Diagram", "Difference", "Interval", "Intervals", "Point", "Space", "TooLargeError", "constant", "differences",
    "differing", "equal", "first_match", "intersect", "minus", "negation", "of_boxes", "overlaid", "paired", "union",
]  # fmt: skip

T = TypeVar("T", bound=Hashable)
S = TypeVar("S", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Diagram(Generic[T]):
    """A value for every point of a space. Equal (==) means: the same value at every point."""

    space: Space
    root: int
    """Its topmost node in the space."""

    def __len__(self) -> int:
        """How many nodes, leaves included."""
        return len(walking.below(self.space.nodes, self.root))

    def decide(self, point: Sequence[int]) -> T:
        """The value at a point, a number for every dimension. Raises ValueError for a point that is not in the space."""
        lasts = self.space.lasts
        if len(point) != len(lasts) or not all(
            0 <= number <= last for number, last in zip(point, lasts, strict=True)
        ):
            raise ValueError(f"no point of {self.space.names}: {tuple(point)}")
        return self._value(walking.decide(self.space.nodes, self.root, point))

    def deciding(self) -> frozenset[T]:
        """Every value that some point has: of a diagram with rule numbers, the rules that decide something."""
        return frozenset(self._value(node) for node in walking.below(self.space.nodes, self.root) if node < 0)

    def deciding_in(self, box: Box) -> frozenset[T]:
        """Every value that some point of a box has. A walk: nothing is built. Raises ValueError for what is no box."""
        self.space.check_box(box)
        return frozenset(map(self._value, walking.leaves_within(self.space.nodes, self.root, box)))

    def witness(self, value: T) -> Point | None:
        """The lowest point with a value, the first dimension counting most; None where no point has it."""
        return walking.lowest(self.space, self.root, self.space.leaf(value))

    def count(self, value: T) -> int:
        """How many points have a value, exactly."""
        return walking.count(self.space, self.root, self.space.leaf(value))

    def paths(self) -> Iterator[tuple[Box, T]]:
        """Boxes with their values: no two share a point, together they are the whole space. There may be very many."""
        towards = set(walking.below(self.space.nodes, self.root))
        for box, leaf in walking.paths(self.space, self.root, towards):
            yield box, self._value(leaf)

    def boxes(self, value: T) -> Iterator[Box]:
        """The points with a value as boxes that share no point. There may be very many."""
        towards = walking.leading(self.space.nodes, self.root, self.space.leaf(value))
        for box, _ in walking.paths(self.space, self.root, towards):
            yield box

    def restrict(self, box: Box, outside: T) -> "Diagram[T]":
        """The same inside a box, and one value everywhere else. Raises ValueError for what is no box of the space."""
        space = self.space
        yes, no = space.leaf(value=True), space.leaf(outside)
        frame = of_boxes(space, [box]).root

        def rule(one: int, other: int) -> int | None:
            if one < 0:
                return other if one == yes else no
            return no if other == no else None

        return Diagram(space, combined(space.nodes, frame, self.root, rule))

    def told(self, value: Callable[[T], S]) -> "Diagram[S]":
        """Other values for the same points: of rule numbers, their verdicts."""
        space = self.space
        found = [node for node in walking.below(space.nodes, self.root) if node < 0]
        leaves = {leaf: space.leaf(value(self._value(leaf))) for leaf in found}
        return Diagram(space, retold(space.nodes, self.root, space.nodes, leaves))

    def where(self, wanted: Callable[[T], bool]) -> "Diagram[bool]":
        """True at the points whose value is wanted."""
        return self.told(lambda value: bool(wanted(value)))

    def _value(self, leaf: int) -> T:
        return cast("T", self.space.value(leaf))


@dataclass(frozen=True)
class Difference:
    """Where two diagrams differ."""

    where: Diagram[bool]
    """True at every such point."""
    witness: Point
    """The lowest of them."""

    @cached_property
    def boxes(self) -> tuple[Box, ...]:
        """All of them, as boxes that share no point."""
        return tuple(self.where.boxes(value=True))

    @property
    def count(self) -> int:
        """How many points."""
        return self.where.count(value=True)


def constant(space: Space, value: T) -> Diagram[T]:
    """One value everywhere."""
    return Diagram(space, space.leaf(value))


def first_match(space: Space, rules: Iterable[tuple[Box, T]], default: T) -> Diagram[T]:
    """For every point the value of the first rule whose box it lies in, else the default.

    Values may be verdicts (for equality), rule numbers (for what never decides: `deciding`, then `told` for the verdicts) or
    anything hashable. Several boxes in a row may have one value. Raises ValueError for what is no box of the space.
    """
    first: dict[Box, T] = {}
    for box, value in rules:
        first.setdefault(box, value)
    runs = [(value, len([*many])) for value, many in groupby(first.values(), key=space.leaf)]
    leaves = [place - len(runs) + NOBODY for place, (_, many) in enumerate(runs) for _ in range(many)]
    sieve = Sieve(space, [*first], leaves)
    final = {place - len(runs) + NOBODY: leaf for place, (leaf, _) in enumerate(runs)} | {NOBODY: space.leaf(default)}
    return Diagram(space, retold(sieve, sieve.root(), space.nodes, final))


def of_boxes(space: Space, boxes: Iterable[Box]) -> Diagram[bool]:
    """True in the boxes, together, and False elsewhere. Raises ValueError for what is no box of the space."""
    return first_match(space, [(box, True) for box in boxes], default=False)


def overlaid(diagrams: Sequence[Diagram[T]], silent: T) -> Diagram[T]:
    """For every point the value of the first diagram that is not silent there. Raises ValueError for no diagram at all."""
    if not diagrams:
        raise ValueError("no diagram to lay over another")
    space = _space(*diagrams)
    rule = over(space.leaf(silent))
    work = [one.root for one in diagrams]
    while len(work) > 1:
        pairs = zip(work[::2], work[1::2], strict=False)
        work = [combined(space.nodes, *pair, rule) for pair in pairs] + (work[-1:] if len(work) % 2 else [])
    return Diagram(space, work[0])


def union(*diagrams: Diagram[bool]) -> Diagram[bool]:
    """True where one of them is."""
    return overlaid(diagrams, silent=False)


def intersect(*diagrams: Diagram[bool]) -> Diagram[bool]:
    """True where all of them are."""
    return overlaid(diagrams, silent=True)


def minus(one: Diagram[bool], taken: Diagram[bool]) -> Diagram[bool]:
    """True where the first is and the second is not."""
    return intersect(one, negation(taken))


def negation(one: Diagram[bool]) -> Diagram[bool]:
    """True where it is not."""
    return one.told(lambda value: not value)


def equal(one: Diagram[T], other: Diagram[T]) -> bool:
    """Whether they have the same value at every point: whether they are the same node."""
    return _space(one, other) is not None and one == other


def paired(one: Diagram[S], other: Diagram[T]) -> Diagram[tuple[S, T]]:
    """Both values of every point."""
    space = _space(one, other)

    def rule(one: int, other: int) -> int | None:
        return space.leaf((space.value(one), space.value(other))) if one < 0 and other < 0 else None

    return Diagram(space, combined(space.nodes, one.root, other.root, rule))


def differing(one: Diagram[T], other: Diagram[T]) -> Diagram[bool]:
    """True at the points where the values differ."""
    space = _space(one, other)
    yes, no = space.leaf(value=True), space.leaf(value=False)

    def rule(one: int, other: int) -> int | None:
        if one == other:
            return no
        return yes if one < 0 and other < 0 else None

    return Diagram(space, combined(space.nodes, one.root, other.root, rule))


def differences(one: Diagram[T], other: Diagram[T]) -> Difference | None:
    """Where two diagrams differ, with a witness; None where they are equal. Raises ValueError for two spaces."""
    where = differing(one, other)
    witness = where.witness(value=True)
    return None if witness is None else Difference(where, witness)


def _space(*diagrams: Diagram[Any]) -> Space:
    """The space they share."""
    space = diagrams[0].space
    if any(one.space is not space for one in diagrams):
        raise ValueError("diagrams of different spaces can't be held against each other")
    return space
