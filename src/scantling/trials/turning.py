"""At which amount a condition turns from true to false or back, found by asking the condition itself."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

SAMPLES = 16
FINE = 1e-9
HALVINGS = 80


@dataclass(frozen=True)
class Turn:
    """True below and false above (`falls`), the other way round, or the same everywhere (`held` or not, no ends).

    `last` is the amount on the near side of the turn that was asked, `first` the one on the far side.
    """

    held: bool
    last: Any = None
    first: Any = None

    @property
    def turns(self) -> bool:
        """Whether it changes at all."""
        return self.first is not None

    @property
    def falls(self) -> bool:
        """True below, false above."""
        return self.turns and self.held

    @property
    def rises(self) -> bool:
        """False below, true above."""
        return self.turns and not self.held


def turn_between(passes: Callable[[Any], bool], low: Any, high: Any, *, whole: bool) -> Turn | None:
    """The turn between two amounts, both included; None where samples show more than one."""
    if whole:
        points = sorted({low + (high - low) * step // SAMPLES for step in range(SAMPLES + 1)})
    else:
        points = [(low * (SAMPLES - step) + high * step) / SAMPLES for step in range(SAMPLES + 1)]
    found = _step(points, [passes(point) for point in points])
    if found is None or not found.turns:
        return found
    last, first = found.last, found.first
    for _ in range(HALVINGS):
        middle = (last + first) // 2 if whole else (last + first) / 2
        if middle in (last, first) or (not whole and abs(first - last) <= FINE * max(1, abs(float(first)))):
            break
        if passes(middle) == found.held:
            last = middle
        else:
            first = middle
    return Turn(found.held, last, first)


def _step(points: Sequence[Any], seen: Sequence[bool]) -> Turn | None:
    changes = [place for place in range(1, len(seen)) if seen[place] != seen[place - 1]]
    if not changes:
        return Turn(seen[0])
    if len(changes) > 1:
        return None
    return Turn(seen[0], points[changes[0] - 1], points[changes[0]])
