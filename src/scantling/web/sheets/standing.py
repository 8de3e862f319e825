"""What stands, as text: kit, names and addresses issued, parts bought; saved only where it is as the person saw it."""

from collections.abc import Iterable, Mapping

from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.web import standing_file
from scantling.web.answering import desk_of, reckoned
from scantling.web.desk import Desk
from scantling.web.state import Mistake, State
from scantling.web.parts import Part, Sheet, View
from scantling.web.sent import sent
from scantling.web.texts import ends_like, mistakes_part, saved, sheet_part, too_large

TOLD = (
    "What stands as text",
    (
        "What is there today, what has been issued and what was bought, in a file beside the brief. It may be empty. "
        "What stands is kept: addresses and names are only added to."
    ),
)


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of what stands, where there is a brief."""
    if state.seen:
        yield Sheet("G", "What stands as text", parts, -10, "standing")


def parts(view: View) -> Iterable[Part]:
    """The text with its mistakes."""
    there = standing_file.read(view.desk)
    found = (Mistake(1, 1, there.wrong),) if there.wrong else _mistakes(view.desk, there.text)
    yield sheet_part("standing", there.text, there.seen, found, TOLD)


def _mistakes(desk: Desk, text: str) -> tuple[Mistake, ...]:
    if refused := too_large(text):
        return (Mistake(1, 1, refused),)
    try:
        return standing_file.mistakes(desk, text)
    except UserError as wrong:
        return (Mistake(1, 1, str(wrong)),)


def _typed(request: Request, told: Mapping[str, str]) -> str:
    return ends_like(standing_file.read(desk_of(request)).text, told.get("text", ""))


async def check(request: Request) -> Response:
    """What is wrong with the text as typed so far."""
    told = await sent(request)
    return HTMLResponse(
        await reckoned(lambda: mistakes_part(_mistakes(desk_of(request), _typed(request, told))).sent)
    )


async def save(request: Request) -> Response:
    """Put the text in the file's place."""
    return await reckoned(_saved, request, await sent(request))


def _saved(request: Request, told: Mapping[str, str]) -> Response:
    desk, text = desk_of(request), _typed(request, told)
    return saved(request, _mistakes(desk, text), lambda: standing_file.write(desk, text, told.get("seen", "")))


ROUTES = (Route("/standing/check", check, methods=["POST"]), Route("/standing/save", save, methods=["POST"]))
