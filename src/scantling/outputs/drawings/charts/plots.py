"""One plot: ruled paper, what is taken in hatching, limits as level lines, and the lines themselves with their names."""

from collections.abc import Iterator

from scantling.outputs.drawings.charts.field import (
    AXIS, COUNTED, EDGE, FOOT, HEADROOM, MARK_ROOM, SCALE, TITLE, TOLD, TOP, Plot, counted, drawn_series,
)  # fmt: skip
from scantling.outputs.drawings.charts.labels import Room
from scantling.outputs.drawings.charts.model import Chart, Style
from scantling.outputs.drawings.charts.naming import moments, names
from scantling.outputs.drawings.lettering import Row, cut
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pencil import PITCH, triangles
from scantling.outputs.drawings.pen import STANDBY, Pen, Weight
from scantling.outputs.drawings.ruling import hatch, marks, step
from scantling.outputs.drawings.svg import Element, element

WEIGHTS: dict[Style, Weight] = {"heavy": "outer", "thin": "door", "dashed": "door"}
LEVEL_WEIGHTS: dict[Style, Weight] = {"heavy": "partition", "thin": "door", "dashed": "rule"}
LONG_DASH = "4 1.6"
MOST_PENCIL = 0.4
"""Share of a plot's width that triangles may take from its title."""


def plot_box(cell: Box, told_rows: int) -> Box:
    """What the title, the scale and the words leave of a cell."""
    return Box(
        cell.left + AXIS, cell.top + TOP, cell.right - EDGE, cell.bottom - FOOT - told_rows * TOLD.leading - 1.0
    )


def plot(pen: Pen, chart: Chart, cell: Box, told: tuple[Row, ...], rows: int) -> Element:
    """One chart in its cell, as a group that says where its places lie; `rows` of words are left room for."""
    where = Plot(chart, plot_box(cell, rows), chart.most or 1.0)
    room = Room(pen, where.box)
    for series in drawn_series(chart):
        room.line(where.points(series))
    for level in chart.levels:
        room.line(((where.box.left, where.level(level.value)), (where.box.right, where.level(level.value))))
    parts = [
        *headed(pen, chart, cell), *pen.words(counted(chart), (cell.left, cell.top + 9.4), COUNTED, cell.width),
        *_bands(pen, where), *_paper(pen, where), *_levels(pen, where), *_lines(pen, where),
        *moments(pen, where, room), *names(where, room), *words_under(pen, told, where.box, cell),
    ]  # fmt: skip
    return element(
        "g", reading(where.box, chart, HEADROOM), *parts, data_part="chart", data_chart=chart.slug, data_box=cell.written,
    )  # fmt: skip


def reading(box: Box, chart: Chart, headroom: float) -> Element:
    """Where the plot is read: nothing is drawn; a page lays its reading line on it. `data-top` is the end of the scale."""
    return element(
        "rect", x=box.left, y=box.top, width=box.width, height=box.height, fill="none", data_part="reading",
        data_chart=chart.slug, data_top=f"{chart.most or 1.0:.9g}", data_headroom=f"{headroom:g}",
    )  # fmt: skip


def headed(pen: Pen, chart: Chart, cell: Box) -> Iterator[Element]:
    """The plot's title, and the triangles of the findings that tell of what it shows."""
    taken = min(len(chart.pencil) * PITCH, cell.width * MOST_PENCIL)
    yield from pen.words(chart.title, (cell.left, cell.top + 4.2), TITLE, cell.width - taken)
    numbers = tuple(note.number for note in chart.pencil)
    yield from triangles(pen, chart.pencil, numbers, (cell.right, cell.top + 4.2 - PITCH / 4), taken)


def _paper(pen: Pen, where: Plot) -> Iterator[Element]:
    """Ruled paper: a line for every round amount and every named place, their numbers at the edge."""
    box, chart = where.box, where.chart
    each = step(where.top, max(2, int((box.height - HEADROOM) / MARK_ROOM)))
    for mark in marks(where.top, each):
        y = where.level(mark)
        yield pen.line((box.left, y), (box.right, y), "rule", "hairline")
        yield from pen.words(figured(mark), (box.left - 1.8, y + 1.1), SCALE, AXIS - 2, "end")
    ticks = chart.across.ticks
    room = box.width / max(1, len(ticks) - 1)
    longest = max((sum(piece.width for piece in cut(name, SCALE, 60)) for _, name in ticks), default=0.0)
    skip = max(1, -(-int(longest + 2) // max(1, int(room))))
    for place, (at, name) in enumerate(ticks):
        x = where.across(at)
        yield pen.line((x, box.top + HEADROOM), (x, box.bottom + 1.2), "rule", "hairline")
        if place % skip == 0:
            yield from pen.words(name, (x, box.bottom + 4.6), SCALE, 40, "middle")
    yield from pen.words(chart.across.axis.label, (box.right, box.bottom + 8.9), COUNTED, box.width, "end")
    yield pen.line((box.left, box.bottom), (box.right, box.bottom), "door")


def figured(mark: float) -> str:
    """A number of the scale."""
    return f"{mark:,.0f}" if mark == int(mark) else f"{mark:g}"


def _bands(pen: Pen, where: Plot) -> Iterator[Element]:
    for band in where.chart.bands:
        lines = hatch(
            pen, Box(where.box.left, where.level(band.high), where.box.right, where.level(band.low)), 2.2, "hairline"
        )
        if lines is not None:
            yield lines


def _levels(pen: Pen, where: Plot) -> Iterator[Element]:
    for one in where.chart.levels:
        y = where.level(one.value)
        dashes = LONG_DASH if one.style == "dashed" else None
        ends = ((where.box.left, y), (where.box.right, y))
        yield pen.line(*ends, LEVEL_WEIGHTS[one.style], "ink", stroke_dasharray=dashes, data_part="level")


def _lines(pen: Pen, where: Plot) -> Iterator[Element]:
    """The first line last, so that it lies on top."""
    for one in reversed(list(drawn_series(where.chart))):
        dashes = STANDBY if one.style == "dashed" else None
        yield pen.path(where.points(one), WEIGHTS[one.style], "ink", stroke_dasharray=dashes, data_part="series")


def words_under(pen: Pen, told: tuple[Row, ...], box: Box, cell: Box) -> Iterator[Element]:
    """The whole plot in a sentence or two."""
    base = box.bottom + FOOT + TOLD.size * 0.8
    for row in told:
        yield from pen.row(row, (cell.left, base), TOLD)
        base += TOLD.leading
