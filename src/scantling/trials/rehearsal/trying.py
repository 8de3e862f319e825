"""Tries everything in the living office, and says what came of it: counts, what went otherwise and by which rule, who agrees."""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from ipaddress import IPv6Network

from scantling.figures import OUTSIDE, Host
from scantling.trials.probe.aims import Now
from scantling.trials.probe.intended import probes
from scantling.trials.probe.judging import judged
from scantling.trials.probe.ports import listeners, ports_of
from scantling.trials.probe.probing import Judgement, Kind, Probe
from scantling.trials.probe.telling import PASSING, Teller, matrix, mismatches
from scantling.trials.rehearsal.beside import Prepared
from scantling.trials.rehearsal.boundaries import Ready, key_of
from scantling.trials.rehearsal.building import SIXTH
from scantling.trials.rehearsal.loading import listing
from scantling.trials.rehearsal.office import Sort
from scantling.trials.rehearsal.prober import Manner, tried
from scantling.trials.rehearsal.responders import Responders
from scantling.trials.rehearsal.results import Cell, Mismatch
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.session import OWN_ALONE, Living
from scantling.trials.rehearsal.tracer import MOST, Sent, comments, deciding, traced

WEEK, THURSDAY = 7 * 86400, 3 * 86400
"""Seconds of a week; the clock's first day was a Thursday, weeks begin on Monday."""
NO_WAY_BACK = "The office's IPv6 addresses are its own alone (RFC 4193), so nothing outside can answer to them."
MANY, AFTER_ALL, FEW = 4, 65000, 1000
"""Tries traced of each kind of thing that went wrong."""


@dataclass(frozen=True)
class Tried:
    """All tries of one pass."""

    judgements: tuple[Judgement, ...]
    cells: tuple[Cell, ...]
    mismatches: tuple[Mismatch, ...]
    now: Now


@dataclass
class Trial:
    """What is tried in an office, and who answers; the same tries may be made again and again."""

    living: Living
    now: Now
    probes: list[Probe]
    ports: dict[int, int]
    responders: Responders

    @property
    def rooms(self) -> dict[str, Room]:
        """The room of every station."""
        return {one.slug: self.living.built.room(one.slug) for one in self.living.office.stations}

    def judge(self, only: Sequence[Probe] | None = None) -> list[Judgement]:
        """Try everything, or some of it, and judge it. Raises OSError."""
        many = self.probes if only is None else only
        names = {one.source: asked_name(self.living, one.source) for one in many if one.first}
        manner = Manner(names, through=self.responders.through)
        return judged(many, tried(many, self.rooms, self.ports, self.living.recorder, quiet, manner))

    def judge_more(self, more: Sequence[Probe]) -> list[Judgement]:
        """Tries besides those of the intents, from ports that no other try uses. Raises OSError."""
        self.ports.update({one.id: AFTER_ALL - len(self.ports) % FEW - place for place, one in enumerate(more)})
        names = {one.source: asked_name(self.living, one.source) for one in more if one.first}
        manner = Manner(names, through=self.responders.through)
        return judged(more, tried(more, self.rooms, self.ports, self.living.recorder, quiet, manner))

    def told(self, judgements: Sequence[Judgement]) -> Tried:
        """Counts and sentences; of what went wrong the deciding rule is traced."""
        teller = Teller(self.living.case, self.living.office, self.now)
        decided = self.decided([one for one in judgements if one.verdict in PASSING])
        fixed = [
            one for one in judgements if not one.probe.dated
        ]  # what depends on the hour comes out otherwise each time
        zones = {one.slug: one.zone for one in self.living.office.stations if one.sort is Sort.MACHINE}
        cells = tuple(
            replace(one, target=f"{zones[one.target]}/{one.target}") if one.target in zones else one
            for one in matrix(fixed, teller)
        )
        return Tried(tuple(judgements), cells, mismatches(judgements, teller, decided), self.now)

    def decided(self, wrong: Sequence[Judgement]) -> dict[int, str]:
        """By number of the probe, the comment of the rule that decided; each is sent once more and followed through the rules."""
        chosen = [*_few(wrong)][:MOST]
        if not chosen:
            return {}
        sent = {one.probe.id: self._sent(one.probe) for one in chosen}
        room, run = self.living.built.rooms["firewall"], self.living.run
        told = comments(listing(run))

        def again() -> None:
            tried([one.probe for one in chosen], self.rooms, self.ports, self.living.recorder, quiet)

        steps = traced(room, run, [*sent.values()], again)
        found: dict[int, str] = {}
        for number, packet in sent.items():
            step = deciding(steps.get(packet, ()))
            if step is not None:
                found[number] = (
                    told.get((step.table, step.chain, step.handle), "") or f"the policy of chain {step.chain}"
                )
        return found

    def _sent(self, probe: Probe) -> Sent:
        number = probe.port if probe.kind is Kind.RAW else self.ports[probe.id]
        return Sent(probe.source_address, number, probe.kind, probe.address)


def quiet(done: int, many: int) -> None:
    """Nothing is told of single tries."""
    del done, many


def _few(wrong: Sequence[Judgement]) -> Iterator[Judgement]:
    """Some of each sort, so that every cause is traced."""
    count: dict[tuple[str, str, str, str], int] = {}
    for one in wrong:
        key = (one.probe.source, one.probe.target, one.probe.reason, one.verdict.value)
        count[key] = count.get(key, 0) + 1
        if count[key] <= MANY:
            yield one


class Edges:
    """Tries at the boundaries of the rules, chosen beside other work: it takes longest of all that is chosen."""

    def __init__(self, living: Living) -> None:
        """Begin, once the lines are open: who holds which address need not be known yet."""
        self.living = living
        case, office = living.case, living.office
        now = self.now = Now({}, moment(), living.everyone, living.families, living.lent)

        def choose(rest: Callable[[], Now]) -> list[Probe]:
            ready = Ready(case, office, now)
            return ready.probes(rest())

        self.chosen = Prepared("choosing what to try at the boundaries", choose)

    def go_on(self) -> None:
        """By now everybody has an address, and every server stands."""
        self.now = replace(self.now, held=self.living.held, real=self.living.real())
        self.chosen.tell(self.now)


def trial(living: Living, at_edges: Edges | None = None) -> Trial:
    """Everything to try, as things stand, with somebody to answer at every port. Raises OSError, RehearsalError.

    `at_edges`: which go on by now; without them they are chosen now.
    """
    if at_edges is None:
        at_edges = Edges(living)
        at_edges.go_on()
    now = at_edges.now
    asked = [*_answerable(living, probes(living.case, living.office, now))]
    answering = responders(living, asked)
    known = {key_of(one) for one in asked}
    more = [one for one in at_edges.chosen.result() if key_of(one) not in known]
    more = [*_answerable(living, [replace(one, id=number) for number, one in enumerate(more, len(asked))])]
    answering.listen(listeners(more, now.real))
    many = [*asked, *more]
    return Trial(living, now, many, ports_of(many), answering)


def responders(living: Living, probes: Sequence[Probe]) -> Responders:
    """Somebody to answer at every port that is tried. Raises OSError."""
    outside = {host: one.slug for one in living.office.stations if one.zone == OUTSIDE for host in one.fixed}
    rooms = {one.slug: living.built.room(one.slug) for one in living.office.stations if one.sort is not Sort.OUTSIDE}
    answering = Responders({**rooms, OUTSIDE: living.built.rooms[OUTSIDE]}, listeners(probes, living.real()), outside)
    answering.start()
    return answering


def moment() -> int:
    """Second of the week by this machine's clock, in UTC, by which the kernel goes."""
    return int(time.time() + THURSDAY) % WEEK


def _answerable(living: Living, many: Sequence[Probe]) -> Iterator[Probe]:
    """Of what goes out with an address that nobody outside has a way back to, no answer is expected."""
    own = [net for one in living.office.segments if (net := one.network6) is not None and is_own_alone(net)]
    for one in many:
        ends = (one.source_address, one.address)
        is_lost = one.family == SIXTH and one.seen_as is None and any(end in net for end in ends for net in own)
        crosses = is_lost and any(_is_outside(living, end) for end in ends)
        yield replace(one, answers="") if crosses else one


def is_own_alone(network: IPv6Network) -> bool:
    """Whether addresses are good inside the office alone (RFC 4193)."""
    return network.subnet_of(OWN_ALONE)


def _is_outside(living: Living, host: Host) -> bool:
    return not any(host in net for leg in living.office.legs for net in leg.networks)


def asked_name(living: Living, station: str) -> str:
    """What a station asks a real name server for: a name inside where it may be told one, else one outside."""
    one = living.office.station(station)
    inside = next(
        (name for other in living.office.stations if other.sort is Sort.MACHINE for name in other.names), ""
    )
    knows = one.zone in {segment.slug for segment in living.office.segments if segment.domain}
    outside = next((name for name, _ in living.office.outside_names), "example")
    return inside if knows and inside else outside
