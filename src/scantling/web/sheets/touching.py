"""What is answered when a drawing is touched: slips, one packet tried, a part moved, a layer chosen, the drawing as a file."""

from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from scantling import UserError, api
from scantling.figures.pages import Block, Facts, Prose, Steps
from scantling.outputs.drawings.sheet_set import drawn_sheets
from scantling.plan.make import Plan
from scantling.web.answering import LAYERS, desk_of, margin, reckoned, redrawn, view_of
from scantling.web.drawing import drawn, slip_html
from scantling.web.parts import Part
from scantling.web.sent import sent
from scantling.web.rendering import render
from scantling.web.slips.cabinets import standing, units

if TYPE_CHECKING:
    from scantling.trials.proof.tracing import Traced

GONE = "This is no longer on the plan."
BECAUSE = "moved by hand on the cabinet sheet"
PORTED = {"tcp", "udp"}
A_YEAR = 365 * 24 * 3600


async def touched(request: Request) -> Response:
    """The slip of what was touched, in the margin; without scripts under the drawing of its sheet."""
    kind, slug = request.path_params["kind"], request.path_params["slug"]
    if not request.headers.get("HX-Request"):
        return _to_the_sheet(request, f"{kind}/{slug}")
    return await reckoned(_slipped, request, f"{kind}/{slug}")


def _to_the_sheet(request: Request, touch: str) -> Response:
    plan = desk_of(request).state.plan
    sheets = drawn_sheets(plan) if plan is not None else ()
    on = request.query_params.get("on", "")
    sheet = on if on in sheets else next(iter(sheets), "brief")
    return RedirectResponse(f"{request.scope['root_path']}/sheet/{sheet}?touch={quote(touch, safe='')}#touched", 303)


def _slipped(request: Request, touch: str) -> Response:
    view = view_of(request)
    html = slip_html(view, touch) if view.state.plan is not None else None
    return margin(request, html if html is not None else Markup("<p>{}</p>").format(GONE))


async def packet(request: Request) -> Response:
    """What becomes of one packet by the plan's rules, and which rule says so."""
    return await reckoned(_tried, request, await sent(request))


def _tried(request: Request, form: dict[str, str]) -> Response:
    view = view_of(request)
    try:
        blocks = followed(view.state.plan, form)
    except UserError as wrong:
        blocks = [Prose(str(wrong).removeprefix("--packet: "))]
    answer = Part("packet-told", render("packet.html.j2", view, blocks=blocks))
    return redrawn(request, answer)


def followed(plan: Plan | None, form: dict[str, str]) -> list[Block]:
    """One packet's way, family by family. Raises UserError for words that mean none."""
    if plan is None:
        raise UserError("there is no plan yet")
    found = api.prove(plan, packet=packet_words(form))
    return [block for one in found.traced for block in _way(one)]


def packet_words(form: dict[str, str]) -> str:
    """The form as `scantling prove --packet` takes it. Raises UserError where something is missing."""
    source, target, protocol, port = (form.get(name, "").strip() for name in ("source", "target", "protocol", "port"))
    if not source or not target or not protocol:
        raise UserError("say who sends, to whom, and with what")
    for word in (source, target, protocol, port):
        if len(word.split()) > 1:
            raise UserError(f"“{word[:60]}” is more than one word; write a zone, a machine or an address")
    to = f"[{target}]" if ":" in target and not target.startswith("[") else target
    ported = protocol.lower() in PORTED or (port and protocol.lower() != "ping")
    return f"{source} {protocol} {to}:{port}" if ported and port else f"{source} {protocol} {to}"


def _way(one: "Traced") -> list[Block]:
    verdict = {True: "passes", False: "is stopped", None: "never meets the firewall"}[one.passes]
    rows = [
        ("decided by", one.rule), ("made of", one.intent), ("also asked for by", ", ".join(one.also)), ("rests on", one.line),
        ("when", one.hours), ("meant so", "yes" if one.meant else "no: the rules say something else than is meant"), ("packet", one.packet),
    ]  # fmt: skip
    told: list[Block] = [
        Prose(f"IPv{one.family}: it {verdict}. {one.says}."),
        Facts([row for row in rows if row[1]], ""),
    ]
    return [*told, Steps("Its way", one.way)] if one.way else told


async def moved(request: Request) -> Response:
    """A part of the cabinet put at another height: a pin, which says so; no unit takes the pin out again."""
    return await reckoned(_moved, request, await sent(request))


def _moved(request: Request, form: dict[str, str]) -> Response:
    desk, part = desk_of(request), form.get("part", "")
    plan = desk.state.plan
    try:
        edit, words = move(plan, part, form.get("unit", "").strip())
    except UserError as wrong:
        return redrawn(request, wrong=str(wrong))
    desk.set(edit, because=BECAUSE)
    html = slip_html(view_of(request), f"part/{part}")
    told = Markup('<div id="working" class="working" tabindex="-1">{}</div>').format(html or GONE)
    return redrawn(request, Part("working", told), said=words)


def move(plan: Plan | None, part: str, unit: str) -> tuple[dict[str, str | None], str]:
    """The edit that puts a part at a height unit, or lets the plan decide again, and what is said. Raises UserError."""
    place = next((one for one in standing(plan) if one.slug == part), None) if plan is not None else None
    if plan is None or place is None or place.lowest is None:
        raise UserError("this part no longer stands in the cabinet")
    pin = f"pins.{place.lowest.id}"
    if not unit:
        if place.lowest.id not in plan.pins:
            raise UserError("this part stands where the plan put it")
        return {pin: None}, f"{place.name}: the plan decides its height again."
    most = units(plan) - int(place.height.value) + 1
    if not (unit.isascii() and unit.isdigit() and 1 <= int(unit) <= most):
        raise UserError(f"a height unit from 1 to {most} is wanted, counted from below")
    if int(unit) == int(place.lowest.value):
        raise UserError(f"it stands in unit {unit} already")
    return {pin: unit}, f"{place.name}: lowest unit {int(place.lowest.value)} \u2192 {unit}."


async def file(request: Request) -> Response:
    """A drawing as the file that the book has."""
    plan, number = desk_of(request).state.plan, request.path_params["number"]
    if plan is None or number not in drawn_sheets(plan):
        return Response("There is no such drawing in this set.\n", 404, media_type="text/plain")
    sheet = await reckoned(drawn, plan, number, "day")
    name = {"Content-Disposition": f'attachment; filename="{number}.svg"'}
    return Response(sheet.svg, media_type="image/svg+xml", headers=name)


async def layer(request: Request) -> Response:
    """The owner's or the technician's layer, kept by the browser; and back to a sheet."""
    name, slug = request.path_params["name"], request.path_params["slug"]
    answer: Any = RedirectResponse(f"{request.scope['root_path']}/sheet/{quote(slug, safe='')}", 303)
    if name in LAYERS:
        answer.set_cookie("layer", name, max_age=A_YEAR, path=f"{request.scope['root_path']}/", samesite="strict")
    return answer  # type: ignore[no-any-return]


ROUTES = (
    Route("/touch/{kind}/{slug:path}", touched), Route("/packet", packet, methods=["POST"]), Route("/move", moved, methods=["POST"]),
    Route("/drawing/{number}.svg", file), Route("/layer/{name}/{slug}", layer),
)  # fmt: skip
