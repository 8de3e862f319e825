"""Probes: what is tried, and what is meant of it by a second, plain reading of the intents."""

from collections import Counter
from dataclasses import replace
from ipaddress import IPv4Address, ip_network
from itertools import product

import pytest
from conftest import examples
from generated_offices import brief
from hypothesis import given
from hypothesis import strategies as st
from offices import example, planned
from probe_samples import TUESDAY_NOON, Stood
from referees.filtering import Moment, Packet
from referees.intents import Sets, meant, spoofed

from scantling.figures import FIREWALL, OUTSIDE, Flow, Translation, Verdict as Says
from scantling.trials.probe.intended import probes
from scantling.trials.probe.ports import FIRST_PORT, listeners, ports_of
from scantling.trials.probe.probing import Expected, Kind, Probe
from scantling.trials.probe.spots import can_be_tried
from scantling.trials.probe.telling import Teller, untried
from scantling.trials.proof.headers import DAY, MINUTE, WEEK

MOST_A_DEVICE = 70
PROTOCOLS = {Kind.TCP: "tcp", Kind.UDP: "udp", Kind.STRAY: "tcp", Kind.FALSE: "tcp"}
EXOTIC = {47: "gre", 50: "esp", 132: "sctp"}
EXAMPLES = ("millrace", "brackwater", "fold")


def packet(stood: Stood, probe: Probe) -> Packet:
    """A probe as the plain reading knows packets: after its target was changed, if it is to be."""
    zone = stood.zones[probe.source]
    way = next(
        (way for way in stood.office.ways if probe.address in (*way.own, stood.lent.get(way.slug), way.lent6)), None
    )
    leg = next((leg for leg in stood.legs if leg.zone == zone and way and leg.slug == way.slug), None)
    leg = leg or next((leg for leg in stood.legs if leg.zone == zone), None)
    origin = FIREWALL if zone == FIREWALL or leg is None else leg.interface
    echo = "icmp" if probe.family == 4 else "icmpv6"
    protocol = PROTOCOLS.get(probe.kind, echo if probe.kind is Kind.ECHO else EXOTIC.get(probe.port, ""))
    port = 0 if probe.kind is Kind.RAW else probe.port
    state = "invalid" if probe.kind is Kind.STRAY else "new"
    sent = Packet(origin, probe.source_address, probe.address, protocol, port, 20000, state)
    led = led_to(stood, sent) if zone == OUTSIDE and way is not None else None
    return replace(sent, target=led.to, port=led.port or port, translated=True) if led and led.to else sent


def led_to(stood: Stood, sent: Packet) -> Translation | None:
    """The translation of the rules that changes a packet's target."""
    for one in stood.case.rules.translations:
        what = one.carried
        if one.kind == "target" and what and what.protocol == sent.protocol and what.first <= sent.port <= what.last:
            return one if sent.target.version == 4 else None
    return None


def named(stood: Stood) -> Sets:
    """What the outside names of each party answer."""
    answers = dict(stood.office.outside_names)
    flows = [flow for flow in stood.case.flows if flow.target.named]
    return {
        flow.target.holder: tuple(ip_network(host) for name in flow.target.named for host in answers.get(name, ()))
        for flow in flows
    }


def disagreements(stood: Stood) -> list[str]:
    """Where probes and the plain reading of the intents differ."""
    sets, moment = named(stood), Moment(stood.moment // DAY, stood.moment % DAY // MINUTE)
    flows_from: dict[str, list[Flow]] = {}
    for flow in stood.case.flows:
        flows_from.setdefault(flow.source.zone, []).append(flow)
    found = []
    for probe in stood.probes:
        about = flows_from.get(stood.zones[probe.source], [])
        says = meant(packet(stood, probe), moment, about, stood.legs, sets)
        if says is not (probe.expected is Expected.ALLOWED):
            found.append(f"{says}: {probe}")
    return found


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_is_meant_is_what_a_plain_reading_of_the_intents_says(name: str) -> None:
    stood = Stood(example(name))
    assert disagreements(stood) == []
    count = Counter(one.expected for one in stood.probes)
    assert min(count[Expected.ALLOWED], count[Expected.KEPT_OUT]) > 200


@examples(short=20, full=60)
@given(st.sampled_from((5, 9, 16)), st.integers(0, WEEK - 1), st.booleans())
def test_so_it_is_in_offices_of_any_size_at_any_moment(heads: int, moment: int, everyone: bool) -> None:  # noqa: FBT001
    stood = Stood(planned(brief(heads)), everyone, moment, families=(4 + 2 * (moment % 2),))
    assert disagreements(stood) == []


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_intent_is_tried_and_every_pair_of_zones(name: str) -> None:
    stood = Stood(example(name))
    tried = {one.reason for one in stood.probes}
    both = {one.version for leg in stood.legs if leg.zone == OUTSIDE for one in leg.own}
    wanted = [flow for flow in stood.case.flows if can_be_tried(flow) and flow.verdict is Says.ACCEPT]
    # at a moment outside its hours an intent allows nothing; what another intent allows too bears that one's name
    missed = [flow.slug for flow in wanted if flow.slug not in tried and not covered(stood, flow)]
    assert missed == []
    pairs = {
        (stood.zones[one.source], Teller(stood.case, stood.office, stood.now).target_zone(one))
        for one in stood.probes
    }
    zones = [segment.slug for segment in stood.office.segments]
    every = {pair for pair in product([*zones, OUTSIDE, FIREWALL], repeat=2) if pair[0] != pair[1]}
    assert every <= pairs | {(FIREWALL, OUTSIDE)} or not both
    assert every - pairs == set()
    assert not [pair for pair in pairs if pair[0] == pair[1]]


def covered(stood: Stood, flow: Flow) -> bool:
    """Whether another intent before it allows all that it would."""
    earlier = stood.case.flows[: stood.case.flows.index(flow)]
    same = [one for one in earlier if one.source.zone == flow.source.zone and one.target.zone == flow.target.zone]
    return any(set(flow.carried) <= set(one.carried) or one.target == flow.target for one in same)


def test_every_edge_of_an_intents_ports_is_tried_and_just_outside() -> None:
    stood = Stood(example("millrace"))
    calls = [one for one in stood.probes if one.target == "party-telephones" and one.source == "handsets-01"]
    found = {(one.kind, one.port): one.expected for one in calls if one.family == 4}
    # calls-handsets-to-telephones: tcp and udp 5060-5061, udp 10000-20000
    for kind, port in product((Kind.TCP, Kind.UDP), (5060, 5061)):
        assert found[kind, port] is Expected.ALLOWED
    for kind, port in product((Kind.TCP, Kind.UDP), (5059, 5062)):
        assert found[kind, port] is Expected.KEPT_OUT
    assert [found[Kind.UDP, port] for port in (9999, 10000, 20000, 20001)] == [
        Expected.KEPT_OUT, Expected.ALLOWED, Expected.ALLOWED, Expected.KEPT_OUT,
    ]  # fmt: skip


def test_a_published_service_is_tried_at_the_firewalls_own_address_and_arrives_inside_in_its_hours() -> None:
    plan = example("millrace")
    there = {moment: [one for one in Stood(plan, moment=moment).probes if one.dated] for moment in (TUESDAY_NOON, 0)}
    led = [one for one in there[TUESDAY_NOON] if one.source == "party-ticket-maker" and one.arrives]
    assert {str(one.address) for one in led} == {
        "203.0.113.45",
        "192.0.2.10",
    }  # its own, and the one lent on the standby line
    for one in led:
        assert (one.port, one.target, one.expected) == (443, "application", Expected.ALLOWED)
        assert one.arrives == (IPv4Address("10.44.20.21"), 443)
        assert (one.answers, one.reason) == ("application", "allow-ticket-help")
    assert there[0]
    assert all(one.expected is Expected.KEPT_OUT for one in there[0])


def test_what_leaves_in_the_fourth_version_bears_the_firewalls_address() -> None:
    stood = Stood(example("brackwater"))
    out = [
        one
        for one in stood.probes
        if stood.zones[one.source] not in {OUTSIDE, FIREWALL} and one.expected is Expected.ALLOWED
    ]
    target_zone = Teller(stood.case, stood.office, stood.now).target_zone
    far = [one for one in out if target_zone(one) == OUTSIDE]
    assert far
    assert {one.seen_as for one in far if one.family == 4} == {stood.lent["fibre"]}
    assert {one.seen_as for one in out if target_zone(one) != OUTSIDE} == {None}


def test_everyone_tries_about_as_much_as_one_device_can_be_expected_to() -> None:
    stood = Stood(example("millrace"), everyone=True, families=(4,))
    assert len(stood.office.stations) > 400
    assert 55 * len(stood.office.stations) < len(stood.probes) < MOST_A_DEVICE * len(stood.office.stations)
    each = Counter(one.source for one in stood.probes)
    assert min(each[one.slug] for one in stood.office.stations if one.zone not in {OUTSIDE, FIREWALL}) > 40


def test_no_try_is_made_twice_and_each_has_a_port_of_its_own_that_nobody_listens_at() -> None:
    stood = Stood(example("brackwater"), everyone=True)
    assert [one.id for one in stood.probes] == list(range(len(stood.probes)))
    assert len({(one.source, one.source_address, one.kind, one.address, one.port) for one in stood.probes}) == len(
        stood.probes
    )
    ports = ports_of(stood.probes)
    sent = [one for one in stood.probes if one.kind is not Kind.ECHO]
    assert len({(one.source_address, ports[one.id]) for one in sent}) == len(sent)
    echoes = [one for one in stood.probes if one.kind is Kind.ECHO]
    assert len({(one.family, ports[one.id]) for one in echoes}) == len(echoes)
    listened = {port for many in listeners(stood.probes).values() for _, port in many}
    assert not listened & set(ports.values())
    assert FIRST_PORT <= min(ports.values()) < FIRST_PORT + 10


def test_whoever_must_answer_listens_and_so_does_whoever_must_not_be_reached() -> None:
    stood = Stood(example("fold"))
    listening = listeners(stood.probes)
    for one in stood.probes:
        port = one.arrives[1] if one.arrives else one.port
        if one.kind in {Kind.TCP, Kind.UDP} and one.target:
            assert (one.kind, port) in listening[one.target]


def test_real_services_are_asked_for_real_and_nobody_else_listens_there() -> None:
    stood = Stood(example("millrace"))
    real = {
        "filter": {(Kind.TCP, 53), (Kind.UDP, 53)},
        FIREWALL: {(Kind.UDP, 123), (Kind.UDP, 67)},
        OUTSIDE: {(Kind.UDP, 123)},
    }
    now = replace(stood.now, real=real)
    found = probes(stood.case, stood.office, now)
    asked = [one for one in found if one.target == "filter" and one.port == 53]
    assert {one.first for one in asked} == {"names"}
    assert {one.answers for one in asked if one.expected is Expected.ALLOWED and one.kind is Kind.UDP} == {"filter"}
    clocks = [one for one in found if one.first == "time"]
    assert {stood.zones[one.target] for one in clocks} == {FIREWALL, OUTSIDE}
    relay = [one for one in found if one.target == FIREWALL and (one.kind, one.port) == (Kind.UDP, 67)]
    assert any(one.expected is Expected.ALLOWED for one in relay)
    assert {one.answers for one in relay} == {""}
    listening = listeners(found, real)
    assert (Kind.UDP, 53) not in listening["filter"]
    assert (Kind.UDP, 123) not in listening[FIREWALL]
    assert (Kind.UDP, 67) not in listening[FIREWALL]


def test_false_sources_are_never_meant_to_pass_and_lie_elsewhere() -> None:
    stood = Stood(example("millrace"))
    false = [one for one in stood.probes if one.kind is Kind.FALSE]
    assert {stood.zones[one.source] for one in false} >= {segment.slug for segment in stood.office.segments}
    for one in false:
        assert one.expected is Expected.KEPT_OUT
        assert spoofed(packet(stood, one), stood.legs)


def test_what_is_left_out_is_said_with_counts() -> None:
    plan = example("millrace")
    left_out = [flow for flow in plan.records(Flow) if not can_be_tried(flow)]
    told = untried(plan)
    assert sum(int(one.split()[0]) for one in told) == len(left_out)
    assert {flow.group for flow in left_out} == {"discovery", "housekeeping"}
