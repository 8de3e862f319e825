"""The sheet that stands in for any other until an office's first plan is there."""

from collections.abc import Iterable

from markupsafe import Markup

from scantling.web.parts import Part, Sheet, View
from scantling.web.state import State

COMING = "coming"
WAITS = "This sheet is drawn from the plan, and comes by itself when the plan is there."
STOPPED = "This sheet is drawn from the plan, and the search for it was stopped."


def coming(state: State, slug: str) -> Sheet | None:
    """What is shown under a sheet's address before there is a plan; None where no plan is to come."""
    return Sheet("–", "The first plan", _parts, slug=slug) if state.without_plan else None


def _parts(view: View) -> Iterable[Part]:
    words = WAITS if view.state.first_awaited else STOPPED
    yield Part(COMING, Markup('<p id="{}">{}</p>').format(COMING, words))
