"""Who comes on the busiest day, how long each holds an address, and how many are refused for that, by counting one after the other."""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from ipaddress import IPv4Address

from scantling.figures import Flow, Pool, Series, Visitors
from scantling.figures.units import HOUR
from scantling.handbook.addressing import asks_anybody_after, renewed_after
from scantling.handbook.days import bound_for, held
from scantling.handbook.queues import erlang_b
from scantling.plan.make import Plan

HALF = 0.5
EXACT = 9
"""Digits of an hour that count."""
QUARTER = 0.25
LONG = 8.0
"""A lease that many leave as they find it, hours: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Busy:
    """The busiest day of a plan, as far as addresses go."""

    zone: str
    joining: Series
    """Devices that want an address of their own, by time; those that come back as new ones are counted again."""
    stay: float
    """Hours."""
    pool: int
    first: IPv4Address
    """The first address of the pool."""
    lease: float
    """Hours."""
    straight: bool
    """Whether the rules let a device ask its server straight; else it must wait until it may call to all."""

    def again(self, lease: float) -> float:
        """After how many hours a holder has its lease renewed."""
        return float(renewed_after(lease) if self.straight else asks_anybody_after(lease))

    def hold(self, lease: float) -> float:
        """For how many hours one comer keeps an address from others: until its last renewal, and a lease more."""
        return float(bound_for(self.stay, lease, renewal=self.again(lease) / lease))

    def steady(self, lease: float) -> float:
        """Share refused at the peak by the loss formula."""
        return float(erlang_b(self.pool, max(held(self.joining, self.hold(lease)).values)))

    @property
    def leases(self) -> tuple[float, ...]:
        """The planned lease, and a longer one beside it."""
        return self.lease, (LONG if self.lease < LONG else 2 * self.lease)


def busy(plan: Plan) -> Busy | None:
    """The busiest day; None where nobody visits."""
    pools = {one.slug: one for one in plan.records(Pool)}
    flows = {one.slug for one in plan.records(Flow)}
    for one in plan.records(Visitors):
        pool = pools.get(one.zone)
        if pool is not None:
            joining = plan.figures[f"addresses.{one.slug}.joining"].value
            straight = f"renewals-{one.zone}" in flows
            return Busy(
                one.zone, joining, one.stay.value, int(pool.size.value), pool.first, pool.lease.value, straight
            )
    return None


@dataclass(frozen=True, slots=True, order=True)
class Comer:
    """One device that comes, stays and leaves without a word; hours of the day."""

    arrives: float
    leaves: float
    number: int


def comers(joining: Series, stay: float) -> tuple[Comer, ...]:
    """Whole devices, as many as come in all, evenly within each step."""
    step = joining.step * float(joining.step_unit.scale / HOUR.scale)
    found: list[Comer] = []
    before = 0.0
    for place, many in enumerate(joining.values):
        while many > 0 and len(found) + HALF <= before + many:
            arrives = round((place + (len(found) + HALF - before) / many) * step, EXACT)
            found.append(Comer(arrives, round(arrives + stay, EXACT), len(found)))
        before += many
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Held:
    """One address that was held, hours of the day."""

    since: float
    until: float


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What becomes of a day by counting."""

    refused: int
    held: tuple[Held, ...]


def foreseen(there: Sequence[Comer], pool: int, hold: float) -> Foreseen:
    """Each in turn takes a free address and keeps it for `hold` hours; who finds none goes without."""
    ends: list[float] = []
    taken: list[Held] = []
    refused = 0
    for one in sorted(there):
        while ends and ends[0] <= one.arrives:
            heappop(ends)
        if len(ends) < pool:
            heappush(ends, one.arrives + hold)
            taken.append(Held(one.arrives, one.arrives + hold))
        else:
            refused += 1
    return Foreseen(refused, tuple(taken))


def most(spans: Sequence[Held]) -> int:
    """The largest number at the same time; one that ends just when another begins has ended."""
    steps = sorted([(one.since, 1) for one in spans] + [(one.until, -1) for one in spans])
    now = top = 0
    for _, step in steps:
        now += step
        top = max(top, now)
    return top


def curve(spans: Sequence[Held], first: float, last: float) -> tuple[tuple[float, int], ...]:
    """How many at each quarter of an hour between two hours."""
    found: list[tuple[float, int]] = []
    for quarter in range(int(first / QUARTER), int(last / QUARTER) + 1):
        at = quarter * QUARTER
        found.append((at, sum(one.since <= at < one.until for one in spans)))
    return tuple(found)
