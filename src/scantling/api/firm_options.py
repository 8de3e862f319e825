"""Firm options of one brief: each a whole plan, made from the brief's text with a few answers changed."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from scantling import UserError
from scantling.api.planning import Found, Stock, inputs, inputs_at, stock
from scantling.brief.editing import with_values
from scantling.brief.loading import BriefError
from scantling.brief.reading import read_text
from scantling.catalogue import CatalogueError
from scantling.figures import PinError
from scantling.plan.confirming import with_confirmation
from scantling.plan.make import Inputs
from scantling.plan.options import OptionPlan, planned, variants
from scantling.plan.spine import PlanError
from scantling.trials.confirming import confirmed

__all__ = ["OptionPlan", "options", "options_text"]


def options(path: Path, firm: Path | None = None) -> tuple[OptionPlan, ...]:
    """The brief of a file as planned and each firm option beside it, as whole plans. Raises UserError."""
    try:
        written = read_text(path)
    except BriefError as wrong:
        raise UserError(str(wrong)) from None
    return _options(written, lambda changed: inputs_at(path, firm, changed))


def options_text(
    written: str, file: str = "brief.yaml", kept: Stock | None = None, stands: str = ""
) -> tuple[OptionPlan, ...]:
    """The same from a brief's text. Raises UserError."""
    known = kept or stock()
    return _options(written, lambda changed: inputs(changed, file, known, Found(stands)))


def _options(written: str, read: Callable[[str], Inputs]) -> tuple[OptionPlan, ...]:
    try:
        found = [planned(variant, read(with_values(written, variant.edits))) for variant in variants(read(written))]
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None
    return tuple(map(_asked_twice, found))


def _asked_twice(option: OptionPlan) -> OptionPlan:
    """The option with what a second solver says of its purchase, as every plan has it."""
    made = option.plan
    return option if made is None else replace(option, plan=with_confirmation(made, confirmed(made)))
