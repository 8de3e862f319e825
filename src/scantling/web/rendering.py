"""Fills the office's templates: every text escaped by the template engine, figures as links to their working."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from scantling.figures import Figure
from scantling.figures.numbers import in_currency, text
from scantling.figures.pages import Ruled
from scantling.outputs.documents.letters import readable
from scantling.outputs.documents.setting import short
from scantling.web.parts import View

NUMERIC = frozenset("0123456789-–−")


def _plainly(value: Any) -> Any:
    """What is put into the page, without letters that no page may hold."""
    return readable(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def surroundings() -> Environment:
    """The template engine, made once."""
    made = Environment(
        loader=PackageLoader("scantling.web", "templates"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, finalize=_plainly, auto_reload=False, cache_size=-1,
    )  # fmt: skip
    made.globals |= {"kind_of": lambda block: type(block).__name__, "rights": rights, "is_figure": is_figure}
    return made


def render(template: str, view: View | None = None, **told: Any) -> Markup:
    """A template of this room, filled. `view` gives it look, layer, state, and `words(figure)` in the plan's currency."""
    plan = view.state.plan if view is not None else None
    moved: Mapping[str, tuple[str, str]] = view.state.moved if view is not None else {}
    currency = plan.currency if plan is not None else ""
    given = {"view": view, "plan": plan, "moved": moved, "words": lambda value: words(value, currency), **told}
    return Markup(surroundings().get_template(template).render(given))  # noqa: S704 - the engine escapes


def words(value: Any, currency: str = "") -> str:
    """A figure as it is printed, or the words themselves."""
    return short(in_currency(text(value), currency)) if isinstance(value, Figure) else str(value)


def is_figure(value: Any) -> bool:
    """Whether a cell is a figure with an address, so that its working can be opened."""
    return isinstance(value, Figure) and bool(value.id)


def rights(block: Ruled) -> list[bool]:
    """Which columns of a ruled block stand to the right: those whose every value is a number."""
    columns = [[row[place] for row in block.rows if place < len(row)] for place in range(len(block.heads))]
    return [bool(column) and all(_number(cell) for cell in column) for column in columns]


def _number(cell: Any) -> bool:
    told = words(cell)
    return told[:1] in NUMERIC if isinstance(cell, Figure) else not told or told.replace(".", "").isdigit()
