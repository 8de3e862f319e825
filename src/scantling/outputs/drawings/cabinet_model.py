"""What the drawing of the cabinet's front is told: parts with their units, weights and fronts, and what stands elsewhere."""

from dataclasses import dataclass
from typing import Literal

from scantling.outputs.drawings.model import Amount, PencilNote, Phrase, Text, TitleBlock

Kind = Literal["battery", "rack", "tower", "box", "switch", "aside", "other"]


@dataclass(frozen=True, slots=True)
class Front:
    """One thing as it is seen from the front, in height units counted from below."""

    kind: Kind
    lowest: int
    height: int
    depth: float = 0.0
    """Millimetres."""
    bays: int = 0
    filled: int = 0
    ports: int = 0
    fed: int = 0
    """Of its ports, those that feed a device."""
    uplinks: int = 0
    slug: str = ""
    """Of its place."""


@dataclass(frozen=True, slots=True)
class Part:
    """Like things above each other, told together."""

    slug: str
    name: str
    article: str
    units: Text
    """Such as "units 5 to 9"."""
    weight: Text
    """Such as "4.1 kg", with "each" where there are several."""
    fronts: tuple[Front, ...]
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A part that stands in another place."""

    name: str
    place: str


@dataclass(frozen=True, slots=True)
class CabinetSheet:
    """The cabinet, or the cupboard without one, from the front and from the side."""

    block: TitleBlock
    name: str
    place: str
    cabinet: bool
    """Whether there is a cabinet with rails; else the parts stand on boards in the space itself."""
    units: int
    height: Amount
    """Millimetres, of the cabinet itself or of the space."""
    depth: Amount
    deepest: Amount
    parts: tuple[Part, ...]
    elsewhere: tuple[Elsewhere, ...]
    total: Text
    own: Text
    """Weight of the empty cabinet; no text where there is none."""
    centre: Amount
    """Height of the centre of gravity over the lowest unit, millimetres."""
    findings: tuple[int, ...] = ()
    pencil: tuple[PencilNote, ...] = ()
    notes: tuple[Phrase, ...] = ()
