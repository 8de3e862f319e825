"""What the sheets of a rehearsal are told: who tried whom, the drill fault by fault, the busiest day once for each lease time."""

from dataclasses import dataclass

from scantling.outputs.drawings.matrix_model import Whereabout
from scantling.outputs.drawings.model import PencilNote, Phrase, TitleBlock


@dataclass(frozen=True, slots=True)
class Goal:
    """Whom a try is meant for: a room, the outside, the firewall, or one machine in a room."""

    slug: str
    name: str
    number: str = ""
    room: str = ""
    """Slug of the room that a machine stands in; empty: it is a place itself."""


@dataclass(frozen=True, slots=True)
class Tried:
    """What was tried from one place on one goal."""

    who: str
    whom: str
    through: int
    """Let through."""
    kept_out: int
    wrong: int = 0
    """How many went otherwise than meant."""
    differs: tuple[int, ...] = ()
    """Numbers of the pencil notes about them."""


@dataclass(frozen=True, slots=True)
class TriesSheet:
    """Columns try, rows are tried."""

    block: TitleBlock
    places: tuple[Whereabout, ...]
    goals: tuple[Goal, ...]
    """Machines behind their room."""
    tries: tuple[Tried, ...]
    totals: Phrase
    """One line under the matrix."""
    notes: tuple[Phrase, ...] = ()
    pencil: tuple[PencilNote, ...] = ()


@dataclass(frozen=True, slots=True)
class FaultLine:
    """One fault of the drill."""

    what: str
    put: str
    """Where it was put."""
    found: str
    """Where the checks say it is; empty: it was not noticed."""
    sign: str
    """By what it showed first."""
    healed: bool
    differs: tuple[int, ...] = ()
    """Number of the pencil note where it was not found, or did not heal."""


@dataclass(frozen=True, slots=True)
class DrillSheet:
    """The fault drill."""

    block: TitleBlock
    faults: tuple[FaultLine, ...]
    totals: Phrase
    notes: tuple[Phrase, ...] = ()
    pencil: tuple[PencilNote, ...] = ()


@dataclass(frozen=True, slots=True)
class Curve:
    """One busiest day."""

    title: str
    """Such as "Lent for 2 h, as planned"."""
    pool: int
    held: tuple[tuple[float, int], ...]
    """Hour of the day, addresses held by then; hours rise."""
    pool_label: str
    """Said on the line of the pool."""
    held_label: str
    """Said on the curve."""
    full_label: str = ""
    """Said over the hours in which none is left, such as "none left: 215 turned away"."""
    lines: tuple[Phrase, ...] = ()
    """Said under the plot."""


@dataclass(frozen=True, slots=True)
class DaysSheet:
    """The busiest day with each lease time, side by side on one scale."""

    block: TitleBlock
    curves: tuple[Curve, ...]
    notes: tuple[Phrase, ...] = ()
    pencil: tuple[PencilNote, ...] = ()


@dataclass(frozen=True, slots=True)
class RehearsalSheets:
    """The sheets that a rehearsal has something to show on."""

    tries: TriesSheet | None = None
    drill: DrillSheet | None = None
    days: DaysSheet | None = None
