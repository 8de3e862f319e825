"""A passage of the firewall with the rules that are near, and packets that show what each of them decides."""

from dataclasses import dataclass, field
from typing import NamedTuple

from scantling.trials.proof.headers import Box, Header
from scantling.trials.proof.rulings import Ruling
from scantling.trials.proof.spans import both
from scantling.trials.rehearsal.passages import Passage

STATE, PLACE, TARGET, SOURCE, CARRIED = range(5)
"""Fields of a header."""
NAMED = (TARGET, SOURCE, CARRIED)
"""Those of which rules name single numbers."""


class Near(NamedTuple):
    """A box of a rule, and what of it lies in a passage."""

    ruling: Ruling
    box: Box
    clipped: Box


@dataclass
class Scene:
    """A passage with the rules that are near, and packets on which each decides."""

    passage: Passage
    whole: Box
    here: dict[int, "Near"] = field(default_factory=dict)
    """By its place among all boxes of all rules."""
    bases: dict[Header, None] = field(default_factory=dict)
    deciding: dict[str, Header] = field(default_factory=dict)
    """By rule: a packet on which it decides."""
    telling: dict[str, Header] = field(default_factory=dict)
    """By rule: a packet that fares otherwise without it."""

    def meets(self, place: int, ruling: Ruling, box: Box) -> None:
        """Note a rule, if it meets the passage, or misses it by one of the numbers that rules name."""
        clipped = tuple(both(one, other) for one, other in zip(box, self.whole, strict=True))
        apart = [axis for axis, spans in enumerate(clipped) if not spans]
        if not apart or (len(apart) == 1 and apart[0] in NAMED):
            self.here[place] = Near(ruling, box, clipped)

    def decides(self, by: str, packet: Header) -> None:
        """Note a packet on which a rule decides."""
        self.bases[packet] = None
        self.deciding.setdefault(by, packet)

    def tells(self, by: str, packet: Header) -> None:
        """Note a packet that fares otherwise without a rule."""
        self.bases[packet] = None
        self.telling.setdefault(by, packet)
