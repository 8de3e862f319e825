"""What the matrix is told: who may reach whom, and what passes, place by place in the order of the rooms."""

from dataclasses import dataclass

from scantling.outputs.drawings.model import PencilNote, Phrase, TitleBlock


@dataclass(frozen=True, slots=True)
class Whereabout:
    """One place: a room with its number, the outside or the firewall with none."""

    slug: str
    name: str
    number: str = ""


@dataclass(frozen=True, slots=True)
class Crossing:
    """What may begin from one place to another."""

    who: str
    whom: str
    intents: int
    """Intents that let something through."""
    passing: tuple[str, ...]
    """In short words, each once."""
    rules: str
    """Numbers of the rules that let it through."""
    rules_short: str
    """How many they are, where their numbers have no room, such as "15 rules"."""
    forbidding: int = 0
    """Intents that forbid something on this way."""
    differs: tuple[int, ...] = ()
    """Numbers of the pencil notes: differences that the proof has found here."""

    @property
    def open(self) -> bool:
        """Whether anything passes."""
        return self.intents > 0


@dataclass(frozen=True, slots=True)
class Matrix:
    """Who may reach whom: rows begin, columns are reached."""

    block: TitleBlock
    places: tuple[Whereabout, ...]
    crossings: tuple[Crossing, ...]
    """Only those that are open, or where something is forbidden or differs."""
    totals: Phrase
    """One line under the matrix, such as "19 of 72 pairs are open"."""
    notes: tuple[Phrase, ...]
    pencil: tuple[PencilNote, ...] = ()
