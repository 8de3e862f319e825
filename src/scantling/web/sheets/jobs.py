"""Work in hand: what can be started, what goes on, what came of it; and one line of it for every sheet."""

from collections.abc import Callable, Iterable

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.web.answering import desk_of, reckoned, redrawn
from scantling.web.state import State
from scantling.web.kinds import KINDS
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.rooms import jobs_of
from scantling.web.sent import sent

SLUG = "work"


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of work in hand, where there is a plan."""
    if state.planned is not None:
        yield Sheet("T", "Work in hand", parts, 60, SLUG)


def parts(view: View) -> Iterable[Part]:
    """What goes on and went on; then one part for each kind of work that can be started."""
    jobs = jobs_of(view.desk)
    every = [(job, not job.in_hand and jobs.outdated(job)) for job in jobs.every]
    yield Part("work-list", render("job_list.html.j2", view, every=every))
    for key in KINDS:
        yield offer(view, key, listed=True)


def offer(view: View, key: str, *, listed: bool = False) -> Part:
    """The form that starts one kind of work, and how the last of it stands; `listed` where that is told on the sheet already."""
    last = jobs_of(view.desk).last(key)
    return Part(f"offer-{key}", render("job_offer.html.j2", view, kind=KINDS[key], job=last, listed=listed))


def strip(view: View) -> Part:
    """One line of the work in hand, for every sheet; hidden while there is none."""
    jobs = jobs_of(view.desk)
    newest = next((job for job in jobs.every if not job.in_hand), None)
    return Part("work-strip", render("job_strip.html.j2", view, going=jobs.in_hand, newest=newest))


async def start(request: Request) -> Response:
    """Begin one kind of work with what was chosen; the kind is told by the address or by the form."""
    told = await sent(request)
    kind = request.path_params.get("kind") or told.get("kind", "")
    return await _answered(request, lambda: f"{jobs_of(desk_of(request)).start(kind, told).kind.doing}: asked for.")


async def stop(request: Request) -> Response:
    """Stop one piece of work."""
    told = await sent(request)
    return await _answered(
        request, lambda: f"{jobs_of(desk_of(request)).stop(told.get('id', '')).kind.title}: stopping."
    )


async def _answered(request: Request, act: Callable[[], str]) -> Response:
    def done() -> Response:
        said, wrong = "", ""
        try:
            said = act()
        except UserError as mistake:
            wrong = str(mistake)
        if not request.headers.get("HX-Request"):
            return RedirectResponse(f"../sheet/{SLUG}", 303)
        return redrawn(request, said=said, wrong=wrong)

    return await reckoned(done)


ROUTES = tuple(
    Route(f"/in-hand/{name}", does, methods=["POST"])
    for name, does in (("start", start), ("stop", stop), ("{kind}", start))
)
