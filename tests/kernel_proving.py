"""Puts packets to the kernel and to the proof of the rules as that kernel lists them, and tells where the two differ."""

import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import kernel
from kernel_judging import Probe, interface, probe
from packets import ends, number_of
from proof_samples import header_of
from random_rules import LEGS, Dice, answer, moment_of
from referees.filtering import Moment, way_out
from scantling.figures.traffic import FIREWALL, Host, Leg, RuleSet
from scantling.trials.proof.diagram import Diagram
from scantling.trials.proof.headers import Ground, grounds
from scantling.trials.proof.kernel import Kernel
from scantling.trials.proof.listing import read_listing
from scantling.trials.proof.matching import Reading
from scantling.trials.proof.sides import Court, Fate, Side

ITSELF = "the firewall itself"
"""The comment of what lets it speak to itself, as when an error goes to its own address."""
TAKEN = "taken"
OWN, INCOMING = frozenset(("output",)), frozenset(("early", "input", "forward"))
"""Chains that count packets of the firewall itself, and packets from elsewhere; what the firewall answers is counted with its own."""


class Proof:
    """What becomes of every packet by a listing of the kernel's."""

    def __init__(self, objects: Sequence[Mapping[str, Any]], legs: Sequence[Leg] = LEGS) -> None:
        self.objects = [one for one in objects if not _of_the_lab(one)]
        listing = read_listing(self.objects)
        self.known: dict[int, tuple[Ground, Diagram[Fate]]] = {}
        for ground in grounds(legs, []):
            stages = Kernel(ground, listing, Reading(ground, listing)).stages()
            self.known[ground.family] = (ground, Court(ground).diagram(Side("the kernel", {ground.family: stages})))

    def fate(self, one: Probe, moment: Moment) -> Fate:
        """Of one packet."""
        ground, diagram = self.known[one.packet.source.version]
        return diagram.decide(header_of(one.packet, moment, ground))


def _of_the_lab(one: Mapping[str, Any]) -> bool:
    """Whether an object is of the lab's own table, in which the firewall's taking is stopped."""
    return any("lab" in {said.get("table"), said.get("name")} for said in one.values() if isinstance(said, dict))


def counts(objects: Sequence[Mapping[str, Any]], chains: frozenset[str]) -> dict[str, int]:
    """How many packets each rule of some chains has decided, by the rule's key."""
    found: Counter[str] = Counter()
    for rule in (one["rule"] for one in objects if "rule" in one):
        if rule["chain"] in chains and rule.get("comment") != ITSELF:
            many = [said["counter"]["packets"] for said in rule["expr"] if "counter" in said]
            found[f"{rule['family']} {rule['table']} {rule['chain']} {rule['handle']}"] += sum(many)
    return {key: many for key, many in found.items() if many}


def differences(lab: kernel.Lab, rules: RuleSet, text: str, dice: Dice, many: int) -> tuple[int, str]:
    """How many packets both judged, and where they differ: which rule decided how many, and which went out."""
    lab.load(text)
    proof = Proof(lab.ask("counted")["listing"])
    tried = 0
    for own in (False, True):
        lab.load(text)  # connections are forgotten, counters begin anew; handles are as they were
        said = "an hour struck"
        while said == "an hour struck":
            moment = moment_of(time.time())
            sent = list(packets(dice, rules, proof, moment, own=own, many=many))
            said = differ(lab, proof, sent, moment, OWN if own else INCOMING)
            lab.load(text)
        tried += len(sent)
        if said:
            return tried, f"{'own' if own else 'from outside'}: {said}\n" + "\n".join(map(str, rules.rules))
    return tried, ""


def differ(lab: kernel.Lab, proof: Proof, sent: Sequence[Probe], moment: Moment, chains: frozenset[str]) -> str:
    """Where a proof and the kernel that is loaded differ; nothing where they agree."""
    heard = lab.send([(one.packet.origin, one.octets) for one in sent])
    listing = lab.ask("counted")["listing"]
    seen = counts(listing, chains) | ({TAKEN: taken(listing)} if chains is INCOMING else {})
    if moment_of(time.time()) != moment:
        return "an hour struck"
    fates = [(one, proof.fate(one, moment)) for one in sent]
    targets = {one.number: one.packet.target.packed for one in sent}
    out = {number for _, octets in heard if (number := number_of(octets)) and targets.get(number) == ends(octets)[1]}
    passing = [one for one, fate in fates if fate.outcome.passes]
    for_itself = [one for one in passing if way_out(one.packet.target, LEGS) == FIREWALL]
    meant = {one.number for one in passing} - {one.number for one in for_itself}
    odd = [one.packet for one in sent if (one.number in out) != (one.number in meant)]
    keys = {f"{rule['family']} {rule['table']} {rule['chain']} {rule['handle']}" for rule in _rules(proof.objects)}
    decided = dict(Counter(fate.by for _, fate in fates if fate.by in keys))
    decided |= {TAKEN: len(for_itself)} if chains is INCOMING else {}
    return "" if not odd and seen == decided else f"kernel: {seen}\nproof: {decided}\nodd: {odd}"


def taken(objects: Sequence[Mapping[str, Any]]) -> int:
    """How many packets the firewall took for itself."""
    return sum(
        int(said["counter"]["packets"])
        for rule in _rules(objects)
        if (rule["table"], rule["chain"]) == ("lab", "taken")
        for said in rule["expr"]
        if "counter" in said
    )


def _rules(objects: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return [one["rule"] for one in objects if "rule" in one]


def packets(dice: Dice, rules: RuleSet, proof: Proof, moment: Moment, *, own: bool, many: int) -> Iterator[Probe]:
    """Packets on the edges of rules, some of them with what comes back."""
    gone: set[tuple[str, Host, Host]] = set()
    for _ in range(many):
        sent = probe(dice.packet(rules.rules, own=own))
        packet = sent.packet
        if (packet.protocol, packet.target, packet.source) in gone:
            continue  # without ports it would be taken for an answer to what went the other way
        if packet.protocol in {"esp", "gre"}:
            gone.add((packet.protocol, packet.source, packet.target))
        yield sent
        there = way_out(packet.target, LEGS)
        returns = not own and packet.state == "new" and packet.protocol in {"tcp", "udp"} and there != FIREWALL
        if returns and way_out(packet.source, LEGS) != FIREWALL and dice.chance(0.3):
            passed = proof.fate(sent, moment).outcome.passes
            yield probe(answer(packet, interface(there, LEGS), passed=passed), answers=True)
