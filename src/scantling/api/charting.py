"""The charts of a plan, as sheets of plain values: load by hour, storage filling, pools on the busiest day, price of demands."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from scantling.api import charting_demands, charting_filling, charting_load, charting_pools
from scantling.figures import Array, Pool
from scantling.figures.numbers import text
from scantling.outputs.drawings.charts.model import Chart, ChartSheet
from scantling.outputs.drawings.charts.sheets import chart_picture, chart_sheet
from scantling.outputs.drawings.model import Phrase, TitleBlock, plain
from scantling.outputs.drawings.paper import LOOKS
from scantling.outputs.drawings.sheet_set import paper, pencilled, planned_for, proof
from scantling.plan.make import Plan
from scantling.plan.weighing import Weighed

WEIGHING = "Not yet weighed. What each demand costs is found by buying again without it, once for every demand: that takes a while."


@dataclass(frozen=True, slots=True)
class Subject:
    """One of the sheets: its name in an address, its letter in the set, its title."""

    slug: str
    letter: str
    title: str


SUBJECTS: Mapping[str, Subject] = {
    one.slug: one
    for one in (
        Subject("load", "S", "Load by the hour"),
        Subject("filling", "S", "Storage filling"),
        Subject("pools", "N", "Addresses held on the busiest day"),
        Subject("demands", "O", "What each demand costs"),
    )
}


def chart_of_load(plan: Plan, number: str = "") -> ChartSheet:
    """Load by hour of an ordinary day and of the busiest one, at the horizon."""
    charts = charting_load.load_charts(plan)
    lacking = [
        "Nobody works here and nobody visits, so nothing changes by the hour.",
        "Write roles under people, or events under visitors, with their days and hours.",
    ]
    return _sheet(plan, "load", number, charts, charting_load.left_out(plan), lacking)


def chart_of_filling(plan: Plan, number: str = "") -> ChartSheet:
    """Each array and each copy month by month to the horizon."""
    charts = charting_filling.filling_charts(plan)
    server = bool(plan.records(Array))
    lacking = [
        "Nothing lies on an array of this office, so nothing fills."
        if server
        else "No server stands here, so there is no array that fills.",
        "Write what the office keeps under data, with a service of this server that keeps it.",
    ]
    return _sheet(plan, "filling", number, charts, charting_filling.left_out(plan), lacking)


def chart_of_pools(plan: Plan, number: str = "") -> ChartSheet:
    """Each lent pool through the visitors' busiest day."""
    charts = charting_pools.pool_charts(plan)
    lacking = [
        "No addresses are lent in this office." if not plan.records(Pool) else "",
        "Write devices without a fixed address under devices, or visitors and their events under visitors.",
    ]
    return _sheet(plan, "pools", number, charts, charting_pools.left_out(plan), lacking)


def chart_of_weighing(plan: Plan, weighed: Weighed | None, number: str = "", *, stale: bool = False) -> ChartSheet:
    """What each demand costs; provisional where it was not yet weighed, or weighed for a plan that has changed since."""
    if weighed is None:
        names = charting_demands.waiting(plan)
        told = [WEIGHING, f"To be weighed: {'; '.join(name.lower() for name in names)}."] if names else [WEIGHING]
        return _sheet(plan, "demands", number, (), (), told)
    notes = list(charting_demands.left_out(weighed))
    if stale:
        notes.insert(0, "Provisional: weighed for the plan as it was before the last change.")
    lacking = ["No demand costs anything: without any one of them the cheapest set is the same."]
    return _sheet(plan, "demands", number, charting_demands.demand_charts(plan, weighed), notes, lacking)


def _unweighed(plan: Plan, number: str = "") -> ChartSheet:
    return chart_of_weighing(plan, None, number)


CHARTS: Mapping[str, Callable[[Plan, str], ChartSheet]] = {
    "load": chart_of_load, "filling": chart_of_filling, "pools": chart_of_pools, "demands": _unweighed,
}  # fmt: skip
"""The sheets by their name; the last one as it stands before anything was weighed."""


def charts(plan: Plan) -> Iterator[ChartSheet]:
    """Every sheet of charts of a plan."""
    for slug, make in CHARTS.items():
        yield make(plan, SUBJECTS[slug].letter)


def drawn(sheet: ChartSheet, look: str = "day") -> str:
    """A sheet of charts as SVG text. Raises KeyError for a look that there is not."""
    return chart_sheet(sheet, LOOKS[look])


def pictures(sheet: ChartSheet, look: str = "day") -> Mapping[str, str]:
    """Each plot of a sheet alone, by its name, as SVG text, for a page that has a frame of its own. Raises KeyError for an unknown look."""
    return {chart.slug: chart_picture(chart, LOOKS[look]) for chart in sheet.charts}


def _sheet(
    plan: Plan, slug: str, number: str, charts: Iterable[Chart], notes: Iterable[str], lacking: Iterable[str]
) -> ChartSheet:  # fmt: skip
    pencil, subject = pencilled(plan), SUBJECTS[slug]
    made = tuple(replace(one, pencil=pencil.telling_of(one.figures & plan.figures.keys())) for one in charts)
    block = TitleBlock(
        text(plan.office.name), subject.title, planned_for(plan), number or subject.letter, "chart", "A", text(plan.office.as_of),
        "scantling", proof=proof(plan), paper=paper(plan),
    )  # fmt: skip
    said: tuple[Phrase, ...] = tuple(plain(note) for note in notes)
    return ChartSheet(slug, subject.letter, block, made, said, () if made else tuple(one for one in lacking if one))
