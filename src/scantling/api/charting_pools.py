"""The charts of lent addresses: how many of each pool are held, quarter hour by quarter hour of the visitors' busiest day."""

from collections.abc import Iterator, Sequence
from functools import cache

from scantling.api.charting_days import DAYS, Day, Days
from scantling.api.charting_lineage import amount, made_by, sentence
from scantling.figures import Pool, Visitors, Zone
from scantling.figures.numbers import counted, expected, number
from scantling.figures.units import RATIO
from scantling.handbook.days import STEPS_A_DAY
from scantling.handbook.queues import erlang_b, smallest_pool_by_tail
from scantling.outputs.drawings.charts.model import Axis, Band, Chart, Level, Series
from scantling.outputs.drawings.model import Phrase, Text
from scantling.plan.make import Plan

NOTHING = (0.0,) * STEPS_A_DAY
SELDOM = 0.01
"""Where the measure itself was set by hand: common practice, no source."""
WORTH_SAYING = 0.0005
"""A share turned away that is smaller than this is not read out."""


def pool_charts(plan: Plan) -> Iterator[Chart]:
    """One chart for each zone that lends addresses; those that visitors join first."""
    guests = {one.zone: one for one in plan.records(Visitors)}
    pools = list({id(one.size): one for one in plan.records(Pool)}.values())
    for pool in sorted(pools, key=lambda one: zone_of(plan, one) not in guests):
        yield _pool(plan, pool, guests.get(zone_of(plan, pool)))


def zone_of(plan: Plan, pool: Pool) -> str:
    """The zone that a pool is lent in: a pool in several runs bears its zone's name first."""
    zones = [
        zone.slug for zone in plan.records(Zone) if pool.slug == zone.slug or pool.slug.startswith(f"{zone.slug}-")
    ]
    return max(zones, key=len, default=pool.slug)


def _name(plan: Plan, slug: str) -> str:
    return next((zone.name for zone in plan.records(Zone) if zone.slug == slug), slug)


def taken_by(plan: Plan, guest: Visitors | None) -> tuple[float, ...]:
    """Visitors' addresses through the busiest day, the plan's own figure."""
    figure = plan.figures.get(f"addresses.{guest.slug}.taken") if guest is not None else None
    return figure.value.values if figure is not None else NOTHING


def _pool(plan: Plan, pool: Pool, guest: Visitors | None) -> Chart:
    taken, zone = taken_by(plan, guest), zone_of(plan, pool)
    hours = _hours(Day(0, NOTHING, taken if guest is not None else NOTHING, NOTHING))
    devices = float(pool.peak.inputs["devices"].value) if "devices" in pool.peak.inputs else 0.0
    held = tuple(devices + one for one in taken)
    size = float(pool.size.value)
    levels = (Level("addresses to lend", size, pool.size.id, "heavy"),)
    if guest is None:
        told = sentence(
            "{devices}, each taken to keep its address all day, of {size} addresses to lend. Lent for {lease}.",
            devices=counted(int(devices), "device"), size=pool.size, lease=pool.lease,
        )  # fmt: skip
        series = (Series("held, known as one number", hours.thinned(held)),)
        return Chart(
            f"pool-{zone}", _name(plan, zone), hours.across, Axis("addresses", things=True), series, told, levels
        )
    words = tuple(_said(plan, guest, devices, one) for one in hours.thinned(taken))
    cautious = tuple(devices + _cautious(one, _refusals(plan, guest)) for one in taken)
    linked = [f"addresses.{guest.slug}.{name}" if not devices else "" for name in ("peak", "cautious")]
    both = (
        Series("held, expected", hours.thinned(held), "heavy", linked[0], words),
        Series("by the cautious measure", hours.thinned(cautious), "dashed", linked[1]),
    )
    band = (Band("the office's own devices", 0.0, devices),) if devices else ()
    return Chart(
        f"pool-{zone}",
        _name(plan, zone),
        hours.across,
        Axis("addresses", things=True),
        both,
        _told(plan, guest, pool),
        levels,
        band,
        wide=True,
    )


def _hours(day: Day) -> Days:
    return Days(day, day, every=True)


def _said(plan: Plan, guest: Visitors, devices: float, taken: float) -> str:
    """How many are held at one time, and which share of those who come is then turned away."""
    refused = erlang_b(int(plan.figures[f"addresses.{guest.slug}.pool"].value), taken)
    away = f", {number(100 * refused)} % turned away" if refused >= WORTH_SAYING else ""
    return f"{expected(devices + taken)}{away}"


@cache
def _cautious(mean: float, refusals: float) -> int:
    return int(smallest_pool_by_tail(mean, refusals)) if mean > 0 else 0


def _refusals(plan: Plan, guest: Visitors) -> float:
    """The share of those who come that may be turned away, as the plan holds it."""
    cautious = made_by(plan.figures[f"addresses.{guest.slug}.cautious"], smallest_pool_by_tail)
    return amount(cautious.inputs["refusals"], RATIO) if cautious is not None else SELDOM


def _told(plan: Plan, guest: Visitors, pool: Pool) -> Phrase:
    peak, hold, refused = (plan.figures[f"addresses.{guest.slug}.{name}"] for name in ("peak", "hold", "refused"))
    return sentence(
        "{peak} held by visitors at the peak, {size} to lend, each for {lease}; a visitor's stays taken for {hold}. Turned away then: "
        "{refused} by the loss formula.",
        peak=peak, size=pool.size, lease=pool.lease, hold=hold, refused=Text(f"{number(100 * refused.value)} %", refused.id),
    )  # fmt: skip


def day_name(plan: Plan) -> str:
    """The visitors' busiest day of the week; empty where nobody visits."""
    figure = plan.figures.get("people.visitors.day")
    days: Sequence[int] = figure.value.days if figure is not None else ()
    return DAYS[days[0]] if days else ""


def left_out(plan: Plan) -> Iterator[str]:
    """How the pools were reckoned, and what they do not show, one sentence each."""
    if not plan.records(Pool):
        return
    day = day_name(plan)
    if day:
        yield f"{day}, the busiest day of visitors, as if every event were full and the day repeated itself."
        yield (
            "Held, expected: who came within the time an address stays taken, devices that come back as new ones counted again. "
            "Chance moves the number up and down: the cautious measure is what would be passed only as seldom as the plan allows, "
            "were nobody ever turned away."
        )
        yield "The rehearsal lives the same day with a real address server; it ends with the day, and does not repeat it."
    else:
        yield "No visitors are in the brief: what is lent is known as one number a zone, not by the hour."
    if len({id(one.size) for one in plan.records(Pool)}) > 1 and day:
        yield "The office's own devices are taken to keep their addresses all day: known as one number, not by the hour."
