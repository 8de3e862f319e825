"""A price list as rows of cells that know their places, whatever kind of file it came from."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from scantling.figures.spelled import shown

LETTERS = 26
MOST_TOLD = 100


class Nature(StrEnum):
    """What a cell holds; a text file has texts only."""

    TEXT = "text"
    NUMBER = "number"
    DATE = "date"
    FORMULA = "formula"
    FAULT = "fault"


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell: a text as written, a number in plain digits, a date as year-month-day.

    `sign` is the currency that only the cell's format shows.
    """

    text: str
    nature: Nature = Nature.TEXT
    sign: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number as a spreadsheet counts, filled cells by column (from 1), how many cells are written."""

    number: int
    cells: Mapping[int, Cell]
    width: int = 0
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Area:
    """A block of merged cells, its corners included."""

    top: int
    left: int
    bottom: int
    right: int

    def covers(self, row: int, column: int) -> bool:
        """Whether a cell lies in it."""
        return self.top <= row <= self.bottom and self.left <= column <= self.right


@dataclass(frozen=True)
class Grid:
    """One table of a file: its rows in order, what is merged or hidden, and what reading it found worth telling."""

    file: str
    rows: tuple[Row, ...]
    sheet: str = ""
    merged: tuple[Area, ...] = ()
    hidden_columns: frozenset[int] = field(default_factory=frozenset)
    notes: tuple[str, ...] = ()

    def merged_at(self, row: int, column: int) -> Area | None:
        """The merged block that a cell lies in."""
        return next((area for area in self.merged if area.covers(row, column)), None)


@dataclass(frozen=True, order=True, slots=True)
class Odd:
    """Something in a list that can't be taken as it stands: where, and what to do."""

    file: str
    row: int
    column: str
    says: str

    def __str__(self) -> str:
        return f"{self.file}:{self.row}:{self.column}: {self.says}"


class PriceListError(ValueError):
    """A list that can't be read at all; its text is for the person."""


def letters(column: int) -> str:
    """The name of a column: 1 is A, 27 is AA."""
    name = ""
    while column > 0:
        column, rest = divmod(column - 1, LETTERS)
        name = chr(ord("A") + rest) + name
    return name


def column_of(name: str) -> int:
    """The number of a column: A is 1, AA is 27."""
    number = 0
    for letter in name:
        number = number * LETTERS + ord(letter) - ord("A") + 1
    return number


def refused(file: str, row: int, column: int, says: str) -> PriceListError:
    """What is wrong with the whole list, told at one place."""
    return PriceListError(str(Odd(file, row, letters(column), says)))


def told(many: Iterable[Odd]) -> Iterator[str]:
    """Each odd thing on its line, the first hundred, and how many more there are."""
    lines = [str(odd) for odd in many]
    yield from lines[:MOST_TOLD]
    if len(lines) > MOST_TOLD:
        yield f"and {len(lines) - MOST_TOLD:,} more"


def called(file: str) -> str:
    """A file's name as messages tell it."""
    return shown(file, 100)
