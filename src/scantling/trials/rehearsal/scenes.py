"""Passages of the firewall with the rules that are near, and what each rule decides there, before anybody has an address."""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple, TypeVar

from scantling.figures import FIREWALL
from scantling.trials.proof.diagram import Diagram, first_match, paired
from scantling.trials.proof.headers import INVALID, NEW, REPLY, Box, narrowed
from scantling.trials.proof.leading import BEGINNING
from scantling.trials.proof.packet import SOURCE_PORT
from scantling.trials.proof.proving import Case
from scantling.trials.proof.rulings import DROPPED, Ruling
from scantling.trials.proof.sides import Court, Fate
from scantling.trials.proof.spans import Spans, both, holds, numbers
from scantling.trials.proof.steps import Runs, leaves
from scantling.trials.rehearsal.passages import MESSAGE, STEP, TCP, UDP, Passage, Passages

STATE, PLACE, TARGET, SOURCE, CARRIED = range(5)
"""Fields of a header."""
NAMED = (TARGET, SOURCE, CARRIED)
"""Those of which rules name single numbers."""
STATES = {"new": NEW, "invalid": INVALID, "established": REPLY}
USUAL: tuple[Spans, ...] = tuple(((one * STEP, one * STEP + STEP - 1),) for one in (TCP, UDP))
BEYOND = Fate("beyond", DROPPED)
T = TypeVar("T", bound=Hashable)
Clipped = tuple[Ruling, Box]


class Near(NamedTuple):
    """A box of a rule, and what of it lies in a passage."""

    ruling: Ruling
    box: Box
    clipped: Box


@dataclass
class Scene:
    """A passage with the rules that are near."""

    passage: Passage
    whole: Box
    here: dict[int, Near] = field(default_factory=dict)
    """By its place among all boxes of all rules."""
    decided: tuple[tuple[Fate, Runs], ...] = ()
    """Each rule that decides something, with packets on which it does; in both families of ports first."""
    apart: dict[Fate, tuple[Runs, ...]] = field(default_factory=dict)
    """By what a rule decides, as far as it is known: packets that fare otherwise without it."""
    edges: dict[int, tuple[tuple[int, tuple[int, ...]], ...]] = field(default_factory=dict)
    """By the place of a box: the fields of which it names single numbers, with the edges of those."""

    def meets(self, place: int, ruling: Ruling, box: Box) -> None:
        """Note a rule, if it meets the passage, or misses it by one of the numbers that rules name."""
        clipped = tuple(map(both, box, self.whole))
        apart = [axis for axis, spans in enumerate(clipped) if not spans]
        if not apart or (len(apart) == 1 and apart[0] in NAMED):
            self.here[place] = Near(ruling, box, clipped)

    @property
    def meeting(self) -> list[Clipped]:
        """Rules that meet it, in their order."""
        return [(one.ruling, one.clipped) for one in self.here.values() if all(one.clipped)]


class Scenery:
    """One family of an office that runs: every passage that somebody is there to try."""

    def __init__(self, case: Case, court: Court, moment: int, line: int) -> None:
        """`line`: the port by which everything goes out."""
        self.court, self.ground, self.line = court, court.ground, line
        (stage,) = case.compiled.stages[court.ground.family]
        self.rulings = stage.rulings
        self.passages = Passages(case.rules.legs, court.ground.family, moment)

    def scenes(self, zones: frozenset[str]) -> list[Scene]:
        """One for each way in which something begins: from zones in which there is somebody, and from the firewall."""
        here = zones | {FIREWALL}
        return [self._scene(one) for one in self.passages.all if one.state == "new" and one.zone in here]

    def box(self, passage: Passage) -> Box:
        """A passage as the proof has packets."""
        places = [leg.interface for leg in self.ground.legs]
        place = self.ground.itself if passage.zone == FIREWALL else places.index(passage.origin)
        state = STATES[passage.state]
        return (
            ((state, state),), ((place, place),), passage.targets, passage.sources, passage.carried, passage.seconds,
            ((self.line, self.line),), ((SOURCE_PORT, SOURCE_PORT),),
        )  # fmt: skip

    def apart(self, scene: Scene, fate: Fate) -> tuple[Runs, ...]:
        """Packets of a rule that fare otherwise when it is left out."""
        if fate not in scene.apart:
            without = [one for one in scene.meeting if one[0].by != fate.by]
            both_ways = paired(self._diagram(scene.meeting, scene.whole), self._diagram(without, scene.whole))
            scene.apart[fate] = tuple(
                runs
                for (mine, other), runs in self._leaves(both_ways)
                if mine.by == fate.by and mine.outcome != other.outcome
            )
        return scene.apart[fate]

    def _scene(self, passage: Passage) -> Scene:
        """A passage with the rules that meet it, or miss it by one of the numbers that they name."""
        whole = self.box(passage)
        scene = Scene(passage, whole)
        for place in self._by_place[whole[PLACE][0][0]]:
            ruling, box = self._named[place]
            scene.meets(place, ruling, box)
        found = self._leaves(self._diagram(scene.meeting, whole))
        scene.decided = tuple((fate, runs) for fate, runs in found if fate != BEYOND)
        for fate, _ in scene.decided:
            if not fate.outcome.passes and any(ruling.outcome != fate.outcome for ruling, _ in scene.meeting):
                self.apart(scene, fate)
        scene.edges = {place: tuple(self._edges(near, whole)) for place, near in scene.here.items()}
        return scene

    @cached_property
    def _by_place(self) -> Mapping[int, tuple[int, ...]]:
        """By the port that packets come in by, the boxes about what begins there, by their places."""
        found: dict[int, list[int]] = {place: [] for place in range(self.ground.itself + 1)}
        for number, (_, box) in enumerate(self._named):
            for place in numbers(box[PLACE]) if both(box[STATE], BEGINNING) else ():
                found[place].append(number)
        return {place: tuple(many) for place, many in found.items()}

    @cached_property
    def _named(self) -> tuple[Clipped, ...]:
        """Every box of every rule."""
        return tuple((ruling, box) for ruling in self.rulings for box in ruling.boxes)

    def _diagram(self, here: Sequence[Clipped], whole: Box) -> Diagram[Fate]:
        """What rules make of a passage; of all that lies beyond it, nothing is said."""
        rules = [(box, Fate(ruling.by, ruling.outcome)) for ruling, box in here]
        return first_match(self.court.space, [*rules, (whole, Fate("", DROPPED))], BEYOND)

    def _leaves(self, diagram: Diagram[T]) -> Iterator[tuple[T, Runs]]:
        """Every value that there is, with a box of packets that come to it: by TCP or UDP where some do."""
        seen: set[T] = set()
        for carried in (*USUAL, self.ground.whole[CARRIED]):
            for value, runs in leaves(diagram, narrowed(self.ground.whole, carried=carried)):
                if value not in seen:
                    seen.add(value)
                    yield value, runs

    def _edges(self, near: Near, whole: Box) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Each field with the edges of what a rule names there, where all else of the rule lies in the passage."""
        empty = [axis for axis, spans in enumerate(near.clipped) if not spans]
        for axis in NAMED:
            if (not empty or empty == [axis]) and (found := self._numbers(axis, near.box[axis], whole[axis])):
                yield axis, found

    def _numbers(self, axis: int, named: Spans, whole: Spans) -> tuple[int, ...]:
        """First and last of each run that a rule names, and those beside it, as far as they can be sent.

        Of a rule about messages that can't be sent, the one that can.
        """
        if holds(named, whole):
            return ()
        edges = {number for first, last in named for number in (first - 1, first, last, last + 1)}
        # of a run that reaches beyond what can be sent, the last that can
        edges |= {edge for first, last in both(named, whole) for edge in (first, last)}
        if axis == CARRIED and both(named, self._messages):
            edges |= {first for first, _ in both(whole, self._messages)}
        return tuple(sorted(number for number in edges if lies(whole, number)))

    @cached_property
    def _messages(self) -> Spans:
        """All messages of the family."""
        number = MESSAGE[self.ground.family]
        return ((number * STEP, number * STEP + STEP - 1),)


def lies(spans: Spans, number: int) -> bool:
    """Whether a number is one of some."""
    if len(spans) == 1:  # as nearly always
        return spans[0][0] <= number <= spans[0][1]
    return any(first <= number <= last for first, last in spans)
