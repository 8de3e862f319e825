"""The verb rehearse: the whole planned office stood up on this machine and tried with real packets."""

from collections.abc import Callable
from pathlib import Path

from scantling import UserError
from scantling.outputs.writing import OutputError, write_all
from scantling.plan.make import Plan
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.wish import Wish as RehearsalWish

__all__ = ["RehearsalWish", "Rehearsed", "rehearse", "rehearsed_json", "write_evidence"]


def rehearse(made: Plan, wish: RehearsalWish, tell: Callable[[str], None]) -> Rehearsed:
    """Rehearse a plan; `tell` hears each step. To be called while the process has one thread.

    Raises RehearsalError (a UserError) when the office can't be stood up, in a person's words.
    """
    from scantling.trials.rehearsal.rehearsing import rehearsed  # noqa: PLC0415 - heavy, and planning must be quick

    return rehearsed(made, wish, tell)


def rehearsed_json(found: Rehearsed) -> str:
    """The evidence as JSON: the same bytes each time that the same things came out."""
    from scantling.trials.rehearsal.report import evidence  # noqa: PLC0415 - as above

    return evidence(found)


def write_evidence(found: Rehearsed, folder: Path) -> Path:
    """Write the evidence into a folder, as rehearsal.json; an older one stays if that fails. Raises UserError."""
    try:
        write_all(folder, {"rehearsal.json": rehearsed_json(found).encode("ascii")})
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    return folder / "rehearsal.json"
