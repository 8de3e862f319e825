"""A sheet of the book as blocks: one renderer each for print, web and terminal draws them; a trade only says what is on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from scantling.figures.figure import Figure

Cell = Figure[Any] | str
"""A figure (printed with value and unit, its id kept) or words."""


@dataclass(frozen=True, slots=True)
class Prose:
    """A paragraph of plain words."""

    words: str


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with values, one a line."""

    rows: Sequence[tuple[str, Cell]]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Ruled:
    """A table: a caption, column heads, rows of cells."""

    caption: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Cell]]


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning where the work can hurt someone, with who must be asked."""

    title: str
    words: str


@dataclass(frozen=True, slots=True)
class Steps:
    """Things to do in order."""

    title: str
    items: Sequence[str]


@dataclass(frozen=True, slots=True)
class Picture:
    """A place where a drawing of that name stands."""

    drawing: str
    says: str


Block = Prose | Facts | Ruled | Caution | Steps | Picture
Letter = Literal["G", "N", "S", "B", "P", "A", "O", "T", "W"]


@dataclass(frozen=True, slots=True)
class Page:
    """A trade's sheet: its letter in the drawing set, its title, its blocks; `order` places it among its letter."""

    slug: str
    letter: Letter
    title: str
    blocks: Sequence[Block]
    order: int = 1
