"""The registers of a plan read back: comma-separated files by Python's csv, the spreadsheet by openpyxl."""

import csv
import io
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

import openpyxl

from scantling.outputs.files import Written, register_book, registers
from scantling.outputs.files.tables import plain
from scantling.plan.make import Plan

BOOK = "registers/registers.xlsx"
Rows = list[list[str]]


def files(plan: Plan) -> Mapping[str, Written]:
    """All files of registers, by path."""
    return {one.path: one for module in (registers, register_book) for one in module.write(plan)}


def separated(content: bytes) -> Rows:
    """Every line of a comma-separated file, its fields with what keeps them harmless taken off."""
    rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline=""), strict=True))
    return [rows[0], *([plain(field) for field in row] for row in rows[1:])]


def comma_files(plan: Plan) -> Mapping[str, Rows]:
    """The lines of every comma-separated register."""
    found = {path: one.content for path, one in files(plan).items() if path.endswith(".csv")}
    return {
        path.removeprefix("registers/").removesuffix(".csv"): separated(content) for path, content in found.items()
    }


def book(content: bytes) -> Any:
    """The spreadsheet as openpyxl has it."""
    return openpyxl.load_workbook(io.BytesIO(content))


def sheet_rows(sheet: Any) -> Rows:
    """Every row of a sheet as words; an empty cell is an empty word."""
    return [["" if value is None else str(value) for value in row] for row in sheet.iter_rows(values_only=True)]


def cells(content: bytes) -> Sequence[Any]:
    """Every cell of every sheet."""
    return [cell for sheet in book(content).worksheets for row in sheet.iter_rows() for cell in row]


def parts(content: bytes) -> Mapping[str, bytes]:
    """The files inside the spreadsheet."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def column(rows: Rows, head: str) -> list[str]:
    """One column of a table, without its head."""
    place = rows[0].index(head)
    return [row[place] for row in rows[1:]]


def by(rows: Rows, head: str) -> dict[str, dict[str, str]]:
    """Every row by one of its columns, as words under their heads."""
    return {row[rows[0].index(head)]: dict(zip(rows[0], row, strict=True)) for row in rows[1:]}
