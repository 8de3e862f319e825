"""Price lists for tests, written by the csv module and by openpyxl, and what is read from them."""

import csv
from collections.abc import Callable, Sequence
from io import StringIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from scantling import api
from scantling.catalogue.pricelists.mapping import Reading

HEADS = ("Article no", "Description", "Net EUR", "Valid until")
ROWS = (("A-12", "large disk", "281.40", "2026-12-31"), ("A-4", "small disk", "118.00", "2026-12-31"))
KNOWN = Reading(articles={"A-12": "disk.spin-12", "A-4": "spin-4"})


def listed(
    folder: Path, *rows: Sequence[Any], heads: Sequence[str] = HEADS, encoding: str = "utf-8", name: str = "acme.csv",
    by: str = ";",
) -> Path:  # fmt: skip
    """A list written by the csv module."""
    text = StringIO()
    csv.writer(text, delimiter=by).writerows([heads, *(rows or ROWS)])
    path = folder / name
    path.write_bytes(text.getvalue().encode(encoding, "surrogatepass" if encoding == "utf-8" else "strict"))
    return path


def sheet(
    folder: Path, *rows: Sequence[Any], heads: Sequence[str] = HEADS, change: Callable[[Any], object] = id
) -> Path:
    """A list written by openpyxl; `change` may do to the sheet what it likes."""
    book = Workbook()
    table = book.active
    table.title = "Prices"
    for row in (heads, *(rows or ROWS)):
        table.append(list(row))
    change(table)
    path = folder / "acme.xlsx"
    book.save(path)
    return path


def read(path: Path, said: Reading = KNOWN, **more: Any) -> api.PriceImport:
    """The list read against the firm's folder beside it."""
    return api.read_prices(path, path.parent / "firm", said, **more)


def odd(path: Path, said: Reading = KNOWN, **more: Any) -> list[str]:
    """Every odd row of ours."""
    return [str(one) for one in read(path, said, **more).judged.odd]
