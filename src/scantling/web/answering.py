"""What a request asks and how it is answered: only what differs is sent, and a person's mistake comes back as words."""

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar
from urllib.parse import parse_qsl

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from scantling.web.coming import COMING, coming
from scantling.web.desk import Desk
from scantling.web.parts import Part, Sheet, View

T = TypeVar("T")
LOOKS, LAYERS = ("day", "night"), ("owner", "technician")


def desk_of(request: Request) -> Desk:
    """The desk that this office works at."""
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


def view_of(request: Request) -> View:
    """What the tab looks at: the page's own address for a whole page, what the tab says of itself for a piece of one."""
    desk = desk_of(request)
    asked = request.headers.get("X-Query")
    query = dict(parse_qsl(asked.lstrip("?"))) if asked is not None else dict(request.query_params)
    return View(desk.state, desk, _one(request, "look", LOOKS), _one(request, "layer", LAYERS), query)


def _one(request: Request, name: str, known: tuple[str, ...]) -> str:
    given = request.cookies.get(name, "")
    return given if given in known else known[0]


async def reckoned(function: Callable[..., T], *given: Any) -> T:
    """The result of work that takes a while, done beside the loop that answers."""
    return await run_in_threadpool(function, *given)


def had(request: Request) -> Mapping[str, str]:
    """The stamps of the parts that the tab shows."""
    try:
        told = json.loads(request.headers.get("X-Had", "{}"))
    except ValueError:
        return {}
    return {str(id_): str(stamp) for id_, stamp in told.items()} if isinstance(told, dict) else {}


def sheet_of(request: Request, slug: str) -> Sheet | None:
    """The sheet of a name or number, or what stands in for it until there is a plan."""
    state = desk_of(request).state
    found = request.app.state.page.sheet(state, slug)
    assert found is None or isinstance(found, Sheet)
    return found or coming(state, slug)


def redrawn(request: Request, *more: Part, said: str = "", wrong: str = "") -> Response:
    """After a change: the parts of the tab's sheet and of its margin that differ from what it has, and `more`."""
    view = view_of(request)
    if COMING in had(request) and not view.state.without_plan:
        return HTMLResponse(headers={"HX-Refresh": "true"})  # the sheet itself is there now
    shown = sheet_of(request, request.headers.get("X-Sheet", ""))
    line = said_part(said, wrong) if said or wrong or request.method != "GET" else []  # a redraw wipes no message
    return HTMLResponse(_differing(request, [*request.app.state.page.parts(view, shown), *more, *line]))


def _differing(request: Request, parts: Iterable[Part]) -> str:
    stamps = had(request)
    return "".join(part.sent for part in parts if stamps.get(part.id) != part.stamp)


def said_part(said: str, wrong: str) -> list[Part]:
    """The line that tells what was done; a mistake is told at once, other words when there is a pause."""
    kind = "alert" if wrong else "status"
    line = Markup('<p id="said" role="{}" class="{}">{}</p>')
    return [Part("said", line.format(kind, "pencil" if wrong else "quiet", wrong or said))]


def margin(_: Request, html: Markup, status: int = 200) -> Response:
    """Put something into the margin's place for workings."""
    place = Markup('<div id="working" class="working" tabindex="-1" aria-live="polite">{}</div>')
    return HTMLResponse(Part("working", place.format(html)).sent, status)


def whole(request: Request, sheet: Sheet | None) -> Response:
    """A whole page."""
    return HTMLResponse(request.app.state.page.whole(view_of(request), sheet))
