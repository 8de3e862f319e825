"""What the sheet of names and time is told: which programs answer, whom they ask in turn, and whom each room asks."""

from dataclasses import dataclass

from scantling.outputs.drawings.model import PencilNote, Phrase, TitleBlock


@dataclass(frozen=True, slots=True)
class Station:
    """A program that answers: on which machine, and whom it asks in turn."""

    slug: str
    name: str
    """Of the machine, or the firewall."""
    does: str
    """Such as "looks names up"."""
    outside: tuple[str, ...] = ()
    """Whom it asks outside, a line each."""
    asks: tuple[tuple[str, str], ...] = ()
    """Slugs of the stations that it asks, each with what it asks them for."""
    copy: str = ""
    """What it answers from when the machine that holds the names is down."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A station that a room asks, and the address at which it does."""

    station: str
    address: str


@dataclass(frozen=True, slots=True)
class Tap:
    """One room: whom it asks for names and for the time, in order."""

    slug: str
    name: str
    number: str
    names: tuple[Asked, ...]
    times: tuple[Asked, ...]


@dataclass(frozen=True, slots=True)
class Paths:
    """The paths of names and of time."""

    block: TitleBlock
    names: tuple[Station, ...]
    """Those that ask others first."""
    clocks: tuple[Station, ...]
    taps: tuple[Tap, ...]
    down: tuple[Phrase, ...]
    """Who answers at a cold start and when the directory is down, a sentence for rooms that fare alike."""
    notes: tuple[Phrase, ...]
    pencil: tuple[PencilNote, ...] = ()
