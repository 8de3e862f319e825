"""The charts of storage: how each array and each copy fills month by month to the horizon, and the month in which it is full."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from scantling.api.charting_lineage import amount, made_by, month_after, sentence
from scantling.figures import Array, Copy, Dataset, Figure, Source, Volume, standard
from scantling.figures.numbers import text, with_unit
from scantling.figures.units import DAILY, RATIO, SHARE, TB, YEAR, YEARLY, TB_PER_YEAR
from scantling.handbook.arrays import MOST_MONTHS, room_needed
from scantling.handbook.copies import counted, repository, stored
from scantling.handbook.over_time import array_full_in, fillable
from scantling.handbook.sizing import changed_a_day, grown_data, with_headroom
from scantling.outputs.drawings.charts.model import Across, Axis, Chart, Level, Moment, Series
from scantling.plan.make import Plan

MONTHS_A_YEAR = 12
CALENDAR = Source("a year of twelve months", "common practice")
MOST_BODIES, MOST_NARROW = 5, 3
"""More bodies of data than this are drawn as one line: the smallest of them; more lines than this want a plot as wide as the sheet."""


@dataclass(frozen=True, slots=True)
class Body:
    """What lies on an array: how large it is in any month, and how it grows, where that is known."""

    slug: str
    name: str
    now: Figure[float]
    horizon: Figure[float]
    growth: Figure[Any] | None = None

    def size(self, month: int, months: int) -> float:
        """In TB; where its growth was set by hand, on a straight line to the horizon."""
        if self.growth is not None:
            years = standard(month / MONTHS_A_YEAR, YEAR, CALENDAR, f"{month} months")
            given = {name: self.growth.inputs[name] for name in ("size", "growth", "adds")}
            return float(grown_data.of(**given, years=years).value)
        now, then = amount(self.now, TB), amount(self.horizon, TB)
        return now + (then - now) * month / months

    def rate(self, name: str) -> float:
        """How fast it grows, `growth` a year as a share or `adds` in TB a year; on a straight line nothing is known of it."""
        unit = YEARLY if name == "growth" else TB_PER_YEAR
        return amount(self.growth.inputs[name], unit) if self.growth is not None else 0.0


def months_of(plan: Plan) -> int:
    """Whole months to the horizon."""
    return max(1, round(amount(plan.office.horizon, YEAR) * MONTHS_A_YEAR))


def across(plan: Plan) -> Across:
    """The months to the horizon from left to right."""
    start: date = plan.office.as_of.value
    months = months_of(plan)
    said = tuple(
        f"{month_after(start, month)}, month {month}" if month else f"{month_after(start, 0)}, today"
        for month in range(months + 1)
    )
    ticks = tuple(
        (float(month), month_after(start, month)[:3] + month_after(start, month)[-5:])
        for month in range(0, months + 1, MONTHS_A_YEAR)
    )
    return Across(Axis("month"), tuple(map(float, range(months + 1))), said, ticks, float(months))


def filling_charts(plan: Plan) -> Iterator[Chart]:
    """One chart for each array that fills, the wide ones first as on the sheet, one for each copy."""
    arrays = [(array, bodies) for array in plan.records(Array) if (bodies := bodies_on(plan, array.slug))]
    charts = [_array(plan, array, bodies) for array, bodies in arrays]
    charts = [replace(one, wide=len(charts) == 1 or len(one.series) > MOST_NARROW) for one in charts]
    yield from sorted(charts, key=lambda one: not one.wide)
    for copy in plan.records(Copy):
        chart = _copy(plan, copy)
        if chart is not None:
            yield chart


def bodies_on(plan: Plan, array: str) -> tuple[Body, ...]:
    """Everything that lies on an array: bodies of data with their growth, systems as they are."""
    data = {one.slug: one for one in plan.records(Dataset)}
    found = []
    for volume in plan.records(Volume):
        if volume.array == array:
            body = data.get(volume.slug)
            grown = made_by(body.horizon, grown_data) if body is not None and body.name == volume.name else None
            found.append(Body(f"{volume.slug} {volume.name}", volume.name, volume.now, volume.horizon, grown))
    return tuple(found)


def _array(plan: Plan, array: Array, bodies: Sequence[Body]) -> Chart:
    months = months_of(plan)
    sizes = {body.slug: [body.size(month, months) for month in range(months + 1)] for body in bodies}
    whole = tuple(map(sum, zip(*sizes.values(), strict=True)))
    full, usable = full_in(bodies, array.usable), amount(array.usable, TB)
    levels = [Level("room", usable, array.usable.id, "heavy")]
    floor = _floor(plan)
    if floor is not None:
        levels.append(
            Level(f"fill to here, {text(floor)} stays free", fillable(usable, amount(floor, SHARE)), "", "dashed")
        )
    series = (Series(f"{array.name}, filled", whole, figure=array.filled_horizon.id), *_parts(bodies, sizes))
    moments = (Moment(float(full), f"full in {_month(plan, full)}"),) if full <= months else ()
    told = sentence(
        "{now} today, {then} at the horizon, of {room}. {when}",
        now=array.filled_now, then=array.filled_horizon, room=array.usable, when=_when(plan, full),
    )  # fmt: skip
    return Chart(
        f"array-{array.slug}",
        array.name,
        across(plan),
        Axis("filled", "TB"),
        series,
        told,
        tuple(levels),
        moments=moments,
        stepped=False,
    )


def _parts(bodies: Sequence[Body], sizes: Mapping[str, Sequence[float]]) -> Iterator[Series]:
    """A line for each of the largest bodies of data, one for all the rest."""
    ordered = sorted(bodies, key=lambda body: -sizes[body.slug][-1])
    growing = [body for body in ordered if body.now is not body.horizon]
    shown = growing[
        : MOST_BODIES if len(growing) <= MOST_BODIES and len(growing) == len(ordered) else MOST_BODIES - 1
    ]
    rest = [body for body in ordered if body not in shown]
    if len(bodies) == 1:
        return
    for body in shown:
        yield Series(body.name, tuple(sizes[body.slug]), "thin", body.horizon.id)
    if rest:
        systems = all(body.now is body.horizon for body in rest)
        name = rest[0].name if len(rest) == 1 else f"{len(rest)} systems" if systems else f"{len(rest)} more"
        yield Series(name, tuple(map(sum, zip(*(sizes[body.slug] for body in rest), strict=True))), "thin")


def full_in(bodies: Sequence[Body], room: Figure[float]) -> int:
    """Months until an array is full, as the handbook counts them; 120: not within ten years."""
    found = array_full_in(
        {body.slug: body.size(0, 1) for body in bodies},
        {body.slug: body.rate("growth") for body in bodies},
        {body.slug: body.rate("adds") for body in bodies},
        amount(room, TB),
    )
    return int(found)


def _month(plan: Plan, months: int) -> str:
    return month_after(plan.office.as_of.value, months)


def _when(plan: Plan, months: int) -> str:
    """When it is full, in words."""
    if months >= MOST_MONTHS:
        return "Not full within ten years."
    if months == 0:
        return "It is full today."
    beyond = ", after the horizon" if months > months_of(plan) else ""
    return f"Full in {_month(plan, months)}, month {months}{beyond}."


def _floor(plan: Plan) -> Figure[Any] | None:
    """The share that is to stay free, as the rooms of the bodies of data were reckoned with."""
    made = (made_by(body.room, room_needed) for body in plan.records(Dataset))
    return next((one.inputs["free"] for one in made if one is not None), None)


def _copy(plan: Plan, copy: Copy) -> Chart | None:
    """A copy's room month by month, every copy that is to be kept counted from the first month."""
    whole = made_by(copy.needed, with_headroom)
    rule = repository if copy.needed.id == "backup.repository.needed" else stored
    parts = dict(whole.inputs["amount"].inputs) if whole is not None else {}
    made = {slug: made_by(part, rule) for slug, part in parts.items()}
    if whole is None or not made or any(one is None for one in made.values()):
        return None
    months, headroom = months_of(plan), 1 + amount(whole.inputs["headroom"], RATIO)
    bodies = {body.slug: body for body in plan.records(Dataset)}
    values = tuple(
        headroom * sum(_kept(bodies.get(slug), one, month, months) for slug, one in made.items() if one is not None)
        for month in range(months + 1)
    )
    have = amount(copy.capacity, TB)
    full = next((month for month, value in enumerate(values) if value > have), None)
    series = (Series("room that copies take", values, figure=copy.needed.id),)
    moments = (Moment(float(full), f"full in {_month(plan, full)}"),) if full is not None else ()
    until = f"Full in {_month(plan, full)}, month {full}." if full is not None else "Not full before the horizon."
    told = sentence(
        "{now} today, {then} at the horizon, of {room}. {until}",
        now=with_unit(values[0], TB.symbol), then=copy.needed, room=copy.capacity, until=until,
    )  # fmt: skip
    levels = (Level("room", have, copy.capacity.id, "heavy"),)
    title = f"{'Copy elsewhere' if copy.off_site else 'Copy at hand'}: {copy.name}"
    return Chart(
        f"copy-{copy.slug}",
        title,
        across(plan),
        Axis("taken", "TB"),
        series,
        told,
        levels,
        moments=moments,
        stepped=False,
    )


def _kept(body: Dataset | None, made: Figure[Any], month: int, months: int) -> float:
    """Room that the copies of one body of data take in a month; the systems' stay as they are."""
    if body is None:
        return amount(made, TB)
    size = Body(body.slug, body.name, body.size, body.horizon, made_by(body.horizon, grown_data)).size(month, months)
    full = counted(size, bool(body.copied.value))
    compression = amount(made.inputs["compression"], RATIO)
    if made.how is stored or "daily" not in made.inputs:
        return float(stored(full, compression))
    daily = counted(changed_a_day(size, amount(body.change, DAILY)), bool(body.copied.value))
    kept = (int(made.inputs[name].value) for name in ("days", "weeks", "months"))
    days, weeks, ages = kept
    return float(repository(full, daily, days, weeks, ages, compression))


def left_out(plan: Plan) -> Iterator[str]:
    """How the filling was reckoned, and what it does not show, one sentence each."""
    if not any(bodies_on(plan, array.slug) for array in plan.records(Array)):
        return
    yield "Data grow at their yearly rate, spread evenly over the months; what is added each year comes in equal parts."
    yield "Snapshots are not drawn: the room that the plan sets aside for them lies above the filled line."
    yield "Copies are drawn as if every copy that is to be kept were there from the first month."
    if any(array.slug == "boot" for array in plan.records(Array)):
        yield "The boot disks do not fill, so they have no chart."
    by_hand = [body.name for body in plan.records(Dataset) if made_by(body.horizon, grown_data) is None]
    if by_hand:
        yield f"Size at the horizon set by hand, drawn as a straight line: {', '.join(by_hand)}."
