"""Two equal hosts: which machines run where, what the busier one carries, and every part bought twice."""

from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from scantling.figures import Attribute, Levels, Option, Source, method, rule
from scantling.figures.rounding import whole_up
from scantling.figures.units import Count, Quantity, Ratio, Unit, closed

PLACES: Unit[Mapping[str, int]] = closed(dict)
Places = Annotated[Mapping[str, int], PLACES]
LARGEST_FIRST = Source(
    "R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied Mathematics 17, 1969: largest first"
)
ARITHMETIC = Source("arithmetic", "common practice")
PAIR = 2


@method(
    LARGEST_FIRST,
    says="largest first, each onto the host that carries the least so far, the first one where they are equal",
)
def placed(amounts: Mapping[str, Quantity], hosts: Count) -> Places:
    """Which host each machine runs on, counted from one, so that all carry about the same."""
    carried = [0.0] * hosts
    places = {}
    for slug in sorted(amounts, key=lambda slug: (-amounts[slug], slug)):
        host = carried.index(min(carried))
        carried[host] += amounts[slug]
        places[slug] = host + 1
    return {slug: places[slug] for slug in amounts}


@method(ARITHMETIC, says="the amounts of each host's machines added up; the largest sum")
def on_busiest(amounts: Mapping[str, Quantity], places: Mapping[str, Count]) -> Quantity:
    """What the host that carries most of it carries."""
    sums = [
        sum(amount for slug, amount in amounts.items() if places[slug] == host)
        for host in sorted(set(places.values()))
    ]
    return max(sums, default=0)


@method(ARITHMETIC, says="the cores of each host's machines added up; the largest sum")
def most_cores(cores: Mapping[str, Count], places: Mapping[str, Count]) -> Count:
    """Virtual cores on the host that carries most of them."""
    sums = [sum(many for slug, many in cores.items() if places[slug] == host) for host in set(places.values())]
    return max(sums, default=0)


@rule(ARITHMETIC, rises="amount", falls="hosts")
def on_each(amount: Quantity, hosts: Count) -> Quantity:
    """What each of equal hosts has of what is bought for all."""
    return amount / hosts


@rule(ARITHMETIC, rises="amount", falls="hosts")
def whole_on_each(amount: Count, hosts: Count) -> Count:
    """How many whole parts each of equal hosts has of what is bought for all."""
    return whole_up(amount / hosts)


def doubled(option: Option, level: Attribute[Any] | None = None) -> Option:
    """The same option bought for each of two hosts; `level` is a column of sound, which two sources raise together.

    An option without parts stays as it is: nothing twice is nothing.
    """
    if not option.parts:
        return option
    own = dict(option.own)
    if level is not None and (heard := option.get(level)) is not None:
        own[level] = Levels.fold([heard] * PAIR, 0.0)
    return Option(f"{PAIR}x-{option.slug}", tuple((row, count * PAIR) for row, count in option.parts), own)


def doubled_counts(counts: Sequence[int]) -> tuple[int, ...]:
    """So many of each for two hosts."""
    return tuple(count * PAIR for count in counts)


@rule(ARITHMETIC, rises="cores", falls="real")
def crowding(cores: Count, real: Ratio) -> Ratio:
    """Virtual cores that share one real core."""
    return cores / real if real > 0 else 0
