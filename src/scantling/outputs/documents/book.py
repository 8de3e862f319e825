"""The book as a plain value, bound from a plan: both printers draw from it and compute nothing."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scantling.catalogue.columns import NAME
from scantling.figures import (
    Caution, Copy, Crowd, Facts, Figure, Lasting, Machine, Option, Origin, Prose, Ruled, Weight,
)  # fmt: skip
from scantling.figures.numbers import in_currency, text
from scantling.figures.pages import Block, Cell
from scantling.plan.make import Plan
from scantling.plan.telling import everything


@dataclass(frozen=True)
class Mark:
    """One cell in print: its words, the id of the figure behind it, whether it is a number, whether it is an address."""

    text: str
    id: str = ""
    number: bool = False
    mono: bool = False


@dataclass(frozen=True)
class Sheet:
    """One sheet: its number in the set, its title, its blocks."""

    number: str
    title: str
    blocks: Sequence[Block]


@dataclass(frozen=True)
class Note:
    """A finding: its number in the triangle, weight, code, words, remedy, and who declined it."""

    number: int
    weight: str
    code: str
    says: str
    remedy: str
    declined: str


@dataclass(frozen=True)
class Working:
    """An entry of the workings appendix."""

    id: str
    label: str
    value: str
    working: str
    inputs: Sequence[str]


@dataclass(frozen=True)
class Book:
    """Everything that is printed."""

    client: str
    date: str
    paper: str
    currency: str
    planned_for: str
    provisional: str
    summary: Sequence[Block]
    sheets: Sequence[Sheet]
    notes: Sequence[Note]
    cautions: Sequence[Caution]
    workings: Sequence[tuple[str, Sequence[Working]]]
    assumed: Sequence[tuple[str, str]]
    ids: frozenset[str]


def bound(plan: Plan) -> Book:
    """The book of a plan."""
    numbers: dict[str, int] = {}
    sheets = []
    for page in plan.pages():
        place = numbers[page.letter] = (
            numbers.get(page.letter, 2 if page.letter == "N" else 1 if page.letter == "S" else 0) + 1
        )
        blocks = [block for block in page.blocks if not isinstance(block, Caution)]
        sheets.append(Sheet(f"{page.letter}-{place}", page.title, blocks))
    sheets.append(_lasting(plan))
    notes = [
        Note(place, told.weight, told.finding.code, told.says, told.finding.remedy, told.declined)
        for place, told in enumerate(plan.findings, 1)
    ]
    cautions = [block for page in plan.pages() for block in page.blocks if isinstance(block, Caution)]
    return Book(
        text(plan.office.name), text(plan.office.as_of), text(plan.office.paper), plan.currency, _planned_for(plan),
        _provisional(plan), _summary(plan), sheets, notes, cautions, _workings(plan), _assumed(plan), frozenset(plan.figures),
    )  # fmt: skip


def _planned_for(plan: Plan) -> str:
    heads = sum(int(crowd.heads.value) for crowd in plan.records(Crowd))
    return f"{heads} people today, {text(plan.office.horizon)} ahead"


def _provisional(plan: Plan) -> str:
    if plan.purchase.easing is not None:
        return f"Provisional: nothing meets every need; {plan.purchase.easing.demand.label.lower()} gave way."
    return "Provisional: nothing meets every need." if plan.provisional else ""


def _summary(plan: Plan) -> list[Block]:
    """One page: what it is, what to buy, what it costs, what is wrong."""
    chosen = plan.purchase.chosen
    rows = [(figure.label, _articles(chosen.options[slot]), figure) for slot, figure in chosen.picked.items()]
    weights = {weight.value: 0 for weight in Weight}
    for told in plan.findings:
        weights[told.weight] += not told.declined
    counted = ", ".join(
        f"{count} to {'tell the client' if w == 'note' else w}" for w, count in weights.items() if count
    )
    facts: list[tuple[str, Cell]] = [("Machines on one server", str(len(plan.records(Machine))))]
    facts += [(label, plan.figures[id_]) for label, id_ in HEADLINES if id_ in plan.figures]
    facts += [(f"Everything back from: {copy.name}", copy.restore) for copy in plan.records(Copy)]
    facts.append(("Findings", counted or "none"))
    return [Ruled("What to buy", ("for", "article", "catalogue"), rows), Facts(facts, "The plan in numbers")]


def _articles(option: Option) -> str:
    """The articles of an option by their names."""
    named = [(str(row.get(NAME)), count) for row, count in option.parts]
    return " and ".join(f"{count} × {name}" if count > 1 else name for name, count in named) or "none"


HEADLINES = (
    ("People at the horizon", "machines.users"),
    ("Real cores needed", "host.cores.needed"),
    ("Memory needed", "host.memory.needed"),
    ("Battery lasts, at the end of its life", "power.lasts"),
    ("Work lost at worst", "backup.worst"),
    ("Rough price, tax included", "money.total"),
)


def _lasting(plan: Plan) -> Sheet:
    """What cannot be changed by a click, and who has said yes."""
    rows = [(entry.what, entry.chosen, entry.confirmed) for entry in plan.records(Lasting)]
    words = (
        "These are hard to change once the server is built and devices carry their addresses. Changing one later is a piece of work "
        "of its own, with a price."
    )
    return Sheet(
        "G-1",
        "What can't be changed later",
        [Prose(words), Ruled("Lasting choices", ("what", "chosen", "confirmed"), rows)],
    )


def _assumed(plan: Plan) -> list[tuple[str, str]]:
    """Every default that the brief left to the house: to be asked."""
    found = {
        figure.id.removeprefix("brief."): f"{text(figure)}; {figure.how.where}"
        for figure in everything(plan).values()
        if isinstance(figure.how, Origin) and figure.how.assumed
    }
    return sorted((id_, in_currency(words, plan.currency)) for id_, words in found.items())


def _workings(plan: Plan) -> list[tuple[str, list[Working]]]:
    """Every figure with its working, by trade."""
    groups: dict[str, list[Working]] = {}
    for id_, figure in sorted(plan.figures.items()):
        groups.setdefault(id_.split(".")[0], []).append(_working(plan, figure))
    return list(groups.items())


def _working(plan: Plan, figure: Figure[Any]) -> Working:
    working = in_currency(figure.how.working(figure), plan.currency)
    inputs = [parent.id for parent in figure.parents() if parent.id]
    value = in_currency(text(figure), plan.currency)
    return Working(figure.id, figure.label, _short(value), _short(working, 600), list(dict.fromkeys(inputs))[:12])


def _short(words: str, most: int = 160) -> str:
    return words if len(words) <= most else f"{words[: most - 2]} …"


def mark(cell: Cell, book: Book) -> Mark:
    """A cell as it is printed."""
    if not isinstance(cell, Figure):
        return Mark(in_currency(cell, book.currency), mono=_address(cell))
    words = in_currency(text(cell), book.currency)
    return Mark(_short(words), cell.id if cell.id in book.ids else "", number=cell.unit.numeric, mono=_address(words))


def _address(words: str) -> bool:
    head = words.split("/", maxsplit=1)[0].split(" ", maxsplit=1)[0]
    return head.count(".") == 3 and all(part.isdigit() for part in head.split("."))  # noqa: PLR2004 - four numbers
