"""The drawings of the set, on screen as on paper."""

import re
from collections.abc import Callable, Container, Iterable

from scantling.outputs.drawings.sheet_set import drawn_sheets, title
from scantling.web.state import State
from scantling.web.drawing import drawing_part, drawn
from scantling.web.parts import Part, Sheet, View

PENCILLED = re.compile(r'data-finding="(\d+)"')


def sheets(state: State) -> Iterable[Sheet]:
    """One for each drawing for which the plan has something to show."""
    if state.plan is None:
        return
    for place, number in enumerate(drawn_sheets(state.plan)):
        yield Sheet(
            number, title(state.plan, number), _parts(number), place, number, number, concerns=_findings(number)
        )


def _parts(number: str) -> Callable[[View], Iterable[Part]]:
    def parts(view: View) -> Iterable[Part]:
        assert view.state.plan is not None
        yield drawing_part(view, number)

    return parts


def _findings(number: str) -> Callable[[View], Container[int]]:
    """The findings that stand in red pencil on the drawing."""

    def numbers(view: View) -> Container[int]:
        assert view.state.plan is not None
        return {int(found) for found in PENCILLED.findall(drawn(view.state.plan, number, view.look).svg)}

    return numbers
