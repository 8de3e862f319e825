"""The charts of load by hour: people, devices, cores, memory and lines on an ordinary day and on the busiest one."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from scantling.api.charting_days import DAYS, Day, busiest, days_of, ordinary, span
from scantling.api.charting_lineage import amount, made_by, sentence
from scantling.figures import Device, Figure, Hosts, Line, Machine, Rented, total
from scantling.figures.calendar import clock
from scantling.figures.numbers import number, with_unit
from scantling.figures.units import COUNT, GIB, MBIT_PER_S, RATIO
from scantling.handbook.days import STEP_MINUTES, STEPS_A_DAY, whole
from scantling.handbook.lines import busiest_hour
from scantling.handbook.over_time import busy_with
from scantling.handbook.sizing import added, heads_of
from scantling.outputs.drawings.charts.model import Across, Axis, Band, Chart, Level, Series
from scantling.plan.make import Plan

MINUTES, TICK_HOURS, HOURS_A_DAY = 60, 3, 24
WAYS = {"down": "to the office", "up": "from the office"}
Values = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Days:
    """The two days that are drawn; one where all working days are alike."""

    busy: Day
    usual: Day
    every: bool
    """Whether all days on which anybody is there are alike."""

    @property
    def alike(self) -> bool:
        """Whether one line shows both."""
        return self.busy.alike == self.usual.alike

    @property
    def busiest(self) -> str:
        """What the busiest day is called on its line."""
        same = ", and an ordinary day" if self.alike else ""
        return "every working day" if self.every else f"{self.busy.name}, busiest{same}"

    @property
    def quarters(self) -> bool:
        """Whether anything changes within an hour: visitors come by the quarter, people at work by the hour."""
        return any(any(day.guests) or any(day.joined) for day in (self.busy, self.usual))

    @property
    def across(self) -> Across:
        """The hours of a day from left to right."""
        each = 1 if self.quarters else MINUTES // STEP_MINUTES
        places = range(0, STEPS_A_DAY, each)
        said = tuple(span(place) if each == 1 else f"{clock(place * STEP_MINUTES)} to {_clock_after(place)}" for place in places)
        at = tuple(place * STEP_MINUTES / MINUTES for place in places)
        ticks = tuple((float(hour), f"{hour}:00") for hour in range(0, HOURS_A_DAY + 1, TICK_HOURS))
        return Across(Axis("hour of the day"), at, said, ticks, float(HOURS_A_DAY))

    def thinned(self, values: Values) -> Values:
        """Of quarters, those that are drawn."""
        return values if self.quarters else values[:: MINUTES // STEP_MINUTES]

    def both(self, of: Callable[[Day], Values], figure: str = "") -> tuple[Series, ...]:
        """A line for each of the two days."""
        busy = self.thinned(of(self.busy))
        first = Series(self.busiest, busy, figure=figure)
        if self.alike:
            return (first,)
        return first, Series(f"{self.usual.name}, ordinary", self.thinned(of(self.usual)), "dashed")


def _clock_after(place: int) -> str:
    return clock((place + MINUTES // STEP_MINUTES) * STEP_MINUTES)


def two_days(plan: Plan) -> Days | None:
    """The ordinary and the busiest day of a plan; None where nobody is ever there."""
    days = days_of(plan)
    used = [day for day in days if any(day.people)]
    if not used:
        return None
    busy, usual = busiest(used), ordinary(used)
    return Days(busy, usual, all(day.alike == busy.alike for day in used))


def load_charts(plan: Plan) -> Iterator[Chart]:
    """Everything that the plan knows, or lets be reckoned, hour by hour."""
    days = two_days(plan)
    if days is None:
        return
    yield _people(plan, days)
    yield _devices(plan, days)
    if plan.records(Machine) and plan.purchase.chosen.has("host"):
        yield _cores(plan, days)
        yield _memory(plan, days)
    if plan.records(Line):
        for way in WAYS:
            yield from _line(plan, days, way)


def _most(values: Values, days: Days) -> str:
    """When the largest value is reached, in words."""
    place = values.index(max(values))
    return days.across.said[place].partition(" ")[0]


def _people(plan: Plan, days: Days) -> Chart:
    known = plan.figures.get("people.present")
    whole_week = max(known.value.values, default=0.0) if known is not None else 0.0
    linked = "people.present" if not any(days.busy.guests) and max(days.busy.staff) == whole_week else ""
    series = list(days.both(lambda day: day.people, linked))
    if any(days.busy.guests):
        at_work = days.thinned(days.busy.staff)
        series.insert(1, Series("of them at work", at_work, "thin", "people.present" if max(at_work) == whole_week else ""))
    first = series[0]
    visitors = ", visitors among them" if any(days.busy.guests) else " at work"
    told = sentence(
        "At most {most} people{visitors}, first at {time} on {day}.",
        most=number(max(first.values)), visitors=visitors, time=_most(first.values, days), day=_which(days),
    )  # fmt: skip
    return Chart("people", "People there", days.across, Axis("people"), tuple(series), told)


def _which(days: Days) -> str:
    return "every working day" if days.every else f"a {days.busy.name}"


def _devices(plan: Plan, days: Days) -> Chart:
    """The office's own devices as one amount, visitors' on top of them."""
    own = total({one.slug: one.count for one in plan.records(Device)}, COUNT)
    count = float(own.value)
    series = days.both(lambda day: tuple(count + joined for joined in day.joined))
    told = sentence(
        "{count} devices of the office, taken as always on: the plan does not know who switches off what. {visitors}",
        count=number(int(count)),
        visitors="Visitors' devices come on top." if days.quarters else "No visitors' devices come on top on these days.",
    )
    band = Band("the office's own, always on", 0.0, count)
    return Chart("devices", "Devices on the network", days.across, Axis("devices"), series, told, bands=(band,) if count else ())


def _cores(plan: Plan, days: Days) -> Chart:
    figures, chosen = plan.figures, plan.purchase.chosen
    pair = next(iter(plan.records(Hosts)), None)
    busy = amount(pair.busy if pair is not None else figures["host.cores.busy"], RATIO)
    heads = int(figures["people.horizon"].value) if "people.horizon" in figures else 0
    bought, needed = chosen.met("host.cores.bought"), figures["host.cores.needed"]
    series = days.both(lambda day: tuple(busy_with(busy, staff, heads) for staff in day.staff))
    told = sentence(
        "Kept busy on average: {most} of {bought} cores at most, where service times are known. {needed} are needed: machines share "
        "cores and must not wait.", most=number(max(series[0].values)), bought=bought, needed=needed,
    )  # fmt: skip
    levels = (
        Level("bought", float(bought.value), _id(bought, "host.cores.bought", plan), "heavy"),
        Level("needed by the plan", float(needed.value), needed.id, "dashed"),
    )
    return Chart("cores", f"Cores busy{_each(pair)}", days.across, Axis("cores"), series, told, levels)


def _each(pair: Hosts | None) -> str:
    return ", the server that carries more" if pair is not None else ""


def _id(figure: Figure[Any], demand: str, plan: Plan) -> str:
    """The figure's id where the plan knows it."""
    return next((id_ for id_ in (figure.id, demand) if id_ in plan.figures), "")


def _memory(plan: Plan, days: Days) -> Chart:
    figures, chosen = plan.figures, plan.purchase.chosen
    pair = next(iter(plan.records(Hosts)), None)
    host, bought = figures["host.memory.host"], chosen.met("host.memory.bought")
    expected = pair.expected if pair is not None else figures["host.memory.expected"]
    settled = amount(added.of(one=expected, other=host), GIB)
    start, own = figures["host.memory.start"], amount(host, GIB)
    flat = tuple(settled for _ in days.across.at)
    told = sentence(
        "The plan knows memory only as a level, not by the hour: machines take what they need and keep it. They settle at {settled} "
        "with the host's own; {bought} are bought.", settled=with_unit(settled, GIB.symbol), bought=bought,
    )  # fmt: skip
    levels = (
        Level("bought", amount(bought, GIB), _id(bought, "host.memory.bought", plan), "heavy"),
        Level("at cold start", amount(start, GIB), start.id, "dashed"),
    )
    band = Band("the host's own", 0.0, own, host.id)
    series = (Series("expected, known as a level only", flat),)
    return Chart("memory", f"Memory in use{_each(pair)}", days.across, Axis("memory", "GiB"), series, told, levels, (band,))


def _line(plan: Plan, days: Days, way: str) -> Iterator[Chart]:
    """The rule of the busiest hour, asked for every hour; what is known as a peak only stands at the bottom."""
    plan_peak = plan.figures[f"line.{way}-needed"]
    found = made_by(plan_peak, busiest_hour)
    if found is None:
        return
    given = found.inputs
    person, visitor = amount(given["person"], MBIT_PER_S), amount(given["visitor"], MBIT_PER_S)
    calls, call = int(given["calls"].value), amount(given["call"], MBIT_PER_S)
    rented = sum(amount(getattr(one, way), MBIT_PER_S) for one in plan.records(Rented))
    remote = amount(plan.figures["line.up-remote"], MBIT_PER_S) if way == "up" else 0.0
    share = _active(plan)
    base = busiest_hour(0, person, 0, visitor, calls, call) + rented + remote

    def used(day: Day) -> Values:
        pairs = zip(day.staff, day.joined, strict=True)
        return tuple(busiest_hour(whole(at), person, heads_of(joined, share), visitor, 0, call) + base for at, joined in pairs)

    have = plan.figures[f"line.{way}"]
    known = plan.figures["line.up-together"] if remote else plan_peak
    levels = (
        Level("lines in use", amount(have, MBIT_PER_S), have.id, "heavy"),
        Level("the plan's busiest hour", amount(known, MBIT_PER_S), known.id, "dashed"),
    )
    kinds = _kinds(calls, rented, remote)
    band = Band(f"{kinds}, known at their most only", 0.0, base) if base else None
    told = sentence(
        "Of {have} {way}. The plan's busiest hour takes people and visitors at their most together: {known}.{fixed}",
        have=have, way=WAYS[way], known=known,
        fixed=f" Counted in at all hours: {kinds}, {with_unit(base, MBIT_PER_S.symbol)}." if base else "",
    )  # fmt: skip
    axis, series = Axis(f"speed {WAYS[way]}", "Mbit/s"), days.both(used)
    yield Chart(
        f"line-{way}", f"Line use, {WAYS[way]}", days.across, axis, series, told, levels, (band,) if band is not None else ()
    )


def _kinds(calls: int, rented: float, remote: float) -> str:
    kinds = (("calls", calls), ("rented services", rented), ("people elsewhere", remote))
    return ", ".join(name for name, many in kinds if many)


def _active(plan: Plan) -> float:
    """Which share of visitors' devices uses the line at the same time; nought where none come."""
    active = made_by(plan.figures.get("people.visitors.active"), heads_of)
    return amount(active.inputs["share"], RATIO) if active is not None else 0.0


def left_out(plan: Plan) -> Iterator[str]:
    """What the charts of load do not show, and how they were reckoned, one sentence each."""
    days = two_days(plan)
    if days is None:
        return
    yield "People as many as at the horizon; a day repeats itself, so that who stays past midnight is there in the morning."
    if plan.records(Machine):
        silent = [one.slug for one in plan.records(Machine) if not float(one.busy.value)]
        yield "Cores: as many requests as there are people at work (Little's law), each with the service time of its profile."
        if silent:
            yield f"Left out of busy cores, since no service time is known: {', '.join(silent)}."
    if not plan.records(Line):
        yield "The brief has no lines, so there is no chart of them."
    for way in WAYS if plan.records(Line) else ():
        if made_by(plan.figures.get(f"line.{way}-needed"), busiest_hour) is None:
            yield f"The speed needed {WAYS[way]} was set by hand: how it changes by the hour is not known."
    elsewhere = plan.figures.get("people.visitors.day")
    if elsewhere is not None and days.busy.place not in elsewhere.value.days:
        yield f"Most visitors come on a {DAYS[elsewhere.value.days[0]]}; more people are there at once on the busiest day drawn here."
