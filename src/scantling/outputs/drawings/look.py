"""The two looks of a sheet: colours and line weights by day (ink on paper) and by night (white on blue)."""

from dataclasses import dataclass
from typing import Literal

Ink = Literal["ink", "quiet", "hairline", "pencil", "paper"]
Weight = Literal["wall", "partition", "frame", "rule"]


@dataclass(frozen=True, slots=True)
class Look:
    """Colours, and the four weights of line in millimetres (ISO 128-2 series, one step thinner by night)."""

    name: str
    paper: str
    ink: str
    quiet: str
    hairline: str
    pencil: str
    wall: float
    partition: float
    frame: float
    rule: float

    def colour(self, ink: Ink) -> str:
        """The colour that a role has in this look."""
        return {
            "ink": self.ink,
            "quiet": self.quiet,
            "hairline": self.hairline,
            "pencil": self.pencil,
            "paper": self.paper,
        }[ink]

    def width(self, weight: Weight) -> float:
        """The width of a line of that weight, in millimetres."""
        return {"wall": self.wall, "partition": self.partition, "frame": self.frame, "rule": self.rule}[weight]


DAY = Look("day", "#faf7ef", "#16243a", "#53627a", "#9aa5b5", "#b3261e", 0.7, 0.5, 0.35, 0.18)
NIGHT = Look("night", "#12335c", "#eef4fb", "#b6cbe3", "#6f92ba", "#ffb3a3", 0.5, 0.35, 0.25, 0.13)
