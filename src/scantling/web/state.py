"""The office at one moment: the brief's text, the plan of it, what is still awaited, what moved since somebody initialled."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from scantling import api
from scantling.figures import Figure
from scantling.figures.numbers import in_currency, text
from scantling.plan.make import Plan

PURCHASE, EVIDENCE = "purchase", "proof"
"""What may still follow."""


@dataclass(frozen=True)
class Mistake:
    """What is wrong with the brief on disk, or with the file named, and where."""

    line: int
    column: int
    says: str
    file: str = ""


@dataclass(frozen=True)
class State:
    """The office at one moment. With `mistakes` the brief on disk can't be planned, and the plan is the last good one."""

    revision: int = 0
    text: str = ""
    seen: str = ""
    planned: api.Planned | None = None
    awaiting: tuple[str, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    initialled: Plan | None = None
    looked_at: int = 0
    """Sets that the search has looked at so far."""
    wrong: str = ""
    """Why the reckoning that should follow failed."""
    stopped: bool = False
    """Whether somebody stopped the reckoning that should follow."""
    edits: int = 0
    """Changes of the brief since the office was opened."""
    serial: int = 0
    """Counts every change of what is shown, also those that the worker brings."""

    @property
    def plan(self) -> Plan | None:
        """The plan that is shown."""
        return self.planned.plan if self.planned is not None else None

    @property
    def first_awaited(self) -> bool:
        """Whether the office's first plan is being made."""
        return self.planned is None and PURCHASE in self.awaiting

    @property
    def without_plan(self) -> bool:
        """Whether there is a brief that can be read, and no plan of it yet: it is being made, or was stopped."""
        return self.planned is None and not self.mistakes and (self.stopped or self.first_awaited)

    @cached_property
    def moved(self) -> Mapping[str, tuple[str, str]]:
        """Figures whose words are others than when somebody last initialled: before and after."""
        return moved(self.initialled, self.plan)


def mistakes_of(brief: Path, text: str, firm: Path | None, why: str) -> tuple[Mistake, ...]:
    """Every mistake of a text and of what stands beside it; `why` it can't be planned, where no line is to blame."""
    found = api.all_mistakes(brief, text, firm)
    told = (
        Mistake(one.line, one.column, f"{one.path}: {one.says}" if one.path else one.says, one.file) for one in found
    )
    return tuple(told) or (Mistake(1, 1, why),)


def moved(old: Plan | None, new: Plan | None) -> Mapping[str, tuple[str, str]]:
    """Figures whose printed words differ between two plans; a figure that one of them lacks is a dash there."""
    if old is None or new is None or old is new:
        return {}
    found = {}
    for id_ in (*new.figures, *(id_ for id_ in old.figures if id_ not in new.figures)):
        one, other = old.figures.get(id_), new.figures.get(id_)
        if one is not None and other is not None and (one.value, one.unit) == (other.value, other.unit):
            continue
        before, after = _words(one, old), _words(other, new)
        if before != after:
            found[id_] = before, after
    return found


def _words(figure: "Figure[object] | None", plan: Plan) -> str:
    return in_currency(text(figure), plan.currency) if figure is not None else "–"
