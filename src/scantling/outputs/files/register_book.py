"""The registers as one spreadsheet, a sheet each: registers/registers.xlsx."""

import io
import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time

import xlsxwriter

from scantling.figures import text
from scantling.outputs.files import FilesError, Written
from scantling.outputs.files.register_rows import registers
from scantling.outputs.files.tables import Register, Value, printable
from scantling.plan.make import Plan

NARROWEST, WIDEST = 8, 48
"""Letters that a column has room for."""
ABOUT = "about"
A4 = 9
SAFE = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
CHAINED = re.compile(r"_(?=x[0-9A-Fa-f]{4}_x[0-9A-Fa-f]{4}_)")
"""The format reads _x0041_ as another letter; the library writes one such word so that it stays, and not two that share a line."""
Row = Sequence[Value]


def write(plan: Plan) -> Iterator[Written]:
    """One file with a sheet that says what it is, and one a register."""
    yield Written(
        path="registers/registers.xlsx",
        content=workbook(plan),
        what="All registers in one spreadsheet: zones, networks, addresses, names, lines, intents and rules, a sheet each.",
        goes="Into the handover folder; nowhere on a machine.",
        load="Open it with a spreadsheet program.",
        undo="Nothing to undo: nothing is set by it.",
    )


def workbook(plan: Plan) -> bytes:
    """The spreadsheet; the same plan gives the same bytes. Raises FilesError for a text too long for a cell."""
    every = registers(plan)
    made = io.BytesIO()
    book = xlsxwriter.Workbook(made, SAFE)
    created = datetime.combine(plan.office.as_of.value, time(), UTC).replace(tzinfo=None)
    book.set_properties({"title": "Registers", "author": "scantling", "created": created})
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top", "num_format": "@"})
    cell = book.add_format({"text_wrap": True, "valign": "top", "num_format": "@"})
    whole = book.add_format({"valign": "top"})
    for title, rows in ((ABOUT, _about(plan, every)), *((one.slug, (one.heads, *one.lines())) for one in every)):
        sheet = book.add_worksheet(title)
        for line, row in enumerate(rows):
            for column, value in enumerate(row):
                style = head if line == 0 else whole if isinstance(value, int) else cell
                _put(sheet, (line, column), value, style)
        _set(sheet, rows)
    book.close()
    return made.getvalue()


def _about(plan: Plan, every: Sequence[Register]) -> tuple[Row, ...]:
    """What the file is, of whom and of when, and what its sheets are."""
    return (
        ("sheet", "what it is", "rows"),
        ("office", text(plan.office.name), ""),
        ("planned as of", text(plan.office.as_of), ""),
        ("made by", "scantling: edit the brief, not this file", ""),
        *((one.slug, one.what, len(one.rows)) for one in every),
    )


def in_cell(words: str) -> str:
    """A text as a cell of the spreadsheet holds it."""
    return CHAINED.sub("<U+005F>", printable(words))


def _put(sheet: xlsxwriter.worksheet.Worksheet, at: tuple[int, int], value: Value, style: object) -> None:
    """One cell: a whole number, or a text; never a formula or a link, whatever it looks like."""
    put, given = (sheet.write_number, value) if isinstance(value, int) else (sheet.write_string, in_cell(value))
    if put(*at, given, style):
        raise FilesError(f"a text of {len(str(value)):,} letters is too long for a cell of a spreadsheet")


def _set(sheet: xlsxwriter.worksheet.Worksheet, rows: Sequence[Row]) -> None:
    """Widths, the heads in sight, and how it is printed: landscape, as wide as the page, heads on each."""
    for column in range(len(rows[0])):
        longest = max(len(str(row[column])) for row in rows)
        sheet.set_column(column, column, min(max(longest + 1, NARROWEST), WIDEST))
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(rows) - 1, len(rows[0]) - 1)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.set_footer("&L&A&R&P / &N")
    sheet.ignore_errors(
        {"number_stored_as_text": f"A1:{xlsxwriter.utility.xl_rowcol_to_cell(len(rows), len(rows[0]))}"}
    )
