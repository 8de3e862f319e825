"""The verb rehearse: the whole planned office stood up on this machine and tried with real packets."""

from collections.abc import Callable

from scantling.plan.make import Plan
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.person import Person
from scantling.trials.rehearsal.wish import Wish as RehearsalWish

__all__ = ["Person", "RehearsalWish", "Rehearsed", "rehearse", "rehearsed_json"]


def rehearse(made: Plan, wish: RehearsalWish, tell: Callable[[str], None], person: Person | None = None) -> Rehearsed:
    """Rehearse a plan; `tell` hears each step. To be called while the process has one thread.

    `person`: with `live` in the wish, who is shown what was found and leads the office afterwards.

    Raises RehearsalError (a UserError) when the office can't be stood up, in a person's words.
    """
    from scantling.trials.rehearsal.rehearsing import rehearsed  # noqa: PLC0415 - heavy, and planning must be quick

    return rehearsed(made, wish, tell, person)


def rehearsed_json(found: Rehearsed) -> str:
    """The evidence as JSON: the same bytes each time that the same things came out."""
    from scantling.trials.rehearsal.report import evidence  # noqa: PLC0415 - as above

    return evidence(found)
