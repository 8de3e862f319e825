"""The book as one HTML page from the same blocks; every client text is escaped by the template engine."""

import re
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from html import unescape
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from scantling.figures.pages import Ruled
from scantling.outputs.documents.appendix import alone, rows
from scantling.outputs.documents.data import NOTHING
from scantling.outputs.documents.letters import readable
from scantling.outputs.documents.setting import Mark, mark, right
from scantling.outputs.documents.volume import Book
from scantling.outputs.documents.webfont import woff
from scantling.outputs.fonts import FILES

FACES = (
    ("National Park", 600, "normal"), ("National Park", 400, "normal"), ("Libertinus Serif", 400, "normal"),
    ("Libertinus Serif", 600, "normal"), ("B612 Mono", 400, "normal"),
)  # fmt: skip
ALWAYS = "".join(map(chr, range(0x20, 0x7F)))
STYLE = Path(__file__).parent / "book.css"


@dataclass(frozen=True)
class Table:
    """A ruled block as it is set: marks, and which columns stand to the right."""

    rows: list[list[Mark]]
    right: list[bool]


def _plainly(value: Any) -> Any:
    """What is put into the page, without letters that no page may hold."""
    return readable(value) if isinstance(value, str) and not isinstance(value, Markup) else value


@cache
def _template(name: str) -> Template:
    surroundings = Environment(
        loader=PackageLoader("scantling.outputs.documents", "."), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, finalize=_plainly,
    )  # fmt: skip
    return surroundings.get_template(name)


def _style(letters: str) -> Markup:
    """The style with the vendored fonts inside, so that the page is one file and asks nobody for anything."""
    faces = []
    for family, weight, style in FACES:
        data = b64encode(woff(FILES[family, weight, style], letters)).decode("ascii")
        faces.append(
            f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{style};'
            f'src:url("data:font/woff;base64,{data}") format("woff")}}'
        )
    return Markup("\n".join([*faces, STYLE.read_text(encoding="utf-8")]))  # noqa: S704 - our own files and names only


def _hash(style: str) -> str:
    """What the page's policy calls this style by, so that no other runs (CSP level 3, section 2.3.1)."""
    return f"sha256-{b64encode(sha256(style.encode()).digest()).decode('ascii')}"


def page(book: Book, drawings: Mapping[str, str]) -> str:
    """The whole page; `drawings` maps sheet numbers to SVG of our own writing. Same book, same text."""

    def table(block: Ruled) -> Table:
        lines = [[mark(cell, book) for cell in row] for row in block.rows]
        return Table(lines, [right(lines, i) for i in range(len(block.heads))])

    pictures = [
        (number, book.plates.get(number, NOTHING), Markup(inline(svg, number)))  # noqa: S704 - our own SVG
        for number, svg in drawings.items()
    ]
    groups = [{"trade": trade, "alone": alone(entries), "rows": rows(entries)} for trade, entries in book.workings]
    told = {
        "book": book, "drawings": drawings, "pictures": pictures, "groups": groups, "set": table,
        "mark": lambda cell: mark(cell, book), "kind_of": lambda block: type(block).__name__,
    }  # fmt: skip
    return framed("body.html.j2", told, f"The book of {book.client}", book.language)


def framed(template: str, told: Mapping[str, Any], title: str, language: str = "en") -> str:
    """A whole page from a template of this folder: fonts and style inside, every text escaped, nothing may run."""
    body = _template(template).render(told)
    style = _style("".join(sorted({*ALWAYS, *unescape(body)})))
    made = {"title": title, "language": language, "body": Markup(body), "style": style, "hash": _hash(style)}  # noqa: S704 - just made
    return _template("book.html.j2").render(made)


def inline(svg: str, number: str) -> str:
    """An SVG inside a page needs no declaration, and ids that no other drawing has."""
    bare = re.sub(r"^<\?xml[^>]*\?>\s*", "", svg)
    return re.sub(r'\b(id|aria-labelledby|aria-describedby)="(sheet-[a-z -]+)"', rf'\1="{number}-\2"', bare)
