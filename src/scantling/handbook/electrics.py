"""Power: load, battery run time, volt-amperes, heat, circuits.

Every result only decides when to warn; local code and licensed electricians decide what is built.
"""

from math import exp, log

from scantling.figures import Source, method, rule
from scantling.figures.units import (
    Amperes, BtuPerHour, Count, Minutes, Percent, Ratio, Truth, VoltAmperes, Volts, Watts,
)  # fmt: skip

PEUKERT = Source(
    "Peukert 1897: discharge time falls faster than the load rises; between the maker's points on log-log axes"
)
FACTOR = Source("W = VA × power factor")
HEAT = Source("all electrical power in a room becomes heat; 1 W = 3.412 BTU/h")
CODE = Source(
    "80 % of a circuit's rating for continuous load: US National Electrical Code 210.19(A)(1); elsewhere a planning margin"
)
HABIT = Source("common practice, no source", "common practice")
SHARES = (0.25, 0.5, 0.75, 1.0)
LEAST_SHARE = 0.01


@rule(HABIT, rises="bought standing")
def load(bought: Watts, standing: Watts) -> Watts:
    """Power of what is bought and of what stands beside it."""
    return bought + standing


def _between(share: float, times: tuple[float, float, float, float]) -> float:
    """Run time at a share of the rating, straight on log-log axes between the points.

    Below a quarter the energy is taken as constant: the unit's own losses eat what a lighter load would gain.
    """
    if share < SHARES[0]:
        return times[0] * SHARES[0] / share
    place = next((i for i in range(1, len(SHARES)) if share <= SHARES[i]), len(SHARES) - 1)
    low, high = SHARES[place - 1], SHARES[place]
    slope = (log(times[place]) - log(times[place - 1])) / (log(high) - log(low))
    return exp(log(times[place - 1]) + slope * (log(share) - log(low)))


@method(
    PEUKERT, says="the maker's run times at a quarter, half, three quarters and all of the rating, joined on log-log axes (below a "
    "quarter the same energy), less ageing",
    rises="quarter half three_quarters whole rating", falls="load ageing",
)  # fmt: skip
def battery_time(  # noqa: PLR0913 - the four points of a curve
    load: Watts,
    rating: Watts,
    quarter: Minutes,
    half: Minutes,
    three_quarters: Minutes,
    whole: Minutes,
    ageing: Percent,
) -> Minutes:
    """Minutes an aged battery carries a load; nought when the load passes the rating.

    `rating` in watts; four run times of a new battery; `ageing` the share of run time lost at the end of its life.
    """
    if rating <= 0 or load > rating:
        return 0.0
    share = max(load / rating, LEAST_SHARE)
    return _between(share, (quarter, half, three_quarters, whole)) * (1 - ageing / 100)


@rule(FACTOR, rises="watts", falls="factor")
def volt_amperes(watts: Watts, factor: Ratio) -> VoltAmperes:
    """Apparent power of a load at its power factor."""
    return watts / factor


@rule(HEAT, rises="watts")
def heat(watts: Watts, *, btu: float = 3.412142) -> BtuPerHour:
    """Heat that the room must lose."""
    return watts * btu


@rule(CODE, rises="rating volts share")
def circuit_power(rating: Amperes, volts: Volts, share: Ratio) -> Watts:
    """Power that a circuit may carry for hours."""
    return rating * volts * share


@rule(HABIT, rises="machines host rounds")
def shutdown_time(machines: Minutes, host: Minutes, rounds: Count) -> Minutes:
    """Time to stop all in good order: the slowest machine of each round, then the host."""
    return machines * rounds + host


@rule(HABIT, rises="hold shutdown")
def battery_needed(hold: Minutes, shutdown: Minutes) -> Minutes:
    """Run time wanted: so long to wait for the mains, then a shutdown in good order."""
    return hold + shutdown


@rule(HABIT, rises="load", falls="rating share")
def loaded(load: Watts, rating: Watts, share: Ratio) -> Truth:
    """The load passes the share of the rating."""
    return load > rating * share
