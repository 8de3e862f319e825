"""What the drawing office asks of the house: a plan of a text at once, a whole text written, every mistake with its place."""

from codecs import BOM_UTF8
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from scantling import UserError
from scantling.api.comparing import Planned, planned
from scantling.api.editing import fingerprint
from scantling.api.planning import inputs_at, asked_twice
from scantling.brief.loading import BriefError
from scantling.api.sketching import every_mistake
from scantling.brief.reading import decoded, read_bytes
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.figures.placed import MOST_BYTES, Mistake
from scantling.handbook.choosing import silent
from scantling.outputs.rewriting import held, kept_beside
from scantling.outputs.writing import OutputError
from scantling.plan.make import Plan, make
from scantling.plan.pinning import price_of_pins
from scantling.plan.spine import PlanError


@dataclass(frozen=True)
class Read:
    """A file's text, and what the file is known by."""

    text: str
    seen: str


def text_of(path: Path) -> Read:
    """The text of a brief's file, or of what stands, without a byte-order mark. Raises UserError."""
    try:
        raw = read_bytes(path)
        return Read(decoded(path, raw), fingerprint(raw))
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


def rewritten(path: Path, text: str, seen: str) -> Read:
    """Put a whole text in a file's place; returns what the file is known by now. `seen` is the fingerprint of what the caller saw.

    A byte-order mark stays. Raises UserError when it can't be written, or when something else stands there: then that is left
    alone, and this version is kept beside it.
    """
    if len(text.encode()) > MOST_BYTES:
        raise UserError(f"{path.name} would be too large: at most {MOST_BYTES:,} bytes; nothing was changed")
    try:
        with held(path) as file:
            raw = read_bytes(path)
            new = (BOM_UTF8 if raw.startswith(BOM_UTF8) else b"") + text.encode()
            other = file.rewrite(raw, new) if fingerprint(raw) == seen else raw
            if other is not None:
                kept = kept_beside(path, new, "mine")
                raise UserError(
                    f"{path.name} was changed by somebody else meanwhile, so it was left alone; your version is kept as {kept.name}"
                )
            return Read(text, fingerprint(new))
    except (BriefError, OutputError) as wrong:
        raise UserError(str(wrong)) from None


def all_mistakes(brief: Path, text: str, firm: Path | None = None) -> tuple[Mistake, ...]:
    """Every mistake of a text and of what stands beside it, each with its file, line and column; empty where it can be planned from."""
    try:
        return every_mistake(brief, text, firm)
    except UserError as wrong:  # in the firm's own files, which are neither
        return (Mistake(brief.name, 1, 1, "", str(wrong)),)
