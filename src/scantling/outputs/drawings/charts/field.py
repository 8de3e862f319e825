"""Where a plot lies on its sheet, its hands and measures, and the course of its lines."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from scantling.outputs.drawings.charts.model import Chart, Series
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Point

AXIS, EDGE = 13.0, 3.0
"""For the numbers of the scale; behind the last place."""
TOP, FOOT = 11.5, 11.0
"""For the title and what is counted; for the places' names."""
HEADROOM = 7.5
MARK_ROOM = 9.0
"""Height that one number of the scale takes at least."""
TITLE, COUNTED = Hand(SIGN, 4.6), Hand(LABEL, 3.2, "quiet")
SCALE, NAMED = Hand(LABEL, 3.2, "quiet"), Hand(BOOK, 3.9)
TOLD = Hand(BOOK, 3.9)
MOST_TOLD = 3


@dataclass(frozen=True, slots=True)
class Plot:
    """Where a chart is drawn: its box, and how places and amounts lie on it."""

    chart: Chart
    box: Box

    top: float
    """The end of the scale."""

    def across(self, place: float) -> float:
        """Where a place stands."""
        first, last = self.chart.across.at[0], self.chart.across.end
        return self.box.left + (place - first) / (last - first or 1.0) * self.box.width

    def level(self, amount: float) -> float:
        """How high an amount stands."""
        return self.box.bottom - amount / self.top * (self.box.height - HEADROOM)

    def points(self, one: Series) -> tuple[Point, ...]:
        """The course of a line; in steps, each value holds until the next place."""
        pairs = [
            (self.across(at), self.level(value)) for at, value in zip(self.chart.across.at, one.values, strict=True)
        ]
        if not self.chart.stepped:
            return tuple(pairs)
        found: list[Point] = []
        ends = [x for x, _ in pairs[1:]] + [self.across(self.chart.across.end)]
        for (x, y), end in zip(pairs, ends, strict=True):
            found += [(x, y), (end, y)]
        return tuple(point for place, point in enumerate(found) if not _between(found, place))


def _between(points: list[Point], place: int) -> bool:
    """Whether a point lies on the level line between its neighbours, so that the course needs it not."""
    return 0 < place < len(points) - 1 and points[place - 1][1] == points[place][1] == points[place + 1][1]


def felt_between(points: Sequence[Point], left: float, right: float) -> Iterator[Point]:
    """The points of a course over a stretch, its ends on sloping pieces included."""
    for (x1, y1), (x2, y2) in pairwise(points):
        if x2 < left or x1 > right:
            continue
        for x in (max(x1, left), min(x2, right)):
            yield x, y1 if x2 == x1 else y1 + (y2 - y1) * (x - x1) / (x2 - x1)
        if x1 == x2:
            yield x2, y2


def counted(chart: Chart) -> str:
    """What is counted, and in which unit."""
    return f"{chart.up.label}, {chart.up.unit}" if chart.up.unit else chart.up.label


def drawn_series(chart: Chart) -> Iterator[Series]:
    """The series that are drawn."""
    return (one for one in chart.series if one.drawn)
