"""Reads the sheets of a spreadsheet file (ISO/IEC 29500) as grids: values, formulas, what is merged and hidden.

A reader of our own, since merged areas and hidden rows must be told without building every cell that they cover.
"""

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from re import ASCII, compile as pattern

from scantling.catalogue.pricelists.cells import Area, Cell, Grid, Nature, PriceListError, Row, column_of
from scantling.catalogue.pricelists.packed import Attributes, number, opened
from scantling.catalogue.pricelists.workbook import Sheet, Style, Workbook, unescaped, workbook
from scantling.figures.spelled import quoted

MOST_SHEETS, MOST_ROWS, MOST_CELLS, MOST_COLUMNS, MOST_MERGED = 50, 100_000, 1_000_000, 256, 20_000
PLACE = pattern(r"\$?([A-Z]{1,3})\$?(\d{1,7})", ASCII)
EXACT = 15
"""Digits that a spreadsheet keeps of a number."""


def read_sheets(path: Path, wanted: str = "") -> Iterator[Grid]:
    """The visible sheets that hold tables, or the one wanted by name. Raises PriceListError."""
    with opened(path) as package:
        book = workbook(package)
        hidden = [sheet.name for sheet in book.sheets if sheet.hidden]
        chosen = [one for one in book.sheets if (one.name == wanted if wanted else not one.hidden)]
        if not chosen:
            there = ", ".join(quoted(sheet.name) for sheet in book.sheets) or "none"
            raise package.refuse(f"no sheet called {quoted(wanted)} that holds a table; there are: {there}")
        if len(chosen) > MOST_SHEETS:
            raise package.refuse(f"it has {len(chosen)} sheets; say which one: --sheet NAME")
        notes = tuple(f"the sheet {quoted(name)} is hidden and was not read" for name in hidden if name != wanted)
        for sheet in chosen:
            yield _Table(book, sheet, notes).read()


class _Table:
    """One sheet while it is read."""

    def __init__(self, book: Workbook, sheet: Sheet, notes: tuple[str, ...]) -> None:
        self.book, self.sheet, self.notes = book, sheet, notes
        self.rows: list[Row] = []
        self.merged: list[Area] = []
        self.hidden_columns: set[int] = set()
        self.row, self.hidden, self.column, self.many = 0, False, 0, 0
        self.cells: dict[int, Cell] = {}
        self.given: Attributes = {}
        self.formula, self.value, self.inside = False, "", ""

    def read(self) -> Grid:
        """The grid. Raises PriceListError where it is larger than any price list."""
        self.book.package.parse(self.sheet.part, self._begin, self._end, self._text)
        ordered = tuple(sorted(self.rows, key=lambda row: row.number))
        if twice := next((one.number for one, other in pairwise(ordered) if one.number == other.number), 0):
            raise self._refuse(f"row {twice} stands twice in the sheet {quoted(self.sheet.name)}")
        file = self.book.package.file
        hidden = frozenset(self.hidden_columns)
        return Grid(file, ordered, self.sheet.name, tuple(self.merged), hidden, self.notes)

    def _begin(self, tag: str, given: Attributes) -> None:
        if tag == "c":
            self._open(given)
        elif tag in ("v", "t", "f"):
            self.inside = tag
            self.formula = self.formula or tag == "f"
        elif tag == "row":
            self.row = number(given.get("r"), self.row + 1)
            self.hidden, self.column, self.cells = given.get("hidden") in ("1", "true"), 0, {}
        elif tag == "mergeCell":
            self._merge(given.get("ref", ""))
        elif tag == "col" and given.get("hidden") in ("1", "true"):
            first, last = number(given.get("min"), 1), number(given.get("max"), 1)
            self.hidden_columns |= set(range(first, min(last, MOST_COLUMNS) + 1))

    def _end(self, tag: str) -> None:
        if tag == "c":
            self._close()
        elif tag == "row" and self.cells:
            self.rows.append(Row(self.row, self.cells, max(self.cells), self.hidden))
            if len(self.rows) > MOST_ROWS:
                raise self._refuse(f"more than {MOST_ROWS:,} rows stand in the sheet {quoted(self.sheet.name)}")
        self.inside = ""

    def _text(self, said: str) -> None:
        if self.inside in ("v", "t"):
            self.value += said

    def _open(self, given: Attributes) -> None:
        match = PLACE.fullmatch(given.get("r", ""))
        self.column = column_of(match[1]) if match else self.column + 1
        self.given, self.formula, self.value = given, False, ""

    def _close(self) -> None:
        cell = self._cell(self.given.get("t", "n"), self.value)
        if cell is None:
            return
        self.many += 1
        if self.column > MOST_COLUMNS or self.many > MOST_CELLS:
            most = f"{MOST_COLUMNS} columns and {MOST_CELLS:,} cells"
            raise self._refuse(f"the sheet {quoted(self.sheet.name)} is larger than a price list: at most {most}")
        self.cells[self.column] = cell

    def _cell(self, kind: str, value: str) -> Cell | None:
        """What the cell holds, None for an empty one."""
        if self.formula:
            return Cell(value, Nature.FORMULA)
        if kind == "s":
            index = number(value, -1)
            value = self.book.texts[index] if 0 <= index < len(self.book.texts) else ""
        elif kind == "inlineStr":
            value = unescaped(value)
        if not value.strip():
            return None
        if kind == "e":
            return Cell(value, Nature.FAULT)
        if kind == "d":
            return Cell(value[:10], Nature.DATE)
        return self._numeric(value) if kind == "n" else Cell(value)

    def _numeric(self, value: str) -> Cell:
        index = number(self.given.get("s"), 0)
        style = self.book.styles[index] if 0 <= index < len(self.book.styles) else Style()
        try:
            amount = float(value)
            if style.day:
                return Cell(self.book.day(amount).isoformat(), Nature.DATE)
            if abs(amount) >= 10**EXACT:
                return Cell(value, Nature.FAULT)
            return Cell(f"{Decimal(f'{amount:.{EXACT}g}'):f}", Nature.NUMBER, style.sign)
        except (ValueError, OverflowError, ArithmeticError):
            return Cell(value, Nature.FAULT)

    def _merge(self, reference: str) -> None:
        first, _, last = reference.partition(":")
        one, other = PLACE.fullmatch(first), PLACE.fullmatch(last)
        if one and other:
            self.merged.append(Area(int(one[2]), column_of(one[1]), int(other[2]), column_of(other[1])))
        if len(self.merged) > MOST_MERGED:
            raise self._refuse(f"more than {MOST_MERGED:,} merged areas stand in the sheet {quoted(self.sheet.name)}")

    def _refuse(self, says: str) -> PriceListError:
        return self.book.package.refuse(f"{says}; save only the price list as a file of its own")
