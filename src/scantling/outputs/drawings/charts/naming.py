"""What is written on a plot: names of limits, bands and lines, each where there is room, and moments with a line of their own."""

from collections.abc import Iterator, Sequence
from functools import partial
from math import inf

from scantling.outputs.drawings.charts.field import NAMED, Plot, drawn_series, felt_between
from scantling.outputs.drawings.charts.labels import Room, Spot, felt
from scantling.outputs.drawings.charts.model import Band, Level, Series
from scantling.outputs.drawings.lettering import Row, cut
from scantling.outputs.drawings.model import Text
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.svg import Element

LEAST_BAND = 2.0
"""A hatched band lower than this is not named on the plot: the words under it tell of it."""
STRAY, SPOT = 3.0, 0.5
"""A name further from its line than this has a stroke to it; half of the spot at its end."""
TRIES = 12
OVER, UNDER, FAR = 1.8, 4.0, 4.0
"""From a line to the base line of a name over it and under it; how much worse a name is that is on no line."""
CLOSE, ALIKE = 2.6, 0.1
"""A name away from its line that is this near to another one is read as that one's; lines that run together are told apart by neither."""


def moments(pen: Pen, where: Plot, room: Room) -> Iterator[Element]:
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


def names(where: Plot, room: Room) -> Iterator[Element]:
    """What every level, line and band is called, levels first, since they have least choice."""
    for level in where.chart.levels:
        yield from room.name(_level_row(where, level), _by_level(where, level, _level_row(where, level)), NAMED)
    for band in where.chart.bands:
        if where.level(band.low) - where.level(band.high) > LEAST_BAND:
            yield from room.name(
                _band_row(where, band), _by_band(where, band, _band_row(where, band)), NAMED.inked("quiet")
            )
    for one in drawn_series(where.chart):
        row, points = _series_row(where, one), where.points(one)
        others = [where.points(other) for other in drawn_series(where.chart) if other is not one]
        others += [
            ((where.box.left, y), (where.box.right, y))
            for y in (where.level(level.value) for level in where.chart.levels)
        ]
        yield from room.name(row, list(_by_line(where, one, row)), NAMED, partial(_told_apart, room, points, others))
        yield from _leader(room, points)


def _told_apart(room: Room, points: Sequence[Point], others: Sequence[Sequence[Point]], name: Box) -> bool:
    """Whether a name is read as its own line's: nearer to it than to any other, or led to it by a stroke."""
    nearest = min((_gap(other, name) for other in others), default=inf)
    if _near(points, name):
        return _gap(points, name) < nearest + ALIKE
    return nearest > CLOSE and _stroke(room, points, name) is not None


def _gap(points: Sequence[Point], name: Box) -> float:
    """How far a line runs from a name over its length, on the average."""
    heights = [y for _, y in felt_between(points, name.left, name.right)]
    return sum(max(0.0, name.top - y, y - name.bottom) for y in heights) / len(heights) if heights else inf


def _near(points: Sequence[Point], name: Box) -> bool:
    """Whether a line runs by a name, so that it wants no stroke."""
    inside = [y for x, y in felt(points) if name.left + 2 < x < name.right - 2]
    return not inside or any(name.top - STRAY < y < name.bottom + STRAY for y in inside)


def _stroke(room: Room, points: Sequence[Point], name: Box) -> Point | None:
    """The nearest place of a line that an upright stroke from a name reaches clear of other names; None where none does."""
    inside = [(x, y) for x, y in felt(points) if name.left + 2 < x < name.right - 2]
    clear = [
        (abs(y - (name.top + name.bottom) / 2), x, y) for x, y in inside if room.free((x, name.bottom), (x, y), name)
    ]
    return min(clear)[1:] if clear else None


def _leader(room: Room, points: Sequence[Point]) -> Iterator[Element]:
    """Where a name found room only away from its line: a stroke from it to the line, a spot on its end."""
    name = room.names[-1]
    end = None if _near(points, name) else _stroke(room, points, name)
    if end is None:
        return
    x, y = end
    start = (x, name.bottom if y > name.bottom else name.top)
    room.line((start, end))
    yield room.pen.line(start, end, "rule", "ink", data_part="leader")
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
    return cut(
        (Text(f"{one.name} "), Text(where.chart.amount(one.high - one.low), one.figure)), NAMED, where.box.width - 2
    )


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


def _by_band(where: Plot, one: Band, row: Row) -> Iterator[Spot]:
    """In the hatching, left or right, else over it, else anywhere."""
    long, box = sum(piece.width for piece in row), where.box
    top, middle = where.level(one.high), (where.level(one.low) + where.level(one.high)) / 2 + 1.2
    lefts = (
        box.left + 1.5,
        box.right - long - 1.5,
        *(box.left + (box.width - long) / TRIES * place for place in range(TRIES)),
    )
    for place, left in enumerate(lefts):
        fits = middle - top > NAMED.size / 2
        yield left, middle if fits else top - OVER, place / 8
        yield from _anywhere(where, left, top)
