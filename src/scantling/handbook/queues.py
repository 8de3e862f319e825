"""Waiting and loss: how many servers, lines or addresses are enough for a load.

Offered load is in erlangs: arrivals in a time times how long each one stays, so it has no unit.
"""

from math import ceil, exp, inf, lgamma, log

from scantling.figures import Source, method, rule
from scantling.figures.units import Count, Ratio

ERLANG_B = Source("Erlang's loss formula (ITU-T E.520 family), holds for any holding time")
ERLANG_C = Source("Erlang's waiting formula, M/M/c queue")
INFINITE = Source("M/G/infinity, the number present is Poisson (Eick, Massey and Whitt 1993)")
NEGLIGIBLE = 1e-17  # below the last digit of a float: the rest of a falling sum


@method(ERLANG_B, says="B(0) = 1, B(n) = A B(n-1) / (n + A B(n-1))", rises="offered", falls="servers")
def erlang_b(servers: Count, offered: Ratio) -> Ratio:
    """Share of arrivals turned away when all servers are taken; none where nobody comes.

    No units. Raises ValueError for a negative number of servers or a negative load.
    """
    _not_negative(servers, offered)
    blocked = 1.0 if offered > 0 else 0.0
    for n in range(1, servers + 1):
        blocked = offered * blocked / (n + offered * blocked)
    return blocked


@method(
    ERLANG_C,
    says="C = B / (1 - (A / N)(1 - B)); 1 when the load reaches the servers",
    rises="offered",
    falls="servers",
)
def erlang_c(servers: Count, offered: Ratio) -> Ratio:
    """Share of arrivals that have to wait.

    No units. Raises ValueError for a negative number of servers or a negative load.
    """
    if offered >= servers:
        return 1.0
    blocked = erlang_b(servers, offered)
    return blocked / (1 - offered / servers * (1 - blocked))


@method(ERLANG_C, says="C / (N - A); without end when the load reaches the servers", rises="offered", falls="servers")
def wait_share(servers: Count, offered: Ratio) -> Ratio:
    """Mean wait before service, in service times."""
    return erlang_c(servers, offered) / (servers - offered) if offered < servers else inf


@method(INFINITE, says="the Poisson chances from N on, added up", rises="mean", falls="least")
def poisson_tail(least: Count, mean: Ratio) -> Ratio:
    """Chance that at least so many are present, when any number may be.

    No units. Raises ValueError for a negative number or mean.
    """
    _not_negative(least, mean)
    if least == 0 or mean == 0:
        return 1.0 if least == 0 else 0.0
    if least > mean:
        return _falling_sum(least, mean, 1)
    return 1.0 - _falling_sum(least - 1, mean, -1)


def _falling_sum(start: int, mean: float, step: int) -> float:
    """Poisson chances from `start` upwards or downwards, each smaller than the last."""
    n, total = start, 0.0
    term = exp(n * log(mean) - mean - lgamma(n + 1))
    while n >= 0 and term > total * NEGLIGIBLE:
        total += term
        term *= mean / (n + 1) if step > 0 else n / mean
        n += step
    return min(1.0, total)


@method(ERLANG_B, says="servers added one by one until few enough are turned away", rises="offered", falls="refusals")
def smallest_pool(offered: Ratio, refusals: Ratio) -> Count:
    """Smallest number of servers, lines or addresses that turns away no more than this share.

    No units. Raises ValueError for a negative load or a share that is not above nought.
    """
    _not_negative(0, offered)
    _above_nought(refusals)
    servers, blocked = 0, 1.0 if offered > 0 else 0.0
    while blocked > refusals:
        servers += 1
        blocked = offered * blocked / (servers + offered * blocked)
    return servers


@method(INFINITE, says="the smallest N whose Poisson tail is small enough", rises="mean", falls="refusals")
def smallest_pool_by_tail(mean: Ratio, refusals: Ratio) -> Count:
    """Smallest pool by the cautious measure: nobody is ever refused, and more than this are seldom there.

    No units. Raises ValueError for a negative mean or a share that is not above nought.
    """
    _above_nought(refusals)
    low, high = 0, max(1, ceil(mean))
    while poisson_tail(high, mean) > refusals:
        low, high = high, 2 * high
    while low < high:
        middle = (low + high) // 2
        low, high = (middle + 1, high) if poisson_tail(middle, mean) > refusals else (low, middle)
    return low


@method(ERLANG_C, says="servers added one by one until the wait is short enough", rises="offered", falls="wait")
def smallest_servers(offered: Ratio, wait: Ratio) -> Count:
    """Smallest number of servers whose mean wait is at most this share of the service time; none for no load.

    No units. Raises ValueError for a negative load or a share that is not above nought.
    """
    _not_negative(0, offered)
    _above_nought(wait)
    servers = int(offered) + 1 if offered > 0 else 0
    while wait_share(servers, offered) > wait and offered > 0:
        servers += 1
    return servers


@rule(ERLANG_B, rises="offered refused")
def turned_away(offered: Ratio, refused: Ratio) -> Count:
    """How many are without one at the busiest moment, rounded up."""
    return ceil(offered * refused)


def _not_negative(number: int, load: float) -> None:
    if number < 0 or not load >= 0:
        message = f"a number of {number} and a load of {load:g}: neither may be negative"
        raise ValueError(message)


def _above_nought(share: float) -> None:
    if not share > 0:
        message = f"a share of {share:g} can't be reached: it must be above nought"
        raise ValueError(message)
