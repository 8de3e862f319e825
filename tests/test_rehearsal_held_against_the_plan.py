"""What stations are given and told, held against the plan: every part of a lease, every answer, every party and name outside."""

from dataclasses import dataclass, replace
from functools import cache
from ipaddress import IPv4Address, ip_address, ip_network
from typing import Any, cast

import pytest

from offices import example
from scantling.figures import Host, OutsideName, Party, Pool
from scantling.plan.make import Plan
from scantling.trials.probe.aims import Now
from scantling.trials.proof.proving import case
from scantling.trials.rehearsal.building import Built
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.lending import leases
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.parties import filled, misplaced
from scantling.trials.rehearsal.published import astray
from scantling.trials.rehearsal.questions import FRESH, Question, questions
from scantling.trials.rehearsal.results import Answer
from scantling.trials.rehearsal.session import Living
from scantling.trials.rehearsal.unanswered import unanswered

PC = "office-pcs-01"


@dataclass
class Stood:
    """As much of a living office as is asked for here."""

    plan: Plan
    office: Office
    lent: dict[str, Host]
    files: dict[str, Any]
    said: tuple[int, bytes] = (0, b"")

    @property
    def case(self) -> Any:
        """Before the court."""
        return case(self.plan)

    def run(self, _words: Any) -> Any:
        """What the script says that fills the sets."""
        return type("Told", (), {"returncode": self.said[0], "stderr": self.said[1], "stdout": b""})


@cache
def stood() -> Stood:
    """Millrace, as if it lived."""
    plan = example("millrace")
    return Stood(plan, designed(plan), {}, {"firewall/fill-sets.sh": None})


def given(**more: Any) -> Given:
    """What a device of staff is given when all is as planned, but for some of it."""
    segment = stood().office.segment("staff")
    pool = next(one for one in stood().plan.records(Pool) if one.first in segment.network4)
    usual = Given(
        PC, "staff", 4, pool.first, segment.network4.prefixlen, segment.gateway4,
        tuple(host for host in segment.resolvers if host.version == 4), tuple(host for host in segment.times if host.version == 4),
        segment.domain, "10.44.20.24", round(pool.lease.value * 3600), "",
    )  # fmt: skip
    return replace(usual, **more)


def wrong(*many: Given) -> list[str]:
    """What is wrong with each."""
    built = cast("Built", type("Standing", (), {"office": stood().office}))
    return [one.wrong for one in leases(built, stood().plan.records(Pool), many)]


def test_a_lease_as_planned_has_nothing_wrong() -> None:
    assert wrong(given()) == [""]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"address": None, "refused": "no server offered an address"}, "no server offered"),
        ({"address": ip_address("10.44.30.70")}, "lies in no pool"),
        ({"address": ip_address("10.44.60.130")}, "pool of another zone"),
        ({"prefix": 24}, "a network of /24, not /25"),
        ({"seconds": 60}, "lent for 60 s, not for 28800 s"),
        ({"router": ip_address("10.44.30.9")}, "as the way out, not to 10.44.30.1"),
        ({"resolvers": ()}, "told to ask nobody for names, not 10.44.20.26"),
        ({"times": (ip_address("192.0.2.1"),)}, "told to ask 192.0.2.1 for the time"),
        ({"domain": "other.example"}, "told the domain other.example, not ad.millrace.example"),
    ],
)
def test_each_part_of_a_lease_is_held_against_the_plan(change: dict[str, Any], words: str) -> None:
    [said] = wrong(given(**change))
    assert words in said


def test_one_address_for_two_is_told() -> None:
    assert all(
        "was given to office-pcs-01 and laptops-01" in one for one in wrong(given(), given(station="laptops-01"))
    )


def test_a_kept_address_must_be_given_to_whom_it_is_kept_for() -> None:
    [said] = wrong(given(station="printers-01", address=IPv4Address("10.44.30.90")))
    assert "10.44.30.21 is kept for it, 10.44.30.90 was given" in said


def living(**more: Any) -> Living:
    """The office with some of it changed."""
    return cast("Living", replace(stood(), **more))


def test_a_party_whose_network_lies_in_the_office_is_named_with_its_line() -> None:
    plan = stood().plan
    parties = [
        (trade, replace(one, networks=(ip_network("10.44.10.0/28"),)) if one.slug == "telephones" else one)
        for trade, one in plan.entries[Party]
    ]
    [told] = misplaced(living(plan=replace(plan, entries={**plan.entries, Party: parties})))
    assert "lies in the office: management" in told.says
    assert "parties.telephones" in told.line
    assert [*misplaced(living())] == []


def test_a_set_that_is_not_filled_is_named_with_its_line() -> None:
    said = b"party processor: pay.processor.example has no public address just now; the party stays as it is\n"
    [told] = filled(living(said=(1, said)))
    assert "pay.processor.example has no public address" in told.says
    assert "parties.processor" in told.line
    assert filled(living()) == []
    assert "ended with 9" in filled(living(said=(9, b"")))[0].says


def test_a_name_outside_that_leads_past_the_firewall_is_told_though_its_hours_are_over() -> None:
    plan = stood().plan
    names = [
        (trade, replace(one, answers=("A 203.0.113.46",)) if one.slug == "tickets" else one)
        for trade, one in plan.entries[OutsideName]
    ]
    [told] = astray(living(plan=replace(plan, entries={**plan.entries, OutsideName: names})), [], {})
    assert "203.0.113.46" in told.says
    assert "domains.tickets" in told.line
    assert [*astray(living(), [], {})] == []


def held() -> dict[str, tuple[Host, ...]]:
    """Every station with an address of its zone."""
    found = {one.slug: (*one.fixed, *one.kept) for one in stood().office.stations if one.fixed or one.kept}
    return {**found, PC: (ip_address("10.44.30.87"),)}


def test_every_name_is_asked_for_forward_and_back_and_every_zone_asks_whom_it_is_told_of() -> None:
    asked = [*questions(stood().plan, stood().office, held())]
    names = {one.name for one in asked}
    assert {"files.ad.millrace.example", "print.ad.millrace.example", "25.20.44.10.in-addr.arpa"} <= names
    mine = [one for one in asked if one.station == PC]
    assert {str(one.server) for one in mine if one.name} == {"10.44.20.26"}
    assert {str(one.server) for one in mine if not one.name} == {"10.44.30.1", "10.44.20.24"}
    assert not [one for one in asked if one.station.startswith("cameras") and one.name]
    assert any(one.name.startswith(FRESH) and not one.told for one in mine)


def test_a_question_that_an_intent_forbids_is_told_with_the_line_and_others_by_what_came() -> None:
    now = Now(held(), 0)
    server, camera = ip_address("10.44.20.26"), "cameras-01"
    forbidden = Question(
        camera, held()[camera][0], server, "files.ad.millrace.example", "A", frozenset({"10.44.20.25"})
    )
    silent = replace(forbidden, station=PC, source=ip_address("10.44.30.87"))
    answers = [Answer(one.station, one.words, "", "no answer") for one in (forbidden, silent)]
    first, second = unanswered(living(), now, [forbidden, silent], answers)
    assert "told to ask 10.44.20.26 for names, and no intent lets them through" in first.says
    assert second.says == f"{PC} asked 10.44.20.26, files.ad.millrace.example A: no answer."
    assert [*unanswered(living(), now, [silent], [replace(answers[1], wrong="")])] == []
