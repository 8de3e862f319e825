"""The margin's workings: a figure's tree down to the brief, what rests on it, and setting it by hand."""

from collections.abc import Mapping
from urllib.parse import parse_qsl

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.figures.spelled import shown
from scantling.web.answering import desk_of, had, margin, reckoned, redrawn, view_of, whole
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.working import NoSuchFigureError, Teller, linked

MOST_OPEN = 200
NO_PLAN = "There is no plan yet, so there is nothing to explain."


def told(view: View, address: str, opened: tuple[str, ...] = (), *, all_of_it: bool = False) -> Markup:
    """The working of one figure as the margin shows it; words where there is none."""
    if view.state.planned is None:
        return render("working_none.html.j2", says=NO_PLAN, address=address)
    try:
        found = Teller(view, opened, whole=all_of_it).working(address)
    except NoSuchFigureError as wrong:
        return render("working_none.html.j2", says=str(wrong), address=address)
    return render("working.html.j2", view, part="whole", told=found, of="", whose="")


def part(view: View, address: str, opened: tuple[str, ...] = ()) -> Part:
    """The margin's place for workings, with one in it."""
    html = told(view, address, opened)
    return Part("working", Markup(f'<div id="working" class="working" tabindex="-1">{html}</div>'))  # noqa: S704 - markup already


async def working(request: Request) -> Response:
    """The working of a figure: in the margin for a tab, one level of it for a line that is opened, else a whole page."""
    return await reckoned(_answered, request, str(request.path_params["id"]))


def _answered(request: Request, address: str) -> Response:
    view = view_of(request)
    asked = request.query_params
    opened = tuple(asked.getlist("open"))[:MOST_OPEN]
    if not request.headers.get("HX-Request"):
        return _page(request, view, address)
    if "level" in asked:
        return HTMLResponse(_level(view, address))
    html = told(view, address, opened, all_of_it="whole" in asked)
    answer = margin(request, html)
    if "again" in asked and part(view, address, opened).stamp == had(request).get("working"):
        return HTMLResponse("")
    return answer


def _level(view: View, address: str) -> Markup:
    """What stands below a line that is opened in place."""
    if view.state.planned is None:
        return render("working_none.html.j2", says=NO_PLAN, address=address)
    teller = Teller(view)
    try:
        level = teller.level(teller.figure(address), address)
    except NoSuchFigureError as wrong:
        return render("working_none.html.j2", says=str(wrong), address=address)
    return render("working.html.j2", view, part="level", told=level, of="", whose="", address=address, here=linked(address))


def _page(request: Request, view: View, address: str) -> Response:
    """A page of its own, for who has no scripts. Its address has one step, so that all links in it lead right."""
    if "/" in address and b"/working/" + address.encode() in request.scope.get("raw_path", b""):
        return RedirectResponse("../" * (address.count("/") + 1) + f"working/{linked(address)}", 303)
    body = told(view, address, all_of_it=True)
    sheet = Sheet("G", "A working", lambda _: [Part("own-working", Markup(f'<div id="own-working" class="working">{body}</div>'))])  # noqa: S704 - markup already
    return whole(request, sheet)


async def said(request: Request) -> Mapping[str, str]:
    """What a form sent."""
    body = await request.body()
    return dict(parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=40))


async def pin(request: Request) -> Response:
    """Set a figure by hand, with its reason."""
    return await reckoned(_pinned, request, await said(request))


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
    return await reckoned(_unpinned, request, await said(request))


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
