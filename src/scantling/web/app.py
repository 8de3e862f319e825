"""Puts the drawing office together: the sheets and routes that this room's folder holds, behind the guard."""

import asyncio
from collections.abc import AsyncIterator, Iterator, Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from types import ModuleType

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from scantling import UserError
from scantling.outputs.fonts import FOLDER as FONTS
from scantling.web import sheets as folder
from scantling.web.answering import desk_of, reckoned, redrawn, sheet_of, view_of, whole
from scantling.web.desk import Desk
from scantling.web.state import State
from scantling.web.guard import Guard
from scantling.web.page import Page
from scantling.web.parts import Sheet, numbered

STATIC = Path(__file__).parent / "static"
KINDS = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".ttf": "font/ttf",
    ".txt": "text/plain",
    ".svg": "image/svg+xml",
}
KEEP_ALIVE = 15.0
PATIENCE = 2.0
"""Seconds that a page waits for an office's first plan before it comes without one."""


@cache
def families() -> tuple[ModuleType, ...]:
    """Every module of the folder of sheets."""
    return tuple(import_module(f"{folder.__name__}.{found.name}") for found in iter_modules(folder.__path__))


def sheets(state: State) -> list[Sheet]:
    """Every sheet that there is something to show on, numbered."""
    return numbered(sheet for module in families() if hasattr(module, "sheets") for sheet in module.sheets(state))


def _routes() -> Iterator[Route]:
    for module in families():
        yield from getattr(module, "ROUTES", ())


def office(desk: Desk, token: str, port: int) -> Starlette:
    """The application; every address in it begins with the token."""
    routes: Sequence[Route] = (
        Route("/", opened), Route("/sheet/{slug}", shown), Route("/redraw", redraw), Route("/events", events),
        Route("/initial", initialled, methods=["POST"]), Route("/undo", undone, methods=["POST"]),
        Route("/redo", redone, methods=["POST"]), Route("/search/{what}", searching, methods=["POST"]),
        Route("/static/{name}", static), *_routes(),
    )  # fmt: skip
    handlers = {UserError: _wrong, 404: _nothing}
    app = Starlette(
        routes=routes, middleware=[Middleware(Guard, token=token, port=port)], exception_handlers=handlers
    )
    app.state.desk, app.state.page = desk, Page(sheets)
    return app


async def opened(request: Request) -> Response:
    """The first address leads to the first sheet."""
    await _patiently(request)
    first = sheets(desk_of(request).state)
    return RedirectResponse(f"sheet/{first[0].slug}", 303)


async def shown(request: Request) -> Response:
    """A sheet as a whole page."""
    await _patiently(request)
    return await reckoned(whole, request, sheet_of(request, request.path_params["slug"]))


async def _patiently(request: Request) -> None:
    """A first plan that is nearly made is waited for."""
    if desk_of(request).state.first_awaited:
        await reckoned(desk_of(request).wait, PATIENCE)


async def redraw(request: Request) -> Response:
    """What differs from what the tab shows."""
    return await reckoned(redrawn, request)


async def initialled(request: Request) -> Response:
    """Somebody has seen what moved."""
    desk_of(request).initial()
    return await reckoned(redrawn, request)


async def undone(request: Request) -> Response:
    """One edit back."""
    await reckoned(desk_of(request).undo)
    return await reckoned(lambda: redrawn(request, said="Undone."))


async def redone(request: Request) -> Response:
    """One edit forth."""
    await reckoned(desk_of(request).redo)
    return await reckoned(lambda: redrawn(request, said="Done again."))


async def searching(request: Request) -> Response:
    """Stop the search that goes on, or begin it again."""
    desk = desk_of(request)
    stops = request.path_params["what"] == "stop"
    await reckoned(desk.stop_search if stops else desk.search_again)
    return await reckoned(lambda: redrawn(request, said="Stopped." if stops else "Searching again."))


async def events(request: Request) -> Response:
    """What happens in the office, as server-sent events (WHATWG HTML, section 9.2)."""
    desk = desk_of(request)

    async def stream() -> AsyncIterator[str]:
        with desk.listening() as queue:
            yield f"retry: 500\nevent: redraw\ndata: {desk.state.serial}\n\n"
            while not desk.closed:
                try:
                    name, told = await asyncio.wait_for(queue.get(), KEEP_ALIVE)
                except TimeoutError:
                    yield ":\n\n"
                    continue
                yield f"event: {name}\n" + "".join(f"data: {line}\n" for line in told.split("\n")) + "\n"

    return StreamingResponse(stream(), media_type="text/event-stream")


@cache
def _files() -> dict[str, Path]:
    """Everything that may be asked for by name."""
    return {path.name: path for place in (STATIC, FONTS) for path in place.iterdir() if path.suffix in KINDS}


async def static(request: Request) -> Response:
    """A script, a style or a face."""
    path = _files().get(request.path_params["name"])
    if path is None:
        return await _nothing(request, None)
    return Response(path.read_bytes(), media_type=KINDS[path.suffix], headers={"Cache-Control": "max-age=3600"})


async def _wrong(request: Request, wrong: Exception) -> Response:
    """A person's mistake: told on the page where one is shown, else in a plain answer."""
    if request.headers.get("HX-Request"):
        return await reckoned(lambda: redrawn(request, wrong=str(wrong)))
    return PlainTextResponse(f"{wrong}\n", 400)


async def _nothing(request: Request, _: Exception | None) -> Response:
    """No such address."""
    if request.headers.get("HX-Request"):
        return await reckoned(lambda: redrawn(request, wrong="There is nothing of that name on this plan any more."))
    view_of(request)
    return PlainTextResponse(
        "There is no such sheet in this drawing office. Its first page lists what there is.\n", 404
    )
