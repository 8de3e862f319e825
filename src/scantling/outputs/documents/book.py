"""Binds the book from a plan: every number comes from a record or a figure, none is computed here."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.catalogue.columns import NAME
from scantling.figures import (
    Caution, Copy, Crowd, Facts, Figure, Hosts, Lasting, Machine, Option, Origin, Prose, Ruled, Zone,
)  # fmt: skip
from scantling.figures.numbers import counted, in_currency, text
from scantling.figures.pages import Block, Cell
from scantling.outputs.documents.plates import plates
from scantling.outputs.documents.setting import short
from scantling.outputs.drawings.from_traffic import doors
from scantling.outputs.drawings.sheet_set import drawn_sheets, proof
from scantling.outputs.side_by_side import TITLE, side_by_side
from scantling.outputs.weighed import TITLE as WEIGHED
from scantling.outputs.weighed import tables
from scantling.outputs.documents.volume import Book, Note, Sheet, Summary, Working
from scantling.plan.make import Plan
from scantling.plan.options import OptionPlan
from scantling.plan.telling import everything
from scantling.plan.weighing import Weighed

HEADLINES = (
    ("People at the horizon", "machines.users"),
    ("Real cores needed", "host.cores.needed"),
    ("Memory needed", "host.memory.needed"),
    ("Battery lasts, at the end of its life", "power.lasts"),
    ("Work lost at worst", "backup.worst"),
)
ENDS = ("brief", "catalogue", "house")
"""Where workings end: told after the trades."""
LONGEST_WORKING, MOST_INPUTS = 600, 12


def bound(plan: Plan, options: Sequence[OptionPlan] = (), weighed: Weighed | None = None) -> Book:
    """The book of a plan; with firm options also a sheet that lays them side by side, weighed also what else could be bought."""
    return Book(
        client=text(plan.office.name), title="Plan and handover book", planned_for=_planned_for(plan),
        provisional=_provisional(plan), revision="A", date=text(plan.office.as_of),
        fields=(("drawn", "scantling"), ("checked", "–"), ("doors", _doors(plan)), ("proof", proof(plan))),
        paper=text(plan.office.paper), language="en", currency=plan.currency, summary=_summary(plan),
        plates=plates(plan), sheets=_sheets(plan, options, weighed), notes=_notes(plan), lasting=_lasting(plan),
        cautions=[block for page in plan.pages() for block in page.blocks if isinstance(block, Caution)],
        assumed=_assumed(plan), workings=_workings(plan),
    )  # fmt: skip


def _doors(plan: Plan) -> str:
    """How many rooms have a door, for the title block."""
    hung = doors(plan)
    if hung is None:
        return "not yet planned"
    into, rooms = sum(door.kind == "room" for door in hung), len(plan.records(Zone))
    return f"{into} of {rooms} rooms"


def _sheets(plan: Plan, options: Sequence[OptionPlan], weighed: Weighed | None) -> list[Sheet]:
    """The trades' pages, numbered by letter after the drawings; what was weighed and the options follow the price."""
    numbers = Counter(number[0] for number in drawn_sheets(plan))
    sheets = []
    for page in plan.pages():
        numbers[page.letter] += 1
        blocks: list[Block] = [block for block in page.blocks if not isinstance(block, Caution)]
        sheets.append(Sheet(f"{page.letter}-{numbers[page.letter]}", page.title, blocks))
    weighing = [(WEIGHED, _weighed(weighed, plan.currency))] if weighed is not None else []
    more = [*weighing, *([(TITLE, _options(options))] if options else [])]
    place = max((n for n, sheet in enumerate(sheets, 1) if sheet.number.startswith("O-")), default=len(sheets))
    for number, (title, blocks) in enumerate(more):
        sheets.insert(place + number, Sheet(f"O-{numbers['O'] + 1 + number}", title, blocks))
    return sheets


def _weighed(weighed: Weighed, currency: str) -> list[Block]:
    """Words alone: these are sets that were not bought."""
    told = (
        "The set bought is the cheapest that meets every demand. These are the next best whole sets; what each demand costs, told as "
        "the nearest value at which the cheapest set is cheaper; and the reason for which every other article is never chosen."
    )
    return [Prose(told), *(Ruled(sheet.title, sheet.heads, sheet.rows) for sheet in tables(weighed, currency))]


def _options(options: Sequence[OptionPlan]) -> list[Block]:
    """Words alone: the figures of the other options are not those that this book explains."""
    told = (
        "Every column is a whole plan of the same office, made with the same catalogue and house rules. An option that breaks the "
        "brief says so in its second line. Work, noise and what stops are told as each plan has them."
    )
    rows = [(row.label, *(cell.words for cell in row.cells)) for row in side_by_side(options).rows]
    return [Prose(told), Ruled(TITLE, ("", *(option.name for option in options)), rows)]


def _notes(plan: Plan) -> list[Note]:
    return [
        Note(
            place, told.weight, told.finding.code, told.says, told.finding.remedy, told.declined,
            [figure for figure in told.finding.shown.values() if figure.id],
        )
        for place, told in enumerate(plan.findings, 1)
    ]  # fmt: skip


def _planned_for(plan: Plan) -> str:
    heads = sum(int(crowd.heads.value) for crowd in plan.records(Crowd))
    return f"{counted(heads, 'person', 'people')} today, {text(plan.office.horizon)} ahead"


def _provisional(plan: Plan) -> str:
    if plan.purchase.easing is not None:
        return f"Provisional: nothing meets every need; {plan.purchase.easing.demand.label.lower()} gave way."
    return "Provisional: nothing meets every need." if plan.provisional else ""


def _summary(plan: Plan) -> Summary:
    """What it costs, what to buy, and the plan in numbers."""
    chosen = plan.purchase.chosen
    rows: list[tuple[Cell, ...]] = [
        (figure.label, _articles(chosen.options[slot]), figure, plan.figures.get(f"money.parts.{slot}", ""))
        for slot, figure in chosen.picked.items()
    ]
    where = "two servers" if plan.records(Hosts) else "one server"
    facts: list[tuple[str, Cell]] = [(f"Machines on {where}", str(len(plan.records(Machine))))]
    facts += [(label, plan.figures[id_]) for label, id_ in HEADLINES if id_ in plan.figures]
    if plan.confirmed is not None:
        facts.append(("The cheapest set", plan.confirmed.says))
    facts += [(f"Everything back from: {copy.name}", copy.restore) for copy in plan.records(Copy)]
    buys = Ruled("What to buy", ("for", "article", "in the catalogue", "price"), rows)
    return Summary(plan.figures.get("money.total"), buys, Facts(facts, "The plan in numbers"))


def _articles(option: Option) -> str:
    """The articles of an option by their names."""
    named = [(str(row.get(NAME)), count) for row, count in option.parts]
    return " and ".join(f"{count} × {name}" if count > 1 else name for name, count in named) or "none"


def _lasting(plan: Plan) -> Sequence[Block]:
    """What cannot be changed by a click, and who has said yes."""
    rows = [(entry.what, entry.chosen, entry.confirmed) for entry in plan.records(Lasting)]
    words = (
        "These are hard to change once the server is built and devices carry their addresses. Changing one later is a piece of work "
        "of its own, with a price."
    )
    return [Prose(words), Ruled("Lasting choices", ("what", "chosen", "confirmed"), rows)]


def _assumed(plan: Plan) -> Ruled:
    """Every default that the brief left to the house: to be asked."""
    rows = [
        (figure.id.removeprefix("brief.").replace(".", ", "), figure, figure.how.where)
        for _, figure in sorted(everything(plan).items())
        if isinstance(figure.how, Origin) and figure.how.assumed
    ]
    return Ruled("Assumed answers", ("in the brief", "taken", "house rule, with range, reason and source"), rows)


def _workings(plan: Plan) -> list[tuple[str, list[Working]]]:
    """Every figure with its working: by trade, then what the workings end in."""
    groups: dict[str, list[Working]] = {}
    for _, figure in sorted(everything(plan).items(), key=_place):
        groups.setdefault(figure.id.split(".")[0], []).append(_working(plan, figure))
    return list(groups.items())


def _place(entry: tuple[str, Figure[Any]]) -> tuple[bool, str]:
    return entry[0].split(".", maxsplit=1)[0] in ENDS, entry[0]


def _working(plan: Plan, figure: Figure[Any]) -> Working:
    value = short(in_currency(text(figure), plan.currency))
    if isinstance(figure.how, Origin) and figure.how.kind == "catalogue" and figure.how.place:
        return Working(figure.id, "", value, figure.how.place)
    working = in_currency(figure.how.working(figure), plan.currency)
    inputs = list(dict.fromkeys(_named(figure)))
    return Working(figure.id, figure.label, value, short(working, LONGEST_WORKING), inputs[:MOST_INPUTS])


def _named(figure: Figure[Any]) -> Iterator[str]:
    """The nearest figures with an id that this one came from, through those that have none."""
    for parent in figure.parents():
        if parent.id:
            yield parent.id
        else:
            yield from _named(parent)
