"""Lists of boxes judged by taking rectangles apart: what is left of each box when all before it are taken away."""

from collections.abc import Sequence
from itertools import product
from math import prod

Box = tuple[tuple[tuple[int, int], ...], ...]
Rectangle = tuple[tuple[int, int], ...]


def rectangles(box: Box) -> list[Rectangle]:
    """A box of several intervals as rectangles that lie apart."""
    return list(product(*box))


def taken_from(one: Rectangle, taken: Rectangle) -> list[Rectangle]:
    """What is left of a rectangle without another, as rectangles that lie apart."""
    if any(first > until or last < start for (first, last), (start, until) in zip(one, taken, strict=True)):
        return [one]
    left, rest = [], list(one)
    for at, ((first, last), (start, until)) in enumerate(zip(one, taken, strict=True)):
        if first < start:
            left.append((*rest[:at], (first, start - 1), *rest[at + 1 :]))
        if last > until:
            left.append((*rest[:at], (until + 1, last), *rest[at + 1 :]))
        rest[at] = (max(first, start), min(last, until))
    return left


def decided(boxes: Sequence[Box]) -> list[int]:
    """How many points each box decides."""
    found: list[int] = []
    before: list[Rectangle] = []
    for box in boxes:
        left = rectangles(box)
        for taken in before:
            left = [part for one in left for part in taken_from(one, taken)]
        found.append(sum(prod(last - first + 1 for first, last in one) for one in left))
        before += left
    return found
