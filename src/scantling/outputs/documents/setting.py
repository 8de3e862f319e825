"""How cells are set: number or word or address, and how wide each column must be so that no number breaks."""

from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_network

from scantling.figures import Figure
from scantling.figures.numbers import in_currency, text
from scantling.figures.pages import Cell
from scantling.outputs.documents.volume import Book
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, Hand, width

POINT = 25.4 / 72
"""A printer's point in millimetres (1/72 inch)."""
SIZES = (9.2, 8.4, 7.6)
GUTTER = 5.0
"""Clear space between two columns, in millimetres."""
NARROW = 0.66
"""Share of the measure that a small table takes, so that tables on a page have two widths and not twenty."""
SLACK = 1.03
LONGEST_WORD, LONGEST_CELL = 22, 160
BRIEF = 9
"""So few letters are kept in one line."""
MONO = 0.86
"""Size of addresses against the words around them."""


@dataclass(frozen=True)
class Mark:
    """One cell in print: its words, the id of the figure behind it, whether it is a number, whether it is an address."""

    text: str
    id: str = ""
    number: bool = False
    mono: bool = False


@dataclass(frozen=True)
class Columns:
    """Widths in millimetres, and the size of the letters in points."""

    widths: Sequence[float]
    size: float


def mark(cell: Cell, book: Book) -> Mark:
    """A cell as it is printed: value and unit in the plan's currency, the figure's id kept where it has a working."""
    if not isinstance(cell, Figure):
        return Mark(in_currency(cell, book.currency), mono=_addresses(cell))
    words = in_currency(text(cell), book.currency)
    id_ = cell.id if cell.id in book.ids else ""
    return Mark(short(words), id_, number=cell.unit.numeric and cell.unit.kind is not bool, mono=_addresses(words))


def short(words: str, most: int = LONGEST_CELL) -> str:
    """The words, cut at a blank where they are longer than a cell holds."""
    return words if len(words) <= most else f"{words[: most - 2].rsplit(' ', 1)[0]} …"


def _addresses(words: str) -> bool:
    """Whether the words are addresses or networks and what joins them."""
    parts = words.replace("–", " ").replace(",", " ").replace(" to ", " ").split()
    return bool(parts) and all(map(_address, parts))


def _address(word: str) -> bool:
    try:
        return word.count(".") == 3 and bool(ip_network(word, strict=False))  # noqa: PLR2004 - four numbers
    except ValueError:
        return False


def right(rows: Sequence[Sequence[Mark]], column: int) -> bool:
    """Whether a column holds numbers, and is set to the right so that they stand under each other."""
    filled = [row[column] for row in rows if column < len(row) and row[column].text not in {"", "-", "–"}]
    return bool(filled) and all(one.number for one in filled)


def columns(heads: Sequence[str], rows: Sequence[Sequence[Mark]], measure: float) -> Columns:
    """Widths for a table in a measure (millimetres): the largest size at which all stands in one line, else wrapped."""
    for size in SIZES[:2]:
        natural = [_natural(heads[i], _column(rows, i), size) for i in range(len(heads))]
        for room in (measure * NARROW, measure):
            if sum(natural) <= room:
                return Columns(_spread(natural, room), size)
    for size in SIZES[1:]:
        natural = [_natural(heads[i], _column(rows, i), size) for i in range(len(heads))]
        least = [_least(heads[i], _column(rows, i), size) for i in range(len(heads))]
        if sum(least) <= measure:
            return Columns(_shared(natural, least, measure), size)
    return Columns(_shared(natural, [w * measure / sum(least) for w in least], measure), SIZES[-1])


def _column(rows: Sequence[Sequence[Mark]], column: int) -> list[Mark]:
    return [row[column] for row in rows if column < len(row)]


def _wide(words: str, size: float, *, mono: bool = False) -> float:
    hand = Hand(EVEN, size * MONO * POINT) if mono else Hand(BOOK, size * POINT)
    return width(words, hand) * SLACK


def _natural(head: str, cells: Sequence[Mark], size: float) -> float:
    """Everything in one line."""
    return GUTTER + max([_head(head, size), *(_wide(cell.text, size, mono=cell.mono) for cell in cells)])


def _least(head: str, cells: Sequence[Mark], size: float) -> float:
    """Nothing broken that must not be: a number with its unit, an address, a word of usual length."""
    words = [
        _wide(part[:LONGEST_WORD], size, mono=cell.mono)
        for cell in cells
        for part in ([cell.text] if cell.number or len(cell.text) <= BRIEF else cell.text.split() or [""])
    ]
    return GUTTER + max([*(_head(part, size) for part in head.split() or [""]), *words])


def _head(words: str, size: float) -> float:
    return width(words, Hand(LABEL, (size - 1) * POINT)) * SLACK


def _spread(natural: Sequence[float], room: float) -> list[float]:
    """What is left over goes to all columns alike."""
    more = (room - sum(natural)) / len(natural)
    return [round(one + more, 2) for one in natural]


def _shared(natural: Sequence[float], least: Sequence[float], measure: float) -> list[float]:
    """Each its least, and the rest in proportion to what each still wants."""
    wants = [max(0.0, n - low) for n, low in zip(natural, least, strict=True)]
    left = max(0.0, measure - sum(least))
    total = sum(wants) or 1.0
    return [round(low + left * want / total, 2) for low, want in zip(least, wants, strict=True)]
