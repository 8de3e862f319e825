"""The trades' own sheets, drawn from their blocks."""

from collections.abc import Callable, Container, Iterable, Iterator
from typing import Any

from scantling.figures import Facts, Figure, Page, Ruled
from scantling.web.state import State
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render

ENDS = {"brief", "catalogue", "house", "standing"}
"""Where workings end: no trade's own figures."""


def sheets(state: State) -> Iterable[Sheet]:
    """One for each page of the plan."""
    if state.plan is None:
        return
    for place, page in enumerate(state.plan.pages()):
        yield Sheet(
            page.letter,
            page.title,
            _parts(page.slug),
            10 + place,
            page.slug,
            concerns=_findings(page.slug),
            flow=True,
        )


def _parts(slug: str) -> Callable[[View], Iterable[Part]]:
    def parts(view: View) -> Iterable[Part]:
        assert view.state.plan is not None
        page = next(one for one in view.state.plan.pages() if one.slug == slug)
        for place, block in enumerate(page.blocks):
            yield _part(view, page, place, block)

    return parts


def _findings(slug: str) -> Callable[[View], Container[int]]:
    """The findings of the trade whose page it is, and of those whose figures stand on it."""

    def numbers(view: View) -> Container[int]:
        plan = view.state.plan
        assert plan is not None
        trade, page = next((trade, one) for trade, one in plan.entries[Page] if one.slug == slug)
        trades = {trade, *(figure.id.split(".")[0] for figure in _shown(page))} - ENDS
        return {number for number, told in enumerate(plan.findings, 1) if told.trade in trades}

    return numbers


def _shown(page: Page) -> Iterator[Figure[Any]]:
    """Every figure that stands on a page."""
    for block in page.blocks:
        rows = block.rows if isinstance(block, (Facts, Ruled)) else ()
        yield from (cell for row in rows for cell in row if isinstance(cell, Figure) and cell.id)


def _part(view: View, page: Page, place: int, block: object) -> Part:
    id_ = f"page-{page.slug}-{place}"
    return Part(id_, render("page_block.html.j2", view, id=id_, block=block))
