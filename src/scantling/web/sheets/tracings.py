"""The sheet of tracings: up to four what-if variants beside the plan, each changed, compared, taken up or discarded."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.api import tracing as traced
from scantling.api import tracing_starts as starts
from scantling.api.tracing import Tracing
from scantling.figures.spelled import shown
from scantling.plan.make import Plan
from scantling.web.answering import desk_of, reckoned, redrawn, view_of
from scantling.web.desk import Desk
from scantling.web.state import State
from scantling.web.form import asked_in, field_of, form_of, wrong_with
from scantling.web.parts import Part, Sheet, View
from scantling.web.sent import sent
from scantling.web.rendering import render
from scantling.web.tracing_room import Reckoned, room_of

if TYPE_CHECKING:
    from scantling.api.tracing_table import Column

Told = Mapping[str, str]
USUAL_MORE = "25 %"
"""What the form for more people begins with."""


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of tracings, where there is a plan to lay them over."""
    if state.plan is not None:
        yield Sheet("O", "Tracings: what if", parts, 60, "tracings")


@dataclass(frozen=True)
class Shown:
    """A tracing as the sheet shows it: how far its plan is, and how it stands to today's brief."""

    tracing: Tracing
    reckoned: Reckoned
    over: bool
    """Whether it lies over today's brief."""
    same: bool
    """Whether it says what the brief says."""
    wrong: str = ""


def parts(view: View) -> Iterable[Part]:
    """Where to start, then the plan and its tracings side by side."""
    plan = view.state.plan
    assert plan is not None
    assert view.state.planned is not None
    found = traced.tracings(view.desk.brief)
    room_left = traced.MOST - len(found)
    ways = starts.other_ways(view.state.planned)
    fields = [one for section in form_of(view) for one in section.fields]
    begin = {"left": room_left, "most": traced.MOST, "cheaper": _cheaper(plan), "ways": ways, "fields": fields,
             "growth": _growth(view, USUAL_MORE), "usual_more": USUAL_MORE}  # fmt: skip
    yield Part("tracing-starts", render("tracing_starts.html.j2", view, **begin))
    yield Part("tracings", _drawn(view, plan, found))


def _growth(view: View, percent: str) -> Part:
    """What more people would change and what they would not, or why that can't be told."""
    told: tuple[starts.Grown, ...] = ()
    wrong = ""
    try:
        told = starts.grown(view.state.text, _percent(percent))
    except UserError as mistake:
        wrong = str(mistake)
    changed = [one for one in told if one.after != one.before]
    same = [one for one in told if one.after == one.before]
    return Part("tracing-growth", render("tracing_growth.html.j2", view, changed=changed, same=same, wrong=wrong))


def _cheaper(plan: Plan) -> Mapping[str, list[starts.Cheaper]]:
    """Cheaper sets of parts by what they are for."""
    groups: dict[str, list[starts.Cheaper]] = {}
    for one in starts.cheaper(plan):
        groups.setdefault(one.name, []).append(one)
    return groups


def _drawn(view: View, plan: Plan, found: tuple[Tracing, ...]) -> Markup:
    from scantling.api.tracing_table import table  # noqa: PLC0415 - loaded when needed, so that the first page is quick

    all_shown = _shown(view, found)
    columns = [_column(view, plan, one) for one in all_shown]
    groups = table(plan, columns) if columns else ()
    return render("tracings.html.j2", view, shown=all_shown, groups=groups, sketched=plan.sketched)


def _shown(view: View, found: tuple[Tracing, ...]) -> list[Shown]:
    brief = view.state.text
    others = [one for one in found if not one.says(brief)]
    plans = room_of(view.desk).plans(others) if others else {}
    made = []
    for one in found:
        same = one.says(brief)
        how_far = Reckoned(view.state.planned) if same else plans.get(one.slug, Reckoned(wrong=one.wrong))
        made.append(Shown(one, how_far, one.over(brief) or same, same, how_far.wrong))
    return made


def _column(view: View, plan: Plan, one: Shown) -> "Column":
    from scantling.api.tracing_table import Column  # noqa: PLC0415 - as above

    tracing, planned = one.tracing, one.reckoned.planned
    try:
        differs = () if tracing.wrong else tracing.differs(view.state.text)
    except UserError:  # the brief on disk can't be read just now, which the line above the sheet tells
        differs = ()
    if planned is None:
        return Column(tracing.slug, tracing.name, differs)
    here = view.state.planned
    ready = here is not None and not plan.sketched and not one.same
    told = room_of(view.desk).compared(here, planned) if ready and here is not None else None
    return Column(tracing.slug, tracing.name, differs, planned.plan, told)


# ---------------------------------------------------------------------------------------------------------------- routes


def _route(path: str, act: Callable[[Desk, View, Told], str]) -> Route:
    """A form of this sheet: does something and says what was done."""

    async def answer(request: Request) -> Response:
        told = await sent(request)
        return await reckoned(_done, request, act, told)

    return Route(f"/tracing/{path}", answer, methods=["POST"])


def _done(request: Request, act: Callable[[Desk, View, Told], str], told: Told) -> Response:
    says = act(desk_of(request), view_of(request), told)
    if request.headers.get("HX-Request"):
        return redrawn(request, said=says)
    return RedirectResponse("../sheet/tracings", 303)


def _new(desk: Desk, view: View, told: Told) -> str:
    """Lay a new tracing over the brief."""
    name, edits = _start(view, told)
    made = traced.trace(desk.brief, told.get("name", "").strip() or name, edits, desk.firm)
    return f"A tracing called {made.name} is laid over the brief."


def _start(view: View, told: Told) -> tuple[str, traced.Edits]:
    """The name and the answers that a starting point gives. Raises UserError."""
    kind, text, planned = told.get("kind", ""), view.state.text, view.state.planned
    if kind == "people":
        percent = _percent(told.get("percent", ""))
        return f"{abs(percent):g} % {'more' if percent > 0 else 'fewer'} people", starts.more_people(text, percent)
    if kind == "line":
        return "A second line", starts.second_line(
            text, *(told.get(word, "").strip() for word in ("down", "up", "monthly"))
        )
    if kind == "cheaper" and planned is not None:
        slot, _, option = told.get("option", "").partition(" ")
        name = f"Cheaper: {option}"[: traced.LONGEST_NAME]
        return name, starts.pinned(planned.plan, slot, option, "tried on a tracing, as the cheaper one")
    if kind == "way" and planned is not None:
        way = next((one for one in starts.other_ways(planned) if one.slug == told.get("way")), None)
        if way is None:
            raise UserError("that way to build it is no choice on today's brief; choose another")
        return way.name, way.edits
    return "As it is", {}


def _percent(written: str) -> float:
    digits = written.replace("%", "").strip()
    try:
        return float(digits)
    except ValueError:
        raise UserError(f"{shown(written)!r} is no number; write how many per cent more, like 25 %") from None


def _change(desk: Desk, view: View, told: Told) -> str:
    """Set one answer of a tracing."""
    slug, id_, value = told.get("slug", ""), told.get("id", "").strip(), told.get("value", "").strip()
    if says := _wrong(view, id_, value):
        raise UserError(f"{shown(id_, 100) or 'The answer'}: {says}")
    made = traced.change(desk.brief, slug, {id_: value or None}, told.get("seen", ""), desk.firm)
    return f"{made.name}: {id_} is {shown(value, 60) or 'taken out'}."


def _wrong(view: View, id_: str, value: str) -> str:
    """What is wrong with an answer for a tracing, as far as that can be told of it alone."""
    return "name the answer that is to change" if not id_ else wrong_with(id_, value, asked_in(view))


def _back(desk: Desk, view: View, told: Told) -> str:
    """Take one change of a tracing back: it says there what the brief says."""
    slug, id_ = told.get("slug", ""), told.get("id", "")
    there = traced.tracing(desk.brief, slug)
    change = next((one for one in there.differs(view.state.text) if one.id == id_), None)
    if change is None:
        return f"{there.name} has no such change any more."
    traced.change(desk.brief, slug, change.back, there.seen, desk.firm)
    return f"{there.name}: {id_} is as in the brief again."


def _again(desk: Desk, _: View, told: Told) -> str:
    """Reckon a tracing anew, such as after its process was ended from outside."""
    there = traced.tracing(desk.brief, told.get("slug", ""))
    room_of(desk).forget(there)
    return f"{there.name} is reckoned again."


def _rename(desk: Desk, _: View, told: Told) -> str:
    made = traced.rename(desk.brief, told.get("slug", ""), told.get("name", ""))
    return f"The tracing is called {made.name} now."


def _discard(desk: Desk, _: View, told: Told) -> str:
    return f"The tracing {traced.discard(desk.brief, told.get('slug', ''))} is discarded."


def _take_up(desk: Desk, view: View, told: Told) -> str:
    """Make a tracing the brief."""
    slug = told.get("slug", "")
    there = traced.tracing(desk.brief, slug)
    desk.rewrite(traced.to_take_up(desk.brief, slug), view.state.seen)
    return f"{there.name} is taken up: its answers are the brief's now. Undo takes that back."


def _lay(desk: Desk, _: View, told: Told) -> str:
    """Lay a tracing on today's brief."""
    from scantling.api.tracing_laying import lay_again  # noqa: PLC0415 - as above

    laid = lay_again(desk.brief, told.get("slug", ""), desk.firm)
    lines = [f"{laid.tracing.name} lies over today's brief."]
    lines += [
        f"Both had changed {one.id}: the brief to {theirs or 'nothing'}, the tracing keeps {one.new or 'nothing'}."
        for one, theirs in laid.both
    ]
    lines += [f"Could not be laid: {one.what.id} {one.what.new}, since {one.why}." for one in laid.left]
    lines += (
        [f"The tracing as it was is kept as {laid.kept.parent.name}/{laid.kept.name}."]
        if laid.kept is not None
        else []
    )
    return "\n".join(lines)


async def check(request: Request) -> Response:
    """What is wrong with an answer as typed so far."""
    told = await sent(request)
    return await reckoned(_checked, request, told)


def _checked(request: Request, told: Told) -> Response:
    view, id_, value = view_of(request), told.get("id", "").strip(), told.get("value", "").strip()
    says = _wrong(view, id_, value) if id_ and value else ""
    field = field_of(view, id_)
    slug = told.get("slug", "")
    if not any(one.slug == slug for one in traced.tracings(view.desk.brief)):
        return HTMLResponse("")
    return HTMLResponse(
        Part(f"tracing-told-{slug}", render("tracing_told.html.j2", slug=slug, says=says, field=field)).sent
    )


async def growth(request: Request) -> Response:
    """What so many per cent more people would change, as typed so far."""
    told = await sent(request)
    return await reckoned(lambda: HTMLResponse(_growth(view_of(request), told.get("percent", "")).sent))


ACTS = {
    "new": _new, "change": _change, "back": _back, "again": _again, "rename": _rename, "discard": _discard,
    "take-up": _take_up, "lay": _lay,
}  # fmt: skip
ROUTES = (
    *(_route(path, act) for path, act in ACTS.items()),
    Route("/tracing/check", check, methods=["POST"]),
    Route("/tracing/growth", growth, methods=["POST"]),
)
