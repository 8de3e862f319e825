"""The paper, the boxes on it and the two looks: ink on paper by day, white on blue by night.

Sheet sizes, margins, grid and centring marks after ISO 5457 (values from memory of the standard); folding marks after
DIN 824 form A (from memory); line weights after ISO 128-2's step of about the square root of two.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from scantling.outputs.drawings.model import Paper
from scantling.outputs.drawings.svg import number

BINDING, EDGE, COLUMN, GRID = 20.0, 10.0, 94.0, 5.0
"""Margin on the binding side, on the others, width of the margin column, width of the grid border; millimetres."""
SIZES: Mapping[Paper, tuple[float, float]] = {"A3": (420.0, 297.0), "tabloid": (431.8, 279.4)}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in millimetres from the sheet's top left corner."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.bottom - self.top

    @property
    def written(self) -> str:
        """The four sides, as the drawings note the box their words belong in."""
        return " ".join(number(side) for side in (self.left, self.top, self.right, self.bottom))

    def inset(self, across: float, down: float | None = None) -> "Box":
        """The box drawn in on both sides."""
        drop = across if down is None else down
        return Box(self.left + across, self.top + drop, self.right - across, self.bottom - drop)


@dataclass(frozen=True, slots=True)
class Look:
    """Colours and the four weights of line, in millimetres."""

    name: str
    paper: str
    ink: str
    quiet: str
    hairline: str
    pencil: str
    outer: float
    partition: float
    door: float
    rule: float


DAY = Look("day", "#faf7ef", "#16243a", "#53627a", "#9aa5b5", "#b3261e", 0.7, 0.5, 0.35, 0.18)
NIGHT = Look("night", "#12335c", "#eef4fb", "#b6cbe3", "#6f92ba", "#ffb3a3", 0.5, 0.35, 0.25, 0.13)
LOOKS = {"day": DAY, "night": NIGHT}


def sheet_box(paper: Paper) -> Box:
    """The trimmed sheet."""
    return Box(0, 0, *SIZES[paper])


def frame_box(paper: Paper) -> Box:
    """The frame inside the margins."""
    width, height = SIZES[paper]
    return Box(BINDING, EDGE, width - EDGE, height - EDGE)


def field_box(paper: Paper) -> Box:
    """Where the picture goes: inside the frame, left of the margin column."""
    frame = frame_box(paper)
    return Box(frame.left, frame.top, frame.right - COLUMN, frame.bottom)


def column_box(paper: Paper) -> Box:
    """The margin column at the right, title block included."""
    frame = frame_box(paper)
    return Box(frame.right - COLUMN, frame.top, frame.right, frame.bottom)
