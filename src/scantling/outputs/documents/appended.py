"""What is bound into a book besides the plan: sheets and drawings of a trial that was made of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scantling.outputs.documents.volume import Book, Plate, Sheet


@dataclass(frozen=True)
class Appended:
    """Sheets of words, and drawings with what is said of them, all by numbers that the plan's own set does not have."""

    sheets: Sequence[Sheet]
    plates: Mapping[str, Plate]
    day: Mapping[str, str]
    """SVG by sheet number."""
    night: Mapping[str, str]


def with_appended(book: Book, more: Appended) -> Book:
    """The book with these behind its own sheets. Raises ValueError when a number is taken."""
    taken = {*book.plates, *(sheet.number for sheet in book.sheets)}
    twice = taken & {*more.plates, *(sheet.number for sheet in more.sheets)}
    if twice:
        raise ValueError(f"sheets of these numbers are in the book already: {', '.join(sorted(twice))}")
    return replace(book, sheets=[*book.sheets, *more.sheets], plates={**book.plates, **more.plates})
