"""What is meant to become of every try: asked of the intents' exact diagram, packet by packet, and of nothing else."""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from ipaddress import ip_address
from typing import NamedTuple, cast

from scantling.figures import FIREWALL, OUTSIDE, Flow, Host, Verdict
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try, tries
from scantling.trials.probe.probing import Expected, Kind, Probe
from scantling.trials.proof.diagram import Diagram
from scantling.trials.proof.headers import CODES, INVALID, NEW, PORTS, Ground, Header
from scantling.trials.proof.packet import SOURCE_PORT
from scantling.trials.proof.proving import Case
from scantling.trials.proof.sides import Fate
from scantling.trials.rehearsal.office import Office

NAMES, TIME = "names", "time"
DOMAIN, CLOCK = 53, 123
ECHOES = {4: 1, 6: 58}
NUMBERS = {Kind.TCP: 6, Kind.UDP: 17, Kind.STRAY: 6, Kind.FALSE: 6}
PLACE, TARGET, SOURCE, CARRIED, SECOND, LINE, PORT = range(1, 8)
"""Levels of a diagram, in the order of a header's fields; the state is the first."""


class Said(NamedTuple):
    """What the intents say of one packet."""

    passes: bool
    by: str
    """Slug of the intent that says so; of what no intent speaks of, why it is dropped."""
    to: str = ""
    masked: bool = False
    dated: bool = False
    """Whether another hour would change it."""


class Reading:
    """The intents of one family at one moment. A header is followed field by field, and each way down is gone once."""

    def __init__(self, ground: Ground, diagram: Diagram[Fate], moment: int, line: int) -> None:
        self.ground, self.diagram, self.moment, self.line = ground, diagram, moment, line
        self._started: dict[tuple[int, int, int], int] = {}
        self._ended: dict[tuple[int, int], Said] = {}

    def said(self, state: int, place: int, ends: tuple[int, int], carried: int) -> Said:
        """Of a packet with ends (source, target)."""
        source, target = ends
        key = (state, place, target)
        node = self._started.get(key)
        if node is None:
            node = self._started[key] = self._down(
                self._down(self._down(self.diagram.root, 0, state), 1, place), 2, target
            )
        node = self._down(node, SOURCE, source)
        found = self._ended.get((node, carried))
        if found is None:
            found = self._ended[node, carried] = self._end(self._down(node, CARRIED, carried))
        return found

    def _down(self, node: int, level: int, number: int) -> int:
        nodes = self.diagram.space.nodes
        if node < 0 or nodes.levels[node] != level:
            return node
        return nodes.kids[node][bisect_left(nodes.lasts[node], number)]

    def _end(self, node: int) -> Said:
        """By the clock, by the line it leaves by, and by its own port."""
        fate = self._fate(self._down(node, SECOND, self.moment))
        nodes = self.diagram.space.nodes
        dated = node >= 0 and nodes.levels[node] == SECOND
        others = {self._fate(kid).outcome for kid in nodes.kids[node]} if dated else {fate.outcome}
        return Said(fate.outcome.passes, fate.by, fate.outcome.to, fate.outcome.masked, len(others) > 1)

    def _fate(self, node: int) -> Fate:
        leaf = self._down(self._down(node, LINE, self.line), PORT, SOURCE_PORT)
        return cast("Fate", self.diagram.space.value(leaf))


class Intended:
    """What the intents of an office mean for tries in one family, as things stand now."""

    def __init__(self, case: Case, aims: Aims) -> None:
        court = next(one for one in case.courts if one.ground.family == aims.family)
        self.ground, self.aims = court.ground, aims
        self.flows: Mapping[str, Flow] = {flow.slug: flow for flow in case.flows}
        self.places = {zone: self.ground.places(zone)[0][0] for zone in (*self._zones(), FIREWALL)}
        line = next(
            (place for place, leg in enumerate(self.ground.legs) if aims.way and leg.slug == aims.way[0].slug), None
        )
        outside = self.ground.places(OUTSIDE)
        self.line = line if line is not None else outside[0][0] if outside else 0
        self.reading = Reading(self.ground, court.diagram(case.meant), aims.now.moment, self.line)

    def _zones(self) -> Iterator[str]:
        yield from dict.fromkeys(leg.zone for leg in self.ground.legs)

    @cached_property
    def moving(self) -> Mapping[Host, tuple[int, ...]]:
        """Addresses that outside names answer with, and what stands for them in the diagram: of each party with the name."""
        answers = dict(self.aims.office.outside_names)
        found: dict[Host, list[int]] = {}
        for flow in self.flows.values():
            party = flow.target.holder or flow.slug
            if flow.target.named and party in self.ground.moving:
                for host in (host for name in flow.target.named for host in answers.get(name, ())):
                    found.setdefault(host, []).append(self.ground.moving_address(party))
        return {host: tuple(dict.fromkeys(many)) for host, many in found.items()}

    @cached_property
    def lent(self) -> Mapping[Host, int]:
        """What was lent to the firewall, and what stands for it in the diagram."""
        places = {leg.slug: place for place, leg in enumerate(self.ground.legs)}
        return {
            host: self.ground.own_at(places[way.slug])[0][0] for way, host in self.aims.fronts if host not in way.own
        }

    def targets(self, host: Host) -> tuple[int, ...]:
        """What an address is in the diagram; of a party known by names itself and whatever stands for it."""
        if host in self.lent:
            return (self.lent[host],)
        return (int(host), *self.moving.get(host, ()))

    def place(self, one: Try) -> int:
        """The port of the firewall that a try comes in by: that of the line whose address it is sent to."""
        if one.zone == OUTSIDE:
            slug = next((way.slug for way, host in self.aims.fronts if host == one.address), "")
            found = (place for place, leg in enumerate(self.ground.legs) if leg.slug == slug)
            return next(found, self.line)
        return self.places[one.zone]

    def said(self, one: Try) -> Said:
        """What the intents say of a try."""
        state = INVALID if one.kind is Kind.STRAY else NEW
        place, what, source = self.place(one), carried(one.kind, one.port, self.aims.family), int(one.source_address)
        found = [self.reading.said(state, place, (source, target), what) for target in self.targets(one.address)]
        return found[0] if len(found) == 1 else self._joined(found)

    def _joined(self, many: Sequence[Said]) -> Said:
        """Of an address that is in several sets: what any intent forbids is forbidden, else what any asks for is meant."""
        dropping = (one for one in many if not one.passes and self._drops(one.by))
        passing = (one for one in many if one.passes)
        best = next(dropping, None) or next(passing, None) or many[0]
        return best._replace(dated=any(one.dated for one in many))

    def _drops(self, by: str) -> bool:
        return by in self.flows and self.flows[by].verdict is not Verdict.ACCEPT

    def probe(self, number: int, one: Try) -> Probe:
        """A try with what is meant to become of it."""
        said = self.said(one)
        arrives = (ip_address(said.to), one.port) if said.to else None
        target = self.aims.at.get(arrives[0], one.target) if arrives else one.target
        first, heard = self._first(target, one)
        answers = target if said.passes and heard and one.hears else ""
        seen = self.aims.door(OUTSIDE) if said.masked else None
        return Probe(
            number, one.source, one.source_address, one.kind, target, one.address, one.port,
            Expected.ALLOWED if said.passes else Expected.KEPT_OUT, answers, arrives,
            seen if seen != one.source_address else None, first, said.by if said.by in self.flows else "", said.dated,
        )  # fmt: skip

    def _first(self, target: str, one: Try) -> tuple[str, bool]:
        """The first message, and whether somebody answers it."""
        if one.kind is Kind.ECHO:
            return "", True
        if one.kind not in {Kind.TCP, Kind.UDP}:
            return "", False
        real = self.aims.now.real
        if (one.kind, one.port) not in real.get(target, ()) and not (
            target in self.outsiders and (one.kind, one.port) in real.get(OUTSIDE, ())
        ):
            return "", True
        known = NAMES if one.port == DOMAIN else TIME if (one.kind, one.port) == (Kind.UDP, CLOCK) else ""
        return known, bool(known)

    @cached_property
    def outsiders(self) -> frozenset[str]:
        """Slugs of those outside."""
        return frozenset(one.slug for one in self.aims.office.stations if one.zone == OUTSIDE)


def carried(kind: Kind, port: int, family: int) -> int:
    """What a try carries, as a diagram has it."""
    if kind is Kind.ECHO:
        return ECHOES[family] * PORTS + port * CODES
    if kind is Kind.RAW:
        return port * PORTS
    return NUMBERS[kind] * PORTS + port


def probes(case: Case, office: Office, now: Now) -> list[Probe]:
    """Every try that is made in an office, each with what the intents say of it; numbers from 0 in order."""
    found: list[Probe] = []
    for family in now.families:
        aims = Aims(office, now, family)
        meant = Intended(case, aims)
        for one in tries(aims, case.flows):
            found.append(meant.probe(len(found), one))
    return found


def header(meant: Intended, probe: Probe) -> Header:
    """A probe as the proof knows packets; a party known by names is whatever they answer."""
    zone = next(one.zone for one in meant.aims.office.stations if one.slug == probe.source)
    one = Try(probe.source, zone, probe.source_address, probe.kind, probe.target, probe.address, probe.port)
    state = INVALID if probe.kind is Kind.STRAY else NEW
    return Header(
        state, meant.place(one), meant.targets(probe.address)[-1], int(probe.source_address),
        carried(probe.kind, probe.port, probe.family), meant.aims.now.moment, meant.line, SOURCE_PORT,
    )  # fmt: skip
