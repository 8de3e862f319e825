"""Finds room for the names of lines: each on or by its own line, clear of the other names, and of other lines where it can be."""

from collections.abc import Iterable, Iterator, Sequence

from scantling.outputs.drawings.lettering import Hand, Row
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.svg import Element

AIR = 0.6
"""Round the ink of a name that nothing else may enter."""
EVERY = 0.5
"""Lines are felt for at steps of so many millimetres."""
TIGHT = 1e-9
COVERED = 1000.0
"""How much worse a name on a name is than a name on a line."""


def footed(row: Row, left: float, base: float, hand: Hand) -> Box:
    """The box of one row of words that begins at a place."""
    long = sum(piece.width for piece in row)
    return Box(left, base - hand.size * 0.78, left + long, base + hand.size * 0.24)


def felt(points: Sequence[Point]) -> Iterator[Point]:
    """Points along a line, close enough that no word slips between them."""
    for (x1, y1), (x2, y2) in zip(points, points[1:], strict=False):
        many = max(1, int(max(abs(x2 - x1), abs(y2 - y1)) / EVERY))
        yield from ((x1 + (x2 - x1) * step / many, y1 + (y2 - y1) * step / many) for step in range(many))
    yield from points[-1:]


class Room:
    """What a plot has already drawn, and the names that stand on it."""

    def __init__(self, pen: Pen, box: Box) -> None:
        self.pen, self.box = pen, box
        self.names: list[Box] = []
        self.lines: dict[str, list[Point]] = {}

    def line(self, name: str, points: Sequence[Point]) -> None:
        """Note a line, so that names keep clear of it."""
        self.lines.setdefault(name, []).extend(felt(points))

    def name(self, row: Row, places: Iterable[Point], hand: Hand, own: str = "") -> tuple[Element, ...]:
        """A name at the best of some places (left end and base line); the ruling is kept clear of it."""
        boxes = [self._inside(footed(row, left, base, hand)) for left, base in places]
        if not boxes or not row:
            return ()
        best = min(boxes, key=lambda box: self._cost(box, own))
        self.names.append(best)
        base = best.bottom - hand.size * 0.24
        under = self.pen.fill(Box(best.left - 0.4, best.top, best.right + 0.4, best.bottom), "paper", data_part="under")
        return under, *self.pen.row(row, (best.left, base), hand)

    def _inside(self, box: Box) -> Box:
        """Moved so that it lies on the plot."""
        left = min(max(box.left, self.box.left + 1.0), max(self.box.left + 1.0, self.box.right - 0.6 - box.width))
        top = min(max(box.top, self.box.top + 0.2), self.box.bottom - 0.5 - box.height)
        return Box(left, top, left + box.width, top + box.height)

    def _cost(self, box: Box, own: str) -> float:
        """How much is covered: names far more than lines, another line more than its own."""
        wide = box.inset(-AIR, -AIR)
        names = sum(_shared(wide, other) for other in self.names)
        crossed = sum(
            (0.5 if name == own else 1.0) * sum(_holds(wide, point) for point in points)
            for name, points in self.lines.items()
        )
        return names * COVERED + crossed


def _shared(one: Box, other: Box) -> float:
    across = min(one.right, other.right) - max(one.left, other.left)
    down = min(one.bottom, other.bottom) - max(one.top, other.top)
    return across * down if across > TIGHT and down > TIGHT else 0.0


def _holds(box: Box, point: Point) -> bool:
    return box.left < point[0] < box.right and box.top < point[1] < box.bottom
