"""What becomes of packets by a list of boxes: the first that a packet lies in decides; several lists one after the other."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from scantling.trials.proof.headers import Box, Header


class Outcome(NamedTuple):
    """What becomes of a packet."""

    passes: bool
    to: str = ""
    """Address and port that it is led to, where its target is changed."""
    masked: bool = False
    """Whether it leaves under an address of the firewall."""


DROPPED, PASSED = Outcome(passes=False), Outcome(passes=True)


class Ruling(NamedTuple):
    """What becomes of the packets in some boxes, unless a ruling before it says otherwise."""

    boxes: tuple[Box, ...]
    outcome: Outcome
    by: str
    """Slug of the intent, or key of the rule."""


class Stage(NamedTuple):
    """One list that a packet goes through: the first ruling it lies in decides; `unless` where there is none."""

    rulings: tuple[Ruling, ...]
    unless: Ruling
    """Without boxes."""

    def ruling(self, header: Header) -> Ruling:
        """What decides on one packet."""
        return deciding(self.rulings, header) or self.unless


def fate(stages: Iterable[Stage], header: Header) -> Ruling:
    """What becomes of one packet that goes through several lists: the first that drops it, or the last that has a word."""
    found = [stage.ruling(header) for stage in stages]
    return together(found)


def together(rulings: Sequence[Ruling]) -> Ruling:
    """What the rulings of several lists on one packet come to; a list that has no word on it is called nothing."""
    dropped = next((one for one in rulings if not one.outcome.passes), None)
    if dropped is not None:
        return dropped._replace(boxes=())
    to = next((one.outcome.to for one in rulings if one.outcome.to), "")
    masked = any(one.outcome.masked for one in rulings)
    by = next((one.by for one in reversed(rulings) if one.by), "")
    return Ruling((), Outcome(passes=True, to=to, masked=masked), by)


def inside(box: Box, header: Header) -> bool:
    """Whether a packet lies in a box."""
    return all(
        any(first <= number <= last for first, last in spans) for spans, number in zip(box, header, strict=True)
    )


def deciding(rulings: Sequence[Ruling], header: Header) -> Ruling | None:
    """The first ruling that a packet lies in; None: nothing says anything, and it is dropped."""
    return next((one for one in rulings if any(inside(box, header) for box in one.boxes)), None)
