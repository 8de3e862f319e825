"""The compiler: the first rule that matches says what is meant, for random intents and packets on their edges."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from itertools import permutations
from random import Random
from typing import Any

import pytest
from conftest import Scale
from flow_samples import LEGS, FlowDice, end, flow
from hypothesis import given, settings
from hypothesis import strategies as st
from referees.filtering import Moment, Packet, deciding
from referees.intents import Sets, filled, meant, speaks_of
from rule_samples import hosts, nets
from traffic_offices import NAMES, office

from scantling.figures import FIREWALL, OUTSIDE, FilterRule, Flow, Leg, RuleSet, Transport, Verdict
from scantling.handbook.covering import flow_within
from scantling.handbook.filtering import compiled
from scantling.handbook.set_aside import NEVER_OUTSIDE

WEB, ANY = Transport("tcp", 443, 443), Transport("any")
MONDAY = Moment(0, 600)
STAFF, SERVERS = end("staff"), end("servers", *nets("10.20.20.5", "2001:db8:20:20::5"))


def with_sets(rules: RuleSet, sets: Sets) -> RuleSet:
    """The same rules with the sets of names filled."""
    return replace(
        rules, sets=tuple((slug, (*networks, *sets.get(slug, ())), names) for slug, networks, names in rules.sets)
    )


def passes(rules: RuleSet, packet: Packet, moment: Moment = MONDAY) -> bool:
    """Whether the list lets a packet pass."""
    rule = deciding(packet, rules, moment)
    return rule is not None and rule.verdict is Verdict.ACCEPT


def agree(flows: Sequence[Flow], dice: FlowDice, count: int, legs: tuple[Leg, ...] = LEGS) -> int:
    """The rules do what is meant, packet by packet; how many passed."""
    sets = filled(flows)
    rules = with_sets(compiled(flows, legs), sets)
    passed = 0
    for _ in range(count):
        packet, moment = dice.packet(flows, legs)
        wanted = meant(packet, moment, flows, legs, sets)
        passed += wanted
        assert passes(rules, packet, moment) == wanted, (packet, moment, deciding(packet, rules, moment), flows)
    return passed


@given(st.integers(0, 2**48))
@settings(deadline=None)
def test_the_first_rule_that_matches_says_what_is_meant(seed: int) -> None:
    dice = FlowDice(Random(seed))
    agree(dice.flows(), dice, 60)


@pytest.mark.parametrize("name", NAMES)
def test_the_examples_rules_say_what_their_intents_mean(name: str, scale: Scale) -> None:
    there = office(name)
    passed = agree(there.flows, FlowDice(Random(name)), scale(short=250, full=2500), there.legs)
    assert passed > 20, "or nothing was tried that may pass"


def without_flow(rule: FilterRule, **fields: Any) -> FilterRule:
    """A rule that an intent made, with some of what it says forgotten."""
    return replace(rule, **fields) if rule.flow else rule


PLANTED: dict[str, Callable[[FilterRule], FilterRule | None]] = {
    "ports forgotten": lambda rule: without_flow(rule, ports=()),
    "targets forgotten": lambda rule: without_flow(rule, targets=(), target_set=""),
    "hours forgotten": lambda rule: without_flow(rule, window=None),
    "changed address forgotten": lambda rule: without_flow(rule, translated=False),
    "any source": lambda rule: without_flow(rule, sources=(), not_sources=()),
    "the wrong way": lambda rule: without_flow(rule, zone_in=rule.zone_out or rule.zone_in, zone_out=rule.zone_in),
    "forbidden left out": lambda rule: None if rule.flow and rule.verdict is Verdict.DROP else rule,
    "allowed left out": lambda rule: None if rule.flow and rule.verdict is Verdict.ACCEPT else rule,
    "false sources let in": lambda rule: None if rule.early else rule,
    "set aside let out": lambda rule: None if rule.comment == "Never meant for the outside" else rule,
    "strays let in": lambda rule: replace(rule, verdict=Verdict.ACCEPT) if rule.state == "invalid" else rule,
    "no replies": lambda rule: None if rule.state == "established" else rule,
}  # fmt: skip


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_error_is_seen(planted: str) -> None:
    """Each kind of error in every rule of a list shows in some packet of some office."""
    assert any(shows(PLANTED[planted], seed) for seed in range(120))


def shows(spoil: Callable[[FilterRule], FilterRule | None], seed: int) -> bool:
    """Whether some packet tells the spoiled list from what is meant."""
    dice = FlowDice(Random(seed))
    flows = dice.flows()
    sets = filled(flows)
    rules = with_sets(compiled(flows, LEGS), sets)
    spoiled = [one for rule in rules.rules if (one := spoil(rule)) is not None]
    wrong = replace(rules, rules=tuple(spoiled))
    asked = (dice.packet(flows, LEGS) for _ in range(60))
    return any(passes(wrong, packet, moment) != meant(packet, moment, flows, LEGS, sets) for packet, moment in asked)


@given(st.integers(0, 2**48))
@settings(deadline=None)
def test_an_intent_within_another_means_nothing_that_the_other_does_not(seed: int) -> None:
    """What tells contradicting lines: judged packet by packet."""
    dice = FlowDice(Random(seed))
    flows = dice.flows()
    sets = filled(flows)
    for one in flows:
        for wider in [other for other in flows if flow_within(one, other, LEGS)]:
            asked = (dice.packet([one], LEGS) for _ in range(20))
            narrow, wide = replace(one, verdict=Verdict.DROP), replace(wider, verdict=Verdict.DROP)
            assert all(
                speaks_of(wide, packet, moment, LEGS, sets) for packet, moment in asked if speaks_of(narrow, packet, moment, LEGS, sets)
            )  # fmt: skip


def test_a_narrower_intent_is_found_within_a_wider_one() -> None:
    wide = flow("wide", STAFF, end("servers"), Transport("tcp", 400, 500))
    narrow = flow(
        "narrow",
        end("staff", *nets("10.20.10.16/28")),
        SERVERS,
        Transport("tcp", 443, 443),
        Transport("tcp", 450, 460),
    )
    assert flow_within(narrow, wide, LEGS)
    assert not flow_within(wide, narrow, LEGS)
    assert not flow_within(replace(narrow, carried=(Transport("udp", 443, 443),)), wide, LEGS)
    party = flow("party", STAFF, end(OUTSIDE, named=("a.example",), holder="a"), WEB)
    assert flow_within(party, flow("out", STAFF, end(OUTSIDE), ANY), LEGS)
    site = flow("site", STAFF, end(OUTSIDE, *nets("10.63.0.0/16")), WEB)
    assert not flow_within(site, flow("out", STAFF, end(OUTSIDE), ANY), LEGS), (
        "set aside, so no part of the whole outside"
    )


def test_the_order_of_intents_does_not_matter() -> None:
    dice = FlowDice(Random(7))
    flows = dice.flows()
    shuffled = sorted(flows, key=lambda one: one.why + one.slug[::-1])
    assert compiled(flows, LEGS) == compiled(shuffled, tuple(reversed(LEGS)))


def test_everything_is_dropped_where_nothing_is_meant() -> None:
    rules = compiled([], LEGS)
    assert rules.rules[-1].verdict is Verdict.DROP
    assert rules.rules[-1].log
    assert {rule.state for rule in rules.rules if rule.verdict is Verdict.ACCEPT} == {"established"}


def part_of(rule: FilterRule) -> str:
    """The part of the list that a rule is of, by what it says."""
    return "early" if rule.early else rule.flow or rule.state or rule.comment


def test_rules_stand_in_their_order() -> None:
    """False sources first, the last drop last; what is forbidden before what is allowed; all the outside at the end."""
    flows = [
        flow("web", STAFF, end(OUTSIDE), WEB), flow("files", STAFF, SERVERS, Transport("tcp", 445, 445)),
        flow("not-there", end("staff", *nets("10.20.10.16/28")), SERVERS, ANY, verdict=Verdict.DROP),
    ]  # fmt: skip
    rules = compiled(flows, LEGS).rules
    order = list(dict.fromkeys(part_of(rule) for rule in rules))
    parts = [
        "early",
        "established",
        "invalid",
        "not-there",
        "files",
        "Never meant for the outside",
        "web",
        "Everything else",
    ]
    assert order == parts


def test_every_accept_names_its_sources_and_is_of_one_family_and_protocol() -> None:
    """No intent of the examples is compiled to any source of a zone; the outside is all but the office and what is set aside."""
    for name in NAMES:
        for rule in office(name).rules.rules:
            if rule.flow and rule.verdict is Verdict.ACCEPT:
                assert rule.family in {4, 6}
                assert rule.sources or rule.not_sources or rule.zone_in == FIREWALL, rule
                assert rule.protocol
                assert rule.state == "new"
                assert {network.version for network in (*rule.sources, *rule.targets)} <= {rule.family}


def test_numbers_are_unique_and_stay_where_nothing_changes() -> None:
    """A new intent of the guests moves no number of the staff."""
    before = [flow("files", STAFF, SERVERS, Transport("tcp", 445, 445)), flow("web", STAFF, end(OUTSIDE), WEB)]
    after = [*before, flow("a-guest", end("guests"), end(OUTSIDE), WEB), flow("b-guest", end("guests"), SERVERS, WEB)]
    old, new = compiled(before, LEGS).rules, compiled(after, LEGS).rules
    slugs = [rule.slug for rule in new]
    assert len(set(slugs)) == len(slugs)
    assert {rule.slug: rule for rule in old}.items() <= {rule.slug: rule for rule in new}.items()
    assert all(rule.slug.startswith("r-") and len(rule.slug) >= 5 and rule.slug[2:].isdigit() for rule in new)


def test_ports_of_one_protocol_stand_in_one_rule_joined() -> None:
    carried = (
        Transport("tcp", 80, 80),
        Transport("tcp", 443, 443),
        Transport("tcp", 81, 90),
        Transport("udp", 443, 443),
    )
    rules = [
        rule
        for rule in compiled([flow("web", STAFF, SERVERS, *carried)], LEGS).rules
        if rule.flow and rule.family == 4
    ]
    assert [(rule.protocol, rule.ports) for rule in rules] == [
        ("tcp", ((80, 90), (443, 443))),
        ("udp", ((443, 443),)),
    ]


def test_the_same_said_twice_is_one_rule() -> None:
    twice_said = [flow(slug, STAFF, SERVERS, Transport("tcp", 445, 445)) for slug in ("a", "b")]
    assert [rule.flow for rule in compiled(twice_said, LEGS).rules if rule.flow] == ["a", "a"], "one in each family"


def within(some: Collection[Any], others: Collection[Any]) -> bool:
    """Whether one condition of a rule holds no more than another's; an empty one holds everything."""
    return not others or (bool(some) and set(some) <= set(others))


TWICE = {("neighbours-outside", "neighbours-outside-lent")}
"""An address that is lent can't be named, so neighbours are heard at any; what is known by name keeps its own rule above that."""


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_of_the_examples_says_only_what_another_says(name: str) -> None:
    """Of one family, way and state, by addresses and ports; but for the one pair that is told and meant."""
    rules = [rule for rule in office(name).rules.rules if rule.flow and rule.verdict is Verdict.ACCEPT]
    found = set()
    for one, other in permutations(rules, 2):
        same = all(
            getattr(one, field) == getattr(other, field)
            for field in ("family", "zone_in", "zone_out", "protocol", "window", "target_set")
        )
        narrower = within(one.targets, other.targets) and within(one.ports, other.ports)
        if same and set(one.sources) == set(other.sources) and narrower:
            found.add((one.flow, other.flow))
    assert found <= TWICE


def test_whoever_is_known_by_names_can_be_reached_and_begins_nothing() -> None:
    party = end(OUTSIDE, named=("help.maker.example",), holder="maker")
    rules = compiled([flow("in", party, SERVERS, WEB), flow("out", STAFF, party, WEB)], LEGS)
    assert {rule.flow for rule in rules.rules if rule.flow} == {"out"}
    assert rules.sets == (("maker", (), ("help.maker.example",)),)


def test_what_is_shut_as_a_whole_leaves_a_party_in_a_set_aside_network() -> None:
    """All the outside is forbidden, and that is not 10.63.0.0/16, which an intent names."""
    flows = [
        flow("shut", STAFF, end(OUTSIDE), ANY, verdict=Verdict.DROP),
        flow("site", STAFF, end(OUTSIDE, *nets("10.63.0.0/16", "203.0.113.0/24")), WEB),
    ]  # fmt: skip
    rules, (staff, site, outside) = compiled(flows, LEGS), hosts("10.20.10.5", "10.63.4.4", "203.0.113.7")
    assert passes(rules, Packet("zone-10", staff, site, "tcp", 443))
    assert not passes(rules, Packet("zone-10", staff, outside, "tcp", 443))


def test_intents_of_zones_without_a_port_make_no_rule() -> None:
    assert not [rule for rule in compiled([flow("far", STAFF, end("attic"), WEB)], LEGS).rules if rule.flow]


def test_comments_are_short_and_of_one_line() -> None:
    named = replace(flow("x", STAFF, SERVERS, WEB), name='Files "for\n all\\" ' + "ä" * 200)
    comments = {rule.comment for rule in compiled([named], LEGS).rules if rule.flow}
    assert all(len(comment.encode()) <= 100 and not set(comment) & set('"\\\n') for comment in comments)


def test_what_never_goes_outside_is_private_and_leaves_examples_out() -> None:
    """RFC 1918, RFC 4193 and the like are in; RFC 5737 and RFC 3849, which stand for outside addresses here, are not."""
    for text in (
        "10.1.2.3",
        "172.31.0.1",
        "192.168.1.1",
        "100.64.1.1",
        "127.0.0.1",
        "169.254.1.1",
        "240.0.0.1",
        "fd00::1",
        "fe80::1",
    ):
        assert any(hosts(text)[0] in network for network in NEVER_OUTSIDE), text
    for text in ("192.0.2.1", "198.51.100.1", "203.0.113.1", "2001:db8::1", "8.8.8.8", "2606:4700::1"):
        assert not any(hosts(text)[0] in network for network in NEVER_OUTSIDE), text
