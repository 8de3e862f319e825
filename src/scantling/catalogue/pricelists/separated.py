"""Reads a text file of separated values as grids, one for each mark that could part its cells, telling the encoding."""

import csv
from collections.abc import Iterator
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from io import StringIO

from scantling.catalogue.pricelists.cells import Cell, Grid, PriceListError, Row, refused
from scantling.figures.spelled import quoted

PARTED_BY = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "upright strokes"}
MOST_ROWS, MOST_COLUMNS = 100_000, 256
HINT = "sep="
"""What some spreadsheets write before the first row, to say what parts the cells."""


def read_separated(raw: bytes, file: str) -> list[Grid]:
    """The grids that the file could be, each with at least two columns. Raises PriceListError when it is none."""
    text, note = decoded(raw, file)
    skip = 1 if text.startswith(HINT) and text[len(HINT) : len(HINT) + 1] in PARTED_BY else 0
    marks = [text[len(HINT)]] if skip else list(PARTED_BY)
    found, wrong = [], []
    for mark in marks:
        try:
            rows = tuple(_rows(text, mark, file, skip))
        except PriceListError as why:
            wrong.append(why)
            continue
        if any(len(row.cells) > 1 for row in rows):
            notes = [note, f"cells are parted by {PARTED_BY[mark]}"]
            found.append(Grid(file, rows, notes=tuple(notes)))
    if not found:
        marks_told = ", ".join(PARTED_BY.values())
        raise (
            wrong[0]
            if wrong
            else refused(file, 1, 1, f"no table stands here: its cells are parted by none of {marks_told}")
        )
    return found


def decoded(raw: bytes, file: str) -> tuple[str, str]:
    """The file's text, and how it was written. Raises PriceListError where no usual encoding fits."""
    if raw.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        try:
            return _whole(raw.decode("utf-16"), file), "read as UTF-16"
        except UnicodeDecodeError:
            raise refused(file, 1, 1, "written in damaged UTF-16; save it as CSV in UTF-8") from None
    try:
        marked = " (with its mark)" if raw.startswith(BOM_UTF8) else ""
        return _whole(raw.removeprefix(BOM_UTF8).decode("utf-8"), file), f"read as UTF-8{marked}"
    except UnicodeDecodeError:
        pass
    try:
        text = raw.decode("cp1252")
    except UnicodeDecodeError as wrong:
        line = raw.count(b"\n", 0, wrong.start) + 1
        raise refused(
            file,
            line,
            1,
            "a letter stands in this line that is neither UTF-8 nor Windows-1252; save it as CSV in UTF-8",
        ) from None
    return _whole(text, file), "not UTF-8: read as Windows-1252, so look whether names with accents are right"


def _whole(text: str, file: str) -> str:
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise refused(file, line, 1, "this is no text file; save the list as CSV in UTF-8, or as .xlsx")
    return text


def _rows(text: str, mark: str, file: str, skip: int) -> Iterator[Row]:
    """Rows by the line they begin at."""
    lines = csv.reader(StringIO(text, newline=""), delimiter=mark, strict=True)
    begins = 1
    try:
        for count, cells in enumerate(lines):
            if count >= skip and any(cell.strip() for cell in cells):
                filled = {place: Cell(cell) for place, cell in enumerate(cells, 1) if cell.strip()}
                yield Row(begins, filled, len(cells))
            if count > MOST_ROWS or len(cells) > MOST_COLUMNS:
                says = f"longer or wider than a price list: at most {MOST_ROWS:,} rows and {MOST_COLUMNS} columns"
                raise refused(file, begins, 1, says)
            begins = lines.line_num + 1
    except csv.Error as wrong:
        raise refused(file, begins, 1, _mark_astray(str(wrong))) from None


def _mark_astray(why: str) -> str:
    """The reader's complaint in a person's words."""
    if "unexpected end" in why:
        return "a quotation mark opens in this row and is never closed"
    if "expected after" in why:
        return "a quotation mark stands inside a quoted cell; it must stand there twice"
    return f"this row can't be parted into cells ({quoted(why)})"
