"""The kernel as referee: what it does with real packets is what a plain reading of the rules says, rule by rule."""

from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

import kernel
from conftest import Scale
from kernel_judging import Probe, differences, interface, probe, verdict
from random_rules import LEGS, Dice, answer
from referees.filtering import Moment, Packet, deciding, way_out
from rule_samples import hosts, nets
from scantling.figures.traffic import FIREWALL, FilterRule, Host, RuleSet, Verdict
from scantling.outputs.files.packet_filter import rules_text

PACKETS = 60


def probes(dice: Dice, rules: RuleSet, moment: Moment, *, own: bool) -> Iterator[Probe]:
    """Packets, some of them with what comes back."""
    gone: set[tuple[str, Host, Host]] = set()
    for _ in range(PACKETS):
        sent = probe(dice.packet(rules.rules, own=own))
        if (sent.packet.protocol, sent.packet.target, sent.packet.source) in gone:
            continue  # without ports it would be taken for an answer to what went the other way
        if sent.packet.protocol in {"esp", "gre"}:
            gone.add((sent.packet.protocol, sent.packet.source, sent.packet.target))
        yield sent
        there = way_out(sent.packet.target, LEGS)
        returns = not own and sent.packet.state == "new" and sent.packet.protocol in {"tcp", "udp"}
        if returns and there != FIREWALL and way_out(sent.packet.source, LEGS) != FIREWALL and dice.chance(0.5):
            passed = verdict(deciding(sent.packet, rules, moment)) is Verdict.ACCEPT
            yield probe(answer(sent.packet, interface(there, LEGS), passed=passed), answers=True)


def judged(lab: kernel.Lab, rules: RuleSet, dice: Dice, *, own: bool, loaded: str = "") -> str:
    return differences(lab, rules, lambda moment: list(probes(dice, rules, moment, own=own)), loaded)


@pytest.mark.slow
@pytest.mark.parametrize("as_nobody", [False, True], ids=["who runs the tests", "an ordinary user"])
def test_the_kernel_decides_as_the_rules_are_read(scale: Scale, *, as_nobody: bool) -> None:
    with kernel.Lab(LEGS, as_nobody=as_nobody) as lab:
        for seed in range(scale(short=15, full=60)):
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


@pytest.mark.parametrize("as_nobody", [False, True], ids=["who runs the tests", "an ordinary user"])
def test_a_long_list_is_loaded_whole(*, as_nobody: bool) -> None:
    long = [replace(ONE.rules[0], slug=f"r-{port}", ports=((port, port),)) for port in range(2000, 2700)]
    rules = replace(ONE, rules=tuple(long))
    with kernel.Lab(LEGS, as_nobody=as_nobody) as lab:
        source, target = hosts("10.20.10.7", "10.20.20.5")
        last = Packet("zone-10", source, target, "tcp", 2699)
        assert differences(lab, rules, lambda _: [probe(last), probe(replace(last, port=2700))]) == ""
        assert len(lab.counted()) == len(long) + 4  # and what the router takes, and what it says to itself
