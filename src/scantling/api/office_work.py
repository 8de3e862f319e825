"""What the drawing office asks of the house: a plan of a text at once, a whole text written, every mistake with its place."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from scantling import UserError
from scantling.api.comparing import Planned, planned
from scantling.api.editing import fingerprint
from scantling.api.planning import inputs_at, asked_twice
from scantling.brief.loading import BriefError
from scantling.brief.reading import MOST_BYTES, decoded, read_bytes, read_text
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.handbook.choosing import silent
from scantling.outputs.rewriting import held, kept_beside
from scantling.outputs.writing import OutputError
from scantling.plan.make import Plan, make
from scantling.plan.pinning import price_of_pins
from scantling.plan.spine import PlanError


def text_of(brief: Path) -> str:
    """The text of a brief's file. Raises UserError."""
    try:
        return read_text(brief)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None


def planned_quickly(brief: Path, firm: Path | None, text: str, before: Planned | None) -> Planned:
    """The plan of a text with the articles of the plan before it, at once; the search, proof and second solver follow.

    Without a plan before it, the search is made. Raises UserError.
    """
    if before is None:
        return planned(brief, firm=firm, written=text)
    found = inputs_at(brief, firm, text)
    try:
        return Planned(found, make(found, held=before.plan))
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def proved_twice(made: Planned, tell: Callable[[int], None] = silent) -> Plan:
    """The plan with what a second solver says, the proof of its firewall's rules, and what each pin costs. Raises UserError."""
    try:
        whole = asked_twice(made.plan)
        return replace(whole, pin_prices=price_of_pins(made.inputs, whole, tell)) if made.inputs.pins else whole
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def rewritten(path: Path, text: str, seen: str) -> str:
    """Put a whole text in a file's place; returns the text that stood there. `seen` is the fingerprint of what the caller saw.

    Raises UserError when it can't be written, or when something else stands there: then that is left alone, and this version
    is kept beside it.
    """
    new = text.encode()
    if len(new) > MOST_BYTES:
        raise UserError(f"{path.name} would be too large: at most {MOST_BYTES:,} bytes; nothing was changed")
    try:
        with held(path) as file:
            raw = read_bytes(path)
            other = file.rewrite(raw, new) if fingerprint(raw) == seen else raw
            if other is not None:
                kept = kept_beside(path, new, "mine")
                raise UserError(
                    f"{path.name} was changed by somebody else meanwhile, so it was left alone; your version is kept as {kept.name}"
                )
            return decoded(path, raw)
    except (BriefError, OutputError) as wrong:
        raise UserError(str(wrong)) from None


def all_mistakes(brief: Path, text: str, firm: Path | None = None) -> tuple[tuple[int, int, str], ...]:
    """Every mistake of a text with its line and column; empty where the text can be planned from."""
    try:
        inputs_at(brief, firm, text)
    except UserError as wrong:
        cause = wrong.__context__
        if isinstance(cause, BriefError):
            return tuple((one.line, one.column, one.says) for one in cause.mistakes)
        return ((1, 1, str(wrong)),)
    return ()
