"""The plan put to the test: the proof of its rules, and its rehearsal with real servers and packets."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from scantling import api
from scantling.api.rehearsal_chapter import SAYS, blocks
from scantling.figures.pages import Block
from scantling.plan.make import Plan
from scantling.web.aside import Found
from scantling.web.desk import Desk
from scantling.web.state import State
from scantling.web.evidence import proof_blocks
from scantling.web.kinds import RECORD, REHEARSAL
from scantling.web.parts import REPLACE, Part, Sheet, View
from scantling.web.rendering import render
from scantling.web.rooms import aside_of
from scantling.web.sheets.jobs import offer

WISH = {
    "T-2": "Rehearse it again, and also put faults into it.",
    "T-3": "Rehearse it again, and also live the busiest day.",
}


@dataclass(frozen=True)
class Recorded:
    """The rehearsal that lies in the folder, as blocks; its drawings by number, where it is of the plan as it is now."""

    well: bool
    blocks: tuple[Block, ...]
    other: tuple[str, ...]
    """Files that came out otherwise then: with any, it was of another plan."""
    day: dict[str, str]
    night: dict[str, str]


def sheets(state: State) -> Iterable[Sheet]:
    """The drawings of a rehearsal, by the numbers they bear on paper, and the sheet of trials."""
    if state.plan is None:
        return
    yield Sheet("T", "Proof and rehearsal", parts, 50, "trials")
    for place, number in enumerate(SAYS):
        yield Sheet("T", SAYS[number].title, _drawing(number), place, number, number)


def parts(view: View) -> Iterable[Part]:
    """The proof; the form that starts a rehearsal; what the last one found."""
    plan = view.state.plan
    assert plan is not None
    told = [*proof_blocks(plan.proof)] if plan.proof is not None else []
    yield Part("trial-proof", render("trial_proof.html.j2", view, proof=plan.proof, blocks=told))
    yield offer(view, "rehearsal")
    found = _recorded(view.desk, view.state)
    told_of = found.value if found is not None and isinstance(found.value, Recorded) else None
    there = _stamp(view.desk) is not None
    yield Part("trial-result", render(
        "trial_result.html.j2", view, recorded=told_of, wrong=found.wrong if found is not None else "", there=there,
        fresh=found is not None, says=SAYS,
    ))  # fmt: skip


def _recorded(desk: Desk, state: State) -> Found | None:
    """The record held against the plan; None while that is worked out, and before the plan is whole."""
    stamp = _stamp(desk)
    if stamp is None or state.plan is None or state.awaiting:
        return None
    plan, path = state.plan, desk.folder / REHEARSAL / RECORD
    return aside_of(desk).get("rehearsal", (plan, stamp), lambda: _read(path, plan))


def _stamp(desk: Desk) -> str | None:
    """What tells one record from the next; None where there is none."""
    try:
        told = (desk.folder / REHEARSAL / RECORD).stat()
    except OSError:
        return None
    return f"{told.st_ino} {told.st_mtime_ns} {told.st_size}"


def _read(path: Path, plan: Plan) -> Recorded:
    """The record as the sheet tells it. Raises UserError."""
    found = api.read_rehearsal(path)
    other = api.of_another_plan(plan, found)
    day, night = ({}, {}) if other else (api.rehearsal_drawings(plan, found, look) for look in ("day", "night"))
    return Recorded(found.well, tuple(blocks(found)), other, day, night)


def _drawing(number: str) -> Callable[[View], Iterable[Part]]:
    def drawn(view: View) -> Iterable[Part]:
        found = _recorded(view.desk, view.state)
        recorded = found.value if found is not None and isinstance(found.value, Recorded) else None
        svg = (recorded.night if view.look == "night" else recorded.day).get(number) if recorded is not None else None
        why = "" if svg is not None else _missing(view, found, number)
        id_ = f"drawing-{number}"
        shown = render(
            "trial_drawing.html.j2", view, id=id_, svg=_bare(svg or ""), why=why, number=number, about=SAYS[number]
        )
        yield Part(id_, shown, REPLACE)

    return drawn


def _missing(view: View, found: Found | None, number: str) -> str:
    """Why a drawing of a rehearsal can't be shown."""
    if _stamp(view.desk) is None:
        return "No rehearsal lies in this folder yet."
    if found is None:
        return "The rehearsal that lies here is held against the plan as soon as the plan is whole."
    if found.wrong:
        return f"The record in the folder {REHEARSAL} can't be read: {found.wrong}"
    if found.value.other:
        return "The rehearsal that lies here was of another plan. Rehearse it again."
    return f"The rehearsal that lies here has nothing for this sheet. {WISH.get(number, '')}"


def _bare(svg: str) -> Markup:
    """The drawing without what only a file of its own has at its head."""
    return Markup(re.sub(r"^<\?xml[^>]*\?>\s*", "", svg))  # noqa: S704 - our own SVG, its texts escaped
