"""Lists of boxes judged point by point, and all points that can matter: the lowest of every piece between two cuts."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import product

Box = tuple[tuple[tuple[int, int], ...], ...]
Point = tuple[int, ...]


def inside(box: Box, point: Sequence[int]) -> bool:
    """Whether a point lies in a box."""
    return all(any(first <= number <= last for first, last in form) for form, number in zip(box, point, strict=True))


def first_place(boxes: Sequence[Box], point: Sequence[int]) -> int:
    """Place of the first box that a point lies in; -1 where it lies in none."""
    return next((place for place, box in enumerate(boxes) if inside(box, point)), -1)


def pieces(lasts: Sequence[int], boxes: Iterable[Box]) -> list[list[tuple[int, int]]]:
    """Of each dimension the stretches in which no box begins or ends."""
    listed = list(boxes)
    found = []
    for at, last in enumerate(lasts):
        cuts = {0, last + 1}
        for box in listed:
            cuts.update(number for first, until in box[at] for number in (first, until + 1))
        ordered = sorted(cuts)
        found.append([(ordered[place], ordered[place + 1] - 1) for place in range(len(ordered) - 1)])
    return found


def corners(lasts: Sequence[int], boxes: Iterable[Box]) -> Iterator[tuple[Point, int]]:
    """A point for all that lie in the same boxes between the same cuts, lowest first, and how many it stands for."""
    for cell in product(*pieces(lasts, boxes)):
        many = 1
        for first, last in cell:
            many *= last - first + 1
        yield tuple(first for first, _ in cell), many
