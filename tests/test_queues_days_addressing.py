"""Queues, day profiles and address plans against other libraries, and their declared directions."""

import ipaddress
from collections.abc import Callable
from heapq import heappop, heappush
from math import ceil, isclose
from random import Random
from typing import Any

import netaddr
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyqueueing import ErlangB, ErlangC
from scipy.stats import poisson

from scantling.figures import Rule, Series
from scantling.figures.calendar import Clock, Span, Weekdays
from scantling.figures.units import HOUR
from scantling.handbook import addressing, days, lines, queues

FEW = settings(max_examples=60, deadline=None)
LOADS = st.floats(0.01, 200)
RULES = [
    rule for module in (addressing, days, lines, queues) for rule in vars(module).values()
    if isinstance(rule, Rule) and rule.module == module.__name__
]  # fmt: skip


@FEW
@given(st.integers(1, 300), LOADS)
def test_loss_and_waiting_agree_with_another_library(servers: int, offered: float) -> None:
    """Erlang B and C against pyqueueing, the recursion there written apart."""
    assert isclose(
        queues.erlang_b(servers, offered), ErlangB(offered, 1.0, servers).prob_block(), rel_tol=1e-9, abs_tol=1e-300
    )
    if offered < servers * 0.999:
        assert isclose(
            queues.erlang_c(servers, offered),
            ErlangC(offered, 1.0, servers).prob_wait(),
            rel_tol=1e-8,
            abs_tol=1e-300,
        )


@FEW
@given(st.integers(0, 600), st.floats(0, 500))
def test_poisson_tail_agrees_with_scipy(least: int, mean: float) -> None:
    """P(X >= least) = sf(least - 1)."""
    assert isclose(queues.poisson_tail(least, mean), float(poisson.sf(least - 1, mean)), rel_tol=1e-9, abs_tol=1e-14)


@FEW
@given(st.floats(0, 500), st.floats(1e-5, 0.2))
def test_pools_are_the_smallest(offered: float, refusals: float) -> None:
    """One fewer would refuse too many; the cautious pool is never the smaller one."""
    pool = queues.smallest_pool(offered, refusals)
    assert queues.erlang_b(pool, offered) <= refusals if pool else offered == 0
    assert pool == 0 or queues.erlang_b(pool - 1, offered) > refusals
    cautious = queues.smallest_pool_by_tail(offered, refusals)
    assert cautious == int(poisson.isf(refusals, offered)) + 1 if offered > 0 else cautious <= 1
    assert cautious >= pool or offered == 0


@FEW
@given(LOADS, st.floats(0.01, 3))
def test_servers_are_the_fewest_that_wait_little(offered: float, wait: float) -> None:
    """One fewer would let requests wait too long."""
    servers = queues.smallest_servers(offered, wait)
    assert queues.wait_share(servers, offered) <= wait < queues.wait_share(servers - 1, offered)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: queues.erlang_b(-1, 1), "negative"), (lambda: queues.erlang_b(1, -1), "negative"),
        (lambda: queues.smallest_pool(1, 0), "above nought"),
        (lambda: queues.poisson_tail(1, float("nan")), "negative"),
        (lambda: addressing.prefix_for(-1, 26), "negative"),
    ],
)  # fmt: skip
def test_nonsense_is_refused(call: Callable[[], float], word: str) -> None:
    """In a person's words."""
    with pytest.raises(ValueError, match=word):
        call()


@FEW
@given(st.lists(st.floats(0, 90), min_size=96, max_size=96), st.integers(0, 300))
def test_profile_is_a_circular_convolution(values: list[float], steps: int) -> None:
    """Against numpy's Fourier transform, for holding times from none to three days."""
    found = days.held(Series("midnight", 0.25, HOUR, tuple(values)), steps * 0.25)
    kernel = np.bincount(np.arange(steps) % 96, minlength=96) if steps else np.zeros(96)
    wanted = np.real(np.fft.ifft(np.fft.fft(values) * np.fft.fft(kernel)))
    assert np.allclose(found.values, wanted, atol=1e-6)


@FEW
@given(st.sets(st.integers(0, 6)), st.integers(0, 1439), st.integers(0, 1439), st.integers(0, 90))
def test_presence_keeps_the_hours_worked(which: set[int], start: int, end: int, heads: int) -> None:
    """Hours of the week add up to heads x days x length, minute by minute counted."""
    span, week = Span(start, end), [0.0] * 10080
    for day in which:
        for minute in range(span.minutes):
            week[(day * 1440 + start + minute) % 10080] += heads * 0.5
    found = days.presence(heads, 0.5, Weekdays(tuple(sorted(which))), span)
    hours = [sum(week[hour * 60 : hour * 60 + 60]) / 60 for hour in range(168)]
    assert np.allclose(found.values, hours, atol=1e-6)


def test_saturday_of_two_houses() -> None:
    """A matinee and an evening on one day: a short lease frees the first before the second, a long one doesn't."""
    day = days.arrivals(
        Weekdays((5,)), {"matinee": 250.0, "evening": 297.0},
        {"matinee": Weekdays((5,)), "evening": Weekdays((2, 3, 4, 5))},
        {"matinee": Clock(795), "evening": Clock(1125)}, {"matinee": 60.0, "evening": 60.0},
    )  # fmt: skip
    peaks = {lease: max(days.held(day, days.bound_for(3.5, lease)).values) for lease in (0.5, 1, 2, 4, 8)}
    assert peaks == {0.5: 297, 1: 297, 2: 297, 4: pytest.approx(422), 8: 547}
    assert queues.smallest_pool(peaks[2], 1e-4) > 254, "more than a /24 holds"


def _evening(draw: np.random.Generator, lease: float, pool: int) -> tuple[int, int, int]:
    """One simulated Saturday: devices that came, refused, most addresses bound; renewals made one by one."""
    starts = [13.25] * int(draw.poisson(250.8)) + [18.75] * int(draw.poisson(297.0))
    times = sorted(float(start + draw.random()) for start in starts)
    expiries: list[float] = []
    refused = most = 0
    for now in times:
        while expiries and expiries[0] <= now:
            heappop(expiries)
        if len(expiries) >= pool:
            refused += 1
            continue
        renewed = now
        while renewed + lease / 2 <= now + 3.5:
            renewed += lease / 2
        heappush(expiries, renewed + lease)
        most = max(most, len(expiries))
    return len(times), refused, most


@pytest.mark.parametrize("lease", [1, 2, 4, 8])
def test_pool_holds_in_a_simulated_season(lease: float) -> None:
    """150 Saturdays, arrivals at random, fixed seed: nearly nobody refused, and the mean peak as the profile says."""
    day = days.arrivals(
        Weekdays((5,)), {"matinee": 250.8, "evening": 297.0}, {"matinee": Weekdays((5,)), "evening": Weekdays((5,))},
        {"matinee": Clock(795), "evening": Clock(1125)}, {"matinee": 60.0, "evening": 60.0},
    )  # fmt: skip
    offered = max(days.held(day, days.bound_for(3.5, lease)).values)
    pool, draw = queues.smallest_pool(offered, 1e-4), np.random.default_rng(11)
    season = [_evening(draw, lease, pool) for _ in range(150)]
    came, refused = sum(one[0] for one in season), sum(one[1] for one in season)
    assert refused / came < 5e-4
    assert sum(one[2] for one in season) / 150 == pytest.approx(offered, rel=0.03)


PREFIXES = st.dictionaries(st.sampled_from("abcdefghij"), st.integers(22, 27), min_size=1)


@FEW
@given(PREFIXES, st.randoms(use_true_random=False))
def test_subnets_never_overlap_and_stay_inside(prefixes: dict[str, int], random: Random) -> None:
    """By netaddr's sets; the same whatever order the zones are named in."""
    numbers = {name: random.randrange(0, 256) for name in prefixes}
    block = ipaddress.IPv4Network("10.44.0.0/16")
    given_ = addressing.subnets(block, prefixes, numbers)
    whole = netaddr.IPSet([str(network) for network in given_.values()])
    assert whole.size == sum(2 ** (32 - prefixes[name]) for name in given_)
    assert whole.issubset(netaddr.IPSet(["10.44.0.0/16"]))
    assert set(given_) == set(prefixes), "ten zones of at most 1024 fit into 65,536"
    again = addressing.subnets(block, dict(reversed(prefixes.items())), numbers)
    assert again == given_


@FEW
@given(PREFIXES, st.integers(22, 30))
def test_room_is_the_smallest_around_the_block(prefixes: dict[str, int], size: int) -> None:
    """All zones fit into the room; half of the room does not do, unless it is the block."""
    block = ipaddress.IPv4Network("10.44.64.0/30").supernet(new_prefix=size)
    numbers = dict.fromkeys(prefixes, 3)
    room = addressing.room_for(block, prefixes, numbers)
    assert block.subnet_of(room)
    assert set(addressing.subnets(room, prefixes, numbers)) == set(prefixes)
    if room != block:
        half = next(part for part in room.subnets() if block.subnet_of(part))
        assert len(addressing.subnets(half, prefixes, numbers)) < len(prefixes)


@FEW
@given(st.integers(0, 70000), st.integers(20, 30))
def test_prefix_is_the_longest_that_holds(addresses: int, least: int) -> None:
    """Python's own network sizes as the referee."""
    prefix = addressing.prefix_for(addresses, least)
    assert prefix <= least
    assert ipaddress.IPv4Network((0, prefix)).num_addresses >= addresses
    if prefix < least:
        assert ipaddress.IPv4Network((0, prefix + 1)).num_addresses < addresses


@FEW
@given(st.integers(22, 27), st.integers(1, 30), st.integers(0, 600), st.lists(st.integers(0, 40), max_size=5))
def test_ranges_are_apart_and_inside(prefix: int, static: int, lent: int, kept: list[int]) -> None:
    """Whatever is asked for, no address is given twice and none outside the subnet."""
    network = ipaddress.IPv4Network(("10.44.64.0", prefix))
    runs = addressing.ranges(network, static, lent, {str(place): count for place, count in enumerate(kept)})
    every = [int(run.first) + step for run in runs.values() for step in range(len(run))]
    assert len(set(every)) == len(every)
    assert min(every) > int(network.network_address)
    assert max(every) < int(network.broadcast_address)
    if addressing.addresses_needed(static, lent, sum(kept), 0) <= network.num_addresses:
        assert len(every) == static + lent + sum(kept)


def _drawn(rule: Rule[..., Any], data: st.DataObject) -> dict[str, Any]:
    shares = {"growth", "share", "refusals", "wait", "join", "present"}
    drawn: dict[str, Any] = {}
    for name, parameter in rule.parameters.items():
        if parameter.unit.kind is bool:
            drawn[name] = data.draw(st.booleans(), name)
        elif name in ("prefix", "least") and rule.module.endswith("addressing"):
            drawn[name] = data.draw(st.integers(8, 30), name)
        elif parameter.unit.kind is int:
            drawn[name] = data.draw(st.integers(1, 60), name)
        else:
            drawn[name] = data.draw(st.floats(0.01, 1) if name in shares else st.floats(0.05, 60), name)
    return drawn


DIRECTED = [rule for rule in RULES if rule.direction and rule.name != "held"]


@pytest.mark.parametrize("rule", DIRECTED, ids=lambda rule: rule.name)
@FEW
@given(st.data())
def test_declared_directions_are_true(rule: Rule[..., Any], data: st.DataObject) -> None:
    """Raising one argument never moves the result against its declared direction."""
    low = _drawn(rule, data)
    for name, way in rule.direction.items():
        value = low[name]
        more = True if isinstance(value, bool) else value + data.draw(st.integers(1, 3), f"{name} more")
        one, other = rule(**low), rule(**{**low, name: more})
        assert (other - one) * way >= -1e-9 or one == other, (name, low, more, one, other)


def test_refused_devices_count_up_to_whole_ones() -> None:
    """A pool of 250 on an evening that wants 297."""
    refused = queues.erlang_b(250, 297)
    assert isclose(refused, ErlangB(297.0, 1.0, 250).prob_block(), rel_tol=1e-9)
    assert queues.turned_away(297, refused) == ceil(297 * refused)
