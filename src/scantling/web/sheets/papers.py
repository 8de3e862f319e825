"""Files and book: what servers and firewall load, the book to print, and what of it is written already."""

from collections.abc import Iterable
from pathlib import PurePosixPath

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from scantling import UserError, api
from scantling.outputs.files import Written
from scantling.plan.telling import canonical
from scantling.web.answering import desk_of, margin, reckoned, view_of
from scantling.web.aside import Found
from scantling.web.desk import Desk
from scantling.web.state import State
from scantling.web.kinds import BOOK, FILES, REHEARSAL
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.rooms import aside_of
from scantling.web.served import content, handed, lying, sized, within
from scantling.web.sheets.jobs import offer

MOST_SHOWN = 60_000
"""Letters of a file that are shown in the margin; the whole is there to be kept."""
PRICE = "money.total"


def sheets(state: State) -> Iterable[Sheet]:
    """One sheet, where there is a plan."""
    if state.plan is not None:
        yield Sheet("W", "Files and book", parts, 50, "papers")


def parts(view: View) -> Iterable[Part]:
    """The book, what lies there of it; the files; the quote."""
    plan = view.state.plan
    assert plan is not None
    folder = view.desk.folder
    yield offer(view, BOOK)
    yield Part("paper-book", render(
        "paper_book.html.j2", view, lying=lying(folder, BOOK), folder=BOOK, same=_same(view.desk, view.state),
        rehearsed=lying(folder, REHEARSAL), rehearsal=REHEARSAL,
    ))  # fmt: skip
    yield offer(view, FILES)
    found = _files(view.desk, view.state)
    yield Part("paper-files", render(
        "paper_files.html.j2", view, found=found, wanted=_wanted(found), written={one.path: one for one in lying(folder, FILES)},
    ))  # fmt: skip
    yield Part("paper-quote", render("paper_quote.html.j2", view, price=plan.figures.get(PRICE)))


def _files(desk: Desk, state: State) -> Found | None:
    """The files of the plan as it is now; of the plan before while it is reckoned. None before there are any."""
    aside = aside_of(desk)
    if state.plan is None or state.awaiting:
        return aside.last(FILES)
    plan = state.plan
    return aside.get(FILES, (plan,), lambda: api.files(plan)) or aside.last(FILES)


def _wanted(found: Found | None) -> list[tuple[Written, str]]:
    return (
        [(one, sized(len(one.content))) for one in found.value]
        if found is not None and found.value is not None
        else []
    )


def _same(desk: Desk, state: State) -> bool | None:
    """Whether the book that lies there is of this very plan; None while that is not known."""
    path = within(desk.folder, f"{BOOK}/plan.json")
    if path is None or state.plan is None or state.awaiting:
        return None
    plan = state.plan
    found = aside_of(desk).get(
        "same book", (plan, str(path.stat().st_mtime_ns)), lambda: path.read_bytes() == canonical(plan).encode()
    )
    return bool(found.value) if found is not None else None


def _one(desk: Desk, path: str) -> Written:
    """A file of the plan by its path. Raises UserError."""
    found = aside_of(desk).last(FILES)
    every: tuple[Written, ...] = found.value if found is not None and found.value is not None else ()
    one = next((one for one in every if one.path == path), None)
    if one is None:
        raise UserError("There is no such file of this plan any more.")
    return one


async def look(request: Request) -> Response:
    """One file of the plan as text, in the margin."""
    one = _one(desk_of(request), request.path_params["path"])
    words, cut = _text(one.content)
    html = await reckoned(lambda: render(
        "paper_look.html.j2", view_of(request), file=one, size=sized(len(one.content)), words=words, cut=cut,
    ))  # fmt: skip
    if not request.headers.get("HX-Request"):
        return content(one.content, PurePosixPath(one.path).name)
    return margin(request, html)


def _text(raw: bytes) -> tuple[str | None, bool]:
    """A file's text as far as it is shown, and whether there is more; None where it is no text."""
    try:
        whole = raw.decode()
    except UnicodeDecodeError:
        return None, False
    return whole[:MOST_SHOWN], len(whole) > MOST_SHOWN


async def keep(request: Request) -> Response:
    """One file of the plan to keep, as it would be written."""
    one = _one(desk_of(request), request.path_params["path"])
    return content(one.content, PurePosixPath(one.path).name, keep=True)


async def written(request: Request) -> Response:
    """What was written into the folders of book, files and rehearsal; nothing else."""
    path = within(desk_of(request).folder, request.path_params["path"])
    if path is None:
        return PlainTextResponse("There is no such paper in the folders of this drawing office.\n", 404)
    return await reckoned(handed, path)


ROUTES = (
    Route("/papers/look/{path:path}", look), Route("/papers/keep/{path:path}", keep), Route("/papers/written/{path:path}", written),
)  # fmt: skip
