"""Interval diagrams: what becomes of every point of a space, exactly; the same function is always the same node.

Every number a header can hold is a dimension of whole numbers, of any width. A node cuts one dimension into intervals, each
with the node that goes on; leaves carry what becomes of the point. Since each node stands once in its space and the order of
dimensions is fixed, two diagrams are equal if and only if they are the same node: a proof, not a sample.
Interval diagrams: Strehl & Thiele 1998; for lists of rules: Gouda & Liu 2004 (both from memory). Standard library only.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar

from scantling.trials.proof import walking
from scantling.trials.proof.merging import Merge, combined, mapped
from scantling.trials.proof.nodes import Box, Interval, Intervals, Node, Point, Space

__all__ = [
    "Box", "Diagram", "Difference", "Interval", "Intervals", "Point", "Space", "constant", "differences", "differing", "equal",
    "first_match", "intersect", "minus", "negation", "of_boxes", "overlaid", "paired", "union",
]  # fmt: skip

T = TypeVar("T", bound=Hashable)
S = TypeVar("S", bound=Hashable)


@dataclass(frozen=True, eq=False)
class Diagram(Generic[T]):
    """A value for every point of a space. Equal (==) means: the same value at every point."""

    space: Space
    root: Node

    def __post_init__(self) -> None:
        self.space.handles[id(self)] = self

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Diagram) and self.root is other.root and self.space is other.space

    def __hash__(self) -> int:
        return hash(self.root)

    def __len__(self) -> int:
        """How many nodes, leaves included."""
        return len(walking.below(self.root))

    def decide(self, point: Sequence[int]) -> T:
        """The value at a point, a number for every dimension. Raises ValueError for a point that is not in the space."""
        inside = len(point) == self.space.depth and all(
            0 <= n <= m for n, m in zip(point, self.space.lasts, strict=True)
        )
        if not inside:
            raise ValueError(f"no point of {self.space.names}: {tuple(point)}")
        return walking.decide(self.root, point).value  # type: ignore[return-value]

    def deciding(self) -> frozenset[T]:
        """Every value that some point has: of a diagram with rule numbers, the rules that decide something."""
        return frozenset(one.value for one in walking.below(self.root) if not one.kids)  # type: ignore[misc]

    def deciding_in(self, box: Box) -> frozenset[T]:
        """Every value that some point of a box has; a walk, nothing is built."""
        return frozenset(leaf.value for leaf in walking.leaves_within(self.root, box))  # type: ignore[misc]

    def witness(self, value: T) -> Point | None:
        """The lowest point with a value, the first dimension counting most; None where no point has it."""
        return walking.lowest(self.space, self.root, self.space.leaf(value))

    def count(self, value: T) -> int:
        """How many points have a value, exactly."""
        return walking.count(self.space, self.root, self.space.leaf(value))

    def paths(self) -> Iterator[tuple[Box, T]]:
        """Boxes with their values: no two share a point, together they are the whole space. There may be very many."""
        towards = set(walking.below(self.root))
        for box, leaf in walking.paths(self.space, self.root, towards):
            yield box, leaf.value  # type: ignore[misc]

    def boxes(self, value: T) -> Iterator[Box]:
        """The points with a value as boxes that share no point. There may be very many."""
        towards = walking.leading(self.root, {self.space.leaf(value)})
        for box, _ in walking.paths(self.space, self.root, towards):
            yield box

    def restrict(self, box: Box, outside: T) -> "Diagram[T]":
        """The same inside a box, and one value everywhere else. Raises ValueError for what is no box of the space."""
        space = self.space
        hole = space.hole()
        frame = space.chain(box, hole, space.leaf(outside))
        return Diagram(space, Merge(space, hole).over(frame, self.root))

    def told(self, value: Callable[[T], S]) -> "Diagram[S]":
        """Other values for the same points: of rule numbers, their verdicts."""
        space = self.space
        return Diagram(space, mapped(space, self.root, lambda leaf: space.leaf(value(leaf.value))))  # type: ignore[arg-type]

    def where(self, wanted: Callable[[T], bool]) -> "Diagram[bool]":
        """True at the points whose value is wanted."""
        return self.told(lambda value: bool(wanted(value)))


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
    listed = list(rules)
    last = space.leaf(default)
    hole = space.hole() if any(value == default for _, value in listed) else last
    merge = Merge(space, hole)
    known: dict[tuple[Box, Node], Node] = {}
    for box, value in listed:
        key = (box, space.leaf(value))
        if key not in known:
            known[key] = space.chain(box, key[1], hole)
    nodes = [known[box, space.leaf(value)] for box, value in listed]
    return Diagram(space, merge.over(merge.all(nodes), last))


def of_boxes(space: Space, boxes: Iterable[Box]) -> Diagram[bool]:
    """True in the boxes, together, and False elsewhere. Raises ValueError for what is no box of the space."""
    return first_match(space, [(box, True) for box in boxes], default=False)


def overlaid(diagrams: Sequence[Diagram[T]], silent: T) -> Diagram[T]:
    """For every point the value of the first diagram that is not silent there. Raises ValueError for no diagram at all."""
    if not diagrams:
        raise ValueError("no diagram to lay over another")
    space = _space(*diagrams)
    return Diagram(space, Merge(space, space.leaf(silent)).all([one.root for one in diagrams]))


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

    def rule(one: Node, other: Node) -> Node | None:
        return None if one.kids or other.kids else space.leaf((one.value, other.value))

    return Diagram(space, combined(space, one.root, other.root, rule))


def differing(one: Diagram[T], other: Diagram[T]) -> Diagram[bool]:
    """True at the points where the values differ."""
    space = _space(one, other)
    yes, no = space.leaf(value=True), space.leaf(value=False)

    def rule(one: Node, other: Node) -> Node | None:
        if one is other:
            return no
        return None if one.kids or other.kids else yes

    return Diagram(space, combined(space, one.root, other.root, rule))


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
