"""Builds the diagram of a list of boxes of which the first that matches decides.

In each dimension the intervals of all boxes are laid out as a tree: an interval hangs below those that hold it, and what holds
most of the rest is cut in the middle. What the boxes of one branch of the tree decide in the dimensions that follow is built
once, and going down the tree what is above is put together with it. Most lists name networks, which lie inside each other or
apart: there each box is looked at once. That leaves much less to do than putting boxes together in pairs, whatever their order.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence

from scantling.trials.proof.nodes import Box, Intervals, Nodes, Space

NOBODY = -1
"""The leaf where no box is."""
FEW = 8
"""So many intervals are laid out without cutting in the middle."""
Piece = tuple[int, int, tuple[int, ...]]
"""First number, minus the last, and the places of the boxes in the list: in order, the longest of one first number ahead."""


class Sieve(Nodes):
    """A store with one list of boxes: the lower a leaf, the earlier it stands in the list."""

    def __init__(self, space: Space, boxes: Sequence[Box], leaves: Sequence[int]) -> None:
        """Boxes and their leaves, which rise through the list and stay below NOBODY. Raises ValueError for what is no box."""
        super().__init__(space.depth)
        self.ends = space.lasts
        self._leaves = leaves
        self._forms = Forms(space)
        self._boxes = [self._forms.numbers(box) for box in boxes]
        self._lowest: list[int] = []
        self._merged: dict[tuple[int, int], int] = {}
        self._built: dict[tuple[int, tuple[int, ...]], int] = {}

    def root(self) -> int:
        """The diagram of the whole list."""
        return self.build(0, tuple(range(len(self._boxes))))

    def node(self, level: int, lasts: Sequence[int], kids: Sequence[int]) -> int:
        """As of every store; here the earliest leaf below a node is kept as well."""
        found = super().node(level, lasts, kids)
        if found == len(self._lowest):
            lowest = self._lowest
            lowest.append(min([kid if kid < 0 else lowest[kid] for kid in kids]))
        return found

    # --------------------------------------------------------------------------------------------------- the list

    def build(self, level: int, places: tuple[int, ...]) -> int:
        """What some of the boxes decide, from one dimension on."""
        if level == self.depth or not places:
            return self._leaves[places[0]] if places else NOBODY
        key = (level, places)
        found = self._built.get(key)
        if found is None:
            found = self._built[key] = self._cut(level, places)
        return found

    def _cut(self, level: int, places: tuple[int, ...]) -> int:
        if len(places) == 1:
            return self._alone(level, places)
        groups: dict[int, list[int]] = {}
        boxes = self._boxes
        for place in places:
            groups.setdefault(boxes[place][level], []).append(place)
        whole = self.build(level + 1, tuple(groups.pop(WHOLE, ())))
        if not groups:
            return whole
        pieces: dict[tuple[int, int], tuple[int, ...]] = {}
        for form, members in groups.items():
            for first, last in self._forms.intervals(level, form):
                _lay(pieces, first, -last, tuple(members))
        tree = Tree(self.merge, lambda members: self.build(level + 1, members))
        tree.spread((0, self.ends[level]), _in_order(pieces), whole, cut=False)
        return self.node(level, tree.lasts, tree.kids)

    def _alone(self, level: int, places: tuple[int, ...]) -> int:
        """One box: nobody decides beside its intervals."""
        kid, form = self.build(level + 1, places), self._boxes[places[0]][level]
        if form == WHOLE:
            return kid
        row, reached = Row(), -1
        for first, last in self._forms.intervals(level, form):
            if first > reached + 1:
                row.add(first - 1, NOBODY)
            row.add(last, kid)
            reached = last
        if reached < self.ends[level]:
            row.add(self.ends[level], NOBODY)
        return self.node(level, row.lasts, row.kids)

    # ------------------------------------------------------------------------------------------- two put together

    def merge(self, one: int, other: int) -> int:
        """At every point the earlier of two."""
        if one == other:
            return one
        if one > other:
            one, other = other, one
        if one < 0:
            # One is a leaf; so may be the other, which is then the later one.
            if other < 0 or one < self._lowest[other]:
                return one
            if one == NOBODY:
                return other
        pair = (one, other)
        found = self._merged.get(pair)
        if found is None:
            found = self._merged[pair] = self._put_together(one, other)
        return found

    def _put_together(self, one: int, other: int) -> int:
        level, other_level = self.level(one), self.level(other)
        if level < other_level:
            return self.joined(level, self.lasts[one], [self.merge(kid, other) for kid in self.kids[one]])
        if other_level < level:
            return self.joined(other_level, self.lasts[other], [self.merge(one, kid) for kid in self.kids[other]])
        return self._zipped(level, one, other)

    def _zipped(self, level: int, one: int, other: int) -> int:
        """Both cut the same dimension. A stretch where nobody decides in one is taken as it is from the other."""
        ends, other_ends, mine, others = self.lasts[one], self.lasts[other], self.kids[one], self.kids[other]
        lasts: list[int] = []
        kids: list[int] = []
        before = here = there = 0
        while here < len(ends):
            end, other_end = ends[here], other_ends[there]
            kid, other_kid = mine[here], others[there]
            if other_kid == NOBODY and end < other_end:
                stop = bisect_left(ends, other_end, here)
                before = _extend(lasts, kids, ends[here:stop], mine[here:stop])
                here = stop
                continue
            if kid == NOBODY and other_end < end:
                stop = bisect_left(other_ends, end, there)
                before = _extend(lasts, kids, other_ends[there:stop], others[there:stop])
                there = stop
                continue
            if kid == NOBODY:
                kid = other_kid
            elif other_kid not in {NOBODY, kid}:
                kid = self.merge(kid, other_kid)
            if kid == before and kids:
                lasts.pop()
            else:
                kids.append(kid)
                before = kid
            if end <= other_end:
                here += 1
                lasts.append(end)
            if other_end <= end:
                there += 1
                if other_end < end:
                    lasts.append(other_end)
        return self.node(level, lasts, kids)


WHOLE = 0
"""The number of the form that leaves a dimension whole."""


class Forms:
    """Every form that boxes have in a dimension, by number: long lists of intervals are then compared at once."""

    def __init__(self, space: Space) -> None:
        self._space = space
        self._numbers: list[dict[Intervals, int]] = [{whole: WHOLE} for whole in space.whole]
        self._forms: list[list[Intervals]] = [[whole] for whole in space.whole]

    def numbers(self, box: Box) -> tuple[int, ...]:
        """A box as numbers of its forms. Raises ValueError for what is no box."""
        self._space.check_size(box)
        return tuple(
            found if (found := known.get(form)) is not None else self._new(level, form)
            for level, (known, form) in enumerate(zip(self._numbers, box, strict=True))
        )

    def _new(self, level: int, form: Intervals) -> int:
        self._space.check(level, form)
        self._forms[level].append(form)
        return self._numbers[level].setdefault(form, len(self._numbers[level]))

    def intervals(self, level: int, number: int) -> Intervals:
        """A form by its number."""
        return self._forms[level][number]


class Row:
    """Edges of a node to be, neighbours that lead to the same made one."""

    def __init__(self) -> None:
        self.lasts: list[int] = []
        self.kids: list[int] = []

    def add(self, last: int, kid: int) -> None:
        """One more edge."""
        if self.kids and self.kids[-1] == kid:
            self.lasts[-1] = last
        else:
            self.lasts.append(last)
            self.kids.append(kid)


def _extend(lasts: list[int], kids: list[int], more_lasts: Sequence[int], more_kids: Sequence[int]) -> int:
    """More edges, of which neighbours differ; returns the last kid."""
    if kids and kids[-1] == more_kids[0]:
        lasts.pop()
        kids.pop()
    lasts += more_lasts
    kids += more_kids
    return kids[-1]


class Tree(Row):
    """The intervals of one dimension as a tree, read from left to right into edges."""

    def __init__(self, merge: Callable[[int, int], int], build: Callable[[tuple[int, ...]], int]) -> None:
        super().__init__()
        self._merge = merge
        self._build = build

    def spread(self, span: tuple[int, int], pieces: Sequence[Piece], above: int, *, cut: bool) -> None:
        """Edges for all of a span: what is above, with the pieces in it; `cut` in the middle if there is anything to cut."""
        first, last = span
        start = 0
        while start < len(pieces) and pieces[start][0] == first and pieces[start][1] == -last:
            start += 1
        if start:
            above = self._merge(above, self._build(pieces[0][2]))
        rest = pieces[start:]
        if not rest:
            self.add(last, above)
        elif cut:
            middle = _middle(span, rest)
            self.spread((first, middle - 1), _clipped(rest, first, middle - 1), above, cut=False)
            self.spread((middle, last), _clipped(rest, middle, last), above, cut=False)
        else:
            self._islands(span, rest, above)

    def _islands(self, span: tuple[int, int], pieces: Sequence[Piece], above: int) -> None:
        """Pieces that lie apart from all others go on by themselves."""
        reached = span[0] - 1
        for first, last, island in _apart(pieces):
            if first > reached + 1:
                self.add(first - 1, above)
            if len(island) == 1:
                self.add(last, self._merge(above, self._build(island[0][2])))
            else:
                most = len(island) > FEW and 2 * len(island) > len(pieces)
                self.spread((first, last), island, above, cut=most or (first, last) == span)
            reached = last
        if reached < span[1]:
            self.add(span[1], above)


def _apart(pieces: Sequence[Piece]) -> Iterator[tuple[int, int, Sequence[Piece]]]:
    """Groups of pieces, each with its first and last number, that share none with another group."""
    start, reached = 0, -pieces[0][1]
    for place, (first, minus, _) in enumerate(pieces):
        if first > reached:
            yield pieces[start][0], reached, pieces[start:place]
            start = place
        reached = max(reached, -minus)
    yield pieces[start][0], reached, pieces[start:]


def _middle(span: tuple[int, int], pieces: Sequence[Piece]) -> int:
    """The middle one of all numbers inside a span at which a piece begins or has just ended."""
    cuts = {first for first, _, _ in pieces} | {1 - minus for _, minus, _ in pieces}
    found = sorted(cuts - {span[0], span[1] + 1})
    return found[len(found) // 2]


def _clipped(pieces: Sequence[Piece], first: int, last: int) -> list[Piece]:
    """What of the pieces lies from first to last."""
    kept: dict[tuple[int, int], tuple[int, ...]] = {}
    for begin, minus, places in pieces:
        if begin <= last and -minus >= first:
            _lay(kept, max(begin, first), max(minus, -last), places)
    return _in_order(kept)


def _lay(pieces: dict[tuple[int, int], tuple[int, ...]], first: int, minus: int, places: tuple[int, ...]) -> None:
    """One more piece; with another of the same numbers it is one."""
    key = (first, minus)
    pieces[key] = tuple(sorted(pieces[key] + places)) if key in pieces else places


def _in_order(pieces: dict[tuple[int, int], tuple[int, ...]]) -> list[Piece]:
    return sorted((first, minus, places) for (first, minus), places in pieces.items())
