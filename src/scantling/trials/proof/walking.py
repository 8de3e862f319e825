"""Questions to a diagram that one walk answers: how many points, the lowest one, the boxes, what occurs inside a box."""

from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from math import prod

from scantling.trials.proof.nodes import Box, Interval, Intervals, Nodes, Point, Space


def decide(nodes: Nodes, root: int, point: Sequence[int]) -> int:
    """The leaf at a point."""
    while root >= 0:
        root = nodes.kids[root][bisect_left(nodes.lasts[root], point[nodes.levels[root]])]
    return root


def below(nodes: Nodes, root: int) -> list[int]:
    """Every node from this one down, itself and leaves included, each once; kids before those that lead to them."""
    found: dict[int, None] = {}

    def visit(node: int) -> None:
        for kid in nodes.kids[node] if node >= 0 else ():
            if kid not in found:
                visit(kid)
        found[node] = None

    visit(root)
    return list(found)


def leading(nodes: Nodes, root: int, leaf: int) -> set[int]:
    """The nodes from this one down from which a leaf is reached, itself included."""
    found: set[int] = {leaf}
    for node in below(nodes, root):
        if node >= 0 and not found.isdisjoint(nodes.kids[node]):
            found.add(node)
    return found


def count(space: Space, root: int, leaf: int) -> int:
    """How many points come to a leaf."""
    nodes, known = space.nodes, {}
    beyond = [prod(last + 1 for last in space.lasts[level:]) for level in range(space.depth + 1)]
    for node in below(nodes, root):
        if node < 0:
            known[node] = int(node == leaf)
            continue
        before, points = -1, 0
        for last, kid in zip(nodes.lasts[node], nodes.kids[node], strict=True):
            points += (last - before) * known[kid] * (beyond[nodes.levels[node] + 1] // beyond[nodes.level(kid)])
            before = last
        known[node] = points
    return known[root] * (beyond[0] // beyond[nodes.level(root)])


def lowest(space: Space, root: int, leaf: int) -> Point | None:
    """The lowest point that comes to a leaf, the first dimension counting most; None where none does."""
    nodes, point = space.nodes, [0] * space.depth
    towards = leading(nodes, root, leaf)
    if root not in towards:
        return None
    while root >= 0:
        place = next(place for place, kid in enumerate(nodes.kids[root]) if kid in towards)
        point[nodes.levels[root]] = nodes.lasts[root][place - 1] + 1 if place else 0
        root = nodes.kids[root][place]
    return tuple(point)


def edges(nodes: Nodes, node: int) -> dict[int, Intervals]:
    """Each kid once, with all intervals that lead to it."""
    found: dict[int, list[Interval]] = {}
    before = -1
    for last, kid in zip(nodes.lasts[node], nodes.kids[node], strict=True):
        found.setdefault(kid, []).append((before + 1, last))
        before = last
    return {kid: tuple(intervals) for kid, intervals in found.items()}


def paths(space: Space, root: int, towards: Collection[int]) -> Iterator[tuple[Box, int]]:
    """Disjoint boxes with their leaves; only by nodes that lead where one wants to go."""
    nodes, box = space.nodes, list(space.whole)

    def walk(node: int) -> Iterator[tuple[Box, int]]:
        if node < 0:
            yield tuple(box), node
            return
        level = nodes.levels[node]
        for kid, intervals in edges(nodes, node).items():
            if kid in towards:
                box[level] = intervals
                yield from walk(kid)
        box[level] = space.whole[level]

    if root in towards:
        yield from walk(root)


def leaves_within(nodes: Nodes, root: int, box: Box) -> set[int]:
    """The leaves that the points of a box come to."""
    seen = {root}
    todo = [root]
    while todo:
        node = todo.pop()
        if node < 0:
            continue
        lasts, kids = nodes.lasts[node], nodes.kids[node]
        for first, last in box[nodes.levels[node]]:
            place = bisect_left(lasts, first)
            new = set(kids[place : bisect_left(lasts, last, place) + 1]) - seen
            seen |= new
            todo += new
    return {node for node in seen if node < 0}
