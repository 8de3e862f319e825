"""The book as PDF/A-2a and PDF/UA-1, enforced by the exporter.

No independent validator was at hand; the structure is checked with another library in the tests.
"""

import tempfile
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
    with tempfile.TemporaryDirectory(prefix="scantling-book-") as folder:
        root = Path(folder)
        copyfile(TEMPLATE, root / "book.typ")
        for number, svg in drawings.items():
            (root / f"{number}.svg").write_text(svg.replace(TINTED, WHITE), encoding="utf-8")
        data = as_data(book, {number: f"{number}.svg" for number in drawings})
        stamp = int(datetime.fromisoformat(book.date).replace(tzinfo=UTC).timestamp())
        try:
            pdf, warnings = typst.compile_with_warnings(
                str(root / "book.typ"), root=str(root), format="pdf", sys_inputs={"data": data}, font_paths=[str(FOLDER)],
                ignore_system_fonts=True, pdf_standards=["a-2a", "ua-1"], timestamp=stamp,
            )  # fmt: skip
        except typst.TypstError as wrong:
            message = f"the book can't be printed: {wrong}"
            raise PrintError(message) from None
    if warnings:
        message = f"the book can't be printed: {warnings[0].message}"
        raise PrintError(message)
    return bytes(pdf)
