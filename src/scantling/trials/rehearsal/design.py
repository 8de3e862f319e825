"""Draws the office as it will stand from a plan: its zones, and everything that has a port in them or beyond the lines."""

from collections.abc import Iterator

from scantling.figures import Host, Leg, Pool, text
from scantling.outputs.files.leasing import Served, served
from scantling.plan.make import Plan
from scantling.trials.rehearsal.beyond import outside_names, strangers, ways
from scantling.trials.rehearsal.office import Office, Segment
from scantling.trials.rehearsal.stations import inside


def designed(plan: Plan, *, everyone: bool = False, year: int = 0) -> Office:
    """The office of a plan, `year` years from now; one of each row of devices, or everyone."""
    segments = tuple(_segment(plan, one) for one in served(plan))
    there = ways(plan)
    return Office(
        text(plan.office.name),
        segments,
        there,
        plan.records(Leg),
        (*inside(plan, segments, everyone=everyone, year=year), *strangers(plan)),
        outside_names(plan),
    )


def _segment(plan: Plan, zone: Served) -> Segment:
    asking = zone.asking
    return Segment(
        zone.slug, zone.name, zone.number, zone.interface, zone.subnet, zone.prefix, zone.door(4), zone.door(6), zone.managed,
        _both(zone, "resolvers"), _both(zone, "time_sources"), asking.domain if asking else "",
        any(True for _ in _lent(plan, zone)),
    )  # fmt: skip


def _both(zone: Served, many: str) -> tuple[Host, ...]:
    """Whom devices are told of, in both families."""
    return (*zone.asked(many, 4), *zone.asked(many, 6))


def _lent(plan: Plan, zone: Served) -> Iterator[Pool]:
    return (pool for pool in plan.records(Pool) if pool.first in zone.subnet)
