"""The book as a plain value: both printers draw from it and compute nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from scantling.figures import Caution, Facts, Figure, Ruled
from scantling.figures.pages import Block


@dataclass(frozen=True)
class Sheet:
    """One sheet: its number in the set, its title, its blocks."""

    number: str
    title: str
    blocks: Sequence[Block]


@dataclass(frozen=True)
class Plate:
    """What is said of a drawing: its title, and the words for those who can't see it."""

    title: str
    says: str


@dataclass(frozen=True)
class Note:
    """A finding: its number in the triangle, weight, code, sentence, remedy, who declined it, the figures it rests on."""

    number: int
    weight: str
    code: str
    says: str
    remedy: str
    declined: str = ""
    figures: Sequence[Figure[Any]] = ()


@dataclass(frozen=True)
class Working:
    """An entry of the workings appendix; `inputs` are the ids of the figures it came from.

    Without a label it is one column of a catalogue row, told together with the row's others; `working` is the row's place.
    """

    id: str
    label: str
    value: str
    working: str
    inputs: Sequence[str] = ()


@dataclass(frozen=True)
class Summary:
    """The first page: what it will cost, what to buy, the plan in a few numbers. The first findings join in print."""

    price: Figure[Decimal] | None
    buys: Ruled
    numbers: Facts


@dataclass(frozen=True)
class Book:
    """Everything that is printed. `fields` are the title block's further lines (name, words); `language` as BCP 47."""

    client: str
    title: str
    planned_for: str
    provisional: str
    revision: str
    date: str
    fields: Sequence[tuple[str, str]]
    paper: str
    language: str
    currency: str
    summary: Summary
    plates: Mapping[str, Plate]
    sheets: Sequence[Sheet]
    notes: Sequence[Note]
    lasting: Sequence[Block]
    cautions: Sequence[Caution]
    assumed: Ruled
    workings: Sequence[tuple[str, Sequence[Working]]]

    @cached_property
    def ids(self) -> frozenset[str]:
        """Every figure that the appendix tells of, so that it can be linked to."""
        return frozenset(entry.id for _, entries in self.workings for entry in entries)
