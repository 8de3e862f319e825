"""One plot: ruled paper, what is taken in hatching, limits as level lines, and the lines themselves with their names."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scantling.outputs.drawings.charts.labels import Room, Spot, felt
from scantling.outputs.drawings.charts.model import Band, Chart, Level, Series, Style
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, Row, cut
from scantling.outputs.drawings.model import Text
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import STANDBY, Pen, Point, Weight
from scantling.outputs.drawings.ruling import hatch, marks, step
from scantling.outputs.drawings.svg import Element, element

LEAST_BAND = 2.0
"""A hatched band lower than this is not named on the plot: the words under it tell of it."""
STRAY, SPOT = 3.0, 0.5
"""A name further from its line than this has a stroke to it; half of the spot at its end."""
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
TRIES = 12
OVER, UNDER, FAR = 1.8, 4.0, 4.0
"""From a line to the base line of a name over it and under it; how much worse a name is that is on no line."""
WEIGHTS: dict[Style, Weight] = {"heavy": "outer", "thin": "door", "dashed": "door"}
LEVEL_WEIGHTS: dict[Style, Weight] = {"heavy": "partition", "thin": "door", "dashed": "rule"}
LONG_DASH = "4 1.6"


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
        pairs = [(self.across(at), self.level(value)) for at, value in zip(self.chart.across.at, one.values, strict=True)]
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


def plot_box(cell: Box, told_rows: int) -> Box:
    """What the title, the scale and the words leave of a cell."""
    return Box(cell.left + AXIS, cell.top + TOP, cell.right - EDGE, cell.bottom - FOOT - told_rows * TOLD.leading - 1.0)


def plot(pen: Pen, chart: Chart, cell: Box, told: tuple[Row, ...], rows: int) -> Element:
    """One chart in its cell, as a group that says where its places lie; `rows` of words are left room for."""
    where = Plot(chart, plot_box(cell, rows), chart.most or 1.0)
    room = Room(pen, where.box)
    for series in drawn_series(chart):
        room.line(where.points(series))
    for level in chart.levels:
        room.line(((where.box.left, where.level(level.value)), (where.box.right, where.level(level.value))))
    parts = [
        *_title(pen, chart, cell), *_bands(pen, where), *_paper(pen, where), *_levels(pen, where), *_lines(pen, where),
        *_moments(pen, where, room), *_names(where, room), *words_under(pen, told, where.box, cell),
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


def drawn_series(chart: Chart) -> Iterator[Series]:
    """The series that are drawn."""
    return (one for one in chart.series if one.drawn)


def _title(pen: Pen, chart: Chart, cell: Box) -> Iterator[Element]:
    """The plot's title, and what is counted on its scale."""
    yield from pen.words(chart.title, (cell.left, cell.top + 4.2), TITLE, cell.width)
    yield from pen.words(counted(chart), (cell.left, cell.top + 9.4), COUNTED, cell.width)


def counted(chart: Chart) -> str:
    """What is counted, and in which unit."""
    return f"{chart.up.label}, {chart.up.unit}" if chart.up.unit else chart.up.label


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
        lines = hatch(pen, Box(where.box.left, where.level(band.high), where.box.right, where.level(band.low)), 2.2, "hairline")
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


def _moments(pen: Pen, where: Plot, room: Room) -> Iterator[Element]:
    """A place with a name of its own: an upright line through the plot."""
    for one in where.chart.moments:
        x = where.across(one.at)
        yield pen.line((x, where.box.top + 1), (x, where.box.bottom), "partition", "pencil", data_part="moment")
        row = cut(Text(one.name, one.figure), NAMED, where.box.width)
        long = sum(piece.width for piece in row)
        spots = [(x + side, base, base - where.box.top) for base in _down(where) for side in (1.4, -1.4 - long)]
        yield from room.name(row, spots, NAMED.inked("pencil"))


def _down(where: Plot) -> list[float]:
    """Base lines from the top of a plot down."""
    return [where.box.top + 4.0 + place * NAMED.leading for place in range(4)]


def _names(where: Plot, room: Room) -> Iterator[Element]:
    """What every level, line and band is called, levels first, since they have least choice."""
    for level in where.chart.levels:
        yield from room.name(_level_row(where, level), _by_level(where, level, _level_row(where, level)), NAMED)
    for band in where.chart.bands:
        if where.level(band.low) - where.level(band.high) > LEAST_BAND:
            yield from room.name(_band_row(where, band), _by_band(where, band, _band_row(where, band)), NAMED.inked("quiet"))
    for one in drawn_series(where.chart):
        row = _series_row(where, one)
        yield from room.name(row, list(_by_line(where, one, row)), NAMED)
        yield from _leader(room, where.points(one))


def _leader(room: Room, points: Sequence[Point]) -> Iterator[Element]:
    """Where a name found room only away from its line: a stroke from it to the line, clear of other names, a spot on its end."""
    name = room.names[-1]
    inside = [point for point in felt(points) if name.left + 2 < point[0] < name.right - 2]
    if not inside or any(name.top - STRAY < y < name.bottom + STRAY for _, y in inside):
        return
    clear = [(abs(y - (name.top + name.bottom) / 2), x, y) for x, y in inside if room.free((x, name.bottom), (x, y), name)]
    if not clear:
        return
    _, x, y = min(clear)
    yield room.pen.line((x, name.bottom if y > name.bottom else name.top), (x, y), "rule", "ink")
    yield room.pen.fill(Box(x - SPOT, y - SPOT, x + SPOT, y + SPOT), "ink")


def _level_row(where: Plot, one: Level) -> Row:
    amount = Text(where.chart.amount(one.value), one.figure)
    return cut((Text(f"{one.name} "), amount), NAMED, where.box.width - 2)


def _series_row(where: Plot, one: Series) -> Row:
    """Its name and its highest value."""
    most = max(one.values)
    said = where.chart.amount(most)
    flat = min(one.values) == most
    last = not where.chart.stepped and one.values[-1] == most
    behind = "" if flat else " at the end" if last else " at most"
    return cut((Text(f"{one.name}: "), Text(said, one.figure), Text(behind)), NAMED, where.box.width - 2)


def _band_row(where: Plot, one: Band) -> Row:
    return cut((Text(f"{one.name} "), Text(where.chart.amount(one.high - one.low), one.figure)), NAMED, where.box.width - 2)


def _by_level(where: Plot, one: Level, row: Row) -> list[Spot]:
    """Over the line at its ends and in the middle, else under it."""
    long, y, box = sum(piece.width for piece in row), where.level(one.value), where.box
    lefts = (box.right - long - 0.6, box.left + 1.2, (box.left + box.right - long) / 2)
    spots = [(left, y - OVER, place / 2) for place, left in enumerate(lefts)]
    return spots + [(left, y + UNDER, 1.5 + place / 2) for place, left in enumerate(lefts)]


def _by_line(where: Plot, one: Series, row: Row) -> Iterator[Spot]:
    """Over or under the line, first where it is highest, then along it; in the end anywhere, the nearer the better."""
    long, box = sum(piece.width for piece in row), where.box
    points = where.points(one)
    top = min(y for _, y in points)
    summit = [x for x, y in points if y == top][:2]
    highest = sum(summit) / len(summit)
    along = [box.left + 1 + (box.width - long) / TRIES * place for place in range(TRIES + 1)]
    for left in (highest - long / 2, *along):
        left = min(max(left, box.left + 1.0), box.right - long - 0.6)  # noqa: PLW2901 - where it will stand
        near = [y for _, y in felt_between(points, left, left + long)] or [box.bottom]
        sideways = abs(left + long / 2 - highest) / 20
        middle = sum(near) / len(near)
        yield left, min(near) - OVER, sideways
        yield left, max(near) + UNDER, sideways + 1
        yield from _anywhere(where, left, middle)


def _anywhere(where: Plot, left: float, home: float) -> Iterator[Spot]:
    """Up and down a plot, the worse the further from home."""
    for place in range(2 * TRIES):
        base = where.box.top + 4.0 + place * (where.box.height - 5) / (2 * TRIES)
        yield left, base, FAR + abs(base - home)


def felt_between(points: Sequence[Point], left: float, right: float) -> Iterator[Point]:
    """The points of a course over a stretch, its ends on sloping pieces included."""
    for (x1, y1), (x2, y2) in zip(points, points[1:], strict=False):
        if x2 < left or x1 > right:
            continue
        for x in (max(x1, left), min(x2, right)):
            yield x, y1 if x2 == x1 else y1 + (y2 - y1) * (x - x1) / (x2 - x1)
        if x1 == x2:
            yield x2, y2


def _by_band(where: Plot, one: Band, row: Row) -> Iterator[Spot]:
    """In the hatching, left or right, else over it, else anywhere."""
    long, box = sum(piece.width for piece in row), where.box
    top, middle = where.level(one.high), (where.level(one.low) + where.level(one.high)) / 2 + 1.2
    lefts = (box.left + 1.5, box.right - long - 1.5, *(box.left + (box.width - long) / TRIES * place for place in range(TRIES)))
    for place, left in enumerate(lefts):
        fits = middle - top > NAMED.size / 2
        yield left, middle if fits else top - OVER, place / 8
        yield from _anywhere(where, left, top)


def words_under(pen: Pen, told: tuple[Row, ...], box: Box, cell: Box) -> Iterator[Element]:
    """The whole plot in a sentence or two."""
    base = box.bottom + FOOT + TOLD.size * 0.8
    for row in told:
        yield from pen.row(row, (cell.left, base), TOLD)
        base += TOLD.leading
