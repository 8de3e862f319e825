"""Puts packets to the kernel and to a plain reading of the rules, and tells where the two differ."""

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import count

import kernel
from packets import ends, number_of, written
from random_rules import moment_of
from referees.filtering import Moment, Packet, chain_of, deciding, way_out
from scantling.figures.traffic import FIREWALL, OUTSIDE, FilterRule, Host, Leg, RuleSet, Verdict
from scantling.outputs.files.packet_filter import rules_text

NUMBERS = count(1)
PORTED = {"tcp", "udp", "icmp", "icmpv6"}


@dataclass(frozen=True)
class Probe:
    """A packet as the rules see it, its bytes as they are sent, and its number."""

    packet: Packet
    number: int
    octets: bytes


def probe(packet: Packet, *, answers: bool = False, sent_to: tuple[Host, int] | None = None) -> Probe:
    """A packet with a number of its own; `sent_to`: target and port before the firewall translates them."""
    number = next(NUMBERS)
    if not answers and packet.protocol in PORTED:
        packet = replace(packet, source_port=20000 + number % 40000)
    on_the_wire = replace(packet, target=sent_to[0], port=sent_to[1]) if sent_to else packet
    return Probe(packet, number, written(on_the_wire, number, answers=answers))


def verdict(rule: FilterRule | None) -> Verdict:
    """What becomes of a packet; what no rule matches is dropped."""
    return rule.verdict if rule else Verdict.DROP


def interface(zone: str, legs: Sequence[Leg]) -> str:
    """The port into a zone, or the first to the outside."""
    return next((leg.interface for leg in legs if leg.zone == zone), "")


@dataclass(frozen=True)
class Outcome:
    """How many packets each rule decided, by chain, and by which port each went out, with its ends there.

    What the firewall took for itself is counted as ("taken", "taken").
    """

    decided: dict[tuple[str, str], int]
    out: dict[int, tuple[str, bytes, bytes]]


def meant(rules: RuleSet, sent: Sequence[Probe], moment: Moment) -> Outcome:
    """What the rules say, read plainly."""
    decided: Counter[tuple[str, str]] = Counter()
    out: dict[int, tuple[str, bytes, bytes]] = {}
    masks = any(one.kind == "source" for one in rules.translations)
    for one in sent:
        rule = deciding(one.packet, rules, moment)
        chain = chain_of(one.packet, rules)
        if rule:
            decided["early" if rule.early else chain, rule.slug] += 1
        if verdict(rule) is not Verdict.ACCEPT:
            continue
        if chain == "input":
            decided["taken", "taken"] += 1
            continue
        zone = way_out(one.packet.target, rules.legs)
        port = interface(zone, rules.legs)
        masked = zone == OUTSIDE and masks and one.packet.source.version == 4
        source = (
            next(host for leg in rules.legs for host in leg.own if leg.interface == port)
            if masked
            else one.packet.source
        )
        out[one.number] = (port, source.packed, one.packet.target.packed)
    return Outcome(dict(decided), out)


def done(lab: kernel.Lab, rules: str, sent: Sequence[Probe]) -> Outcome:
    """What the kernel does with the same packets; an error that quotes a packet has other ends, and is none of ours."""
    lab.load(rules)
    heard = lab.send([(one.packet.origin, one.octets) for one in sent])
    own = any(one.packet.origin == FIREWALL for one in sent)
    counts = lab.counted()
    decided = {key: many for key, many in counts.items() if many and key[1] != "the" and own == (key[0] == "output")}
    targets = {one.number: one.packet.target.packed for one in sent}
    out = {
        number: (port, *ends(octets))
        for port, octets in heard
        if (number := number_of(octets)) is not None and targets.get(number) == ends(octets)[1]
    }
    return Outcome(decided, out)


def differences(
    lab: kernel.Lab, rules: RuleSet, probes: Callable[[Moment], Sequence[Probe]], loaded: str = ""
) -> str:
    """Where the kernel and the plain reading differ; nothing where they agree. `loaded`: another file than that of the rules.

    The packets are either all the firewall's own or all from the zones: what it answers itself would be counted with its own.
    """
    while True:
        moment = moment_of(time.time())
        sent = probes(moment)
        seen = done(lab, loaded or rules_text(rules, []), sent)
        if moment_of(time.time()) == moment:  # else an hour may have struck in between
            break
    said = meant(rules, sent, moment)
    if seen == said:
        return ""
    odd = [one.packet for one in sent if seen.out.get(one.number) != said.out.get(one.number)]
    listed = "\n".join(str(rule) for rule in rules.rules)
    return f"the kernel: {seen.decided}\nread plainly: {said.decided}\nodd: {odd}\n{listed}"
