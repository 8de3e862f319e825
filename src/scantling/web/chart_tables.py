"""Sets the values of a chart as a table that the reading line takes its words from; written straight out, since it is long."""

from collections.abc import Iterator

from markupsafe import Markup, escape

from scantling.outputs.documents.letters import readable
from scantling.outputs.drawings.charts.model import Chart
from scantling.outputs.drawings.charts.field import counted


def values(chart: Chart) -> Markup:
    """The folded table of one chart: each row knows where its place is read, each drawn value how high it stands."""
    title = _safe(f"{chart.title}, {counted(chart)}")
    kind = "" if chart.rows else ' class="number"'
    heads = "".join(
        f'<th scope="col"{kind if place else ""}>{_safe(head)}</th>' for place, head in enumerate(chart.heads)
    )
    return Markup(  # noqa: S704 - every word is escaped
        f'<details class="values" data-values="{_safe(chart.slug)}"><summary>{_safe(chart.title)}: the values as a table</summary>'
        f'<div class="scroll" role="region" aria-label="{title}" tabindex="0"><table class="ruled"><caption>{title}</caption>'
        f"<thead><tr>{heads}</tr></thead><tbody>{''.join(_rows(chart, kind))}</tbody></table></div></details>"
    )


def _rows(chart: Chart, kind: str) -> Iterator[str]:
    drawn = [(place, one.values) for place, one in enumerate(chart.series) if one.drawn and not chart.rows]
    for place, (said, stands, row) in enumerate(zip(chart.across.said, chart.stands, chart.table, strict=True)):
        levels = {column: f' data-level="{amounts[place]:.9g}"' for column, amounts in drawn}
        cells = (f"<td{kind}{levels.get(column, '')}>{_safe(cell)}</td>" for column, cell in enumerate(row[1:]))
        yield f'<tr data-stands="{stands:.5f}"><th scope="row">{_safe(said)}</th>{"".join(cells)}</tr>'


def _safe(words: str) -> str:
    return str(escape(readable(words)))
