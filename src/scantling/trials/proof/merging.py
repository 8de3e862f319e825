"""Puts diagrams together, node by node: the first that says something decides, or any rule on the two values."""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Protocol

from scantling.trials.proof.nodes import Node, Space

ROOM = 200_000
"""Nodes made since the last sweep at which those of no further use are forgotten."""


class Merge:
    """Of two nodes the first where it says something, else the second; `hole` is the leaf that says nothing."""

    def __init__(self, space: Space, hole: Node) -> None:
        self.space = space
        self.hole = hole
        self._known: dict[tuple[Node, Node], Node] = {}

    def over(self, above: Node, below: Node) -> Node:
        """The first of two where it says something, else the second."""
        hole = self.hole
        if above is hole:
            return below
        if not above.kids or below is hole or above is below:
            return above
        pair = (above, below)
        found = self._known.get(pair)
        if found is None:
            found = self._known[pair] = self._merged(above, below)
        return found

    def _merged(self, above: Node, below: Node) -> Node:
        if above.level < below.level:
            return _joined(self.space, above.level, above.lasts, [self.over(kid, below) for kid in above.kids])
        if below.level < above.level:
            return _joined(self.space, below.level, below.lasts, [self.over(above, kid) for kid in below.kids])
        return self._zipped(above, below)

    def _zipped(self, above: Node, below: Node) -> Node:
        """Both cut the same dimension. A stretch where one says nothing is taken whole from the other."""
        hole, known = self.hole, self._known
        above_lasts, above_kids, below_lasts, below_kids = above.lasts, above.kids, below.lasts, below.kids
        lasts: list[int] = []
        kids: list[Node] = []
        here = there = 0
        count = len(above_lasts)
        while here < count:
            end, other_end = above_lasts[here], below_lasts[there]
            kid, other = above_kids[here], below_kids[there]
            if other is hole and end < other_end:
                stop = bisect_left(above_lasts, other_end, here)
                _extend(lasts, kids, above_lasts[here:stop], above_kids[here:stop])
                here = stop
                continue
            if kid is hole and other_end < end:
                stop = bisect_left(below_lasts, end, there)
                _extend(lasts, kids, below_lasts[there:stop], below_kids[there:stop])
                there = stop
                continue
            if kid is hole:
                kid = other
            elif kid.kids and other is not hole and kid is not other:
                kid = known.get((kid, other)) or self.over(kid, other)
            last = min(end, other_end)
            here += end == last
            there += other_end == last
            if kids and kids[-1] is kid:
                lasts[-1] = last
            else:
                lasts.append(last)
                kids.append(kid)
        return self.space.node(above.level, lasts, kids)

    def all(self, nodes: Sequence[Node]) -> Node:
        """Many nodes, the first that says something decides: neighbours in pairs, then the pairs, up to one."""
        work = list(nodes) or [self.hole]
        swept = len(self.space)
        while len(work) > 1:
            work = [
                self.over(*work[at : at + 2]) if at + 1 < len(work) else work[at] for at in range(0, len(work), 2)
            ]
            self._known.clear()
            if len(self.space) > swept + ROOM:
                self.space.sweep(work)
                swept = len(self.space)
        return work[0]


class Rule(Protocol):
    """What two nodes come to where that is known already, else nothing; of two leaves it is always known."""

    def __call__(self, one: Node, other: Node) -> Node | None:
        """The node, or None."""


def combined(space: Space, one: Node, other: Node, rule: Rule) -> Node:
    """Two nodes put together by a rule."""
    known: dict[tuple[Node, Node], Node] = {}

    def both(one: Node, other: Node) -> Node:
        pair = (one, other)
        found = known.get(pair)
        if found is None:
            found = known[pair] = rule(one, other) or cut(one, other)
        return found

    def cut(one: Node, other: Node) -> Node:
        if one.level < other.level:
            return _joined(space, one.level, one.lasts, [both(kid, other) for kid in one.kids])
        if other.level < one.level:
            return _joined(space, other.level, other.lasts, [both(one, kid) for kid in other.kids])
        lasts: list[int] = []
        kids: list[Node] = []
        here = there = 0
        while here < len(one.lasts):
            last = min(one.lasts[here], other.lasts[there])
            lasts.append(last)
            kids.append(both(one.kids[here], other.kids[there]))
            here, there = here + (one.lasts[here] == last), there + (other.lasts[there] == last)
        return _joined(space, one.level, lasts, kids)

    return both(one, other)


def mapped(space: Space, node: Node, leaf: Callable[[Node], Node]) -> Node:
    """The same cuts with other leaves."""
    known: dict[Node, Node] = {}

    def told(node: Node) -> Node:
        if node not in known:
            if node.kids:
                known[node] = _joined(space, node.level, node.lasts, [told(kid) for kid in node.kids])
            else:
                known[node] = leaf(node)
        return known[node]

    return told(node)


def _extend(lasts: list[int], kids: list[Node], more_lasts: Sequence[int], more_kids: Sequence[Node]) -> None:
    """More edges behind those there are, the two at the seam made one where they lead to the same."""
    if kids and kids[-1] is more_kids[0]:
        lasts.pop()
        kids.pop()
    lasts += more_lasts
    kids += more_kids


def _joined(space: Space, level: int, lasts: Sequence[int], kids: Sequence[Node]) -> Node:
    """The node of these edges, neighbours that lead to the same made one."""
    kept_lasts: list[int] = []
    kept_kids: list[Node] = []
    before = None
    for last, kid in zip(lasts, kids, strict=True):
        if kid is before:
            kept_lasts[-1] = last
        else:
            kept_lasts.append(last)
            kept_kids.append(kid)
            before = kid
    return space.node(level, kept_lasts, kept_kids)
