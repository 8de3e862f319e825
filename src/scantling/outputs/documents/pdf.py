"""The book as PDF/A-2a and PDF/UA-1, enforced by the exporter.

No independent validator was at hand; the structure is checked with another library in the tests.
"""

import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from shutil import copyfile

import typst

from scantling.outputs.documents.data import as_data
from scantling.outputs.documents.volume import Book
from scantling.outputs.drawings.paper import DAY
from scantling.outputs.fonts import FOLDER

TINTED, WHITE = f'fill="{DAY.paper}"', 'fill="#ffffff"'
"""Paper is its own tint: a drawing is printed on white. Text can't hold the first, for quotes are escaped in it."""
TEMPLATE = Path(__file__).parent / "book.typ"


class PrintError(Exception):
    """The document compiler refused the book: a defect of ours, told in one sentence."""


def printed(book: Book, drawings: dict[str, str]) -> bytes:
    """The PDF; `drawings` maps sheet numbers to SVG text. Same book, same bytes. Raises PrintError."""
    beside = {f"{number}.svg": svg.replace(TINTED, WHITE) for number, svg in drawings.items()}
    data = as_data(book, {number: f"{number}.svg" for number in drawings})
    return compiled(TEMPLATE, data, beside, book.date)


def compiled(template: Path, data: str, beside: Mapping[str, str], date: str) -> bytes:
    """The PDF of a template with data as JSON and texts beside it by file name; `date` is ISO 8601. Raises PrintError."""
    with tempfile.TemporaryDirectory(prefix="scantling-book-") as folder:
        root = Path(folder)
        copyfile(template, root / template.name)
        for name, text in beside.items():
            (root / name).write_text(text, encoding="utf-8")
        stamp = int(datetime.fromisoformat(date).replace(tzinfo=UTC).timestamp())
        try:
            pdf, warnings = typst.compile_with_warnings(
                str(root / template.name), root=str(root), format="pdf", sys_inputs={"data": data}, font_paths=[str(FOLDER)],
                ignore_system_fonts=True, pdf_standards=["a-2a", "ua-1"], timestamp=stamp,
            )  # fmt: skip
        except typst.TypstError as wrong:
            message = f"this can't be printed: {wrong}"
            raise PrintError(message) from None
    if warnings:
        message = f"this can't be printed: {warnings[0].message}"
        raise PrintError(message)
    return bytes(pdf)
