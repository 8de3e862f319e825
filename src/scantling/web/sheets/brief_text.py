"""The brief as text: the same mistakes at their lines, saved only where it stands as the person saw it."""

from collections.abc import Iterable, Mapping

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from scantling import api
from scantling.web.answering import desk_of, reckoned
from scantling.web.desk import Desk
from scantling.web.state import Mistake, State
from scantling.web.parts import Part, Sheet, View
from scantling.web.sent import sent
from scantling.web.texts import ends_like, mistakes_part, saved, sheet_part, too_large

TOLD = (
    "The brief as text",
    "The file itself, remarks and all. It is checked as you type; each mistake below leads to its place.",
)


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of the brief's text, where there is a brief."""
    if state.seen:
        yield Sheet("G", "The brief as text", parts, -20, "text")


def parts(view: View) -> Iterable[Part]:
    """The text with its mistakes."""
    state = view.state
    yield sheet_part("text", state.text, state.seen, state.mistakes, TOLD)


async def check(request: Request) -> Response:
    """What is wrong with the text as typed so far."""
    told = await sent(request)
    return HTMLResponse(
        await reckoned(lambda: mistakes_part(_mistakes(desk_of(request), _typed(request, told))).sent)
    )


def _typed(request: Request, told: Mapping[str, str]) -> str:
    return ends_like(desk_of(request).state.text, told.get("text", ""))


def _mistakes(desk: Desk, text: str) -> tuple[Mistake, ...]:
    if refused := too_large(text):
        return (Mistake(1, 1, refused),)
    found = api.all_mistakes(desk.brief, text, desk.firm)
    return tuple(Mistake(one.line, one.column, one.says) for one in found if one.file == desk.brief.name)


async def save(request: Request) -> Response:
    """Put the text in the brief's place."""
    return await reckoned(_saved, request, await sent(request))


def _saved(request: Request, told: Mapping[str, str]) -> Response:
    desk, text = desk_of(request), _typed(request, told)
    return saved(request, _mistakes(desk, text), lambda: desk.rewrite(text, told.get("seen", "")))


ROUTES = (Route("/text/check", check, methods=["POST"]), Route("/text/save", save, methods=["POST"]))
