"""Hundreds of planted changes: each that the bit cube says has an effect is found, with a packet that a naive walk confirms."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from ipaddress import ip_network
from random import Random

import pytest
from conftest import Scale
from flow_samples import FlowDice, end, flow
from offices import example
from planted_rules import Planted, planted
from proof_samples import plain_fate, rules_of, sides
from rule_samples import nets

from scantling import api
from scantling.figures import OUTSIDE, Address, FilterRule, Flow, RuleSet, Transport, Verdict
from scantling.plan.evidence import ASTRAY, BARRED, OPEN
from scantling.trials.cube import Cube
from scantling.trials.proof.headers import Box
from scantling.trials.proof.judge import judge
from scantling.trials.proof.proving import Case, case, proof
from scantling.trials.proof.rulings import Outcome
from scantling.trials.proof.sides import Court, Side, compiled

Rows = list[tuple[Box, Outcome]]


@dataclass(frozen=True)
class Office:
    """Intents and their rules."""

    flows: Sequence[Flow]
    rules: RuleSet

    @cached_property
    def both(self) -> tuple[tuple[Court, ...], Side, Side]:
        """Both families, what is meant, what the rules do."""
        return sides(self.flows, self.rules)

    def effect(self, changed: RuleSet) -> bool:
        """Whether a change does anything to any packet, as the bit cube judges."""
        many, _, before = self.both
        after = compiled(changed, many)
        return any(self._differs(court, before, after) for court in many)

    def _differs(self, court: Court, before: Side, after: Side) -> bool:
        one, other = rows(before, court), rows(after, court)
        if one == other:
            return False
        cube = Cube(tuple(court.ground.last), [box for box, _ in (*one, *other)])
        return bool(cube.differing(*(cube.first_match(many, Outcome(passes=False)) for many in (one, other))))


def rows(side: Side, court: Court) -> Rows:
    """The boxes of a side with what becomes of them."""
    (stage,) = side.stages[court.ground.family]
    return [(box, ruling.outcome) for ruling in stage.rulings for box in ruling.boxes]


OFFICES = {
    "files and web": [
        flow("files", end("staff"), end("servers", *nets("10.20.20.5", "2001:db8:20:20::5")), Transport("tcp", 445, 445)),
        flow("web", end("guests"), end(OUTSIDE), Transport("tcp", 80, 80), Transport("tcp", 443, 443)),
        flow("not-there", end("guests", *nets("10.20.30.128/25")), end(OUTSIDE), Transport("tcp", 80, 80), verdict=Verdict.DROP),
        flow("shop", end(OUTSIDE), end("servers", *nets("10.20.20.8")), Transport("tcp", 8443, 8443)),
    ],
    "a party and hours": [
        flow("pay", end("staff"), end(OUTSIDE, named=("pay.example",), holder="processor"), Transport("tcp", 443, 443)),
        FlowDice(Random(11)).flow("any"),
        FlowDice(Random(29)).flow("more"),
    ],
    "whatever came": FlowDice(Random(5)).flows(),
    "whatever else came": FlowDice(Random(8)).flows(),
}  # fmt: skip


@pytest.mark.parametrize("name", OFFICES)
def test_every_planted_change_that_does_anything_is_found(name: str) -> None:
    """The proof and the cube agree on every change; each packet that the proof shows fares otherwise by a naive walk."""
    office = Office(OFFICES[name], rules_of(OFFICES[name]))
    picked = list(planted(office.rules))
    assert len(picked) >= 140
    assert agree(office, picked) > len(picked) // 3, "many changes do something, or nothing was tried"


def test_planted_changes_of_an_example_are_found(scale: Scale) -> None:
    """Some of every kind, anywhere in the list of a real office."""
    plan = example("fold")
    office = Office(plan.records(Flow), plan.records(RuleSet)[0])
    by_kind: dict[str, list[Planted]] = {}
    for one in planted(office.rules):
        by_kind.setdefault(one[0].partition(":")[0], []).append(one)
    few = scale(short=2, full=10)
    picked = [one for many in by_kind.values() for one in Random(few).sample(many, min(few, len(many)))]
    assert agree(office, picked) > len(picked) // 3


def agree(office: Office, picked: Sequence[Planted]) -> int:
    """How many changes do anything, by the proof and by the cube alike."""
    many, meant, _ = office.both
    found = 0
    for what, changed in picked:
        side = compiled(changed, many)
        apart = [(court, one) for court in many for one in judge(court, meant, side).apart]
        assert bool(apart) == office.effect(changed), what
        found += bool(apart)
        for court, one in apart:
            header, family = one.header(), court.ground.family
            wanted, got = plain_fate(meant.stages[family], header), plain_fate(side.stages[family], header)
            assert (wanted, got) == (one.wanted.outcome, one.found.outcome), (what, header)
            assert wanted != got
    return found


def wrong(change: dict[str, object], **which: object) -> tuple[Case, FilterRule]:
    """Millrace with one rule changed, found by what it is."""
    one = case(example("millrace"))
    assert one is not None
    rule = next(r for r in one.rules.rules if all(getattr(r, key) == value for key, value in which.items()))
    many = tuple(replace(r, **change) if r is rule else r for r in one.rules.rules)  # type: ignore[arg-type]
    return Case(one.plan, replace(one.rules, rules=many)), rule


def test_a_planted_wrong_rule_is_explained() -> None:
    """Visitors are let into all zones by a forgotten target zone: the sentence names who, whom, what, and the rule."""
    case_, rule = wrong({"zone_out": "", "targets": ()}, flow="web-guests", family=4, protocol="tcp")
    told = proof(case_)
    assert not told.proved
    opened = [one for one in told.differences if one.kind == OPEN]
    assert opened
    (first,) = [one for one in opened if "Visitors to the web" in one.rule]
    assert "Guests (10.44.60." in first.says
    assert "by tcp" in first.says
    assert "no intent asks for it" in first.says
    assert f'{rule.slug} "Visitors to the web" lets it through' in first.says
    assert first.intent == "web-guests"
    assert any(door.source == "guests" and door.target == "servers" and not door.asked for door in told.doors)
    assert told.holding == told.intents, "what is meant still gets through"
    machine = next(reach for reach in told.machines if reach.holder == "files")
    assert any(zone == "guests" and not one.flows for zone, one in machine.into)


def test_a_line_of_the_brief_that_does_not_hold_is_named() -> None:
    """Files on a wrong port: what is barred is told with the intent and its line, what is open with the rule."""
    one = case(example("millrace"))
    assert one is not None
    server = ip_network(next(a.address for a in one.plan.records(Address) if a.holder == "files"))
    rule = next(r for r in one.rules.rules if r.zone_in == "staff" and (445, 445) in r.ports and server in r.targets)
    ports = tuple((446, 446) if run == (445, 445) else run for run in rule.ports)
    case_, rule = wrong({"ports": ports}, slug=rule.slug)
    told = proof(case_)
    kinds = {one.kind for one in told.differences}
    assert kinds == {BARRED, OPEN}
    barred = next(one for one in told.differences if one.kind == BARRED)
    assert "does not reach machine files (10.44.20." in barred.says
    assert "tcp 445" in barred.says
    assert barred.line
    assert "brief.yaml:" in barred.line
    assert "r-90001" in barred.rule
    assert told.holding < told.intents
    assert rule.slug in next(one for one in told.differences if one.kind == OPEN).rule


def test_what_is_led_to_the_wrong_machine_goes_astray() -> None:
    one = case(example("millrace"))
    assert one is not None
    first = one.rules.translations[0]
    assert first.to is not None
    moved = replace(one.rules, translations=(replace(first, to=first.to + 1), *one.rules.translations[1:]))
    told = proof(Case(one.plan, moved))
    assert {difference.kind for difference in told.differences} == {BARRED}, (
        "no rule lets the wrong machine be reached"
    )
    bare = replace(one.rules, translations=tuple(t for t in one.rules.translations if t.kind != "source"))
    kinds = [difference for difference in proof(Case(one.plan, bare)).differences if difference.kind == ASTRAY]
    assert kinds
    assert "to which nobody outside can answer" in kinds[0].says


def test_a_plan_whose_rules_are_wrong_is_stopped() -> None:
    """R-1: nobody is to build from rules that do something else than is meant."""
    plan = example("fold")
    (rules,) = plan.records(RuleSet)
    short = replace(rules, rules=tuple(rule for rule in rules.rules if rule.state != "established"))
    wrong_plan = api.proved(replace(plan, proof=None, entries={**plan.entries, RuleSet: [("rules", short)]}))
    (stop,) = [told for told in wrong_plan.stops if told.finding.code == "R-1"]
    assert "can not answer" in stop.says
    assert "replies are always meant" in stop.says
    assert wrong_plan.proof is not None
    assert wrong_plan.proof.says.endswith("differences")
    assert "R-1" in {finding.code for finding in plan.checked}
    assert "R-1" not in {told.finding.code for told in plan.findings}
