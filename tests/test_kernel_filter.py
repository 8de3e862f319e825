"""The kernel as referee: what it does with real packets is what a plain reading of the rules says, rule by rule."""

import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from random import Random

import pytest

import kernel
from conftest import Scale
from packets import ends, number_of, written
from random_rules import LEGS, Dice, answer, moment_of
from referees.filtering import Moment, Packet, chain_of, deciding, way_out
from rule_samples import nets
from scantling.figures.traffic import FIREWALL, FilterRule, RuleSet, Verdict
from scantling.outputs.files.packet_filter import rules_text

PACKETS = 60
NUMBERS = count(1)


@dataclass(frozen=True)
class Probe:
    """A packet, its bytes and its number."""

    packet: Packet
    number: int
    octets: bytes


def probe(packet: Packet, *, answers: bool = False) -> Probe:
    number = next(NUMBERS)
    ported = packet.protocol in {"tcp", "udp", "icmp", "icmpv6"}
    if not answers and ported:
        packet = replace(packet, source_port=20000 + number % 40000)
    return Probe(packet, number, written(packet, number, answers=answers))


def probes(dice: Dice, rules: RuleSet, moment: Moment, *, own: bool) -> list[Probe]:
    """Packets, some of them with what comes back."""
    return list(_probes(dice, rules, moment, own=own))


def _probes(dice: Dice, rules: RuleSet, moment: Moment, *, own: bool) -> Iterator[Probe]:
    for _ in range(PACKETS):
        sent = probe(dice.packet(rules.rules, own=own))
        yield sent
        there = way_out(sent.packet.target, LEGS)
        returns = not own and sent.packet.state == "new" and sent.packet.protocol in {"tcp", "udp"}
        if returns and there != FIREWALL and way_out(sent.packet.source, LEGS) != FIREWALL and dice.chance(0.5):
            passed = verdict(deciding(sent.packet, rules, moment)) is Verdict.ACCEPT
            yield probe(answer(sent.packet, interface(there), passed=passed), answers=True)


def verdict(rule: FilterRule | None) -> Verdict:
    return rule.verdict if rule else Verdict.DROP


def interface(zone: str) -> str:
    return next(leg.interface for leg in LEGS if leg.zone == zone)


def expected(
    rules: RuleSet, sent: Sequence[Probe], moment: Moment
) -> tuple[Counter[tuple[str, str]], dict[int, str]]:
    """How many packets each rule decides, by chain, and by which port each packet goes out that may."""
    counts: Counter[tuple[str, str]] = Counter()
    out: dict[int, str] = {}
    for one in sent:
        rule = deciding(one.packet, rules, moment)
        chain = chain_of(one.packet, rules)
        if rule:
            counts["early" if rule.early else chain, rule.slug] += 1
        if verdict(rule) is Verdict.ACCEPT and chain != "input":
            out[one.number] = interface(way_out(one.packet.target, LEGS))
    return counts, out


def judged(lab: kernel.Lab, rules: RuleSet, dice: Dice, *, own: bool, loaded: str = "") -> str:
    """Where the kernel and the plain reading differ; nothing where they agree. `loaded` is the file, if not of the rules."""
    while True:
        moment = moment_of(time.time())
        sent = probes(dice, rules, moment, own=own)
        lab.load(loaded or rules_text(rules, []))
        heard = lab.send([(one.packet.origin, one.octets) for one in sent])
        counted = lab.counted()
        if moment_of(time.time()) == moment:  # else an hour may have struck in between
            break
    counts, out = expected(rules, sent, moment)
    mine = {key: counted[key] for key in counted if key[1] != "the" and counted[key] and own == (key[0] == "output")}
    arrived = arrivals(heard, sent)
    if mine == dict(counts) and arrived == out:
        return ""
    odd = [one.packet for one in sent if arrived.get(one.number) != out.get(one.number)]
    return f"counted {mine}\nexpected {dict(counts)}\nodd {odd}\n" + "\n".join(str(rule) for rule in rules.rules)


def arrivals(heard: Sequence[tuple[str, bytes]], sent: Sequence[Probe]) -> dict[int, str]:
    """By which port each packet went out, if it did; an error that quotes it has other ends."""
    ours = {one.number: ends(one.octets) for one in sent}
    return {
        number: port
        for port, octets in heard
        if (number := number_of(octets)) is not None and ours.get(number) == ends(octets)
    }


@pytest.mark.slow
@pytest.mark.parametrize("as_nobody", [False, True], ids=["who runs the tests", "an ordinary user"])
def test_the_kernel_decides_as_the_rules_are_read(scale: Scale, *, as_nobody: bool) -> None:
    with kernel.Lab(LEGS, as_nobody=as_nobody) as lab:
        for seed in range(scale(short=15, full=200)):
            dice = Dice(Random(seed + 1000 * as_nobody))
            rules = dice.rules()
            for own in (False, True):
                assert judged(lab, rules, dice, own=own) == ""


PLANTED = (
    ("tcp dport 445-450", "tcp dport 445-451"),
    ("ip saddr 10.20.10.0/24", "ip saddr 10.20.10.0/23"),
    ("ip daddr 10.20.20.5", "ip daddr 10.20.20.4/31"),
    ('iifname "zone-10"', 'iifname != "zone-20"'),
    ("ct state new", "ct state new,invalid"),
    ("counter accept comment", "counter drop comment"),
)
ONE = RuleSet(
    "office",
    (
        FilterRule(
            "r-001",
            Verdict.ACCEPT,
            "Files",
            family=4,
            zone_in="staff",
            zone_out="servers",
            sources=nets("10.20.10.0/24"),
            targets=nets("10.20.20.5"),
            protocol="tcp",
            ports=((445, 450),),
            state="new",
        ),
    ),
    LEGS,
    (),
)


def test_a_planted_mistake_is_seen() -> None:
    text = rules_text(ONE, [])
    with kernel.Lab(LEGS) as lab:
        for right, wrong in PLANTED:
            assert right in text
            seen = [
                judged(lab, ONE, Dice(Random(seed)), own=False, loaded=text.replace(right, wrong))
                for seed in range(4)
            ]
            assert any(seen), wrong
