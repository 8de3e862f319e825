"""Tables as files for spreadsheets: what a client typed is a text there and never a formula; comma-separated after RFC 4180."""

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass

from scantling.figures.spelled import unfit

BEGINS_FORMULA = tuple(
    "=+-@\t\r\n\N{FULLWIDTH EQUALS SIGN}\N{FULLWIDTH PLUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}\N{FULLWIDTH COMMERCIAL AT}"
)
"""What a spreadsheet may take for the beginning of a formula (the OWASP page on CSV injection)."""
TEXT_MARK = "'"
"""Before a text, spreadsheets take it for the sign that a text follows."""
NONE_PLANNED = "none planned"
Value = str | int


@dataclass(frozen=True, slots=True)
class Register:
    """One table: a short word for its file and sheet, what it is, the heads of its columns, its rows."""

    slug: str
    what: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Value, ...], ...]

    def lines(self) -> tuple[tuple[Value, ...], ...]:
        """Its rows as a file has them: where there are none, one that says so."""
        return self.rows or ((NONE_PLANNED, *("" for _ in self.heads[1:])),)


def printable(text: str) -> str:
    """The text with each letter that can't be printed or would break a line told by its number, as <U+0007>."""
    if text.isprintable():  # as nearly always: no letter is unfit then
        return text
    return "".join(f"<U+{ord(letter):04X}>" if unfit(letter) else letter for letter in text)


def harmless(value: Value) -> str:
    """A field of a comma-separated file: with a mark before it where a spreadsheet might take it for a formula.

    A text that begins with the mark itself gets another one, so that `plain` always gives back what was there.
    """
    text = printable(str(value))
    return TEXT_MARK + text if text.startswith((*BEGINS_FORMULA, TEXT_MARK)) else text


def plain(field: str) -> str:
    """What a harmless field says, its mark taken off."""
    return field.removeprefix(TEXT_MARK)


def separated(heads: Iterable[str], rows: Iterable[Iterable[Value]]) -> bytes:
    """A comma-separated file in UTF-8 after RFC 4180: every line ends with CR LF, quotes are doubled inside quotes."""
    made = io.StringIO(newline="")
    writer = csv.writer(made, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([harmless(value) for value in row] for row in rows)
    return made.getvalue().encode()
