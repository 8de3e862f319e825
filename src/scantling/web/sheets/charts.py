"""The sheets of charts: load by the hour, storage filling, pools on the busiest day, what each demand costs; read by keys."""

import re
from functools import partial
from html import unescape
from collections import OrderedDict
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from threading import Lock
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from scantling.api import charting
from scantling.outputs.drawings.charts.model import Chart, ChartSheet
from scantling.outputs.drawings.charts.field import counted
from scantling.outputs.drawings.svg import escaped
from scantling.plan.make import Plan
from scantling.plan.telling import identity
from scantling.plan.weighing import Weighed
from scantling.web.answering import reckoned, view_of
from scantling.web.chart_tables import values
from scantling.web.drawing import new_findings
from scantling.web.state import State
from scantling.web.interactive import touchable
from scantling.web.kinds import WEIGHING
from scantling.web.parts import REPLACE, Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.rooms import jobs_of
from scantling.web.slips import noted

DEMANDS = "demands"
BEGINNING = 16
"""Letters of a plan's fingerprint that are shown."""
ORDERS: Mapping[str, int] = {"load": 60, "filling": 61, "pools": 60, DEMANDS: 60}
READING = re.compile(r'<rect ([^>]*data-part="reading" data-chart="([^"]*)"[^>]*)/>')
FIGURES = re.compile(r'data-figure="([^"]*)"')
MOST_KEPT = 12


class Kept:
    """The newest sheets, by plan and look: a sheet that is asked for again for the same plan is not made again."""

    def __init__(self) -> None:
        self._made: OrderedDict[tuple[object, ...], tuple[Plan, object, Any]] = OrderedDict()
        self._lock = Lock()

    def get(self, plan: Plan, key: tuple[object, ...], also: object, make: Callable[[], Any]) -> Any:
        """What was made for this very plan and `also`, or what `make` makes now."""
        whole = (id(plan), *key)
        with self._lock:
            known = self._made.get(whole)
        if known is not None and known[0] is plan and known[1] is also:
            return known[2]
        made = make()
        with self._lock:
            self._made[whole] = plan, also, made
            self._made.move_to_end(whole)
            while len(self._made) > MOST_KEPT:
                self._made.popitem(last=False)
        return made


KEPT = Kept()


def sheets(state: State) -> Iterable[Sheet]:
    """All of them; one that has nothing to draw says what is missing."""
    if state.plan is None:
        return
    for one in charting.SUBJECTS.values():
        yield Sheet(one.letter, one.title, _parts(one.slug), ORDERS[one.slug], one.slug, concerns=_findings(one.slug))


def _parts(slug: str) -> Callable[[View], Iterable[Part]]:
    def parts(view: View) -> Iterable[Part]:
        plan = view.state.plan
        assert plan is not None
        sheet = chart_sheet(view, plan, slug)
        id_ = f"chart-{slug}"
        if slug == DEMANDS:
            yield Part(f"{id_}-work", _work(view, plan))
        pictures = list(_pictures(view, plan, sheet))
        yield Part(
            id_,
            render("chart.html.j2", view, id=id_, sheet=sheet, pictures=pictures, values=_values(plan, sheet)),
            REPLACE,
        )

    return parts


def _findings(slug: str) -> Callable[[View], Container[int]]:
    """The findings that tell of what the charts show."""

    def numbers(view: View) -> Container[int]:
        plan = view.state.plan
        assert plan is not None
        return {note.number for note in chart_sheet(view, plan, slug).pencil}

    return numbers


def chart_sheet(view: View, plan: Plan, slug: str, number: str = "") -> ChartSheet:
    """One sheet of the plan that is shown; what demands cost comes from the last weighing."""
    if slug == DEMANDS:
        weighed, stale = weighing(view, plan)
        return charting.chart_of_weighing(plan, weighed, number, stale=stale)
    made: ChartSheet = KEPT.get(plan, (slug, number), None, lambda: charting.CHARTS[slug](plan, number))
    return made


def weighing(view: View, plan: Plan) -> tuple[Weighed | None, bool]:
    """The last result of weighing, and whether the plan has changed since."""
    jobs = jobs_of(view.desk)
    jobs.recall()
    found = jobs.kept.get(WEIGHING)
    if found is None:
        return None, False
    now: str = KEPT.get(plan, ("identity",), None, lambda: identity(plan))
    return found, jobs.kept_of.get(WEIGHING) != now


def _pictures(view: View, plan: Plan, sheet: ChartSheet) -> Iterator[tuple[Chart, Markup]]:
    """Each plot with a place to read it from, and figures that lead to their workings."""
    bare: Mapping[str, str] = KEPT.get(
        plan, ("svg", sheet.slug, view.look), sheet, lambda: charting.pictures(sheet, view.look)
    )
    known = {f"finding/{number}": says for number, says in noted.names(plan).items()}
    moved = {**view.state.moved, **new_findings(view)}
    for chart in sheet.charts:
        svg = bare[chart.slug]
        ids = {unescape(id_) for id_ in FIGURES.findall(svg)} & plan.figures.keys()
        names = {f"figure/{id_}": plan.figures[id_].label for id_ in ids} | known
        whole = touchable(svg, f"chart-{chart.slug}", moved, names).replace('tabindex="-1"', 'tabindex="0"')
        yield chart, Markup(READING.sub(partial(_reading, chart), whole))  # noqa: S704 - our own SVG, names escaped


def _values(plan: Plan, sheet: ChartSheet) -> Markup:
    """Every plot as a table, folded away."""
    made: Markup = KEPT.get(plan, ("values", sheet.slug), sheet, lambda: Markup().join(map(values, sheet.charts)))
    return made


def _reading(chart: Chart, found: re.Match[str]) -> str:
    """The place of a plot from which it is read: a slider whose values are the places from left to right."""
    place = chart.peak
    said = escaped(f"{chart.title}, {counted(chart)}: read place by place")
    return (
        f'<rect {found[1]} class="reading" pointer-events="all" role="slider" tabindex="0" aria-label="{said}" aria-valuemin="0" '
        f'aria-valuemax="{len(chart.across.at) - 1}" aria-valuenow="{place}" aria-valuetext="{escaped(chart.across.said[place])}" '
        f'aria-orientation="{"vertical" if chart.rows else "horizontal"}"/>'
    )


def _work(view: View, plan: Plan) -> Markup:
    """How weighing goes, or the button that begins it."""
    found, stale = weighing(view, plan)
    jobs = jobs_of(view.desk)
    of = jobs.kept_of.get(WEIGHING, "")[:BEGINNING] if found is not None else ""
    return render(
        "chart_work.html.j2", view, id=f"chart-{DEMANDS}-work", job=jobs.last(WEIGHING), of=of, stale=stale,
        unread=jobs.unread,
    )  # fmt: skip


async def saved(request: Request) -> Response:
    """A sheet of charts as a file, with frame and title block as on paper."""
    slug, view = str(request.path_params["slug"]), view_of(request)
    plan = view.state.plan
    if plan is None or slug not in charting.SUBJECTS:
        return PlainTextResponse("There is no such sheet of charts in this drawing office.\n", 404)
    shown = request.app.state.page.sheet(view.state, slug)
    number = shown.number if shown is not None else ""
    text = await reckoned(lambda: charting.drawn(chart_sheet(view, plan, slug, number), view.look))
    headers = {"Content-Disposition": f'attachment; filename="{slug}.svg"'}
    return Response(text, media_type="image/svg+xml", headers=headers)


ROUTES = (Route("/chart/{slug}.svg", saved),)
