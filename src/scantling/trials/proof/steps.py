"""One step down a diagram: the runs of a field with what comes below, and every value with one box of headers."""

from bisect import bisect_left
from collections.abc import Hashable, Iterable, Iterator
from typing import TypeVar, cast

from scantling.trials.proof.diagram import Diagram, Space
from scantling.trials.proof.headers import Box
from scantling.trials.proof.spans import Spans, both

Runs = tuple[tuple[int, int], ...]
"""One run for each field of a header."""
T = TypeVar("T", bound=Hashable)


def runs(space: Space, node: int) -> Iterator[tuple[int, int, int]]:
    """Each run of a node with the node below; none of a leaf."""
    if node >= 0:
        before = -1
        for last, child in zip(space.nodes.lasts[node], space.nodes.kids[node], strict=True):
            yield before + 1, last, child
            before = last


def runs_of(space: Space, node: int, level: int) -> Iterable[tuple[int, int, int]]:
    """The runs of one field below a node; one run of them all where the field does not count there."""
    if space.nodes.level(node) != level:
        return ((0, space.lasts[level], node),)
    return runs(space, node)


def under(space: Space, node: int, level: int, spans: Spans) -> Iterable[int]:
    """Every node below for some numbers of a field, each once; the same node where the field does not count."""
    if space.nodes.level(node) != level:
        return (node,)
    lasts, kids = space.nodes.lasts[node], space.nodes.kids[node]
    found: dict[int, None] = {}
    for first, last in spans:
        place = bisect_left(lasts, first)
        stop = bisect_left(lasts, last, place)
        found.update(dict.fromkeys(kids[place : stop + 1]))
    return found


def ends(space: Space, node: int) -> Iterator[Hashable]:
    """Every value below a node, each once."""
    waiting, seen = [node], set[int]()
    while waiting:
        one = waiting.pop()
        if one in seen:
            continue
        seen.add(one)
        if one < 0:
            yield space.value(one)
        else:
            waiting += space.nodes.kids[one]


def leaves(diagram: Diagram[T], within: Box | None = None) -> Iterator[tuple[T, Runs]]:
    """Every value of a diagram, or of a part of it, with one box of headers that come to it, the lowest first."""
    space, box = diagram.space, within or diagram.space.whole
    waiting: list[tuple[int, Runs]] = [(diagram.root, tuple((spans[0][0], spans[0][1]) for spans in box))]
    seen = set[int]()
    while waiting:
        node, found = waiting.pop()
        if node in seen:
            continue
        seen.add(node)
        if node < 0:
            yield cast("T", space.value(node)), found
            continue
        level = space.nodes.level(node)
        below = [(child, both(((first, last),), box[level])) for first, last, child in runs(space, node)]
        waiting += [
            (child, (*found[:level], spans[0], *found[level + 1 :])) for child, spans in reversed(below) if spans
        ]
