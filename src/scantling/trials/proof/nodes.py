"""The nodes of interval diagrams: each stands once in its store, so the same function is the same node.

A node is a number. From 0 up it is a cut of one dimension: up to each of its `lasts`, and past the one before, goes on the kid
of the same place. Below 0 it is a leaf.
"""

from collections.abc import Hashable, Iterable, Sequence
from itertools import pairwise

Interval = tuple[int, int]
"""First and last number, both inside."""
Intervals = tuple[Interval, ...]
"""In order and apart; at least one."""
Box = tuple[Intervals, ...]
"""The points whose every number lies in one of the intervals of its dimension."""
Point = tuple[int, ...]


MOST_EDGES = 15_000_000
"""Edges of one store: about 1 GB. Ten thousand rules of an office, or of a thousand networks, take three million at most."""


class TooLargeError(Exception):
    """The boxes cross each other in so many ways that their diagram would not fit into memory."""


class Nodes:
    """A store of cuts."""

    def __init__(self, depth: int) -> None:
        self.depth = depth
        """How many dimensions there are: the level of a leaf."""
        self.levels: list[int] = []
        self.lasts: list[tuple[int, ...]] = []
        self.kids: list[tuple[int, ...]] = []
        self.edges = 0
        self._known: dict[tuple[int, tuple[int, ...], tuple[int, ...]], int] = {}

    def __len__(self) -> int:
        return len(self.levels)

    def level(self, node: int) -> int:
        """The dimension that a node cuts."""
        return self.levels[node] if node >= 0 else self.depth

    def node(self, level: int, lasts: Sequence[int], kids: Sequence[int]) -> int:
        """The one node of these edges, of which neighbours differ; a single kid is its own node. Raises TooLargeError."""
        if len(kids) == 1:
            return kids[0]
        key = (level, tuple(lasts), tuple(kids))
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = len(self.levels)
            self.levels.append(level)
            self.lasts.append(key[1])
            self.kids.append(key[2])
            self.edges += len(kids)
            if self.edges > MOST_EDGES:
                raise TooLargeError(
                    f"more than {MOST_EDGES:,} edges: too many boxes cross each other in too many ways"
                )
        return found

    def joined(self, level: int, lasts: Sequence[int], kids: Sequence[int]) -> int:
        """The node of these edges, neighbours that lead to the same made one."""
        kept_lasts: list[int] = []
        kept_kids: list[int] = []
        before = None
        for last, kid in zip(lasts, kids, strict=True):
            if kid == before:
                kept_lasts[-1] = last
            else:
                kept_lasts.append(last)
                kept_kids.append(kid)
                before = kid
        return self.node(level, kept_lasts, kept_kids)


class Space:
    """Whole numbers in named dimensions, each from 0 to its largest; it keeps every node of the diagrams made in it.

    A diagram tests the dimensions in the order given. Few nodes come of it where the dimensions that split the boxes into groups
    of few and sharply (state, port of entry) stand first, and those that most boxes leave whole stand last.
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
        self.nodes = Nodes(self.depth)
        self._leaves: dict[tuple[type, Hashable], int] = {}
        self._values: list[Hashable] = []

    def box(self, **intervals: Intervals) -> Box:
        """A box of the dimensions named, whole in all others. Raises KeyError for an unknown name."""
        unknown = intervals.keys() - set(self.names)
        if unknown:
            raise KeyError(", ".join(sorted(unknown)))
        return tuple(intervals.get(name, whole) for name, whole in zip(self.names, self.whole, strict=True))

    def leaf(self, value: Hashable) -> int:
        """The one leaf of a value; True is not 1 here."""
        key = (type(value), value)
        if key not in self._leaves:
            self._values.append(value)
            self._leaves[key] = -len(self._values)
        return self._leaves[key]

    def value(self, leaf: int) -> Hashable:
        """The value of a leaf."""
        return self._values[-1 - leaf]

    def check_size(self, box: Box) -> None:
        """Raises ValueError for a box of another number of dimensions."""
        if len(box) != self.depth:
            raise ValueError(f"a box of {len(box)} dimensions in a space of {self.depth}: {', '.join(self.names)}")

    def check_box(self, box: Box) -> None:
        """Raises ValueError for what is no box of the space."""
        self.check_size(box)
        for level, intervals in enumerate(box):
            self.check(level, intervals)

    def check(self, level: int, intervals: Intervals) -> None:
        """Raises ValueError for intervals that are none, out of order, not apart, or out of range."""
        tidy = all(first <= last for first, last in intervals) and all(
            b < c for (_, b), (c, _) in pairwise(intervals)
        )
        if not intervals or not tidy or intervals[0][0] < 0 or intervals[-1][1] > self.lasts[level]:
            told = f"{self.names[level]} (0 to {self.lasts[level]})"
            raise ValueError(f"{told}: intervals in order and apart, not {intervals!r}")
