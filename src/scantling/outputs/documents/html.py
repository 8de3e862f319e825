"""The book as one HTML page from the same blocks; every client text is escaped by the template engine."""

import re
from base64 import b64encode
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from scantling.figures.pages import Caution, Facts, Prose, Ruled, Steps
from scantling.outputs.documents.book import Book, mark
from scantling.outputs.documents.data import ALT, TITLES
from scantling.outputs.fonts import FOLDER

FACES = (
    ("National Park", 600, "normal", "NationalPark-SemiBold.ttf"), ("National Park", 400, "normal", "NationalPark-Regular.ttf"),
    ("Libertinus Serif", 400, "normal", "LibertinusSerif-Regular.ttf"), ("Libertinus Serif", 600, "normal", "LibertinusSerif-SemiBold.ttf"),
    ("B612 Mono", 400, "normal", "B612Mono-Regular.ttf"),
)  # fmt: skip
KINDS = {Prose: "prose", Facts: "facts", Ruled: "ruled", Caution: "caution", Steps: "steps"}
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffe\uffff\ud800-\udfff]")


@cache
def _template() -> Any:
    surroundings = Environment(
        loader=PackageLoader("scantling.outputs.documents", "."), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    return surroundings.get_template("book.html.j2")


@cache
def _faces() -> Markup:
    """The vendored fonts inside the page, so that it is one file and asks nobody for anything."""
    rules = []
    for family, weight, style, file in FACES:
        data = b64encode((FOLDER / file).read_bytes()).decode("ascii")
        rules.append(
            f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{style};'
            f'src:url("data:font/ttf;base64,{data}") format("truetype")}}'
        )
    return Markup("\n".join(rules))  # noqa: S704 - made of our own files and names only


def page(book: Book, drawings: dict[str, str]) -> str:
    """The whole page; `drawings` maps sheet numbers to SVG of our own writing."""
    sheets = [
        (sheet.number, sheet.title, [(KINDS.get(type(b), "prose"), b) for b in sheet.blocks]) for sheet in book.sheets
    ]
    pictures = [(number, TITLES[number], ALT[number], Markup(_inline(svg))) for number, svg in drawings.items()]  # noqa: S704 - our own SVG
    made: str = _template().render(
        book=book, sheets=sheets, summary=[(KINDS[type(b)], b) for b in book.summary], pictures=pictures, faces=_faces(),
        mark=lambda cell: mark(cell, book),
    )  # fmt: skip
    return CONTROL.sub("", made)


def _inline(svg: str) -> str:
    """An SVG inside a page needs no declaration, and no ids, which would stand there once for each drawing."""
    return re.sub(r'<(title|desc) id="[^"]*">', r"<\1>", re.sub(r"^<\?xml[^>]*\?>\s*", "", svg))
