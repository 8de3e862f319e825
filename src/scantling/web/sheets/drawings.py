"""The drawings of the set, on screen as on paper."""

import re
from collections.abc import Callable, Container, Iterable, Mapping

from markupsafe import Markup

from scantling.outputs.documents.plates import plates
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.drawings.sheet_set import drawn_sheets
from scantling.web.desk import State
from scantling.web.parts import REPLACE, Part, Sheet, View

PENCILLED = re.compile(r'data-finding="(\d+)"')


def sheets(state: State) -> Iterable[Sheet]:
    """One for each drawing for which the plan has something to show."""
    if state.plan is None:
        return
    titles: Mapping[str, str] = {number: plate.title for number, plate in plates(state.plan).items()}
    for place, number in enumerate(drawn_sheets(state.plan)):
        yield Sheet(number, titles.get(number, number), _parts(number), place, number, number, concerns=_findings(number))


def _parts(number: str) -> Callable[[View], Iterable[Part]]:
    def parts(view: View) -> Iterable[Part]:
        assert view.state.plan is not None
        svg = drawings(view.state.plan, view.look)[number]
        bare = re.sub(r"^<\?xml[^>]*\?>\s*", "", svg)
        yield Part(f"drawing-{number}", Markup(f'<div id="drawing-{number}">{bare}</div>'), REPLACE)  # noqa: S704 - our own SVG

    return parts


def _findings(number: str) -> Callable[[View], Container[int]]:
    """The findings that stand in red pencil on the drawing."""

    def numbers(view: View) -> Container[int]:
        assert view.state.plan is not None
        return {int(found) for found in PENCILLED.findall(drawings(view.state.plan, view.look)[number])}

    return numbers
