"""All files of a plan: the plan as JSON, the drawings in both looks, the book as PDF and HTML."""

from collections.abc import Mapping, Sequence

from scantling.outputs.documents.appended import Appended, with_appended
from scantling.outputs.documents.book import bound
from scantling.outputs.documents.html import page
from scantling.outputs.documents.pdf import printed
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.side_by_side import side_by_side
from scantling.plan.make import Plan
from scantling.plan.options import OptionPlan
from scantling.plan.telling import canonical
from scantling.plan.weighing import Weighed


def published(
    plan: Plan, options: Sequence[OptionPlan] = (), weighed: Weighed | None = None, more: Appended | None = None
) -> Mapping[str, bytes]:
    """Every file by its name; with firm options also their table as JSON; weighed, the book says what else could be bought.

    `more`: what is bound in besides. Raises ValueError when one of its numbers is taken.
    """
    book = bound(plan, options, weighed)
    day, night = drawings(plan, "day"), drawings(plan, "night")
    if more is not None:
        book = with_appended(book, more)
        day, night = {**day, **more.day}, {**night, **more.night}
    files = {f"{number}.svg": svg.encode() for number, svg in day.items()}
    files |= {f"{number}-night.svg": svg.encode() for number, svg in night.items()}
    files["plan.json"] = canonical(plan).encode()
    if options:
        files["options.json"] = side_by_side(options).as_json().encode()
    files["book.pdf"] = printed(book, day)
    files["book.html"] = page(book, day).encode()
    return files
