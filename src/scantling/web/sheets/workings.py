"""The margin's workings: a figure's tree down to the brief, what rests on it, and setting it by hand."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.api import tracing as traced
from scantling.figures.spelled import shown
from scantling.web.answering import desk_of, had, reckoned, redrawn, view_of, whole
from scantling.web.parts import Part, Sheet, View
from scantling.web.sent import sent
from scantling.web.rendering import render
from scantling.web.tracing_room import room_of
from scantling.web.working import NoSuchFigureError, Teller, linked

MOST_OPEN = 200
NO_PLAN = "There is no plan yet, so there is nothing to explain."


@dataclass(frozen=True)
class Asked:
    """How a working is asked for: lines that are open in it, whether all inputs, and of which tracing (empty: the plan)."""

    opened: tuple[str, ...] = ()
    whole: bool = False
    of: str = ""


def told(view: View, address: str, asked: Asked = Asked()) -> Markup:
    """The working of one figure as the margin shows it; words where there is none."""
    found = _of(view, asked.of)
    if isinstance(found, str):
        return render("working_none.html.j2", says=found, address=address, of=asked.of)
    try:
        working = Teller(found, asked.opened, whole=asked.whole).working(address)
    except NoSuchFigureError as wrong:
        return render("working_none.html.j2", says=str(wrong), address=address, of=asked.of)
    return render("working.html.j2", found, part="whole", told=working, of=asked.of, whose=_name(view, asked.of))


def _of(view: View, slug: str) -> View | str:
    """The view itself, or one on a tracing whose plan stands in the plan's place; words where there is no plan."""
    if view.state.planned is None:
        return NO_PLAN
    if not slug:
        return view
    try:
        one = traced.tracing(view.desk.brief, slug)
    except UserError as wrong:
        return str(wrong)
    planned = view.state.planned if one.says(view.state.text) else room_of(view.desk).known(one).planned
    if planned is None:
        return f"The plan of {one.name} is being reckoned; ask again in a moment."
    return replace(view, state=replace(view.state, planned=planned, initialled=view.state.plan))


def _name(view: View, slug: str) -> str:
    return traced.tracing(view.desk.brief, slug).name if slug else ""


def part(view: View, address: str, asked: Asked = Asked()) -> Part:
    """The margin's place for workings, with one in it."""
    html = told(view, address, asked)
    return Part("working", Markup(f'<div id="working" class="working" tabindex="-1">{html}</div>'))  # noqa: S704 - markup already


async def working(request: Request) -> Response:
    """The working of a figure: in the margin for a tab, one level of it for a line that is opened, else a whole page."""
    return await reckoned(_answered, request, str(request.path_params["id"]))


def _answered(request: Request, address: str) -> Response:
    view, query = view_of(request), request.query_params
    asked = Asked(tuple(query.getlist("open"))[:MOST_OPEN], "whole" in query, query.get("of", ""))
    if not request.headers.get("HX-Request"):
        return _page(request, view, address, replace(asked, whole=True))
    if "level" in query:
        return HTMLResponse(_level(view, address, asked))
    made = part(view, address, asked)
    if "again" in query and made.stamp == had(request).get("working"):
        return HTMLResponse("")
    return HTMLResponse(made.sent)


def _level(view: View, address: str, asked: Asked) -> Markup:
    """What stands below a line that is opened in place."""
    found = _of(view, asked.of)
    if isinstance(found, str):
        return escape(found)
    teller = Teller(found)
    try:
        level = teller.level(teller.figure(address), address)
    except NoSuchFigureError as wrong:
        return escape(str(wrong))
    told_ = {"told": level, "of": asked.of, "whose": "", "address": address, "here": linked(address)}
    return render("working.html.j2", found, part="level", **told_)


def _page(request: Request, view: View, address: str, asked: Asked) -> Response:
    """A page of its own, for who has no scripts. Its address has one step, so that all links in it lead right."""
    if "/" in address and b"/working/" + address.encode() in request.scope.get("raw_path", b""):
        return RedirectResponse("../" * (address.count("/") + 1) + f"working/{linked(address)}", 303)
    body = Markup(f'<div id="own-working" class="working">{told(view, address, asked)}</div>')  # noqa: S704 - markup already
    return whole(request, Sheet("G", "A working", lambda _: [Part("own-working", body)]))


async def pin(request: Request) -> Response:
    """Set a figure by hand, with its reason."""
    return await reckoned(_pinned, request, await sent(request))


def _pinned(request: Request, asked: Mapping[str, str]) -> Response:
    id_, value, because = asked.get("id", ""), asked.get("value", "").strip(), asked.get("because", "").strip()
    if not because:
        raise UserError("A pin needs its reason: write why this value is set by hand.")
    if not value:
        raise UserError("Write the value that the pin sets.")
    desk_of(request).set({f"pins.{id_}": value}, because=because)
    return _again(request, id_, f"Pinned: {id_} to {shown(value, 60)}.")


async def unpin(request: Request) -> Response:
    """Let a figure be reckoned again."""
    return await reckoned(_unpinned, request, await sent(request))


def _unpinned(request: Request, asked: Mapping[str, str]) -> Response:
    id_ = asked.get("id", "")
    desk_of(request).set({f"pins.{id_}": None})
    return _again(request, id_, f"The pin on {id_} is taken off.")


def _again(request: Request, id_: str, says: str) -> Response:
    if not request.headers.get("HX-Request"):
        return RedirectResponse(f"working/{linked(id_)}", 303)
    return redrawn(request, part(view_of(request), id_), said=says)


ROUTES = (
    Route("/working/{id:path}", working),
    Route("/pin", pin, methods=["POST"]),
    Route("/unpin", unpin, methods=["POST"]),
)
