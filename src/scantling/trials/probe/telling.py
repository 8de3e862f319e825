"""What probes show, for people: each thing that went otherwise than meant in a sentence, one for each cause, and counts."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property

from scantling.figures import FIREWALL, OUTSIDE, Flow, Host
from scantling.plan.make import Plan
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.intended import Intended, carried, header
from scantling.trials.probe.probing import Heard, Judgement, Kind, Probe, Verdict
from scantling.trials.probe.spots import told_apart
from scantling.trials.proof.meaning import SPOOFED, STRAY
from scantling.trials.proof.proving import Case
from scantling.trials.proof.telling import carried_words, packet_words
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Cell, Mismatch

ALARMING = (
    Verdict.LET_THROUGH, Verdict.WRONG_HOST, Verdict.WRONG_SOURCE, Verdict.DROPPED, Verdict.REJECTED, Verdict.DEAD, Verdict.CLOSED,
    Verdict.NEVER_CAME,
)  # fmt: skip
"""In the order in which they are told."""
PASSING = frozenset({Verdict.LET_THROUGH, Verdict.DROPPED, Verdict.REJECTED})
"""What a rule decides."""


@dataclass(frozen=True)
class Teller:
    """Everything that a sentence on a probe needs to know."""

    case: Case
    office: Office
    now: Now

    @cached_property
    def meant(self) -> Mapping[int, Intended]:
        """The intents, by family."""
        return {family: Intended(self.case, Aims(self.office, self.now, family)) for family in self.now.families}

    @cached_property
    def zones(self) -> Mapping[str, str]:
        """Zones by slug of the station."""
        return {one.slug: one.zone for one in self.office.stations}

    @cached_property
    def labels(self) -> Mapping[str, str]:
        """What stations are called."""
        return {one.slug: one.label for one in self.office.stations}

    def target_zone(self, probe: Probe) -> str:
        """Where a probe goes: the zone of whom it means, or that of an address that is nobody's."""
        if probe.target in self.zones:
            return self.zones[probe.target]
        mine = (leg.zone for leg in self.office.legs for net in leg.networks if _in(probe.address, net))
        return next(mine, OUTSIDE)

    def packet(self, probe: Probe) -> str:
        """A probe as scantling prove --packet takes it."""
        meant = self.meant[probe.family]
        return packet_words(header(meant, probe), meant.ground)

    def carried(self, probe: Probe) -> str:
        """What it carries: tcp 445, echo, protocol 47."""
        if probe.kind is Kind.ECHO:
            return "echo"
        if probe.kind is Kind.STRAY:
            return f"stray tcp {probe.port}"
        return _carried(carried(probe.kind, probe.port, probe.family))


@cache
def _carried(number: int) -> str:
    return carried_words(((number, number),))


def _in(host: Host, net: object) -> bool:
    return getattr(net, "version", 0) == host.version and host in net  # type: ignore[operator]


def mismatches(
    judgements: Iterable[Judgement], teller: Teller, decided: Mapping[int, str] | None = None
) -> tuple[Mismatch, ...]:
    """What went otherwise than meant, one for each cause, alarming ones first. `decided`: rules by number of the probe."""
    wrong = [one for one in judgements if not one.well]
    causes = _Causes(teller, decided or {}, wrong)
    groups: dict[tuple[Verdict, str], list[Judgement]] = {}
    for one in wrong:
        groups.setdefault((one.verdict, causes.of(one)), []).append(one)
    ordered = sorted(groups.items(), key=lambda one: (ALARMING.index(one[0][0]), -len(one[1]), one[0][1]))
    return tuple(_mismatch(cause, many, teller, decided or {}) for (_, cause), many in ordered)


class _Causes:
    """What tries that went wrong have in common."""

    def __init__(self, teller: Teller, decided: Mapping[int, str], wrong: Sequence[Judgement]) -> None:
        self.teller, self.decided = teller, decided
        self.lost = self._whole(one.probe.source for one in wrong if one.verdict is Verdict.NEVER_CAME)
        self.dead = self._whole(one.probe.target for one in wrong if one.verdict is Verdict.DEAD)

    def _whole(self, stations: Iterable[str]) -> frozenset[str]:
        """Zones of which every station but one at most is among some, and two at least are."""
        mine = Counter(self.teller.zones.get(slug, "") for slug in set(stations))
        every = Counter(self.teller.zones.values())
        few = 2
        return frozenset(zone for zone, many in mine.items() if zone and many >= few and many >= every[zone] - 1)

    def of(self, one: Judgement) -> str:
        """A rule, an intent, a machine, or a zone."""
        probe = one.probe
        if one.verdict in PASSING:
            return self.decided.get(probe.id) or probe.reason or self._unasked(probe)
        if one.verdict is Verdict.NEVER_CAME:
            zone = self.teller.zones.get(probe.source, "")
            return zone if zone in self.lost else probe.source
        if one.verdict is Verdict.WRONG_SOURCE:
            return f"addresses toward {self.teller.target_zone(probe)}"
        zone = self.teller.zones.get(probe.target, "")
        return zone if one.verdict is Verdict.DEAD and zone in self.dead else probe.target

    def _unasked(self, probe: Probe) -> str:
        return f"{self.teller.zones.get(probe.source, '')} to {self.teller.target_zone(probe)}"


def _mismatch(cause: str, many: Sequence[Judgement], teller: Teller, decided: Mapping[int, str]) -> Mismatch:
    one = min(
        many, key=lambda one: (one.probe.id not in decided, one.probe.kind not in {Kind.TCP, Kind.UDP}, one.probe.id)
    )
    probe, names = one.probe, teller.case.names
    rule = decided.get(probe.id, "")
    more = len(many) - 1
    also = f"; and so did {more} more tr{'ies' if more > 1 else 'y'}" if more else ""
    return Mismatch(
        f"{_says(one, teller, rule)}{also}.", cause, names.line(probe.reason), rule, teller.packet(probe), len(many)
    )


def _says(one: Judgement, teller: Teller, rule: str) -> str:
    probe, seen = one.probe, one.seen
    meant = teller.meant[probe.family]
    head = header(meant, probe)
    who = f"{_who(probe, teller)} ({probe.source_address})"
    whom = teller.case.names.target(head, meant.ground)
    by = f"by {teller.carried(probe)} in IPv{probe.family}"
    asks = f"as {_asks(probe, teller)} asks"
    port = probe.arrives[1] if probe.arrives else probe.port
    ends: Mapping[Verdict, str] = {
        Verdict.LET_THROUGH: f"reached {whom} {by}, {_against(probe, teller)}: {_by_rule('let through', rule)}",
        Verdict.DROPPED: f"did not reach {whom} {by}, {asks}: {_by_rule('dropped', rule)}",
        Verdict.REJECTED: f"did not reach {whom} {by}, {asks}: {_by_rule('refused', rule)}",
        Verdict.DEAD: f"was let through to {whom} {by}, {asks}, but nobody answers there",
        Verdict.CLOSED: f"was let through to {whom} {by}, {asks}, but nobody listens there at port {port}",
        Verdict.WRONG_HOST: f"asked {whom} {by}, {asks}, but {_answerer(one, teller)} answers",
        Verdict.WRONG_SOURCE: f"reached {whom} {by} as {seen.seen_as} instead of {probe.seen_as or probe.source_address}",
        Verdict.NEVER_CAME: f"sent to {whom} {by}, and it never came to the firewall{_around(one, teller)}",
    }  # fmt: skip
    return f"{who} {ends[one.verdict]}"


def _who(probe: Probe, teller: Teller) -> str:
    """The station that tries; when under an address that is not its own, that it does."""
    if probe.source == FIREWALL:
        return "the firewall"
    held = teller.meant[probe.family].aims.at.get(probe.source_address)
    own = held == probe.source or (held is None and teller.zones.get(probe.source) == OUTSIDE)
    if own and probe.kind is not Kind.FALSE:
        return probe.source
    zone = teller.case.names.zone(teller.zones.get(probe.source, ""))
    return f"somebody in {zone} under another's address"


def _asks(probe: Probe, teller: Teller) -> str:
    line = teller.case.names.line(probe.reason)
    return f"intent {teller.case.names.intent(probe.reason)}" + (f", {line}," if line else "")


def _against(probe: Probe, teller: Teller) -> str:
    """Why it should have been kept out."""
    if probe.reason:
        return f"which {_asks(probe, teller)} forbids"
    if probe.kind is Kind.FALSE:
        return f"with {SPOOFED}"
    if probe.kind is Kind.STRAY:
        return f"though it {STRAY}"
    return "and no intent asks for it"


def _by_rule(what: str, rule: str) -> str:
    return f'{what} by rule "{rule}"' if rule else what


def _around(one: Judgement, teller: Teller) -> str:
    """That it is answered all the same."""
    return f", yet {_answerer(one, teller)} answers: it went around" if one.seen.heard is Heard.ANSWER else ""


def _answerer(one: Judgement, teller: Teller) -> str:
    seen = one.seen
    who = teller.labels.get(seen.answerer, seen.answerer) or "somebody else"
    port = f" at port {seen.answered_at}" if seen.answerer == one.probe.answers else ""
    return f"{who}{port}"


# ----------------------------------------------------------------------------------------------------------- counts


def cells(judgements: Iterable[Judgement], teller: Teller) -> tuple[Cell, ...]:
    """Tries from zone to zone by what they carry, in the order in which they were made."""
    return _counted(
        ((teller.zones[one.probe.source], teller.target_zone(one.probe), teller.carried(one.probe)), one)
        for one in judgements
    )


def matrix(judgements: Iterable[Judgement], teller: Teller) -> tuple[Cell, ...]:
    """Tries from each zone to each machine and each zone besides; what they carry is all one."""
    machines = {one.slug for one in teller.office.stations if one.sort.value == "machine"}
    return _counted(_to_services(judgements, teller, machines))


def _to_services(
    judgements: Iterable[Judgement], teller: Teller, machines: set[str]
) -> Iterator[tuple[tuple[str, str, str], Judgement]]:
    for one in judgements:
        target = one.probe.target if one.probe.target in machines else teller.target_zone(one.probe)
        yield (teller.zones[one.probe.source], target, ""), one


def _counted(many: Iterable[tuple[tuple[str, str, str], Judgement]]) -> tuple[Cell, ...]:
    found: dict[tuple[str, str, str], list[int]] = {}
    for key, one in many:
        count = found.setdefault(key, [0, 0, 0, 0])
        passed = one.passed
        for place, there in enumerate((True, passed, not passed, not one.well)):
            count[place] += there
    return tuple(Cell(*key, *count) for key, count in found.items())


GROUPS = {
    "discovery": "calls to everybody on a link, by which devices find each other",
    "housekeeping": "what a link's devices say to each other of themselves: neighbours, routers, addresses asked for by all",
}


def untried(plan: Plan) -> tuple[str, ...]:
    """What is left out of the tries, in sentences with counts."""
    _, cannot = told_apart(plan.records(Flow))
    count = Counter(flow.group for flow in cannot)
    return tuple(
        f"{many} intent{'s' if many > 1 else ''} not tried one by one: {GROUPS.get(group, group)}."
        for group, many in count.items()
    )


__all__ = ["Teller", "cells", "matrix", "mismatches", "untried"]
