"""What the address map is told: each zone's addresses by what they are for, both families, and who bears which."""

from dataclasses import dataclass
from typing import Literal

from scantling.outputs.drawings.model import Count, PencilNote, Phrase, Text, TitleBlock

Use = Literal["issued", "kept", "leased", "spare"]


@dataclass(frozen=True, slots=True)
class Run:
    """Addresses in a row that are for the same thing, by their places in the subnet, the first being nought."""

    use: Use
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Sixth:
    """A zone's part of the sixth version, which no scale can show whole."""

    network: Text
    issued: int
    says: Phrase
    """Who bears which address there, and what becomes of the rest."""


@dataclass(frozen=True, slots=True)
class ZoneMap:
    """One zone."""

    slug: str
    name: str
    number: str
    network: Text
    size: int
    """Addresses of the subnet, the two that nobody can bear included."""
    base: int
    """The last part of the subnet's first address."""
    runs: tuple[Run, ...]
    """Whatever is not spare, in order, none on another."""
    starts: tuple[str, ...]
    """How the addresses at every 32nd place are written, from the first on: "0", "32", ... or "60.0", ..."""
    counts: tuple[Count, ...]
    """Issued, kept, leased, spare: always four, in this order."""
    says: Phrase
    """Who bears which address, what is kept for whom, what is lent for how long."""
    sixth: Sixth | None = None
    findings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class AddressMap:
    """The addresses of all zones."""

    block: TitleBlock
    zones: tuple[ZoneMap, ...]
    notes: tuple[Phrase, ...]
    pencil: tuple[PencilNote, ...] = ()
