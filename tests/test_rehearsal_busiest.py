"""The busiest day: counted beforehand against a plain simulation and the published loss formula, then lived with the real server."""

import json
from collections.abc import Mapping
from dataclasses import replace
from ipaddress import IPv4Address
from itertools import pairwise
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import address_lab
from address_lab import Lab
from address_offices import files, stood
from conftest import Scale
from offices import example
from scantling.figures import Pool, Series
from scantling.figures.units import HOUR
from scantling.handbook.queues import erlang_b
from scantling.trials.proof.proving import case
from scantling.trials.rehearsal.busiest import LAG, PACE, Doorway, bare, busiest_days, hastened, lived, pace_for
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.hastening import busiest_day
from scantling.trials.rehearsal.results import Day
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.visiting import Busy, Comer, Held, busy, comers, curve, foreseen, most

QUARTERS = 96
SERVER = "addresses/kea-dhcp4.conf"
PUBLISHED = ((5, 2.218, 0.05), (10, 4.461, 0.01), (10, 6.216, 0.05), (20, 15.25, 0.05), (50, 40.26, 0.02))
"""Addresses, offered load, share refused: Erlang B tables as the trade prints them (ITU-T E.501 and E.520 family)."""
SIXTIETHS = st.integers(0, 24 * 64).map(lambda one: one / 64)
"""Hours that a float holds exactly."""


def series(*values: float) -> Series:
    """So many in each quarter of an hour from midnight."""
    return Series("midnight", 0.25, HOUR, (*values, *([0.0] * (QUARTERS - len(values)))))


def a_day(**more: Any) -> Busy:
    """Some busy day."""
    whole = {
        "zone": "guests",
        "joining": series(4.0),
        "stay": 1.0,
        "pool": 5,
        "first": IPv4Address("10.0.0.9"),
        "lease": 2.0,
    }
    return Busy(**{**whole, "straight": True, **more})


# ------------------------------------------------------------------------------------------------------ who comes


@given(st.lists(st.floats(0, 80).map(lambda one: round(one, 3)), max_size=QUARTERS), st.floats(0.1, 9))
def test_as_many_come_as_are_counted_step_by_step(values: list[float], stay: float) -> None:
    there = comers(series(*values), stay)
    assert abs(len(there) - sum(values)) <= 0.5 + 1e-6
    until = 0.0
    for place, many in enumerate(values):
        until += many
        come = sum(one.arrives < (place + 1) * 0.25 for one in there)
        assert abs(come - until) <= 0.5 + 1e-6
    assert all(first.arrives <= second.arrives for first, second in pairwise(there))
    assert all(abs(one.leaves - one.arrives - stay) < 1e-6 for one in there)


def test_they_come_evenly() -> None:
    assert [one.arrives for one in comers(series(0.0, 4.0), 1.0)] == [0.28125, 0.34375, 0.40625, 0.46875]


# ------------------------------------------------------------------------------------------------------- counting


def simulated(there: list[Comer], pool: int, hold: float) -> tuple[int, int]:
    """Refused, and most held, by a plain list of who has which address until when; nothing shared with what is tested."""
    until = [-1.0] * pool
    refused = most_held = 0
    for one in sorted(there, key=lambda each: (each.arrives, each.leaves, each.number)):
        free = [place for place, end in enumerate(until) if end <= one.arrives]
        if free:
            until[free[0]] = one.arrives + hold
        else:
            refused += 1
        most_held = max(most_held, sum(end > one.arrives for end in until))
    return refused, most_held


@given(st.lists(SIXTIETHS, max_size=60), st.integers(0, 12), SIXTIETHS.filter(bool))
def test_counting_agrees_with_a_plain_simulation(arrivals: list[float], pool: int, hold: float) -> None:
    there = [Comer(hour, hour + 1, number) for number, hour in enumerate(arrivals)]
    told = foreseen(there, pool, hold)
    assert (told.refused, most(told.held)) == simulated(there, pool, hold)
    assert told.refused + len(told.held) == len(there)


@given(st.lists(st.tuples(SIXTIETHS, SIXTIETHS), max_size=30))
def test_the_curve_and_its_top_are_those_of_each_moment(ends: list[tuple[float, float]]) -> None:
    spans = [Held(min(pair), max(pair)) for pair in ends]
    moments = [one.since for one in spans]
    assert most(spans) == max((sum(one.since <= at < one.until for one in spans) for at in moments), default=0)
    for hour, many in curve(spans, 3.0, 9.0):
        assert many == len([one for one in spans if one.since <= hour < one.until])
    assert [hour for hour, _ in curve(spans, 3.0, 4.0)] == [3.0, 3.25, 3.5, 3.75, 4.0]


@pytest.mark.parametrize(("pool", "offered", "share"), PUBLISHED)
def test_the_loss_formula_is_the_published_one(pool: int, offered: float, share: float) -> None:
    day = a_day(joining=series(*[offered / 4] * QUARTERS), stay=0.2, pool=pool, lease=1.0)
    assert day.hold(1.0) == 1.0
    assert day.steady(1.0) == pytest.approx(share, rel=0.01)


@pytest.mark.parametrize(("pool", "offered", "share"), PUBLISHED[:4])
def test_counting_who_comes_by_chance_comes_to_the_published_loss(
    scale: Scale, pool: int, offered: float, share: float
) -> None:
    chance, many = Random(pool), scale(short=60_000, full=200_000)
    at, there = 0.0, []
    for number in range(many):
        at += chance.expovariate(offered)
        there.append(Comer(at, at + 1, number))
    refused = foreseen(there, pool, 1.0).refused / many
    spread = (
        share * (1 - share) / many
    ) ** 0.5 * 2.3  # those refused come in clusters: measured variance over mean 5.2
    assert refused == pytest.approx(share, abs=4 * spread + 0.001 * share)


# -------------------------------------------------------------------------------------------------------- holding


@given(straight=st.booleans(), stay=SIXTIETHS.filter(bool), lease=st.sampled_from([0.5, 1.0, 2.0, 4.0, 8.0]))
def test_an_address_is_held_from_renewal_to_renewal_and_a_lease_more(
    *, straight: bool, stay: float, lease: float
) -> None:
    """RFC 2131 section 4.4.5: at half the lease straight from the server, else at seven eighths from anybody."""
    until, at = lease, 0.0
    while at + lease * (0.5 if straight else 0.875) <= stay:
        at += lease * (0.5 if straight else 0.875)
        until = at + lease
    assert a_day(stay=stay, straight=straight).hold(lease) == pytest.approx(until)


@pytest.mark.parametrize(("lease", "beside"), [(0.5, 8.0), (2.0, 8.0), (8.0, 16.0), (24.0, 48.0)])
def test_a_longer_lease_stands_beside_the_planned_one(lease: float, beside: float) -> None:
    assert a_day(lease=lease).leases == (lease, beside)


def test_the_busiest_day_of_the_example() -> None:
    day = busy(example("millrace"))
    assert day is not None
    pool = next(one for one in example("millrace").records(Pool) if one.slug == "guests")
    assert (day.pool, day.lease, day.first) == (int(pool.size.value), pool.lease.value, pool.first)
    assert not day.straight  # visitors never reach the servers' zone
    there = comers(day.joining, day.stay)
    assert foreseen(there, day.pool, day.hold(day.lease)).refused == 0
    # all come within seven hours: with a lease of eight none comes back in time
    assert foreseen(there, day.pool, day.hold(8.0)).refused == len(there) - day.pool
    assert day.steady(8.0) == pytest.approx(erlang_b(day.pool, sum(day.joining.values)), rel=1e-6)


def test_an_office_without_visitors_has_no_busiest_day() -> None:
    assert busy(example("fold")) is None


# ------------------------------------------------------------------------------------------------- the server's settings


@given(st.sampled_from([0.25, 0.5, 1.0, 1.5, 2.0, 4.0, 8.0, 24.0]), st.floats(3, 60))
def test_a_lease_is_whole_seconds_and_the_lag(lease: float, least: float) -> None:
    pace = pace_for(lease, least)
    assert pace >= least - 1e-9
    assert lease * pace - LAG == pytest.approx(round(lease * pace - LAG))


def test_nothing_else_of_the_servers_file_is_changed() -> None:
    day = busy(example("millrace"))
    assert day is not None
    before, after = bare(json.loads(files()[SERVER])), hastened(files()[SERVER], day, 2.0, pace_for(2.0))
    assert after["Dhcp4"].pop("lease-database") == {"type": "memfile", "persist": False}
    before["Dhcp4"].pop("lease-database")
    guests = next(one for one in after["Dhcp4"]["subnet4"] if one["id"] == 60)
    assert (guests.pop("valid-lifetime"), guests.pop("renew-timer"), guests.pop("rebind-timer")) == (6, 3, 5)
    for one in before["Dhcp4"]["subnet4"]:
        if one["id"] == 60:
            for name in ("valid-lifetime", "renew-timer", "rebind-timer"):
                one.pop(name)
    assert before == after


# ------------------------------------------------------------------------------------------------------- lived


def configured(settings: Mapping[str, Any]) -> None:
    """Give the server other settings."""
    answer = address_lab.told(address_lab.SOCKETS / "kea4-ctrl-socket", "config-set", settings)
    assert answer["result"] == 0, answer


def phones(quarters: int) -> Busy:
    """More than the telephones' pool holds, by the quarter of an hour; addresses come back while others still come."""
    pool = next(one for one in example("millrace").records(Pool) if one.slug == "phones")
    return a_day(
        zone="phones",
        joining=series(*[8.0] * quarters),
        stay=0.75,
        pool=int(pool.size.value),
        first=pool.first,
        lease=1.0,
    )


@pytest.mark.slow
def test_the_real_server_refuses_as_many_as_were_counted(scale: Scale) -> None:
    day = phones(scale(short=11, full=20))

    def work(one: Lab) -> tuple[tuple[Day, ...], dict[str, Any], str]:
        _, room = one.places("phones")[0]
        told: list[str] = []
        days = busiest_days(day, Doorway(room, "e0", 40), one.files[SERVER], configured, tell=told.append)
        assert len(told) == len(days)
        settings = address_lab.told(address_lab.SOCKETS / "kea4-ctrl-socket", "config-get")["arguments"]
        return days, settings["Dhcp4"]["lease-database"], one.files[SERVER].decode()

    days, memory, file = stood(work)
    assert [one.lease for one in days] == [1.0, 8.0]
    short, long = days
    for one in days:
        assert one.comers == len(comers(day.joining, day.stay))
        assert abs(one.refused - one.predicted) <= 0.05 * one.comers
        assert one.most_held == day.pool
        assert max(many for _, many in one.held) <= day.pool
        assert one.most_present == most([Held(each.arrives, each.leaves) for each in comers(day.joining, day.stay)])
    assert short.predicted < long.predicted == long.comers - day.pool == long.refused
    assert short.refused > 0
    assert PACE <= pace_for(1.0) <= PACE + 1
    assert memory["persist"] is json.loads(file)["Dhcp4"]["lease-database"]["persist"] is True


@pytest.mark.slow
def test_a_day_that_fits_refuses_nobody() -> None:
    day = replace(phones(2), joining=series(10.0, 10.0))

    def work(one: Lab) -> Day:
        _, room = one.places("phones")[0]
        return lived(day, Doorway(room, "e0", 40), 1.0, (one.files[SERVER], configured))

    found = stood(work)
    assert (found.comers, found.refused, found.predicted, found.most_held) == (20, 0, 0, 20)
    nobody = replace(day, joining=series())
    assert lived(nobody, Doorway(None, "e0", 40), 1.0, (files()[SERVER], lambda _: None)).held == ()  # type: ignore[arg-type]


class Mute:
    """Stands where the sandbox would, for an office that nobody stands up."""

    def tell(self, event: object) -> None:
        """Say nothing."""


@pytest.mark.parametrize(
    ("name", "why"), [("fold", "nobody visits this office"), ("millrace", "no address server runs")]
)
def test_a_day_that_cant_be_lived_is_said_to_be_none(name: str, why: str) -> None:
    plan = example(name)
    proof = case(plan)
    assert proof is not None
    living = Living(plan, proof, designed(plan), Mute(), {})  # type: ignore[arg-type]
    assert busiest_day(living) == ()
    assert [why in note for note in living.notes] == [True]
