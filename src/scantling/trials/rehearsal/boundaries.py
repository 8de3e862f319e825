"""Tries at the boundaries of the rules: every rule is decided on by one at least, and both edges of all that it names are tried.

Where a rule decides is asked of the exact diagram of the compiled list. Of each rule, from each place to each other, there is a
packet that fares otherwise if the rule is left out; from there one number at a time is moved to the edges of what the rule
names, and just beyond them. What is meant of each is said by the intents, as of every other try.
"""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import TypeVar

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.trials.probe.aims import Aims, Now
from scantling.trials.probe.choosing import Try
from scantling.trials.probe.intended import Intended
from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.proof.diagram import Diagram, first_match, paired
from scantling.trials.proof.headers import INVALID, NEW, REPLY, Box, Header, host, narrowed
from scantling.trials.proof.leading import BEGINNING
from scantling.trials.proof.packet import SOURCE_PORT
from scantling.trials.proof.proving import Case
from scantling.trials.proof.rulings import DROPPED, Outcome, Ruling
from scantling.trials.proof.sides import Court, Fate
from scantling.trials.proof.spans import Spans, both, holds, numbers
from scantling.trials.proof.steps import leaves
from scantling.trials.rehearsal.agreeing import living
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.passages import MESSAGE, STEP, TCP, TYPE, UDP, Passage, Passages
from scantling.trials.rehearsal.scenes import CARRIED, NAMED, PLACE, SOURCE, STATE, TARGET, Near, Scene

STATES = {"new": NEW, "invalid": INVALID, "established": REPLY}
SPARE = "spare-"
USUAL: tuple[Spans, ...] = tuple(((one * STEP, one * STEP + STEP - 1),) for one in (TCP, UDP))
BEYOND = Fate("beyond", DROPPED)
T = TypeVar("T", bound=Hashable)
Clipped = tuple[Ruling, Box]
Key = tuple[Host, Kind, Host, int]
"""What tells one try from another, to the recorder."""


def boundary_probes(case: Case, office: Office, now: Now, known: Sequence[Probe] = ()) -> list[Probe]:
    """Tries at all boundaries that are not among those known; numbers go on after theirs."""
    running, seen = living(case, office, now), {key_of(one) for one in known}
    found: list[Probe] = []
    first = max((one.id for one in known), default=-1) + 1
    for court in (one for one in running.courts if one.ground.family in now.families):
        aims = Aims(office, now, court.ground.family)
        meant = Intended(running, aims)
        for one in Boundaries(running, court, aims, meant.line).tries():
            probe = meant.probe(first + len(found), one)
            if key_of(probe) not in seen:
                seen.add(key_of(probe))
                found.append(probe)
    return found


def key_of(probe: Probe) -> Key:
    """What tells a try from another."""
    return (probe.source_address, probe.kind, probe.address, probe.port)


class Boundaries:
    """One family of an office that runs."""

    def __init__(self, case: Case, court: Court, aims: Aims, line: int) -> None:
        """`line`: the port by which everything goes out."""
        self.court, self.aims, self.ground = court, aims, court.ground
        (stage,) = case.compiled.stages[court.ground.family]
        self.rulings = stage.rulings
        self.passages = Passages(case.rules.legs, court.ground.family, aims.now.moment)
        self.line = line

    def tries(self) -> Iterator[Try]:
        """Everything to try; some of it more than once."""
        scenes = [self._scene(one) for one in self.passages.all if one.state == "new" and self._is_tried(one)]
        for scene in scenes:
            yield from (self._try(scene.passage, header) for header in scene.bases)
        yield from self._at_edges(scenes)
        yield from self._strays()

    def _is_tried(self, passage: Passage) -> bool:
        """Whether somebody is there to try it."""
        return passage.zone == FIREWALL or passage.zone in self.speakers

    def _strays(self) -> Iterator[Try]:
        """What belongs to no connection, once from each place in each chain: rules name no more of it."""
        found: dict[tuple[str, str], Passage] = {}
        for passage in self.passages.all:
            if passage.state == "invalid" and self._is_tried(passage):
                found.setdefault((passage.zone, passage.chain), passage)
        yield from (self._try(passage, self._packet(self.box(passage))) for passage in found.values())

    def _at_edges(self, scenes: Sequence[Scene]) -> Iterator[Try]:
        """The edges of all that rules name, each once: where a rule alone decides, before other places."""
        done: set[tuple[int, int, int]] = set()
        here = [(scene, place, near) for scene in scenes for place, near in scene.here.items()]
        alone = [one for one in here if one[2].ruling.by in one[0].telling]
        beside = [one for one in here if one[2].ruling.by not in one[0].telling]
        for scene, place, near in (*alone, *beside):
            by = near.ruling.by
            base = scene.telling.get(by) or scene.deciding.get(by)
            for axis, header in self._edges(near, scene.whole, base):
                if (place, axis, header[axis]) not in done:
                    done.add((place, axis, header[axis]))
                    yield self._try(scene.passage, header)

    def box(self, passage: Passage) -> Box:
        """A passage as the proof has packets."""
        places = [leg.interface for leg in self.ground.legs]
        place = self.ground.itself if passage.zone == FIREWALL else places.index(passage.origin)
        state = STATES[passage.state]
        return (
            ((state, state),), ((place, place),), passage.targets, passage.sources, passage.carried, passage.seconds,
            ((self.line, self.line),), ((SOURCE_PORT, SOURCE_PORT),),
        )  # fmt: skip

    def _scene(self, passage: Passage) -> Scene:
        """A passage with the rules that meet it, or miss it by one of the numbers that they name."""
        whole = self.box(passage)
        scene = Scene(passage, whole)
        for place in self.by_place[whole[PLACE][0][0]]:
            ruling, box = self.named[place]
            scene.meets(place, ruling, box)
        meeting = [(one.ruling, one.clipped) for one in scene.here.values() if all(one.clipped)]
        diagram = self._diagram(meeting, whole)
        for fate, found in self._leaves(diagram):
            if fate != BEYOND:
                scene.decides(fate.by, found)
                without = [one for one in meeting if one[0].by != fate.by]
                self._tell_apart(scene, (fate, found), diagram, without)
        return scene

    def _tell_apart(
        self, scene: Scene, decided: tuple[Fate, Header], diagram: Diagram[Fate], without: Sequence[Clipped]
    ) -> None:
        """Note packets of a rule that fare otherwise when it is left out."""
        fate, found = decided
        if fate.outcome.passes and _fate(without, found) != fate.outcome:
            scene.tells(fate.by, found)
        elif any(ruling.outcome != fate.outcome for ruling, _ in without):
            both_ways = paired(diagram, self._diagram(without, scene.whole))
            for (mine, other), told in self._leaves(both_ways):
                if mine.by == fate.by and mine.outcome != other.outcome:
                    scene.tells(fate.by, told)

    @cached_property
    def by_place(self) -> Mapping[int, tuple[int, ...]]:
        """By the port that packets come in by, the boxes about what begins there, by their places."""
        found: dict[int, list[int]] = {place: [] for place in range(self.ground.itself + 1)}
        for number, (_, box) in enumerate(self.named):
            for place in numbers(box[PLACE]) if both(box[STATE], BEGINNING) else ():
                found[place].append(number)
        return {place: tuple(many) for place, many in found.items()}

    @cached_property
    def named(self) -> tuple[Clipped, ...]:
        """Every box of every rule."""
        return tuple((ruling, box) for ruling in self.rulings for box in ruling.boxes)

    def _diagram(self, here: Sequence[Clipped], whole: Box) -> Diagram[Fate]:
        """What rules make of a passage; of all that lies beyond it, nothing is said."""
        rules = [(box, Fate(ruling.by, ruling.outcome)) for ruling, box in here]
        return first_match(self.court.space, [*rules, (whole, Fate("", DROPPED))], BEYOND)

    def _leaves(self, diagram: Diagram[T]) -> Iterator[tuple[T, Header]]:
        """Every value that there is, with a packet that comes to it: by TCP or UDP where one does."""
        seen: set[T] = set()
        for carried in (*USUAL, self.ground.whole[CARRIED]):
            for value, runs in leaves(diagram, narrowed(self.ground.whole, carried=carried)):
                if value not in seen:
                    seen.add(value)
                    yield value, self._packet(tuple((run,) for run in runs))

    def _packet(self, box: Box) -> Header:
        """A packet of a box, between stations where it can be, and of the usual kind."""
        first = Header(*(spans[0][0] for spans in box))
        usual = (both(box[CARRIED], carried) for carried in USUAL)
        what = next((spans[0][0] for spans in usual if spans), first.carried)
        return first._replace(source=self._somebody(box[SOURCE]), target=self._somebody(box[TARGET]), carried=what)

    def _somebody(self, spans: Spans) -> int:
        return next((one for one in self.stations if holds(spans, ((one, one),))), spans[0][0])

    def _edges(self, near: Near, whole: Box, base: Header | None) -> Iterator[tuple[int, Header]]:
        """A packet of a rule with one number at a time moved to an edge of what the rule names, and just beyond it; which one."""
        box, clipped = near.box, near.clipped
        for axis in NAMED:
            others = (*clipped[:axis], whole[axis], *clipped[axis + 1 :])
            found = self._numbers(axis, box[axis], whole[axis]) if all(others) else []
            if found:
                rest = base if base is not None and _lies(others, base) else self._packet(others)
                yield from (
                    (axis, Header(*(number if at == axis else other for at, other in enumerate(rest))))
                    for number in found
                )

    def _numbers(self, axis: int, named: Spans, whole: Spans) -> list[int]:
        """First and last of each run that a rule names, and those beside it, as far as they can be sent.

        Of a rule about messages that can't be sent, the one that can.
        """
        if holds(named, whole):
            return []
        edges = {number for first, last in named for number in (first - 1, first, last, last + 1)}
        # of a run that reaches beyond what can be sent, the last that can
        edges |= {edge for first, last in both(named, whole) for edge in (first, last)}
        if axis == CARRIED and both(named, self.messages):
            edges |= {first for first, _ in both(whole, self.messages)}
        return sorted(number for number in edges if both(whole, ((number, number),)))

    @cached_property
    def messages(self) -> Spans:
        """All messages of the family."""
        number = MESSAGE[self.ground.family]
        return ((number * STEP, number * STEP + STEP - 1),)

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
    return all(both(spans, ((number, number),)) for spans, number in zip(box, header, strict=True))
