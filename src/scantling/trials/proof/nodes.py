"""The nodes of interval diagrams: each stands once in its space, so the same function is the same node."""

from collections.abc import Hashable, Iterable, Sequence
from itertools import pairwise
from typing import Protocol
from weakref import WeakValueDictionary

Interval = tuple[int, int]
"""First and last number, both inside."""
Intervals = tuple[Interval, ...]
"""In order and apart; at least one."""
Box = tuple[Intervals, ...]
"""The points whose every number lies in one of the intervals of its dimension."""
Point = tuple[int, ...]


class Node:
    """A leaf with its value, or a cut of one dimension: up to each of `lasts` (and past the one before) goes on its kid."""

    __slots__ = ("kids", "lasts", "level", "value")

    def __init__(self, level: int, lasts: tuple[int, ...], kids: "tuple[Node, ...]", value: object = None) -> None:
        self.level = level
        """Place of the dimension it cuts; of a leaf the number of dimensions."""
        self.lasts = lasts
        self.kids = kids
        self.value = value


class Handle(Protocol):
    """Whatever holds on to a node."""

    @property
    def root(self) -> Node:
        """The node."""


class Space:
    """Whole numbers in named dimensions, each from 0 to its largest; it keeps every node made in it.

    A diagram tests the dimensions in the order given: put first what splits the boxes into few groups that share little.
    """

    def __init__(self, dimensions: Iterable[tuple[str, int]]) -> None:
        """Names and largest numbers. Raises ValueError for two of a name or a largest number below 0."""
        pairs = tuple(dimensions)
        self.names = tuple(name for name, _ in pairs)
        self.lasts = tuple(last for _, last in pairs)
        self.depth = len(pairs)
        if len(set(self.names)) < self.depth:
            raise ValueError(f"two dimensions of one name: {', '.join(self.names)}")
        if min(self.lasts, default=0) < 0:
            raise ValueError(f"a dimension needs a largest number of 0 or more: {pairs}")
        self.whole: Box = tuple(((0, last),) for last in self.lasts)
        self.handles: WeakValueDictionary[int, Handle] = WeakValueDictionary()
        """Whatever holds a root, by its id(): these nodes outlive a sweep."""
        self._nodes: dict[tuple[int, tuple[int, ...], tuple[Node, ...]], Node] = {}
        self._leaves: dict[tuple[type, Hashable], Node] = {}

    def __len__(self) -> int:
        """How many nodes it keeps, leaves not counted."""
        return len(self._nodes)

    def box(self, **intervals: Intervals) -> Box:
        """A box of the dimensions named, whole in all others. Raises KeyError for an unknown name."""
        unknown = intervals.keys() - set(self.names)
        if unknown:
            raise KeyError(", ".join(sorted(unknown)))
        return tuple(intervals.get(name, whole) for name, whole in zip(self.names, self.whole, strict=True))

    def leaf(self, value: Hashable) -> Node:
        """The one leaf of a value; True is not 1 here."""
        key = (type(value), value)
        if key not in self._leaves:
            self._leaves[key] = Node(self.depth, (), (), value)
        return self._leaves[key]

    def hole(self) -> Node:
        """A new leaf of no value, unlike all others: for points about which nothing is said yet."""
        return Node(self.depth, (), ())

    def node(self, level: int, lasts: Sequence[int], kids: Sequence[Node]) -> Node:
        """The one node of these edges; neighbours must differ and a single kid is its own node."""
        if len(kids) == 1:
            return kids[0]
        key = (level, tuple(lasts), tuple(kids))
        found = self._nodes.get(key)
        if found is None:
            found = self._nodes[key] = Node(*key)
        return found

    def sweep(self, work: Iterable[Node]) -> None:
        """Forget the nodes that no diagram holds and that are not under the work in hand."""
        kept: set[Node] = set()
        todo = [*work, *(handle.root for handle in self.handles.values())]
        while todo:
            node = todo.pop()
            if node not in kept:
                kept.add(node)
                todo += node.kids
        self._nodes = {key: node for key, node in self._nodes.items() if node in kept}

    # -------------------------------------------------------------------------------------------------- boxes

    def chain(self, box: Box, inside: Node, outside: Node) -> Node:
        """One leaf in a box and another everywhere else. Raises ValueError for what is no box of this space."""
        if len(box) != self.depth:
            raise ValueError(f"a box of {len(box)} dimensions in a space of {self.depth}")
        node = inside
        for level in range(self.depth - 1, -1, -1):
            if box[level] != self.whole[level]:
                self.check(level, box[level])
                node = self._ring(level, box[level], node, outside)
        return node

    def check(self, level: int, intervals: Intervals) -> None:
        """Raises ValueError for intervals that are none, out of order, not apart, or out of range."""
        ends = [number for interval in intervals for number in interval]
        tidy = all(first <= last for first, last in intervals) and all(
            b < c for (_, b), (c, _) in pairwise(intervals)
        )
        if not ends or not tidy or ends[0] < 0 or ends[-1] > self.lasts[level]:
            told = f"{self.names[level]} (0 to {self.lasts[level]})"
            raise ValueError(f"{told}: intervals in order and apart, not {intervals!r}")

    def _ring(self, level: int, intervals: Intervals, inside: Node, outside: Node) -> Node:
        """One kid in the intervals and another in the gaps between them."""
        lasts: list[int] = []
        kids: list[Node] = []
        reached = -1
        for first, last in intervals:
            if first > reached + 1:
                lasts.append(first - 1)
                kids.append(outside)
            if kids and kids[-1] is inside:
                lasts[-1] = last
            else:
                lasts.append(last)
                kids.append(inside)
            reached = last
        if reached < self.lasts[level]:
            lasts.append(self.lasts[level])
            kids.append(outside)
        return self.node(level, lasts, kids)
