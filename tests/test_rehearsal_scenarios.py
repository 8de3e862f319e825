"""Whole offices stood up and tried by an ordinary user: the kernel and the real servers are the referee of the plan's own files."""

from dataclasses import replace
from functools import cache, partial
from hashlib import sha256
from typing import Any

import dns.rdata
import pytest

from conftest import Scale
from offices import BRIEFS, changed, example, planned
from ordinary_user import as_ordinary
from scantling.figures import Pool
from scantling.outputs.files import Written, written
from scantling.plan.make import Plan
from scantling.trials.proof.proving import case
from scantling.trials.rehearsal import rehearsing, sandbox
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.performing import performed
from scantling.trials.rehearsal.results import Lease, Rehearsed
from scantling.trials.rehearsal.rehearsing import rehearsed
from scantling.trials.rehearsal.sandbox import SandboxError, run
from scantling.trials.rehearsal.session import RULES, Living
from scantling.trials.rehearsal.shortage import short
from scantling.trials.rehearsal.wish import Wish

SCENARIOS = ("millrace", "brackwater", "fold")
ONE = "one-id"
SAMPLES = {"A": "192.0.2.1", "AAAA": "2001:db8::1", "PTR": "a.example.", "NS": "a.example.", "SOA": "a. b. 1 1 1 1 1"}
REAL = {"kea-dhcp4", "kea-dhcp6", "nsd", "unbound", "chronyd"}


def quiet(_: Any) -> None:
    """Hear nothing."""


@cache
def tried(name: str, *, everyone: bool = False, year: int = 0, families: tuple[int, ...] = (4, 6)) -> Rehearsed:
    """A scenario, rehearsed by an ordinary user; once for all tests that look at it."""
    return rehearse(example(name), Wish(everyone=everyone, year=year, families=families, way_in=ONE))


def rehearse(plan: Plan, wish: Wish) -> Rehearsed:
    """A plan, rehearsed by an ordinary user, who may not be able to read Python's own files: what comes lazily is fetched before."""
    written(plan)
    for kind, sample in SAMPLES.items():
        dns.rdata.from_text("IN", kind, sample)
    return as_ordinary(lambda: rehearsed(plan, wish, quiet))


def with_files(plan: Plan, change: dict[str, bytes]) -> Rehearsed:
    """A plan rehearsed from files of which some are not its own."""
    own = {one.path: one for one in written(plan)}
    files: dict[str, Written] = {
        **own,
        **{path: replace(own[path], content=content) for path, content in change.items()},
    }
    one = case(plan)
    assert one is not None
    work = partial(_performed, plan, one, files)
    return as_ordinary(lambda: run(work, quiet, ONE))


def _performed(plan: Plan, one: Any, files: dict[str, Written], inside: sandbox.Inside) -> Rehearsed:
    return performed(Living(plan, one, designed(plan), inside, files), Wish())


def assert_well(found: Rehearsed) -> None:
    """Everything that was tried went as meant."""
    assert [one.says for one in found.mismatches] == []
    assert [one.wrong for one in found.leases if one.wrong] == []
    assert [one.wrong for one in found.answers if one.wrong] == []
    assert [one.says for one in found.checked if one.says] == []
    assert found.agreement is not None
    assert found.agreement.differences == ()
    assert found.agreement.agree == found.agreement.probes > 0
    assert found.well


@pytest.mark.parametrize("name", SCENARIOS)
def test_each_scenario_rehearses_green_as_an_ordinary_user(name: str) -> None:
    """Real servers from the plan's own files; every lease, name and flow as meant; intents, proof and packets agree."""
    found = tried(name)
    assert_well(found)
    assert "one" in found.way_in
    assert {one.program for one in found.played if one.real} == REAL
    assert {one.path: one.digest for one in found.checked} == {
        one.path: sha256(one.content).hexdigest() for one in written(example(name))
    }


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_zone_tries_and_is_tried(name: str) -> None:
    """From each zone, the firewall and the outside something passed or was kept out, and much of both in all."""
    found = tried(name)
    zones = {one.slug for one in designed(example(name)).segments}
    assert {one.source for one in found.cells} >= zones | {"outside", "firewall"}
    assert sum(one.passed for one in found.cells) > 100
    assert sum(one.kept_out for one in found.cells) > 1000
    assert {one.family for one in found.leases} == {4, 6}


def test_one_family_can_be_tried_alone() -> None:
    """Devices have IPv4 alone then; machines keep both, since their files name both."""
    found = tried("fold", families=(4,))
    assert_well(found)
    assert {one.family for one in found.leases} == {4}
    assert found.agreement is not None
    assert 0 < found.agreement.probes < tried("fold").agreement.probes  # type: ignore[union-attr]


def test_everyone_and_years_of_growth(scale: Scale) -> None:
    """Everyone is there with an address of their own, now and at the horizon."""
    name = ("fold", "millrace")[scale(short=0, full=1)]
    now, later = tried(name, everyone=True), tried(name, everyone=True, year=5)
    assert_well(now)
    assert_well(later)
    assert later.stations > now.stations > tried(name).stations
    for found in (now, later):
        given = [one.address for one in found.leases if one.family == 4]
        assert len(given) == len(set(given))


def test_a_rule_that_nobody_asked_for_is_found_by_packets_and_named() -> None:
    """Put first into the loaded list; the sentence names who, whom, the port and the rule."""
    plan = example("fold")
    rules = next(one.content for one in written(plan) if one.path == RULES).decode()
    place = rules.index("chain forward {")
    end = rules.index("\n", rules.index("policy", place))
    oops = '\n\t\tiifname "zone-30" ip daddr 10.71.20.21 tcp dport 445 counter accept comment "oops"'
    found = with_files(plan, {RULES: (rules[:end] + oops + rules[end:]).encode()})
    assert not found.well
    [told] = [one for one in found.mismatches if "oops" in one.rule or "oops" in one.says]
    assert "copies" in told.says
    assert "445" in told.says
    assert found.agreement is not None
    assert found.agreement.agree < found.agreement.probes or found.agreement.differences


def test_a_wrong_line_of_the_brief_is_found_and_named() -> None:
    """The name that leads to the ticketing is written with an address that is not the firewall's."""
    text = BRIEFS["millrace"].read_text("utf-8")
    wrong = changed(text, "leads_to: tickets, address: 203.0.113.45", "leads_to: tickets, address: 203.0.113.46")
    found = rehearse(planned(wrong), Wish(way_in=ONE))
    [told] = found.mismatches
    assert "tickets.millrace.example" in told.says
    assert "203.0.113.46" in told.says
    assert "domains.tickets" in told.line
    assert not found.well


def test_where_nothing_may_be_stood_up_parsers_and_proof_are_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """It says so, why, and is not called well."""

    def shut(_: str = "") -> None:
        raise SandboxError("user namespaces are switched off here")

    monkeypatch.setattr(rehearsing, "open_way", shut)
    found = rehearsed(example("fold"), Wish(), quiet)
    assert found.way_in == rehearsing.BARE
    assert "switched off" in found.why_not
    assert not found.well
    assert {one.parser for one in found.checked} > {"unbound-checkconf", "kea-dhcp4"}
    assert found.agreement is not None
    assert found.agreement.differences == ()
    assert "packets" in found.not_rehearsed[0]


def test_a_pool_that_is_too_small_is_told_with_what_it_rests_on() -> None:
    """More devices of a zone than addresses to lend: one sentence, not one for each device."""
    plan = example("fold")
    [pool] = plan.records(Pool)
    size = int(pool.size.value)
    given = [Lease(f"laptops-{n}", "staff", 4, str(pool.first + n), "10.71.20.22") for n in range(size)]
    none = [Lease(f"laptops-{size + n}", "staff", 4, "", "", f"Laptops {n}: no address was given") for n in range(3)]
    [told] = short(designed(plan), [pool], [*given, *none])
    assert told.cause == "pool of staff"
    assert told.many == 3
    assert f"3 of {size + 3} stations got no address: the pool has {size}" in told.says
    assert "brief.yaml" in told.line
    [other] = short(designed(plan), [pool], [*given[:-1], none[0]])
    assert "no address was given" in other.says
