"""Questions to a diagram that one walk answers: how many points, the lowest one, the boxes, what occurs inside a box."""

from bisect import bisect_left
from collections.abc import Container, Iterator, Sequence
from math import prod

from scantling.trials.proof.nodes import Box, Interval, Intervals, Node, Point, Space


def decide(node: Node, point: Sequence[int]) -> Node:
    """The leaf at a point."""
    while node.kids:
        node = node.kids[bisect_left(node.lasts, point[node.level])]
    return node


def below(node: Node) -> list[Node]:
    """Every node from this one down, itself included, each once; kids before those that lead to them."""
    found: dict[Node, None] = {}

    def visit(node: Node) -> None:
        if node not in found:
            for kid in node.kids:
                visit(kid)
            found[node] = None

    visit(node)
    return list(found)


def leading(node: Node, leaves: Container[Node]) -> set[Node]:
    """The nodes from this one down from which one of the leaves is reached."""
    found: set[Node] = set()
    for one in below(node):
        if one in leaves or not found.isdisjoint(one.kids):
            found.add(one)
    return found


def count(space: Space, node: Node, leaf: Node) -> int:
    """How many points come to a leaf."""
    sizes = [last + 1 for last in space.lasts]
    known: dict[Node, int] = {}
    for one in below(node):
        before, points = -1, int(one is leaf)
        for last, kid in zip(one.lasts, one.kids, strict=True):
            points += (last - before) * known[kid] * prod(sizes[one.level + 1 : kid.level])
            before = last
        known[one] = points
    return known[node] * prod(sizes[: node.level])


def lowest(space: Space, node: Node, leaf: Node) -> Point | None:
    """The lowest point that comes to a leaf, the first dimension counting most; None where none does."""
    towards = leading(node, {leaf})
    if node not in towards:
        return None
    point = [0] * space.depth
    while node.kids:
        at = next(place for place, kid in enumerate(node.kids) if kid in towards)
        point[node.level] = node.lasts[at - 1] + 1 if at else 0
        node = node.kids[at]
    return tuple(point)


def edges(node: Node) -> dict[Node, Intervals]:
    """Each kid once, with all intervals that lead to it."""
    found: dict[Node, list[Interval]] = {}
    before = -1
    for last, kid in zip(node.lasts, node.kids, strict=True):
        found.setdefault(kid, []).append((before + 1, last))
        before = last
    return {kid: tuple(intervals) for kid, intervals in found.items()}


def paths(space: Space, node: Node, towards: Container[Node]) -> Iterator[tuple[Box, Node]]:
    """Disjoint boxes with their leaves, of the leaves that lie towards."""
    box = list(space.whole)

    def walk(node: Node) -> Iterator[tuple[Box, Node]]:
        if not node.kids:
            yield tuple(box), node
            return
        for kid, intervals in edges(node).items():
            if kid in towards:
                box[node.level] = intervals
                yield from walk(kid)
        box[node.level] = space.whole[node.level]

    if node in towards:
        yield from walk(node)


def leaves_within(node: Node, box: Box) -> list[Node]:
    """The leaves that the points of a box come to, as they are met."""
    found: dict[Node, None] = {}
    seen: set[Node] = set()

    def walk(node: Node) -> None:
        if not node.kids:
            found[node] = None
            return
        for first, last in box[node.level]:
            place = bisect_left(node.lasts, first)
            stop = bisect_left(node.lasts, last, place)
            for kid in node.kids[place : stop + 1]:
                if kid not in seen:
                    seen.add(kid)
                    walk(kid)

    walk(node)
    return list(found)
