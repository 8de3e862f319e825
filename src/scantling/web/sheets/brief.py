"""The brief as a form on screen: every answer a line to write on, checked as it is typed, saved by one changed line."""

from collections.abc import Iterable, Mapping
from functools import lru_cache, partial
from re import sub

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from scantling import UserError
from scantling.figures.spelled import shown
from scantling.outputs.summary import pinned
from scantling.plan.make import Plan
from scantling.web.answering import desk_of, reckoned, redrawn, view_of
from scantling.web.state import State
from scantling.web.form import asked_in, field_of, form_of, readable, wrong_with
from scantling.web.form_adding import edits_of
from scantling.web.form_kinds import SectionForm, handle
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.sent import sent

PINS = "pins"
WHERE = frozenset({"", "margin-"})
"""Where a field may stand on a page: on the sheet, or in the margin."""
Costs = tuple[tuple[str, str], ...]


def sheets(state: State) -> Iterable[Sheet]:
    """The sheet of the brief, where there is one."""
    if state.text:
        yield Sheet("G", "The brief", parts, -30, "brief")


def parts(view: View) -> Iterable[Part]:
    """The list of sections, one part a section, and the line on which help is told."""
    form = form_of(view)
    yield Part("brief-contents", render("brief_contents.html.j2", form=form, readable=readable(view.state.text)))
    costs = _costs(view.state.plan)
    for section in form:
        yield Part(f"section-{section.handle}", drawn(section, costs if section.key == PINS else ()))
    yield Part("brief-prompt", render("brief_prompt.html.j2"))


@lru_cache(128)  # a section that says the same looks the same
def drawn(section: SectionForm, costs: Costs) -> Markup:
    """A section as a piece of the page."""
    return render("brief_section.html.j2", section=section, costs={id_: (says,) for id_, says in costs})


def _costs(plan: Plan | None) -> Costs:
    """What each pin costs, by the id of its row, where that has been reckoned."""
    if plan is None or not plan.pin_prices:
        return ()
    told = zip(sorted(plan.pins.items()), pinned(plan), strict=True)
    return tuple(
        (f"{PINS}.{id_}", f"It {says}.")
        for (id_, pin), line in told
        if (says := line.removeprefix(f"pinned: {id_} = {pin.text} ({pin.because})").removeprefix(": "))
    )


# -------------------------------------------------------------------------------------------------------------- messages


def message(id_: str, says: str) -> Part:
    """The message under a line."""
    return Part(id_, render("brief_wrong.html.j2", id=id_, says=says))


def plainly(wrong: UserError) -> str:
    """A refusal as it is told beside a line: without the place, which the person looks at."""
    lines = str(wrong).splitlines()
    if len(lines) > 1 and lines[0].endswith("would have a mistake:"):
        lines = lines[1:]
    return "\n".join(sub(r"^[^\s:]+\.yaml:\d+(:\d+)?: ", "", line) for line in lines)


def _place(told: Mapping[str, str]) -> str:
    """The id of the message that belongs to the line which asks."""
    where = told.get("where", "")
    return f"{where if where in WHERE else ''}wrong-{handle(told.get('id', ''))}"


# ---------------------------------------------------------------------------------------------------------------- routes


async def check(request: Request) -> Response:
    """What is wrong with an answer as typed so far."""
    told = await sent(request)
    says = await reckoned(_checked, request, told)
    return HTMLResponse(message(_place(told), says).sent)


def _checked(request: Request, told: Mapping[str, str]) -> str:
    return wrong_with(told.get("id", ""), told.get("value", ""), asked_in(view_of(request)))


async def save(request: Request) -> Response:
    """Write an answer into the brief; an empty one is taken out."""
    return await reckoned(_saved, request, await sent(request))


def _saved(request: Request, told: Mapping[str, str]) -> Response:
    desk_of(request).look_again()  # another program may have written the same answer just now
    view, id_, typed = view_of(request), told.get("id", ""), told.get("value", "")
    tell = partial(message, _place(told))
    there = field_of(view, id_)
    now = there.value if there is not None else None
    if typed == (now or ""):
        return redrawn(request, tell(there.fault if there is not None else ""))
    if "was" in told and told["was"] != (now or ""):
        return redrawn(
            request, tell(f'By now "{shown(now or "")}" stands here; press Enter once more to write yours.')
        )
    if says := wrong_with(id_, typed, asked_in(view)):
        return redrawn(request, tell(says))
    try:
        desk_of(request).set({id_: typed if typed.strip() else None})
    except UserError as wrong:
        return redrawn(request, tell(plainly(wrong)))
    words = f"{id_}: {shown(typed, 60)}" if typed.strip() else f"{id_} is taken out"
    return redrawn(request, tell(""), said=f"Saved. {words}")


async def add(request: Request) -> Response:
    """Write a new thing, or a new section, with all that it must have."""
    return await reckoned(_added, request, await sent(request))


def _added(request: Request, told: Mapping[str, str]) -> Response:
    view, id_ = view_of(request), told.get("id", "")
    place = f"wrong-add-{handle(id_)}"
    try:
        edits = edits_of(told, form_of(view), asked_in(view))
        if not edits:
            return redrawn(request, message(place, "Nothing is written yet."))
        desk_of(request).set(edits)
    except UserError as wrong:
        return redrawn(request, message(place, plainly(wrong)))
    word = next(iter(edits)).rsplit(".", 1)[0]
    return redrawn(request, message(place, ""), said=f"Added: {word}.")


async def take_out(request: Request) -> Response:
    """Take a named thing out of the brief."""
    return await reckoned(_taken_out, request, await sent(request))


def _taken_out(request: Request, told: Mapping[str, str]) -> Response:
    id_ = told.get("id", "")
    try:
        desk_of(request).set({id_: None})
    except UserError as wrong:
        return redrawn(request, message(f"wrong-out-{handle(id_)}", plainly(wrong)))
    return redrawn(request, said=f"Taken out: {id_}. Undo brings it back.")


ROUTES = (
    Route("/brief/check", check, methods=["POST"]),
    Route("/brief/save", save, methods=["POST"]),
    Route("/brief/add", add, methods=["POST"]),
    Route("/brief/take-out", take_out, methods=["POST"]),
)
