"""Sheet T-3, the busiest day: addresses held by the hour in ink, the pool as a line, one plot for each lease time on one scale."""

from collections.abc import Iterator
from dataclasses import dataclass

from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, cut
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.rehearsal_model import Curve, DaysSheet
from scantling.outputs.drawings.ruling import hatch, marks, step
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

APART, AXIS, EDGE = 10.0, 11.0, 4.5
"""Between two plots; for the numbers of the scale; for half of the last hour's."""
TOP, FOOT, WORDS_HIGH = 16.0, 8.0, 44.0
HEADROOM = 22.0
"""Over the pool's line, for what is said there."""
STRIP = 3.4
"""Of the hatching over the hours in which none is left."""
TITLE = Hand(SIGN, 4.6)
SCALE = Hand(LABEL, 2.9, "quiet")
SAID, LABELLED = Hand(BOOK, 4.0), Hand(BOOK, 3.8)
MOST_MARKS, HOUR_ROOM = 8, 11.0
MOST_CURVES = 4


@dataclass(frozen=True, slots=True)
class Plot:
    """Where a curve is drawn: its box, the hours from left to right, and the most it can hold."""

    box: Box
    first: float
    last: float
    most: float

    def across(self, hour: float) -> float:
        """Where an hour stands."""
        return self.box.left + (hour - self.first) / (self.last - self.first) * self.box.width

    def level(self, amount: float) -> float:
        """How high an amount stands."""
        return self.box.bottom - amount / self.most * (self.box.height - HEADROOM)


def plots(model: DaysSheet) -> list[Plot]:
    """One beside the other, all to one scale."""
    field = field_box(model.block.paper).inset(11, 12)
    curves = model.curves[:MOST_CURVES]
    count = max(1, len(curves))
    wide = (field.width - APART * (count - 1)) / count
    hours = [hour for one in curves for hour, _ in one.held] or [0.0]
    first, last = min(hours), max(hours)
    most = float(max([1, *(one.pool for one in curves), *(held for one in curves for _, held in one.held)]))
    found = []
    for place in range(count):
        left = field.left + place * (wide + APART)
        box = Box(left + AXIS, field.top + TOP, left + wide - EDGE, field.bottom - FOOT - WORDS_HIGH)
        found.append(Plot(box, first, last if last > first else first + 1, most))
    return found


def days_sheet(model: DaysSheet, look: Look) -> str:
    """Sheet T-3 as SVG text."""
    pen, field = Pen(look), field_box(model.block.paper).inset(11, 12)
    parts: list[Element] = list(
        pen.words("ADDRESSES HELD, BY THE HOUR", (field.left, field.top + 2.6), HEADING, field.width)
    )
    for one, plot in zip(model.curves[:MOST_CURVES], plots(model), strict=False):
        drawn = [*_paper(pen, plot), *_pool(pen, one, plot), *_curve(pen, one, plot), *_words(pen, one, plot)]
        box = Box(plot.box.left - AXIS, field.top + 4, plot.box.right + EDGE, field.bottom)
        parts.append(element("g", *drawn, data_part="day", data_box=box.written))
    return page(model.block, look, tuple(parts), Margin(model.notes, model.pencil), _told(model))


def _told(model: DaysSheet) -> str:
    days = [f"{one.title}: {one.pool_label}, {one.held_label}. {one.full_label}".strip() for one in model.curves]
    return f"Plots of the addresses held by the hour, side by side. {' '.join(days)}"


def _paper(pen: Pen, plot: Plot) -> Iterator[Element]:
    """Ruled paper: a line for every round amount, one for every few hours, their numbers at the edge."""
    box = plot.box
    for mark in marks(plot.most, step(plot.most, MOST_MARKS)):
        level = plot.level(mark)
        yield pen.line((box.left, level), (box.right, level), "rule", "hairline")
        yield from pen.words(f"{mark:,.0f}", (box.left - 1.8, level + 1.0), SCALE, AXIS - 2, "end")
    each = max(1, -(-int(plot.last - plot.first) // max(1, int(box.width / HOUR_ROOM))))
    for hour in range(int(-(-plot.first // 1)), int(plot.last) + 1, each):
        x = plot.across(hour)
        yield pen.line((x, box.bottom - (box.height - HEADROOM)), (x, box.bottom + 1.4), "rule", "hairline")
        yield from pen.words(f"{hour % 24}:00", (x, box.bottom + 4.6), SCALE, HOUR_ROOM, "middle")
    yield pen.line((box.left, box.bottom), (box.right, box.bottom), "door")


def _pool(pen: Pen, one: Curve, plot: Plot) -> Iterator[Element]:
    """The pool's line with its name; hatched over it the hours in which none is left, with what came of that."""
    box, level = plot.box, plot.level(one.pool)
    yield pen.line((box.left, level), (box.right, level), "partition", data_part="pool")
    for start, end in full(one):
        lines = hatch(pen, Box(plot.across(start), level - STRIP, plot.across(end), level))
        if lines is not None:
            yield lines
    yield from _label(pen, one.pool_label, (box.left + 1.0, over(plot, one, 1)), box)
    if one.full_label:
        yield from _label(pen, one.full_label, (box.right, over(plot, one, 2)), box)


def over(plot: Plot, one: Curve, row: int) -> float:
    """The base line of a row of words over the pool's line."""
    return plot.level(one.pool) - STRIP - 1.8 - (row - 1) * (LABELLED.leading + 0.6)


def _label(pen: Pen, said: str, place: Point, box: Box) -> Iterator[Element]:
    """Words that end at a place, or as near to it as the plot lets them; the ruling is kept clear of them."""
    row = cut(said, LABELLED, box.width)
    long = sum(piece.width for piece in row)
    left = min(max(box.left + 0.5, place[0] - long), box.right - long)
    yield pen.fill(Box(left - 0.5, place[1] - LABELLED.size * 0.8, left + long + 0.5, place[1] + 0.9), "paper")
    yield from pen.row(row, (left, place[1]), LABELLED)


def full(one: Curve) -> list[tuple[float, float]]:
    """The spans of hours in which every address is held."""
    spans: list[tuple[float, float]] = []
    for (hour, held), (following, _) in zip(one.held, [*one.held[1:], *one.held[-1:]], strict=True):
        if one.pool and held >= one.pool:
            spans = (
                [*spans[:-1], (spans[-1][0], following)]
                if spans and spans[-1][1] == hour
                else [*spans, (hour, following)]
            )
    return spans


def _curve(pen: Pen, one: Curve, plot: Plot) -> Iterator[Element]:
    """The curve, in steps from one count to the next, its name on its highest step; over the pool's line where they meet."""
    points: list[Point] = []
    for hour, held in one.held:
        x, y = plot.across(hour), plot.level(held)
        points += [(x, points[-1][1]), (x, y)] if points else [(x, y)]
    hour, most = max(one.held, key=lambda at: (at[1], -at[0]), default=(plot.first, 0))
    base = plot.level(most) - 1.4
    meets = base + 0.9 > plot.level(one.pool) - STRIP and base - LABELLED.size < plot.level(one.pool) + 0.6
    yield from _label(pen, one.held_label, (plot.across(hour), over(plot, one, 3) if meets else base), plot.box)
    if len(points) > 1:
        yield pen.path(tuple(points), "outer", data_part="curve")


def _words(pen: Pen, one: Curve, plot: Plot) -> Iterator[Element]:
    """The plot's title over it, what came of the day under it."""
    left = plot.box.left - AXIS
    room = plot.box.right - left
    yield from pen.words(one.title, (left, plot.box.top - 4.5), TITLE, room)
    base = plot.box.bottom + FOOT + 7.0
    for line in one.lines:
        if base > plot.box.bottom + FOOT + WORDS_HIGH - 2.0:
            break
        drawn, base = pen.paragraph(line, (left, base), SAID, room, 2)
        yield from drawn
