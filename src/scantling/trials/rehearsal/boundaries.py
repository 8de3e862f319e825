"""Tries at the boundaries of the rules: every rule is decided on by one at least, and both edges of all that it names are tried.

Where a rule decides is asked of the exact diagram of the compiled list. Of each rule, from each place to each other, there is a
packet that fares otherwise if the rule is left out; from there one number at a time is moved to the edges of what the rule
names, and just beyond them. What is meant of each is said by the intents, as of every other try.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import Intended
from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.proof.headers import Box, Header, host
from scantling.trials.proof.proving import Case
from scantling.trials.proof.rulings import DROPPED, Outcome
from scantling.trials.proof.spans import Spans, both
from scantling.trials.proof.steps import Runs
from scantling.trials.rehearsal.agreeing import living
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.passages import MESSAGE, STEP, TCP, TYPE, UDP, Passage
from scantling.trials.rehearsal.scenes import CARRIED, SOURCE, TARGET, USUAL, Clipped, Near, Scene, Scenery, lies

SPARE = "spare-"
Key = tuple[Host, Kind, Host, int]
"""What tells one try from another, to the recorder."""


class Ready:
    """All boundaries, as far as they can be known before anybody has an address."""

    def __init__(self, case: Case, office: Office, now: Now) -> None:
        """`now`: as things will stand, but for who holds which address, and what is real."""
        self.case, self.office = living(case, office, now), office
        zones = frozenset(one.zone for one in office.stations)
        self.families: list[tuple[Scenery, list[Scene]]] = []
        for court in (one for one in self.case.courts if one.ground.family in now.families):
            line = Intended(self.case, Aims(office, now, court.ground.family)).line
            scenery = Scenery(self.case, court, now.moment, line)
            self.families.append((scenery, scenery.scenes(zones)))

    def probes(self, now: Now, known: Sequence[Probe] = ()) -> list[Probe]:
        """Tries at all boundaries that are not among those known; numbers go on after theirs."""
        seen, found = {key_of(one) for one in known}, list[Probe]()
        first = max((one.id for one in known), default=-1) + 1
        for scenery, scenes in self.families:
            aims = Aims(self.office, now, scenery.ground.family)
            meant = Intended(self.case, aims)
            for one in Boundaries(scenery, scenes, aims).tries():
                probe = meant.probe(first + len(found), one)
                if key_of(probe) not in seen:
                    seen.add(key_of(probe))
                    found.append(probe)
        return found


def boundary_probes(case: Case, office: Office, now: Now, known: Sequence[Probe] = ()) -> list[Probe]:
    """Tries at all boundaries that are not among those known; numbers go on after theirs."""
    return Ready(case, office, now).probes(now, known)


def key_of(probe: Probe) -> Key:
    """What tells a try from another."""
    return (probe.source_address, probe.kind, probe.address, probe.port)


@dataclass
class Shown:
    """Packets that show what rules decide in a passage."""

    bases: dict[Header, None] = field(default_factory=dict)
    deciding: dict[str, Header] = field(default_factory=dict)
    """By rule: a packet on which it decides."""
    telling: dict[str, Header] = field(default_factory=dict)
    """By rule: a packet that fares otherwise without it."""

    def decides(self, by: str, packet: Header) -> None:
        """Note a packet on which a rule decides."""
        self.bases[packet] = None
        self.deciding.setdefault(by, packet)

    def tells(self, by: str, packet: Header) -> None:
        """Note a packet that fares otherwise without a rule."""
        self.bases[packet] = None
        self.telling.setdefault(by, packet)


class Boundaries:
    """One family of an office in which everybody has an address."""

    def __init__(self, scenery: Scenery, scenes: Sequence[Scene], aims: Aims) -> None:
        self.scenery, self.scenes, self.aims, self.ground = scenery, scenes, aims, scenery.ground

    def tries(self) -> Iterator[Try]:
        """Everything to try; some of it more than once."""
        shown = [(scene, self._shown(scene)) for scene in self.scenes]
        for scene, one in shown:
            yield from (self._try(scene.passage, header) for header in one.bases)
        yield from self._at_edges(shown)
        yield from self._strays()

    def _strays(self) -> Iterator[Try]:
        """What belongs to no connection, once from each place in each chain: rules name no more of it."""
        found: dict[tuple[str, str], Passage] = {}
        for passage in self.scenery.passages.all:
            if passage.state == "invalid" and (passage.zone == FIREWALL or passage.zone in self.speakers):
                found.setdefault((passage.zone, passage.chain), passage)
        boxes = ((passage, self.scenery.box(passage)) for passage in found.values())
        yield from (self._try(passage, self._packet(box)) for passage, box in boxes)

    def _at_edges(self, shown: Sequence[tuple[Scene, Shown]]) -> Iterator[Try]:
        """The edges of all that rules name, each once: where a rule alone decides, before other places."""
        done: set[tuple[int, int, int]] = set()
        here = [(scene, one, place, near) for scene, one in shown for place, near in scene.here.items()]
        alone = [each for each in here if each[3].ruling.by in each[1].telling]
        beside = [each for each in here if each[3].ruling.by not in each[1].telling]
        for scene, one, place, near in (*alone, *beside):
            by = near.ruling.by
            base = one.telling.get(by) or one.deciding.get(by)
            for axis, numbers in scene.edges[place]:
                left = [number for number in numbers if (place, axis, number) not in done]
                done.update((place, axis, number) for number in left)
                yield from (self._try(scene.passage, header) for header in self._moved(scene, near, axis, left, base))

    def _moved(
        self, scene: Scene, near: Near, axis: int, numbers: Sequence[int], base: Header | None
    ) -> Iterator[Header]:
        """A packet of a rule with one number moved."""
        others = (*near.clipped[:axis], scene.whole[axis], *near.clipped[axis + 1 :])
        if numbers:
            rest = base if base is not None and _lies(others, base) else self._packet(others)
            yield from (Header._make((*rest[:axis], number, *rest[axis + 1 :])) for number in numbers)

    def _shown(self, scene: Scene) -> Shown:
        """What each rule decides in a passage."""
        shown = Shown()
        for fate, runs in scene.decided:
            found = self._packet_of(runs)
            shown.decides(fate.by, found)
            without = [one for one in scene.meeting if one[0].by != fate.by]
            if fate.outcome.passes and _fate(without, found) != fate.outcome:
                shown.tells(fate.by, found)
            elif any(ruling.outcome != fate.outcome for ruling, _ in without):
                for apart in self.scenery.apart(scene, fate):
                    shown.tells(fate.by, self._packet_of(apart))
        return shown

    def _packet_of(self, runs: Runs) -> Header:
        return self._packet(tuple((run,) for run in runs))

    def _packet(self, box: Box) -> Header:
        """A packet of a box, between stations where it can be, and of the usual kind."""
        first = Header(*(spans[0][0] for spans in box))
        usual = (both(box[CARRIED], carried) for carried in USUAL)
        what = next((spans[0][0] for spans in usual if spans), first.carried)
        return first._replace(source=self._somebody(box[SOURCE]), target=self._somebody(box[TARGET]), carried=what)

    def _somebody(self, spans: Spans) -> int:
        return next((one for one in self.stations if lies(spans, one)), spans[0][0])

    @cached_property
    def stations(self) -> tuple[int, ...]:
        """Addresses of stations, devices before machines."""
        return tuple(int(address) for _, address in self.aims.stations)

    # ------------------------------------------------------------------------------------------------------ tries

    def _try(self, passage: Passage, header: Header) -> Try:
        source, target = host(header.source, self.ground.family), host(header.target, self.ground.family)
        kind, port = self._spot(passage, header)
        slug, hears = self._sender(passage.zone, source)
        return Try(slug, passage.zone, source, kind, self.aims.at.get(target, ""), target, port, hears)

    def _spot(self, passage: Passage, header: Header) -> tuple[Kind, int]:
        protocol, port = divmod(header.carried, STEP)
        if passage.state == "invalid":
            return Kind.STRAY, port
        if protocol == MESSAGE[self.ground.family]:
            return Kind.ECHO, port // TYPE
        return {TCP: (Kind.TCP, port), UDP: (Kind.UDP, port)}.get(protocol, (Kind.RAW, protocol))

    def _sender(self, zone: str, source: Host) -> tuple[str, bool]:
        """Who sends from a zone under an address, and whether an answer reaches whoever it is."""
        if zone == FIREWALL:
            return FIREWALL, True
        slug = self.places.get((zone, source))
        return (slug, True) if slug else (self.speakers[zone], zone == OUTSIDE and not self._is_on_a_line(source))

    def _is_on_a_line(self, source: Host) -> bool:
        """Whether an address would be a neighbour's on a line, where there is none but the provider's own."""
        lines = [net for way in self.aims.office.ways for net in (way.network4, way.network6)]
        return any(source in net for net in lines if net.version == source.version)

    @cached_property
    def places(self) -> Mapping[tuple[str, Host], str]:
        """Stations by zone and address; those outside have theirs whether or not the office has any of the family."""
        far = [(one, host) for one in self.aims.office.stations if one.zone == OUTSIDE for host in one.fixed]
        return {(station.zone, address): station.slug for station, address in (*self.aims.stations, *far)}

    @cached_property
    def speakers(self) -> Mapping[str, str]:
        """Who sends under addresses that are nobody's: the spare of a zone, or whoever there is."""
        found: dict[str, str] = {}
        for station in self.aims.office.stations:
            if station.slug == f"{SPARE}{station.zone}" or station.zone not in found:
                found[station.zone] = station.slug
        return found


def _fate(here: Sequence[Clipped], header: Header) -> Outcome:
    """What becomes of a packet, by going through some rules."""
    return next((ruling.outcome for ruling, box in here if _lies(box, header)), DROPPED)


def _lies(box: Box, header: Header) -> bool:
    return all(map(lies, box, header))
