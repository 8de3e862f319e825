"""The slip of a red pencil triangle: the sentence, the remedy, and the figures that it rests on."""

from collections.abc import Iterator, Mapping

from scantling.figures.pages import Block, Facts, Prose
from scantling.outputs.drawings.from_network import matrix_sheet
from scantling.outputs.drawings.model import PencilNote
from scantling.plan.make import Plan, Told
from scantling.plan.same import Same
from scantling.web.slips.slip import Slip, sentence, told_pencil

WEIGHTS = {
    "stop": "Do not buy or build before this is put right.",
    "mend": "To be put right before handover.",
    "note": "The client should know.",
}


def notes(plan: Plan) -> tuple[PencilNote, ...]:
    """Every numbered note of the set: the findings, then what the proof found."""
    differs = matrix_sheet(plan).pencil if plan.proof is not None and not plan.proof.proved else ()
    return (*told_pencil(Same(plan)).notes, *differs)


def names(plan: Plan) -> Mapping[str, str]:
    """Every note by its number."""
    return {str(note.number): f"Red pencil {note.number}, {note.weight}: {sentence(note)}" for note in notes(plan)}


def slip(plan: Plan, number: str, _: str) -> Slip:
    """What is told of a triangle."""
    note = next(one for one in notes(plan) if str(one.number) == number)
    open_ = [told for told in plan.findings if not told.declined]
    told = open_[note.number - 1] if note.number <= len(open_) else None
    return Slip(f"Red pencil {note.number}: {note.weight}", list(_blocks(note, told)))


def _blocks(note: PencilNote, told: Told | None) -> Iterator[Block]:
    yield Prose(sentence(note))
    remedy = "".join(part.text for part in note.remedy)
    if remedy:
        yield Prose(remedy)
    yield Prose(WEIGHTS[note.weight])
    if told is not None:
        shown = [(figure.label or name, figure) for name, figure in told.finding.shown.items()]
        when = told.finding.when
        rows = [*shown, *([(when.label or "found by", when)] if when.id else [])]
        if rows:
            yield Facts(rows, f"Figures of {told.finding.code}")
