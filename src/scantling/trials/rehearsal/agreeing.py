"""Holds three accounts of an office against each other: what is meant, the proof of the rules as the kernel lists them, and packets.

The proof is of the office as it runs: parties known by names are the addresses that their names answer, and a line has the address
that the provider lent. So it proves as well that the sets hold what they should.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from ipaddress import IPv4Address, ip_network
from typing import Any

from scantling.figures import End, Flow, Host, RuleSet
from scantling.plan.evidence import Difference
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import Intended, Reading, Said, carried
from scantling.trials.probe.probing import Expected, Judgement, Kind, Probe
from scantling.trials.proof.fields import Condition
from scantling.trials.proof.headers import INVALID, NEW, Ground, Header
from scantling.trials.proof.kernel import Kernel
from scantling.trials.proof.leading import end_of
from scantling.trials.proof.listing import Listed, read_listing
from scantling.trials.proof.listing import Listing as HeldListing
from scantling.trials.proof.matching import Reading as Conditions
from scantling.trials.proof.packet import SOURCE_PORT
from scantling.trials.proof.proving import Case, equality
from scantling.trials.proof.rulefile import side_of
from scantling.trials.proof.sides import Court, Side, in_turn, outcomes
from scantling.trials.proof.telling import packet_words
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.passages import standing
from scantling.trials.rehearsal.results import Agreement

BESIDE = frozenset({"recorder"})
"""Tables that note and decide nothing."""
KERNEL = "the kernel's rules"
MOST_TOLD = 40
PASSES, KEPT = "let it pass", "keep it out"

Listing = Sequence[Mapping[str, Any]]
Known = dict[tuple[int, str, str], tuple[Sequence[Mapping[str, Any]] | None, list[Condition]]]
"""By family, hook and rule: its matches, and what they mean."""


def lent_to(office: Office, now: Now) -> list[tuple[str, Host]]:
    """Addresses that the firewall has on its lines without having them in the plan: lent, or in IPv6 the provider's next."""
    sixth = [(way.slug, way.lent6) for way in office.ways if way.lent6 is not None]
    return [*now.lent.items(), *(one for one in sixth if one[1].version in now.families)]


def living(case: Case, office: Office, now: Now) -> Case:
    """The case of an office that runs: names are what they answer, and what is lent is known."""
    answers = dict(office.outside_names)
    rules = standing(case.rules, answers.items(), lent_to(office, now))
    rules = replace(rules, sets=tuple((slug, nets, ()) for slug, nets, _ in rules.sets))
    flows = [replace(flow, target=_answered(flow.target, answers)) for flow in case.flows]
    entries = {**case.plan.entries, Flow: [(flow.slug, flow) for flow in flows], RuleSet: [(rules.slug, rules)]}
    return Case(replace(case.plan, entries=entries), rules)


def _answered(end: End, answers: Mapping[str, Sequence[Host]]) -> End:
    """An end with the addresses that its names answer; as it is where they answer nothing."""
    found = [ip_network(host) for name in end.named for host in answers.get(name, ())]
    return replace(end, networks=(*end.networks, *found), named=()) if found else end


@dataclass(frozen=True)
class Referee:
    """Proves what a kernel's listing does in an office that runs, and says of each packet what becomes of it."""

    case: Case
    """As it runs."""
    office: Office
    now: Now
    known: Known = field(default_factory=dict)
    """What rules ask that were read."""

    def side(self, listing: Listing) -> Side:
        """What the rules of a listing do. Raises RuleFileError for what can't be judged."""
        mine = [one for one in listing if not _is_beside(one)]
        return side_of(json.dumps({"nftables": mine}), KERNEL, self.case)

    @cached_property
    def courts(self) -> tuple[Court, ...]:
        """Families that are rehearsed."""
        return tuple(court for court in self.case.courts if court.ground.family in self.now.families)

    @cached_property
    def _meant(self) -> Mapping[int, object]:
        """The intents' diagrams without the intents that say so."""
        return {court.ground.family: outcomes(in_turn(court.stages(self.case.meant))) for court in self.courts}

    def proves(self, side: Side) -> bool:
        """Whether every packet of every family fares as is meant."""
        return all(outcomes(in_turn(court.stages(side))) == self._meant[court.ground.family] for court in self.courts)

    def proves_again(self, listing: Listing) -> bool:
        """The same of another listing, most of whose rules are known by now: what they ask is read once."""
        held = read_listing([one for one in listing if not _is_beside(one)])
        stages = {
            court.ground.family: Kernel(court.ground, held, Remembering(court.ground, held, self.known)).stages()
            for court in self.courts
        }
        return self.proves(Side(KERNEL, stages))

    def differences(self, side: Side) -> tuple[Difference, ...]:
        """Where they differ, each with a packet."""
        return () if self.proves(side) else equality(self.case, self.case.meant, side)


class Remembering(Conditions):
    """Reads what rules ask, and what a rule of the same handle asked in the same words before, not again."""

    def __init__(self, ground: Ground, listing: HeldListing, known: Known) -> None:
        super().__init__(ground, listing)
        self.known = known

    def conditions(self, rule: Listed, matches: Sequence[Mapping[str, Any]], hook: str) -> list[Condition]:
        """All headers for which every match of a rule holds. Raises RuleFileError."""
        key = (self.ground.family, hook, rule.key)
        asked, found = self.known.get(key, (None, []))
        if asked == matches:
            return found
        found = super().conditions(rule, matches, hook)
        if "@party" not in f"{matches}":  # what such a set holds may change
            self.known[key] = ([*matches], found)
        return found


def _is_beside(one: Mapping[str, Any]) -> bool:
    """Whether an object of a listing belongs to a table that decides nothing."""
    return any(
        said.get("name" if kind == "table" else "table") in BESIDE
        for kind, said in one.items()
        if isinstance(said, dict)
    )


class Packing:
    """One family: tries as packets of the proof."""

    def __init__(self, case: Case, court: Court, office: Office, now: Now) -> None:
        """`case`: as it runs."""
        self.aims = Aims(office, now, court.ground.family)
        self.meant = Intended(case, self.aims)
        self.zones = {one.slug: one.zone for one in office.stations}

    def header(self, probe: Probe) -> Header:
        """A try as a packet of the proof."""
        zone = self.zones[probe.source]
        one = Try(probe.source, zone, probe.source_address, probe.kind, probe.target, probe.address, probe.port)
        state = INVALID if probe.kind is Kind.STRAY else NEW
        return Header(
            state, self.meant.place(one), int(probe.address), int(probe.source_address),
            carried(probe.kind, probe.port, probe.family), self.aims.now.moment, self.meant.line, SOURCE_PORT,
        )  # fmt: skip


class Weighing:
    """One family: what the kernel's rules do with tries."""

    def __init__(self, referee: Referee, court: Court, side: Side) -> None:
        self.packing = Packing(referee.case, court, referee.office, referee.now)
        self.kernel = Reading(court.ground, court.diagram(side), referee.now.moment, self.packing.meant.line)

    def said(self, probe: Probe) -> Said:
        """Of a try."""
        header = self.packing.header(probe)
        return self.kernel.said(header.state, header.place, (header.source, header.target), header.carried)


@dataclass(frozen=True)
class Proof:
    """What is proved of a listing: of all packets, and of each try, before it is made. Little is to be told of it to others."""

    rules: int
    """How many there are."""
    apart: tuple[Difference, ...]
    known: tuple[Said, ...]
    """All that is said of any try."""
    said: Mapping[int, int]
    """By number of a try, which of them is said of it."""
    told: Mapping[str, str]
    """Rules that are spoken of, for a person."""


def proof(case: Case, listing: Listing, now: Now, office: Office, probes: Sequence[Probe]) -> Proof:
    """The proof of all packets, and what it says of tries. Raises RuleFileError for a listing that can't be judged."""
    referee = Referee(living(case, office, now), office, now)
    side = referee.side(listing)
    weighing = {court.ground.family: Weighing(referee, court, side) for court in referee.courts}
    known: dict[Said, int] = {}
    said = {one.id: known.setdefault(weighing[one.family].said(one), len(known)) for one in probes}
    told = {one.by: side.told(one.by) if one.by else "no rule" for one in known}
    return Proof(len(side.rules), referee.differences(side), tuple(known), said, told)


def agreement(case: Case, listing: Listing, judgements: Sequence[Judgement], now: Now, office: Office) -> Agreement:
    """The three accounts of every try, and the proof of all packets. Raises RuleFileError for a listing that can't be judged."""
    found = proof(case, listing, now, office, [one.probe for one in judgements])
    return agreed_on(found, judgements, Wording(case, now, office))


def agreed_on(proof: Proof, judgements: Sequence[Judgement], wording: "Wording") -> Agreement:
    """The three accounts of every try."""
    apart = proof.apart
    told = [said for one in judgements if (said := _difference(proof, one, wording))]
    many = len(told)
    says = f"{proof.rules} rules as the kernel lists them: " + (
        f"{len(apart)} ways in which packets fare otherwise than meant" if apart else "every packet fares as is meant"
    )
    more = [f"and so with {many - MOST_TOLD} more tries"] if many > MOST_TOLD else []
    return Agreement(
        len(judgements), sum(one.probe.dated for one in judgements), len(judgements) - many, says,
        (*(f"{one.says} [{one.packet}]" for one in apart), *told[:MOST_TOLD], *more),
    )  # fmt: skip


@dataclass(frozen=True)
class Wording:
    """Tells a try as a packet in words; there is seldom one to tell."""

    case: Case
    now: Now
    office: Office

    @cached_property
    def _packing(self) -> Mapping[int, tuple[Packing, Ground]]:
        """By family."""
        running = living(self.case, self.office, self.now)
        return {
            court.ground.family: (Packing(running, court, self.office, self.now), court.ground)
            for court in running.courts
        }

    def packet(self, probe: Probe) -> str:
        """As `scantling prove --packet` takes it."""
        packing, ground = self._packing[probe.family]
        return packet_words(packing.header(probe), ground)


def _difference(proof: Proof, one: Judgement, wording: Wording) -> str:
    """In what the accounts of a try differ, with the packet; empty: in nothing."""
    probe, said = one.probe, proof.known[proof.said[one.probe.id]]
    wanted = probe.expected is Expected.ALLOWED
    astray = wanted and said.passes and _end(said.to) != (probe.arrives[0] if probe.arrives else None)
    if wanted is said.passes is one.passed and one.seen.entered and not astray:
        return ""
    led = f" and lead it to {said.to or 'where it was sent'}" if astray else ""
    seen = ("it passed" if one.passed else "it did not pass") if one.seen.entered else "it never came to the firewall"
    return (
        f"{probe.source} to {probe.target or probe.address}: the intents {PASSES if wanted else KEPT}, the kernel's rules "
        f"{PASSES if said.passes else KEPT}{led} ({proof.told[said.by]}), as a packet {seen} [{wording.packet(probe)}]"
    )


def _end(to: str) -> Host | None:
    """The address of an ending, which is in IPv4 alone."""
    return IPv4Address(end_of(to)) if to else None
