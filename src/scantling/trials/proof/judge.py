"""Holds two accounts of what becomes of every packet against each other, exactly: equal, or packets that tell them apart."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE

from scantling.trials.proof.diagram import Diagram, differing, intersect, of_boxes, paired
from scantling.trials.proof.headers import Box, Ground, Header
from scantling.trials.proof.meaning import SET_ASIDE
from scantling.trials.proof.rulings import DROPPED, Outcome
from scantling.trials.proof.leading import BEGINNING
from scantling.trials.proof.sides import Court, Fate, Side, in_turn, outcomes
from scantling.trials.proof.spans import Spans, both, joined, less
from scantling.trials.proof.steps import Runs, leaves

COUNT, PORT = 9, 40000
Pair = tuple[str, str]
"""From one zone to another."""
SHUT = Fate("", DROPPED)


class Apart(NamedTuple):
    """One way in which two sides differ: what each says, one box of packets of which they say it, and where else."""

    wanted: Fate
    found: Fate
    family: int
    box: Runs
    pairs: tuple[Pair, ...]
    """From where to where such packets go, with sources that are behind their port; nothing where all are false ones."""
    rank: int
    """How soon it should be told: what comes from outside or goes inside first, then whatever is odd."""

    def header(self) -> Header:
        """One packet that shows it, to and from somewhere ordinary in the box."""
        found = Header(*(first for first, _ in self.box))
        return found._replace(
            source=_inside(self.box[3], COUNT),
            target=_inside(self.box[2], COUNT),
            source_port=_inside(self.box[7], PORT),
        )


@dataclass(frozen=True)
class Judged:
    """One family, judged: the diagram of the side on trial, and all ways in which it differs from what is wanted."""

    court: Court
    diagram: Diagram[Fate]
    stages: tuple[Diagram[Fate], ...]
    """The same list by list."""
    apart: tuple[Apart, ...] = ()
    missed: Diagram[bool] | None = None
    """Where something is wanted to pass and does not, or not as it should; nothing where the two are equal."""
    open: Diagram[Fate] | None = None
    """What passes and is not wanted to."""


def judge(court: Court, wanted: Side, found: Side, likely: Spans = ()) -> Judged:
    """The side on trial against what is wanted, in one family; `likely` are targets that are told of first."""
    stages = court.stages(found)
    ours, theirs = in_turn(court.stages(wanted)), in_turn(stages)
    whole = wanted.translates and found.translates
    differs = differing(*(_seen(one, whole=whole) for one in (ours, theirs)))
    if wanted.only_new or found.only_new:
        differs = intersect(differs, of_boxes(court.space, court.ground.box(state=BEGINNING)))
    if not any(differs.deciding()):
        return Judged(court, theirs, stages)
    split = paired(differs, paired(ours, theirs))
    apart = _apart(court.ground, split, likely)
    return Judged(
        court,
        theirs,
        stages,
        tuple(sorted(apart, key=lambda one: (one.box[0] != BEGINNING[0], one.rank, one.box, one.wanted, one.found))),
        split.where(lambda one: one[0] and one[1][0].outcome.passes),
        split.told(lambda one: one[1][1] if one[0] and not one[1][0].outcome.passes else SHUT),
    )


def _apart(ground: Ground, split: Diagram[tuple[bool, tuple[Fate, Fate]]], likely: Spans) -> list[Apart]:
    """Each pair of fates with one box, in the most telling place there is, and all places where it happens."""
    boxes: dict[tuple[Fate, Fate], tuple[Runs, int]] = {}
    pairs: dict[tuple[Fate, Fate], dict[Pair, None]] = {}
    places: list[tuple[Pair | None, Box | None]] = [*_places(ground, likely), (None, None)]
    for rank, (pair, part) in enumerate(places):
        for fates, box in [(fates, box) for (here, fates), box in leaves(split, part) if here]:
            boxes.setdefault(fates, (box, rank))
            if pair is not None:
                pairs.setdefault(fates, {})[pair] = None
    return [
        Apart(*fates, ground.family, box, tuple(pairs.get(fates, ())), rank) for fates, (box, rank) in boxes.items()
    ]


def _places(ground: Ground, likely: Spans) -> Iterator[tuple[Pair, Box]]:
    """From everywhere to everywhere else, what comes from outside first and what goes inside first; ordinary addresses only."""
    sources = sorted(ground.zones, key=lambda zone: (zone != OUTSIDE, zone == FIREWALL))
    targets = sorted(ground.zones, key=lambda zone: (zone == FIREWALL, zone == OUTSIDE))
    far = less(ground.addresses, joined([*ground.inside, *ground.networks(SET_ASIDE)]))
    for source, target in product(sources, targets):
        behind = {FIREWALL: ground.addresses, OUTSIDE: far}.get(source) or ground.behind(source)
        whole = both(ground.outside, far) if target == OUTSIDE else ground.toward(target)
        for there in (both(whole, likely), whole) if source != target or source == FIREWALL else ():
            boxes = ground.box(place=ground.places(source), target=there, source=behind)
            yield from (((source, target), box) for box in boxes)


def _seen(diagram: Diagram[Fate], *, whole: bool) -> Diagram[Outcome]:
    """What is compared: all that becomes of a packet, or only whether it passes."""
    return outcomes(diagram) if whole else diagram.told(lambda one: DROPPED._replace(passes=one.outcome.passes))


def _inside(run: tuple[int, int], step: int) -> int:
    """A number of the run that looks like any other: not at its very beginning, where it is long."""
    return run[0] + step if run[1] - run[0] > step else run[0]
