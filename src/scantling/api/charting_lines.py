"""The charts of line use by hour: the rule of the busiest hour, asked for every hour of the day."""

from collections.abc import Iterator
from dataclasses import dataclass

from scantling.api.charting_days import Day, Days, Values
from scantling.api.charting_lineage import amount, made_by, sentence
from scantling.figures import Line, Rented
from scantling.figures.numbers import with_unit
from scantling.figures.units import MBIT_PER_S, RATIO
from scantling.handbook.days import whole
from scantling.handbook.lines import busiest_hour
from scantling.handbook.sizing import heads_of
from scantling.outputs.drawings.charts.model import Axis, Band, Chart, Level
from scantling.plan.make import Plan

WAYS = {"down": "to the office", "up": "from the office"}


@dataclass(frozen=True, slots=True)
class Wants:
    """What each wants of the line, in Mbit/s, as the plan reckoned its busiest hour."""

    person: float
    visitor: float
    active: float
    """Share of visitors' devices that use the line at the same time."""
    fixed: float
    """Known at its most only, and counted in at all hours."""
    kinds: str
    """What that is, in words."""

    def used(self, day: Day) -> Values:
        """Through a day, quarter hour by quarter hour."""
        pairs = zip(day.staff, day.joined, strict=True)
        return tuple(
            busiest_hour(whole(at), self.person, heads_of(whole(joined), self.active), self.visitor, 0, 0)
            + self.fixed
            for at, joined in pairs
        )


def line_charts(plan: Plan, days: Days) -> Iterator[Chart]:
    """One chart for each way, unless its peak was set by hand."""
    for way in WAYS:
        wants = wanted(plan, way)
        if wants is not None:
            yield _line(plan, days, way, wants)


def wanted(plan: Plan, way: str) -> Wants | None:
    """What the plan counts for one way, `down` or `up`; None where that was set by hand."""
    found = made_by(plan.figures.get(f"line.{way}-needed"), busiest_hour)
    if found is None:
        return None
    given = found.inputs
    calls = int(given["calls"].value)
    rented = sum(amount(getattr(one, way), MBIT_PER_S) for one in plan.records(Rented))
    remote = _remote(plan, way)
    fixed = busiest_hour(0, 0, 0, 0, calls, amount(given["call"], MBIT_PER_S)) + rented + remote
    kinds = (("calls", calls), ("rented services", rented), ("people elsewhere", remote))
    person, visitor = amount(given["person"], MBIT_PER_S), amount(given["visitor"], MBIT_PER_S)
    return Wants(person, visitor, _active(plan), fixed, ", ".join(name for name, many in kinds if many))


def _remote(plan: Plan, way: str) -> float:
    """What people who work from elsewhere fetch: it leaves the office."""
    return amount(plan.figures["line.up-remote"], MBIT_PER_S) if way == "up" else 0.0


def _active(plan: Plan) -> float:
    """Which share of visitors' devices uses the line at the same time; nought where none come."""
    active = made_by(plan.figures.get("people.visitors.active"), heads_of)
    return amount(active.inputs["share"], RATIO) if active is not None else 0.0


def _line(plan: Plan, days: Days, way: str, wants: Wants) -> Chart:
    have = plan.figures[f"line.{way}"]
    known = plan.figures["line.up-together" if _remote(plan, way) else f"line.{way}-needed"]
    levels = (
        Level("lines in use", amount(have, MBIT_PER_S), have.id, "heavy"),
        Level("the plan's busiest hour", amount(known, MBIT_PER_S), known.id, "dashed"),
    )
    bands = (Band(f"{wants.kinds}, known at their most only", 0.0, wants.fixed),) if wants.fixed else ()
    told = sentence(
        "Of {have} {way}. The plan's busiest hour takes people and visitors at their most together: {known}.{fixed}",
        have=have, way=WAYS[way], known=known,
        fixed=f" Counted in at all hours: {wants.kinds}, {with_unit(wants.fixed, MBIT_PER_S.symbol)}." if wants.fixed else "",
    )  # fmt: skip
    axis, series = Axis(f"speed {WAYS[way]}", MBIT_PER_S.symbol), days.both(wants.used)
    return Chart(f"line-{way}", f"Line use, {WAYS[way]}", days.across, axis, series, told, levels, bands)


def by_hand(plan: Plan) -> Iterator[str]:
    """Which speeds were set by hand, so that nothing is known of them by the hour."""
    for way in WAYS if plan.records(Line) else ():
        if wanted(plan, way) is None:
            yield f"The speed needed {WAYS[way]} was set by hand: how it changes by the hour is not known."
