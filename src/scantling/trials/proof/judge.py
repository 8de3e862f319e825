"""Holds two accounts of what becomes of every packet against each other, exactly: equal, or packets that tell them apart."""

from dataclasses import dataclass
from typing import NamedTuple

from scantling.trials.proof.diagram import Diagram, differing, intersect, of_boxes, paired
from scantling.trials.proof.headers import Header
from scantling.trials.proof.rulings import DROPPED, Outcome
from scantling.trials.proof.leading import BEGINNING
from scantling.trials.proof.sides import Court, Fate, Side, outcomes
from scantling.trials.proof.steps import leaves

COUNT, PORT = 9, 40000
SHUT = Fate("", DROPPED)


class Apart(NamedTuple):
    """One way in which two sides differ: what each says, and one box of packets of which they say it."""

    wanted: Fate
    found: Fate
    family: int
    box: tuple[tuple[int, int], ...]

    def header(self) -> Header:
        """One packet that shows it, with an address and a port from somewhere ordinary in the box."""
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
    apart: tuple[Apart, ...] = ()
    missed: Diagram[bool] | None = None
    """Where something is wanted to pass and does not, or not as it should; nothing where the two are equal."""
    open: Diagram[Fate] | None = None
    """What passes and is not wanted to."""


def judge(court: Court, wanted: Side, found: Side) -> Judged:
    """The side on trial against what is wanted, in one family."""
    ours, theirs = court.diagram(wanted), court.diagram(found)
    whole = wanted.translates and found.translates
    differs = differing(*(_seen(one, whole=whole) for one in (ours, theirs)))
    if wanted.only_new or found.only_new:
        differs = intersect(differs, of_boxes(court.space, court.ground.box(state=BEGINNING)))
    if not any(differs.deciding()):
        return Judged(court, theirs)
    split = paired(differs, paired(ours, theirs))
    apart = [Apart(*fates, court.ground.family, box) for (here, fates), box in leaves(split) if here]
    return Judged(
        court,
        theirs,
        tuple(sorted(apart, key=lambda one: (one.box, one.wanted, one.found))),
        split.where(lambda one: one[0] and one[1][0].outcome.passes),
        split.told(lambda one: one[1][1] if one[0] and not one[1][0].outcome.passes else SHUT),
    )


def _seen(diagram: Diagram[Fate], *, whole: bool) -> Diagram[Outcome]:
    """What is compared: all that becomes of a packet, or only whether it passes."""
    return outcomes(diagram) if whole else diagram.told(lambda one: DROPPED._replace(passes=one.outcome.passes))


def _inside(run: tuple[int, int], step: int) -> int:
    """A number of the run that looks like any other: not at its very beginning, where it is long."""
    return run[0] + step if run[1] - run[0] > step else run[0]
