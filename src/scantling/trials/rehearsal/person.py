"""Whoever sits at the terminal while an office is kept up: what they are shown, what they type, and the plan as they have it by then."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scantling.plan.make import Plan
from scantling.trials.rehearsal.results import Rehearsed


@dataclass(frozen=True)
class Person:
    """Whoever sits at the terminal."""

    show: Callable[[Rehearsed], None]
    """Shows what the rehearsal found."""
    ask: Callable[[], str | None]
    """The next line; None when there is none any more."""
    say: Callable[[Sequence[str]], None]
    replan: Callable[[], Plan]
    """The plan of the brief as it is by now. Raises UserError."""
    out: Path | None = None
    """Where captures are written."""
