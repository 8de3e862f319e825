"""The charts of load by hour: people, devices, cores, memory and lines on an ordinary day and on the busiest one."""

from collections.abc import Iterator
from typing import Any

from scantling.api.charting_days import DAYS, Days, Values, two_days
from scantling.api.charting_lineage import amount, sentence
from scantling.api.charting_lines import by_hand, line_charts
from scantling.figures import Device, Figure, Hosts, Line, Machine, total
from scantling.figures.numbers import counted, expected, number, with_unit
from scantling.figures.units import COUNT, GIB, RATIO
from scantling.handbook.over_time import busy_with
from scantling.handbook.sizing import added
from scantling.outputs.drawings.charts.model import Axis, Band, Chart, Level, Series
from scantling.plan.make import Plan


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
        yield from line_charts(plan, days)


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
        series.insert(
            1, Series("of them at work", at_work, "thin", "people.present" if max(at_work) == whole_week else "")
        )
    first = series[0]
    visitors = ", visitors among them," if any(days.busy.guests) else " at work"
    told = sentence(
        "{most} {people}{visitors} at most, first at {time} on {day}.",
        most=expected(max(first.values)).capitalize(), people="person" if max(first.values) == 1 else "people", visitors=visitors,
        time=_most(first.values, days), day=_which(days),
    )  # fmt: skip
    return Chart("people", "People there", days.across, Axis("people", things=True), tuple(series), told)


def _which(days: Days) -> str:
    return "every working day" if days.every else f"a {days.busy.name}"


def _devices(plan: Plan, days: Days) -> Chart:
    """The office's own devices as one amount, visitors' on top of them."""
    own = total({one.slug: one.count for one in plan.records(Device)}, COUNT)
    count = float(own.value)
    series = days.both(lambda day: tuple(count + joined for joined in day.joined))
    told = sentence(
        "{count} of the office, taken as always on: the plan does not know who switches off what. {visitors}",
        count=counted(int(count), "device"),
        visitors="Visitors' devices come on top."
        if days.quarters
        else "No visitors' devices come on top on these days.",
    )
    band = Band("the office's own, always on", 0.0, count)
    return Chart(
        "devices",
        "Devices on the network",
        days.across,
        Axis("devices", things=True),
        series,
        told,
        bands=(band,) if count else (),
    )


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
    return Chart(
        "memory", f"Memory in use{_each(pair)}", days.across, Axis("memory", "GiB"), series, told, levels, (band,)
    )


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
    yield from by_hand(plan)
    elsewhere = plan.figures.get("people.visitors.day")
    if elsewhere is not None and days.busy.place not in elsewhere.value.days:
        yield f"Most visitors come on a {DAYS[elsewhere.value.days[0]]}; more people are there at once on the busiest day drawn here."
