"""The proof in short: one intent, one rule, equal; a changed rule, and a packet that shows it; then random offices."""

from collections.abc import Sequence
from dataclasses import replace
from ipaddress import ip_address
from random import Random

import pytest
from conftest import Scale
from flow_samples import LEGS, FlowDice, end, flow
from offices import BRIEFS, example
from proof_samples import apart, header_of, near, plain_fate, rules_of, sides
from referees.filtering import Moment, Packet, deciding
from referees.intents import Sets, filled, meant
from rule_samples import nets

from scantling.figures import FIREWALL, OUTSIDE, Flow, Transport, Verdict
from scantling.trials.proof.headers import Header, host
from scantling.trials.proof.judge import judge
from scantling.trials.proof.meaning import CHANGEABLE, Meaning, inner_host, is_published
from scantling.trials.proof.proving import Case, case, proof
from scantling.trials.proof.spans import both

FILES = flow(
    "files", end("staff"), end("servers", *nets("10.20.20.5", "2001:db8:20:20::5")), Transport("tcp", 445, 445)
)


def test_one_intent_and_its_rules_are_equal() -> None:
    assert apart([FILES], rules_of([FILES])) == []


def test_a_rule_that_is_one_port_too_wide_is_found_with_a_packet() -> None:
    rules = rules_of([FILES])
    wide = replace(
        rules,
        rules=tuple(
            replace(rule, ports=((445, 446),)) if rule.flow and rule.family == 4 else rule for rule in rules.rules
        ),
    )
    (found,) = apart([FILES], wide)
    assert found.family == 4
    assert found.found.outcome.passes
    assert not found.wanted.outcome.passes
    header = found.header()
    assert host(header.target, 4) == ip_address("10.20.20.5")
    assert header.carried == 6 * 65536 + 446, "tcp 446 and nothing else (tcp is protocol 6, RFC 9293)"


def test_a_rule_that_is_left_out_is_found_with_a_packet() -> None:
    rules = rules_of([FILES])
    bare = replace(rules, rules=tuple(rule for rule in rules.rules if rule.family != 6 or not rule.flow))
    (found,) = apart([FILES], bare)
    assert (found.family, found.wanted.by, found.found.outcome.passes) == (6, "files", False)


@pytest.mark.parametrize("name", BRIEFS)
def test_the_examples_are_proved_with_nothing_reachable_unasked(name: str) -> None:
    plan = example(name)
    told = plan.proof
    assert told is not None
    assert told.proved
    assert told.says == "proved"
    assert told.differences == ()
    assert told.intents == told.holding == len(plan.records(Flow))
    assert all(door.asked for door in told.doors)
    assert all(one.flows for reach in told.machines for _, one in (*reach.into, *reach.out))


def the_case(name: str) -> Case:
    """An example before the court."""
    found = case(example(name))
    assert found is not None
    return found


def test_random_intents_are_compiled_to_exactly_what_they_mean(scale: Scale) -> None:
    """Compiler and meaning share no code; every packet of both families is compared."""
    judged = 0
    for seed in range(scale(short=150, full=500)):
        flows = FlowDice(Random(seed)).flows()
        if not clashing(flows):
            judged += 1
            assert apart(flows, rules_of(flows)) == [], seed
    assert judged > 100


def clashing(flows: Sequence[Flow]) -> bool:
    """Whether the same port outside is to lead to two machines, or to one and to the firewall itself: no list can do both."""
    ground = sides(flows, rules_of(flows))[0][0].ground
    meaning = Meaning(ground, tuple(flows))
    inward = [one for one in flows if one.source.zone == OUTSIDE and one.verdict is Verdict.ACCEPT]
    wanted = [
        (inner_host(one) if is_published(one) else None, both(meaning.carried(one.carried), CHANGEABLE)) for one in inward
    ]  # fmt: skip
    wanted = [
        (host, what) for (host, what), one in zip(wanted, inward, strict=True) if host or one.target.zone == FIREWALL
    ]
    return any(host != other and both(what, more) for host, what in wanted for other, more in wanted)


def test_the_meaning_is_that_of_the_plain_referee(scale: Scale) -> None:
    """Packets one by one against tests/referees/intents.py, which was written apart."""
    passed = tried = 0
    for seed in range(scale(short=40, full=150)):
        dice = FlowDice(Random(seed))
        flows = dice.flows()
        many, meaning, _ = sides(flows, rules_of(flows))
        sets: Sets = {}
        for _ in range(60):
            packet, moment = dice.packet(flows, LEGS)
            ground = many[packet.source.version == 6].ground
            if packet.translated or spoken_to_itself(packet) or is_front(packet):
                continue
            tried += 1
            wanted = meant(packet, moment, flows, ground.legs, sets)
            passed += wanted
            found = meaning.fate(header_of(packet, moment, ground), ground.family)
            assert found.outcome.passes == wanted, (seed, packet, moment)
    assert tried > 1000
    assert passed > 100


def spoken_to_itself(packet: Packet) -> bool:
    """Whether the firewall speaks to itself, which no header stands for."""
    return packet.origin == FIREWALL and any(packet.target in leg.own for leg in LEGS)


def is_front(packet: Packet) -> bool:
    """Whether it comes from outside to the firewall's own address there, where a translation may lead on."""
    legs = [leg for leg in LEGS if leg.interface == packet.origin and leg.zone == OUTSIDE]
    return any(packet.target in leg.own for leg in legs)


def test_the_rules_are_those_of_the_plain_referee(scale: Scale) -> None:
    """Packets one by one against tests/referees/filtering.py, from the first rule to the last."""
    passed = tried = 0
    for seed in range(scale(short=40, full=150)):
        dice = FlowDice(Random(seed))
        flows = dice.flows()
        rules = rules_of(flows)
        many, _, found = sides(flows, rules)
        for _ in range(60):
            packet, moment = dice.packet(flows, LEGS)
            ground = many[packet.source.version == 6].ground
            if packet.translated or spoken_to_itself(packet) or is_front(packet):
                continue
            tried += 1
            rule = deciding(packet, rules, moment)
            wanted = rule is not None and rule.verdict is Verdict.ACCEPT
            passed += wanted
            assert found.fate(header_of(packet, moment, ground), ground.family).outcome.passes == wanted, (
                seed,
                packet,
            )
    assert tried > 1000
    assert passed > 100


@pytest.mark.parametrize("name", BRIEFS)
def test_the_diagram_says_of_each_packet_what_the_list_says(name: str, scale: Scale) -> None:
    """The engine against a naive walk through the same boxes, on their edges and beside them."""
    one = the_case(name)
    for court in one.courts:
        for side in (one.meant, one.compiled):
            diagram, stages = court.diagram(side), side.stages[court.ground.family]
            for header in near(court.ground, stages, Random(name), scale(short=300, full=3000)):
                assert diagram.decide(header).outcome == plain_fate(stages, header), header


def test_what_a_published_service_is_meant_for() -> None:
    """From the outside to the firewall's own address there, which leads to the one machine; at no other address, no other port."""
    shop = flow("shop", end(OUTSIDE), end("servers", *nets("10.20.20.8")), Transport("tcp", 443, 443))
    many, meaning, rules = sides([shop], rules_of([shop]))
    ground = many[0].ground
    stranger = Packet("outside-1", ip_address("203.0.113.99"), ip_address("198.51.100.2"), "tcp", 443, 4000)
    front = header_of(stranger, Moment(0, 0), ground)
    for side in (meaning, rules):
        assert side.fate(front, 4).outcome == (True, "10.20.20.8", False)
        assert not side.fate(front._replace(carried=front.carried + 1), 4).outcome.passes
        assert not side.fate(front._replace(target=int(ip_address("10.20.20.8"))), 4).outcome.passes


def test_what_leaves_bears_the_firewalls_address_in_ipv4_only() -> None:
    web = flow("web", end("staff"), end(OUTSIDE), Transport("tcp", 443, 443))
    many, meaning, rules = sides([web], rules_of([web]))
    for ground, source, target, masked in (
        (many[0].ground, "10.20.10.20", "203.0.113.99", True),
        (many[1].ground, "2001:db8:20:10::10", "2001:db8:beef::1", False),
    ):
        packet = Packet("zone-10", ip_address(source), ip_address(target), "tcp", 443, 4000)
        header = header_of(packet, Moment(0, 0), ground)
        for side in (meaning, rules):
            assert side.fate(header, ground.family).outcome == (True, "", masked)


def test_equal_rules_are_one_diagram_and_any_other_is_another() -> None:
    one = the_case("millrace")
    court = one.courts[0]
    assert judge(court, one.meant, one.compiled).apart == ()
    shorter = replace(one.rules, rules=one.rules.rules[:-20])
    again = Case(one.plan, shorter)
    assert again.courts[0].diagram(again.compiled) != court.diagram(one.compiled)


def test_a_flow_without_a_packet_is_told() -> None:
    """An intent for a zone that the firewall has no port to, and one whose ends have no addresses of one family."""
    one = the_case("fold")
    lost = replace(one.plan.records(Flow)[0], slug="lost", source=end("attic"))
    split = replace(
        lost, slug="split", source=end("staff", *nets("10.71.30.9")), target=end("servers", *nets("fd00::1"))
    )
    entries = {**one.plan.entries, Flow: [*one.plan.entries[Flow], ("traffic", lost), ("traffic", split)]}
    told = proof(Case(replace(one.plan, entries=entries), one.rules))
    assert any("1 intents speak of a zone that the firewall has no port to" in note for note in told.notes)
    assert any("No packet is like what intent" in note and "split" in note for note in told.notes)
    assert told.proved


def test_headers_have_their_fields_in_one_order() -> None:
    assert Header._fields == ("state", "place", "target", "source", "carried", "second", "line", "source_port")


def test_sets_that_move_have_an_address_of_their_own() -> None:
    """What names answer is one address that no rule can name by chance; what is meant for it is meant for nobody else."""
    pay = flow(
        "pay", end("staff"), end(OUTSIDE, named=("pay.example",), holder="processor"), Transport("tcp", 443, 443)
    )
    many, meaning, rules = sides([pay], rules_of([pay]))
    for court in many:
        ground = court.ground
        moving = ground.moving_address("processor")
        assert ground.zone_of(moving) == OUTSIDE
        start = Header(
            0,
            ground.places("staff")[0][0],
            moving,
            ground.behind("staff")[0][0] + 9,
            6 * 65536 + 443,
            0,
            len(LEGS) - 1,
            1,
        )
        for side in (meaning, rules):
            assert side.fate(start, ground.family).outcome.passes
            assert not side.fate(start._replace(target=moving + 1), ground.family).outcome.passes
    assert filled([pay])["processor"]
