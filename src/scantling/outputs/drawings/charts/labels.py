"""Finds room for the names of lines: each on or by its own line, clear of the other names, and of other lines where it can be."""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from scantling.outputs.drawings.lettering import Hand, Row
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.svg import Element

AIR = 0.6
"""Round the ink of a name that nothing else may enter."""
EVERY, COLUMN = 0.7, 1.0
"""Lines are felt for at steps of so many millimetres, and kept in columns so wide."""
TIGHT = 1e-9
COVERED, CROSSED, MISREAD = 1000.0, 6.0, 200.0
"""How bad a name on a name is, for each square millimetre; a name on a line, for each step of it; a name taken for another line's;
a millimetre away from home is one."""
Spot = tuple[float, float, float]
"""Left end, base line, and how far from where one looks for it, in millimetres."""


def footed(row: Row, left: float, base: float, hand: Hand) -> Box:
    """The box of one row of words that begins at a place."""
    long = sum(piece.width for piece in row)
    return Box(left, base - hand.size * 0.78, left + long, base + hand.size * 0.24)


def felt(points: Sequence[Point]) -> Iterator[Point]:
    """Points along a line, close enough that no word slips between them."""
    for (x1, y1), (x2, y2) in pairwise(points):
        many = max(1, int(max(abs(x2 - x1), abs(y2 - y1)) / EVERY))
        yield from ((x1 + (x2 - x1) * step / many, y1 + (y2 - y1) * step / many) for step in range(many))
    yield from points[-1:]


class Room:
    """What a plot has already drawn, and the names that stand on it."""

    def __init__(self, pen: Pen, box: Box) -> None:
        self.pen, self.box = pen, box
        self.names: list[Box] = []
        self.lines: dict[int, list[float]] = {}

    def line(self, points: Sequence[Point]) -> None:
        """Note a line, so that names keep clear of it."""
        for point in felt(points):
            insort(self.lines.setdefault(int(point[0] // COLUMN), []), point[1])

    def name(
        self, row: Row, places: Iterable[Spot], hand: Hand, reads: Callable[[Box], bool] = lambda _: True
    ) -> tuple[Element, ...]:
        """A name at the best of some places, if it can be where it `reads` as it should; the ruling is kept clear of it."""
        best = self._best(row, sorted(places, key=lambda spot: spot[2]), hand, reads)
        if best is None:
            return ()
        self.names.append(best)
        base = best.bottom - hand.size * 0.24
        under = self.pen.fill(
            Box(best.left - 0.4, best.top, best.right + 0.4, best.bottom), "paper", data_part="under"
        )
        return under, *self.pen.row(row, (best.left, base), hand)

    def _best(self, row: Row, places: Sequence[Spot], hand: Hand, reads: Callable[[Box], bool]) -> Box | None:
        """The place that covers least and lies nearest; places come nearest first, so that the search can end early."""
        best, least = None, float("inf")
        for left, base, away in places if row else ():
            if away >= least:
                break
            box = self._inside(footed(row, left, base, hand))
            cost = self._cost(box) + away
            if cost < least and not reads(box):
                cost += MISREAD
            if cost < least:
                best, least = box, cost
        return best

    def free(self, start: Point, end: Point, own: Box) -> bool:
        """Whether an upright stroke crosses no name but its own."""
        low, high = sorted((start[1], end[1]))
        others = (box for box in self.names if box is not own)
        return not any(
            box.left - AIR < start[0] < box.right + AIR and box.top < high and low < box.bottom for box in others
        )

    def _inside(self, box: Box) -> Box:
        """Moved so that it lies on the plot."""
        left = min(max(box.left, self.box.left + 1.0), max(self.box.left + 1.0, self.box.right - 0.6 - box.width))
        top = min(max(box.top, self.box.top + 0.2), self.box.bottom - 0.5 - box.height)
        return Box(left, top, left + box.width, top + box.height)

    def _cost(self, box: Box) -> float:
        """How much is covered."""
        wide = box.inset(-AIR, -AIR)
        names = sum(_shared(wide, other) for other in self.names)
        columns = (self.lines.get(one, ()) for one in range(int(wide.left // COLUMN), int(wide.right // COLUMN) + 1))
        crossed = sum(bisect_left(heights, wide.bottom) - bisect_right(heights, wide.top) for heights in columns)
        return names * COVERED + crossed * CROSSED


def _shared(one: Box, other: Box) -> float:
    across = min(one.right, other.right) - max(one.left, other.left)
    down = min(one.bottom, other.bottom) - max(one.top, other.top)
    return across * down if across > TIGHT and down > TIGHT else 0.0
