"""Two plans, or the plans of two briefs, side by side; and what the pins of a brief cost."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scantling import UserError
from scantling.api.planning import inputs_at
from scantling.brief import Section
from scantling.catalogue import CatalogueError
from scantling.figures import Figure, PinError
from scantling.handbook.choosing import silent
from scantling.plan.make import Inputs, Plan, make
from scantling.plan.spine import PlanError

if TYPE_CHECKING:
    from scantling.plan.comparing import Comparison
    from scantling.plan.pinned import PinPrice

Tell = Callable[[int], None]


@dataclass(frozen=True)
class Planned:
    """A plan with what it was made from."""

    inputs: Inputs
    plan: Plan


def planned(path: Path, tell: Tell = silent, firm: Path | None = None, written: str | None = None) -> Planned:
    """The plan of a brief's file (or of a text in its place) and its inputs. Raises UserError."""
    inputs = inputs_at(path, firm, written)
    try:
        return Planned(inputs, make(inputs, tell))
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def compare(old: Path, new: Path, tell: Tell = silent, firm: Path | None = None) -> Comparison:
    """What differs between the plans of two briefs, each with what lies beside it. Raises UserError."""
    return compare_planned(planned(old, tell, firm), planned(new, tell, firm))


def compare_planned(old: Planned, new: Planned) -> Comparison:
    """The same of two plans that are made already."""
    from scantling.plan.comparing import compared  # noqa: PLC0415 - a plan alone does without

    return compared(old.plan, new.plan, (answers(old.inputs), answers(new.inputs)))


def answers(inputs: Inputs) -> Mapping[str, Figure[Any]]:
    """Every answer of a brief by its id, those that were assumed too."""
    found: dict[str, Figure[Any]] = {}
    waiting: list[Any] = list(inputs.sections.values())
    while waiting:
        for figure in _below(waiting.pop(), waiting):
            found[figure.id] = figure
    return found


def _below(there: Any, waiting: list[Any]) -> Iterator[Figure[Any]]:
    """The answers of a group; the groups in it wait."""
    within = there.values() if isinstance(there, Mapping) else [getattr(there, n) for n in type(there).model_fields]
    for one in within:
        if isinstance(one, Figure):
            yield one
        elif isinstance(one, (Mapping, Section)):
            waiting.append(one)


def price_of_pins(given: Path | Inputs, tell: Tell = silent, firm: Path | None = None) -> tuple[PinPrice, ...]:
    """What each pin of a brief's file, or of inputs, costs, and which demands it breaks. Raises UserError."""
    from scantling.plan.pinning import price_of_pins as priced  # noqa: PLC0415 - a plan alone does without

    inputs = given if isinstance(given, Inputs) else inputs_at(given, firm)
    try:
        return priced(inputs, make(inputs, tell), tell)
    except (PlanError, PinError, CatalogueError) as wrong:
        raise UserError(str(wrong)) from None


def write_comparison(told: Comparison, file: Path, names: tuple[str, str]) -> None:
    """Write a comparison as one page. Raises UserError, and then an old page stands as it was."""
    from scantling.outputs.comparing import page  # noqa: PLC0415 - fonts and templates are heavy
    from scantling.outputs.writing import OutputError, write_all  # noqa: PLC0415 - a plan alone does without

    if file.is_dir():
        raise UserError(f"{file} is a folder; name a file for the page")
    try:
        write_all(file.parent, {file.name: page(told, names).encode()})
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
