"""The trades' own sheets, drawn from their blocks."""

from collections.abc import Callable, Iterable

from scantling.figures.pages import Page
from scantling.web.desk import State
from scantling.web.parts import Part, Sheet, View
from scantling.web.rendering import render


def sheets(state: State) -> Iterable[Sheet]:
    """One for each page of the plan."""
    if state.plan is None:
        return
    for place, page in enumerate(state.plan.pages()):
        yield Sheet(page.letter, page.title, _parts(page.slug), 10 + place, page.slug)


def _parts(slug: str) -> Callable[[View], Iterable[Part]]:
    def parts(view: View) -> Iterable[Part]:
        assert view.state.plan is not None
        page = next(one for one in view.state.plan.pages() if one.slug == slug)
        for place, block in enumerate(page.blocks):
            yield _part(view, page, place, block)

    return parts


def _part(view: View, page: Page, place: int, block: object) -> Part:
    id_ = f"page-{page.slug}-{place}"
    return Part(id_, render("page_block.html.j2", view, id=id_, block=block))
