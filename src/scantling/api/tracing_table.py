"""The plan and its tracings as one table: answers that differ, figures, findings that come and go, money."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from scantling.api.differing import Difference
from scantling.figures.numbers import in_currency, text
from scantling.outputs.comparing import headline
from scantling.outputs.side_by_side import NOTHING as SILENT
from scantling.outputs.side_by_side import Cell, Row, side_by_side
from scantling.plan.comparing import Advice, Comparison
from scantling.plan.make import Plan
from scantling.plan.options import OptionPlan, Variant

SHORT = 28
"""Words up to so many letters are told with what they were before."""
LEFT_OUT = ("changes",)
"""What the answers that differ tell better."""
MONEY = ("parts", "work", "total", "yearly", "horizon")
FINDINGS = ("fits", "stops", "mends", "notes", "missed")
AS_IN_THE_PLAN, NOTHING = "as in the plan", "not in the brief"


@dataclass(frozen=True)
class Column:
    """One tracing: its name, the answers in which it differs, its plan and the comparison, where they are reckoned."""

    slug: str
    name: str
    differs: tuple[Difference, ...]
    plan: Plan | None = None
    told: Comparison | None = None


@dataclass(frozen=True)
class Said:
    """One cell: words, the figure behind them, what the plan says instead, several sentences, and whose change it is."""

    words: str
    figure: str = ""
    before: str = ""
    other: bool = False
    items: tuple[tuple[str, str], ...] = ()
    back: str = ""
    """The id of the answer that may be taken back."""


@dataclass(frozen=True)
class Line:
    """One row."""

    label: str
    cells: tuple[Said, ...]


@dataclass(frozen=True)
class Group:
    """Rows that belong together."""

    title: str
    lines: tuple[Line, ...] = field(default=())


def table(plan: Plan, columns: Sequence[Column]) -> tuple[Group, ...]:
    """All groups that have a row; the first cell of each is the plan's, then one a column."""
    rows = _rows(plan, columns)
    groups = (
        Group("Answers that differ", tuple(_answers(columns))),
        Group("In short", tuple(_in_short(columns))),
        Group("Money", tuple(_figures(rows, MONEY))),
        Group("Findings", (*_figures(rows, FINDINGS), *_advice(columns))),
        Group("The plan", tuple(_figures(rows, [row.id for row in rows if row.id not in (*MONEY, *FINDINGS)]))),
    )
    return tuple(group for group in groups if group.lines)


def _answers(columns: Sequence[Column]) -> Iterator[Line]:
    """Every answer in which any tracing differs from the brief, with the words as they are written."""
    ids = list(dict.fromkeys(one.id for column in columns for one in column.differs))
    by_column = [{one.id: one for one in column.differs} for column in columns]
    for id_ in ids:
        old = next(found[id_].old for found in by_column if id_ in found)
        cells = [_answer(found.get(id_), old) for found in by_column]
        yield Line(id_, (Said(old or NOTHING), *cells))


def _answer(found: Difference | None, old: str) -> Said:
    if found is None:
        return Said(old or NOTHING)
    before = old if old and len(old) <= SHORT else ""
    return Said(found.new or "taken out", "", before, other=True, back=found.id)


def _in_short(columns: Sequence[Column]) -> Iterator[Line]:
    """How much moved, in the first sentence of a comparison; the groups below tell the rest."""
    if any(column.told is not None for column in columns):
        said = [SILENT if column.told is None else headline(column.told)[0] for column in columns]
        yield Line("Against the plan", (Said(SILENT), *map(Said, said)))


def _rows(plan: Plan, columns: Sequence[Column]) -> tuple[Row, ...]:
    """The questions that options are asked too, and those of this table alone."""
    plans = [plan, *(column.plan for column in columns)]
    variants = [Variant("plan", "The plan", ""), *(Variant(column.slug, column.name, "") for column in columns)]
    told = side_by_side([OptionPlan(variant, made) for variant, made in zip(variants, plans, strict=True)])
    more = [
        Row(id_, label, tuple(Cell(SILENT) if made is None else ask(made) for made in plans))
        for id_, label, ask in MORE
    ]
    return (*more, *(row for row in told.rows if row.id not in LEFT_OUT))


def _figures(rows: Sequence[Row], ids: Sequence[str]) -> Iterator[Line]:
    by_id = {row.id: row for row in rows}
    for id_ in ids:
        if id_ in by_id and any(cell.words != SILENT for cell in by_id[id_].cells):
            first, *others = by_id[id_].cells
            yield Line(by_id[id_].label, (_said(first, None), *(_said(cell, first) for cell in others)))


def _said(cell: Cell, first: Cell | None) -> Said:
    figure = cell.figure.id if cell.figure is not None else ""
    other = first is not None and SILENT not in (cell.words, first.words) and cell.words != first.words
    if first is not None and cell.words == first.words and len(cell.words) > SHORT:
        return Said(AS_IN_THE_PLAN)
    before = first.words if other and first is not None and len(first.words) <= SHORT else ""
    return Said(cell.words, figure, before, other)


def _advice(columns: Sequence[Column]) -> Iterator[Line]:
    """Findings that come and those that go, of each tracing."""
    asked: tuple[tuple[str, Callable[[Comparison], Sequence[Advice]]], ...] = (
        ("That come", lambda told: told.new_findings),
        ("That go", lambda told: told.cured),
    )
    for label, of in asked:
        found = [() if column.told is None else of(column.told) for column in columns]
        if any(found):
            cells = [Said("" if advices else SILENT, items=_items(advices), other=bool(advices)) for advices in found]
            yield Line(label, (Said(SILENT), *cells))


def _items(advices: Sequence[Advice]) -> tuple[tuple[str, str], ...]:
    return tuple((advice.weight, advice.new or advice.old) for advice in advices)


def _by_id(*ids: str) -> Callable[[Plan], Cell]:
    """The first of these figures that a plan has."""

    def ask(plan: Plan) -> Cell:
        figure = next((plan.figures[id_] for id_ in ids if id_ in plan.figures), None)
        return Cell(SILENT) if figure is None else Cell(in_currency(text(figure), plan.currency), figure)

    return ask


def _likeliest_loss(plan: Plan) -> Cell:
    """The array that is likeliest lost within the horizon, by the field rates."""
    found = [
        figure for id_, figure in plan.figures.items() if id_.startswith("arrays.") and id_.endswith(".lost-high")
    ]
    worst = max(found, key=lambda figure: figure.value, default=None)
    return Cell(SILENT) if worst is None else Cell(in_currency(text(worst), plan.currency), worst)


MORE: Sequence[tuple[str, str, Callable[[Plan], Cell]]] = (
    ("people", "People at the horizon", _by_id("people.horizon")),
    ("present", "Most people at work in one hour", _by_id("people.peak")),
    ("host", "Server", _by_id("purchase.host", "purchase.host-1")),
    ("cores-needed", "Real cores needed", _by_id("host.cores.needed")),
    ("memory-needed", "Memory needed", _by_id("host.memory.needed")),
    ("storage", "Room for data", _by_id("storage.data.usable", "arrays.bulk.usable")),
    ("loss", "Chance of losing an array, the likeliest, field rates", _likeliest_loss),
    ("battery", "Battery time at the end of its life", _by_id("power.lasts")),
    ("down", "Lines in use, to the office", _by_id("line.down")),
    ("standby", "Lines that stand by, to the office", _by_id("line.standby-down")),
)
