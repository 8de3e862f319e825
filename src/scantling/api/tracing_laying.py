"""Lays a tracing on today's brief: its own changes made anew, what both had changed told, nothing lost."""

from dataclasses import dataclass
from pathlib import Path

from scantling import UserError
from scantling.api.differing import Difference, differences
from scantling.api.tracing import BASE, Tracing, brief_text, changed, headed, tracing, write
from scantling.outputs.rewriting import kept_beside
from scantling.outputs.writing import OutputError


@dataclass(frozen=True)
class Left:
    """A change that could not be laid on today's brief, and why."""

    what: Difference
    why: str


@dataclass(frozen=True)
class Laid:
    """A tracing laid anew: answers that both it and the brief had changed (it keeps its own), and what could not go on.

    `kept` is the file in which the old tracing lies where anything could not.
    """

    tracing: Tracing
    both: tuple[tuple[Difference, str], ...]
    left: tuple[Left, ...]
    kept: Path | None = None


def lay_again(brief: Path, slug: str, firm: Path | None = None) -> Laid:
    """A tracing's own changes made on today's brief. Raises UserError where nothing can be read.

    What the brief changed too stays as the tracing has it, and is told; what can't be laid is told, and then the old
    tracing is kept beside the new one.
    """
    there, today = tracing(brief, slug), brief_text(brief)
    base = today if there.base is None else there.base
    own, moved = differences(base, there.text, there.file.name), differences(base, today, brief.name)
    lost = tuple(
        Left(mine, f"the brief has no {gone} any more") for mine in own if (gone := _gone_above(mine, moved))
    )
    own = tuple(mine for mine in own if not _gone_above(mine, moved))
    both = tuple((mine, theirs.new) for mine in own for theirs in moved if mine.meets(theirs))
    text, refused = _laid(brief, slug, today, own, firm)
    left = (*lost, *refused)
    try:
        kept = kept_beside(there.file, there.file.read_bytes(), "before") if left else None
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    files = {there.file.name: headed(there.name, text), f"{slug}{BASE}.yaml": today.encode()}
    write(files, there.file, headed(there.name, there.text))
    return Laid(tracing(brief, slug), both, left, kept)


def _gone_above(mine: Difference, moved: tuple[Difference, ...]) -> str:
    """The thing that an answer belongs to, where the brief has taken it out; to write the answer would bring back half of it."""
    return next((one.id for one in moved if not one.new and mine.new and mine.id.startswith(f"{one.id}.")), "")


def _laid(
    brief: Path, slug: str, today: str, own: tuple[Difference, ...], firm: Path | None
) -> tuple[str, tuple[Left, ...]]:
    """All at once where that can be; else one after the other, leaving out what can't."""
    try:
        return changed(brief, slug, today, _together(own), firm), ()
    except UserError:  # one of them can't be laid: told below, by name
        text, left = today, []
    for one in own:
        try:
            text = changed(brief, slug, text, one.edits, firm)
        except UserError as wrong:
            left.append(Left(one, str(wrong)))
    return text, tuple(left)


def _together(own: tuple[Difference, ...]) -> dict[str, str | None]:
    return {id_: value for one in own for id_, value in one.edits.items()}
