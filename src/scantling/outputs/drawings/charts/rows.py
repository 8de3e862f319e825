"""A chart whose places are things listed down the side: for each a pair of steps from a common line, to one scale."""

from collections.abc import Iterator
from dataclasses import dataclass

from scantling.outputs.drawings.charts.model import Chart, Series
from scantling.outputs.drawings.charts.field import (
    AXIS,
    COUNTED,
    EDGE,
    FOOT,
    SCALE,
    TOLD,
    TOP,
    counted,
    drawn_series,
)
from scantling.outputs.drawings.charts.plots import figured, headed, reading, words_under
from scantling.outputs.drawings.lettering import BOOK, LABEL, Hand, Row
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.ruling import hatch, marks, step
from scantling.outputs.drawings.svg import Element, element

NAMES = 0.4
"""Share of the width for the names."""
NAME, WORDS = Hand(BOOK, 3.9), Hand(BOOK, 3.9)
ASKED = Hand(LABEL, 3.1, "quiet")
HIGHEST = 16.0
MARK_ROOM = 22.0
PAD = 0.16
"""Of a row's height, free over and under its steps."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """Where the rows lie: names at the left, steps from the common line on."""

    chart: Chart
    box: Box
    most: float

    @property
    def each(self) -> float:
        """Height of a row."""
        return min(HIGHEST, self.box.height / max(1, len(self.chart.across.at)))

    @property
    def bottom(self) -> float:
        """Under the last row."""
        return self.box.top + self.each * len(self.chart.across.at)

    def long(self, amount: float) -> float:
        """How long an amount is; the words behind it have room."""
        return amount / self.most * self.box.width * 0.62


def rows_plot(pen: Pen, chart: Chart, cell: Box, told: tuple[Row, ...]) -> Element:
    """The chart in its cell, no higher than its rows need."""
    left = cell.left + AXIS / 2 + (cell.width - AXIS) * NAMES
    whole = Box(left, cell.top + TOP, cell.right - EDGE, cell.bottom - FOOT - len(told) * TOLD.leading - 1.0)
    where = Ladder(chart, whole, chart.most or 1.0)
    box = Box(whole.left, whole.top, whole.right, where.bottom)
    parts = [
        *headed(pen, chart, cell),
        *pen.words(counted(chart), (left, cell.top + 9.4), COUNTED, cell.right - left),
        *_paper(pen, where), *_rows(pen, where, cell), *words_under(pen, told, box, cell),
    ]  # fmt: skip
    whole = Box(cell.left, box.top, box.right, box.bottom)
    return element(
        "g", reading(whole, chart, 0.0), *parts, data_part="chart", data_chart=chart.slug, data_box=cell.written,
    )  # fmt: skip


def _paper(pen: Pen, where: Ladder) -> Iterator[Element]:
    """The scale along the bottom, a line up from every round amount."""
    most, box = where.most, where.box
    for mark in marks(most, step(most, max(2, int(where.long(most) / MARK_ROOM)))):
        x = box.left + where.long(mark)
        yield pen.line((x, box.top), (x, where.bottom + 1.2), "rule", "hairline")
        yield from pen.words(figured(mark), (x, where.bottom + 4.6), SCALE, MARK_ROOM, "middle")
    yield pen.line((box.left, box.top), (box.left, where.bottom), "door")


def _rows(pen: Pen, where: Ladder, cell: Box) -> Iterator[Element]:
    for place, said in enumerate(where.chart.across.said):
        top = where.box.top + place * where.each
        row = Box(cell.left, top, where.box.right, top + where.each)
        yield element("g", *_row(pen, where, place, row), data_part="row", data_name=said)
        yield pen.line((cell.left, top + where.each), (where.box.right, top + where.each), "rule", "hairline")


def _row(pen: Pen, where: Ladder, place: int, row: Box) -> Iterator[Element]:
    """Name and what was asked at the left; the steps, each with its words behind it."""
    name, _, asked = where.chart.across.said[place].partition(": ")
    room = where.box.left - row.left - 3
    two = row.height >= NAME.leading + ASKED.leading
    base = row.top + (row.height / 2 - 0.6 if two else row.height / 2 + 1.3)
    yield from pen.words(name, (row.left, base), NAME, room)
    if two:
        yield from pen.words(asked, (row.left, base + ASKED.leading), ASKED, room)
    series = list(drawn_series(where.chart))
    high = row.height * (1 - 2 * PAD) / max(1, len(series))
    for step_, one in enumerate(series):
        top = row.top + row.height * PAD + step_ * high
        yield from _step(
            pen,
            where,
            (one, place),
            Box(where.box.left, top, where.box.left + where.long(one.values[place]), top + high),
        )


def _step(pen: Pen, where: Ladder, at: tuple[Series, int], box: Box) -> Iterator[Element]:
    """One step: the first hatched, the others open; what it is worth in words behind it."""
    one, place = at
    if box.width > 0:
        hatched = hatch(pen, box) if one.style == "heavy" else None
        if hatched is not None:
            yield hatched
        yield pen.box(box, "door", data_part="step")
    hand = WORDS.at(min(WORDS.size, box.height * 0.95))
    words = (
        where.chart.worded(one, place) if one.style == "heavy" else f"without it: {where.chart.worded(one, place)}"
    )
    yield from pen.words(
        words,
        (box.right + 1.4, (box.top + box.bottom) / 2 + hand.size * 0.34),
        hand,
        where.box.right - box.right - 1.4,
    )
