"""A sheet of charts: the plots laid out in rows, inside the frame and title block that every sheet has, or as a picture alone."""

from collections.abc import Iterator, Sequence

from scantling.outputs.drawings.charts.model import Chart, ChartSheet
from scantling.outputs.drawings.charts.field import FOOT, MOST_TOLD, TOLD, TOP
from scantling.outputs.drawings.charts.plots import plot
from scantling.outputs.drawings.charts.rows import HIGHEST, rows_plot
from scantling.outputs.drawings.lettering import BOOK, STRONG, Hand, shown, wrap
from scantling.outputs.drawings.model import plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, document, element

APART, DOWN, UNDER_HEADING = 9.0, 7.0, 6.5
WIDE_SHARE = 1.35
"""How much higher a row of one wide plot is than a row of several."""
LACKING = Hand(BOOK, 5.6)
COLUMNS = {1: 1, 2: 2, 3: 3, 4: 2, 5: 3, 6: 2}
MOST_COLUMNS = 3
SLACK = 4.0
"""Round a plot that is drawn alone."""
NARROW, NARROW_HIGH, WIDE, WIDE_HIGH = 128.0, 82.0, 190.0, 92.0


def chart_sheet(model: ChartSheet, look: Look) -> str:
    """The whole sheet as SVG text."""
    pen, field = Pen(look), _field(model)
    heading = pen.words(model.title.upper(), (field.left, field.top + 2.6), HEADING, field.width)
    under = Box(field.left, field.top + UNDER_HEADING, field.right, field.bottom)
    return page(
        model.block, look, (*heading, *_picture(model, pen, under)), Margin(model.notes, model.pencil), told(model)
    )


def chart_picture(chart: Chart, look: Look) -> str:
    """One plot alone, without frame, notes and title block, as SVG text: for a page that has its own."""
    rows = tuple(wrap(chart.told, TOLD, _size(chart)[0], MOST_TOLD))
    wide, high = _size(chart)
    cell, pen = Box(SLACK, SLACK, SLACK + wide, SLACK + high), Pen(look)
    drawn = rows_plot(pen, chart, cell, rows) if chart.rows else plot(pen, chart, cell, rows, len(rows))
    picture = element("g", drawn, data_part="picture")
    return document(
        wide + 2 * SLACK, high + 2 * SLACK, shown(chart.title, STRONG), shown(chart.said, STRONG), (picture,)
    )


def _size(chart: Chart) -> tuple[float, float]:
    """How large a plot is drawn alone."""
    if chart.rows:
        return WIDE, TOP + HIGHEST * len(chart.across.at) + FOOT + TOLD.leading + SLACK
    return (WIDE, WIDE_HIGH) if chart.wide else (NARROW, NARROW_HIGH)


def told(model: ChartSheet) -> str:
    """The sheet in words."""
    said = [f"{chart.title}: {chart.said}" for chart in model.charts] or list(model.lacking)
    return " ".join(said)


def _field(model: ChartSheet) -> Box:
    return field_box(model.block.paper).inset(11, 12)


def _picture(model: ChartSheet, pen: Pen, field: Box) -> Iterator[Element]:
    base = field.top + 9.0
    for sentence in model.lacking:
        drawn, base = pen.paragraph(plain(sentence), (field.left, base), LACKING, field.width * 0.8)
        yield from drawn
        base += LACKING.leading * 0.4
    for line in laid_out(model.charts, field):
        words = [tuple(wrap(chart.told, TOLD, cell.width, MOST_TOLD)) for chart, cell in line]
        high = max(map(len, words))
        for (chart, cell), rows in zip(line, words, strict=True):
            yield rows_plot(pen, chart, cell, rows) if chart.rows else plot(pen, chart, cell, rows, high)


def laid_out(charts: Sequence[Chart], field: Box) -> Iterator[tuple[tuple[Chart, Box], ...]]:
    """The charts of each row with their places: wide ones in rows of their own, the others beside each other."""
    lines = list(_lines_of(charts))
    shares = [WIDE_SHARE if line[0].wide and len(lines) > 1 else 1.0 for line in lines]
    high = (field.height - DOWN * (len(lines) - 1)) / (sum(shares) or 1.0)
    top = field.top
    for line, share in zip(lines, shares, strict=True):
        columns = 1 if line[0].wide else _columns(charts)
        wide = (field.width - APART * (columns - 1)) / columns
        lefts = [field.left + place * (wide + APART) for place in range(len(line))]
        yield tuple(
            (chart, Box(left, top, left + wide, top + high * share)) for chart, left in zip(line, lefts, strict=True)
        )
        top += high * share + DOWN


def _columns(charts: Sequence[Chart]) -> int:
    return COLUMNS.get(sum(not chart.wide for chart in charts), MOST_COLUMNS)


def _lines_of(charts: Sequence[Chart]) -> Iterator[tuple[Chart, ...]]:
    yield from ((chart,) for chart in charts if chart.wide)
    narrow, columns = [chart for chart in charts if not chart.wide], _columns(charts)
    for place in range(0, len(narrow), columns):
        yield tuple(narrow[place : place + columns])
