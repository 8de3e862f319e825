"""The first visit: a folder without a brief offers the interview, or an invented office to look around in."""

from collections.abc import Callable, Iterable, Mapping

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.api.exploring import explore, invented
from scantling.web.answering import desk_of, reckoned, redrawn
from scantling.web.desk import Desk
from scantling.web.state import State
from scantling.web.parts import REPLACE, Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.rooms import forget_talk, talk_of
from scantling.web.sent import sent

SLUG = "first"
Act = Callable[[Desk, Mapping[str, str]], str | None]
LONGEST = 2_000
"""Letters of one answer; the brief's own reader says so politely of less."""


def sheets(state: State) -> Iterable[Sheet]:
    """One sheet, while there is no brief."""
    if no_brief(state):
        yield Sheet("G", "First visit", parts, -100, SLUG)


def no_brief(state: State) -> bool:
    """Whether the folder has no brief at all."""
    return not state.seen and state.planned is None and not state.mistakes


def parts(view: View) -> Iterable[Part]:
    """Two ways to begin; then one question at a time, the price so far, what was answered."""
    try:
        talk = talk_of(view.desk)
    except UserError as wrong:
        yield Part("first", render("first_wrong.html.j2", view, wrong=str(wrong), folder=view.desk.folder), REPLACE)
        return
    question = talk.question
    if not talk.begun:
        yield Part("first", render("first.html.j2", view, folder=view.desk.folder, offices=invented()), REPLACE)
    elif question is not None:
        yield Part(
            "first", render("interview.html.j2", view, talk=talk, question=question, progress=talk.progress), REPLACE
        )
    else:
        yield Part("first", render("interview_end.html.j2", view, talk=talk, ending=talk.ending()), REPLACE)
    quick = talk.quick() if talk.begun else None
    yield Part(
        "interview-price", render("interview_price.html.j2", view, talk=talk, ended=question is None, quick=quick)
    )
    yield Part("interview-said", render("interview_said.html.j2", view, said=talk.said if talk.begun else ()))


async def begin(request: Request) -> Response:
    """How much is asked."""
    return await _done(
        request,
        lambda desk, told: talk_of(desk).begin(told.get("how", ""), told.get("office", ""), told.get("people", "")),
    )


async def put(request: Request) -> Response:
    """One answer: a word that was picked, what the house assumes, or what was typed."""
    return await _done(request, _put)


def _put(desk: Desk, told: Mapping[str, str]) -> str:
    typed = "" if "leave" in told else told.get("pick", told.get("typed", ""))
    if len(typed) > LONGEST:
        raise UserError(f"that answer has {len(typed):,} letters; at most {LONGEST:,} are taken")
    stops = talk_of(desk).put(typed)
    return (
        f"Kept in {desk.folder / 'answers.yaml'}: go on whenever you like, here or with scantling new."
        if stops
        else ""
    )


async def again(request: Request) -> Response:
    """One question again."""
    return await _done(request, lambda desk, told: talk_of(desk).again(told.get("key", "")))


async def write(request: Request) -> Response:
    """The brief is written, and the drawing office opens on it."""
    return await _done(request, _written)


def _written(desk: Desk, _: Mapping[str, str]) -> None:
    talk_of(desk).write()
    _opened(desk)


async def look_around(request: Request) -> Response:
    """An invented office is copied into the folder, and the drawing office opens on it."""
    return await _done(request, _explored)


def _explored(desk: Desk, told: Mapping[str, str]) -> None:
    explore(told.get("office", ""), desk.folder)
    _opened(desk)


def _opened(desk: Desk) -> None:
    forget_talk(desk)
    desk.look_again(leaves=True)


async def _done(request: Request, act: Act) -> Response:
    """Do it; then the page of the brief where there is one by now, else what differs."""
    told = await sent(request)
    return await reckoned(_acted, request, act, told)


def _acted(request: Request, act: Act, told: Mapping[str, str]) -> Response:
    desk, words, wrong = desk_of(request), "", ""
    try:
        if no_brief(desk.state):
            words = act(desk, told) or ""
    except UserError as mistake:
        wrong = str(mistake)
    if not no_brief(desk.state):
        return _to(request, "../")
    if not request.headers.get("HX-Request"):
        return _to(request, f"../sheet/{SLUG}")
    return redrawn(request, said=words, wrong=wrong)


def _to(request: Request, where: str) -> Response:
    """Another page, for the page's script or for a browser without one."""
    if request.headers.get("HX-Request"):
        return Response(headers={"HX-Redirect": where})
    return RedirectResponse(where, 303)


ROUTES = tuple(
    Route(f"/first/{name}", does, methods=["POST"])
    for name, does in (("begin", begin), ("put", put), ("again", again), ("write", write), ("explore", look_around))
)
