"""Invented books of three sizes, printed and read back: every kind of block, every hostile text in every place.

No independent PDF/A or PDF/UA validator was at hand: the exporter enforces both, and the structure is read by pikepdf,
the words by poppler's pdftotext.
"""

import re
import subprocess
import sys
import unicodedata
from collections.abc import Mapping
from functools import cache
from io import BytesIO
from pathlib import Path
from shutil import which

import pikepdf
import pytest
import typst

import book_samples
from hostile import EVERYTHING
from scantling.outputs.documents import pdf
from scantling.outputs.documents.html import page
from scantling.outputs.documents.letters import printable, readable
from scantling.outputs.documents.volume import Book
from test_book_html import Reader

DRAWN = {"N-1": book_samples.DRAWING}
BOOKS: Mapping[str, Book] = {
    "empty": book_samples.empty(), "small": book_samples.small(), "large": book_samples.large(EVERYTHING),
}  # fmt: skip
FOLDER = Path(pdf.__file__).parent


@cache
def printed(name: str) -> bytes:
    """The PDF of one of the books."""
    return pdf.printed(BOOKS[name], {} if name == "empty" else DRAWN)


@cache
def written(name: str) -> Reader:
    """The page of one of the books, read."""
    return Reader(page(BOOKS[name], {} if name == "empty" else DRAWN))


def pages(name: str, folder: Path) -> list[str]:
    """The words of every page as poppler reads them."""
    program = which("pdftotext")
    assert program is not None, "install poppler-utils"
    (folder / "book.pdf").write_bytes(printed(name))
    command = [program, "-raw", str(folder / "book.pdf"), "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\f")[:-1]


def bare(words: str) -> str:
    """Base letters only: no blanks, no accents (poppler moves them), compatibility forms folded."""
    folded = unicodedata.normalize("NFKD", words)
    return "".join(letter for letter in folded if unicodedata.category(letter)[0] not in "ZCM")


def turned(words: str) -> bool:
    """Whether some letters run from right to left, which poppler tells in another order."""
    return any(unicodedata.bidirectional(letter) in {"R", "AL"} for letter in words)


@pytest.mark.parametrize("name", BOOKS)
def test_each_book_prints_to_both_standards(name: str) -> None:
    with pikepdf.open(BytesIO(printed(name))) as opened, opened.open_metadata() as told:
        assert told["{http://www.aiim.org/pdfua/ns/id/}part"] == "1"
        assert told["{http://www.aiim.org/pdfa/ns/id/}conformance"] == "A"
        assert opened.check_pdf_syntax() == []


@pytest.mark.parametrize("name", BOOKS)
def test_pages_are_counted_and_the_summary_is_one_page(name: str, tmp_path: Path) -> None:
    read = pages(name, tmp_path)
    for place, words in enumerate(read[1:], 2):
        assert f"page {place} of {len(read)}" in words
    starts = [
        place for place, words in enumerate(read) if "Summary" in [row.strip() for row in words.splitlines()[:6]]
    ]
    assert len(starts) == 1
    assert "Rough price" in read[starts[0]] or BOOKS[name].summary.price is None


def test_a_table_over_many_pages_repeats_its_head(tmp_path: Path) -> None:
    heads = [words for words in pages("large", tmp_path) if re.search(r"^one number other$", words, re.MULTILINE)]
    assert len(heads) >= 3


def test_every_hostile_text_is_printed_as_it_is(tmp_path: Path) -> None:
    """But for letters that no font has, which stand as [U+…], and invisible ones, which are gone."""
    read = bare("".join(pages("large", tmp_path)))
    for words in EVERYTHING:
        if not turned(words):
            assert bare(printable(words)) in read, ascii(words)
    assert "[U+1F600]" in read
    assert bare("Letters that could not be printed") in read
    assert bare("[U+1F600] (sheet N-1)") in read


def test_every_hostile_text_is_text_on_the_page() -> None:
    read = written("large")
    for words in EVERYTHING:
        assert " ".join(readable(words).split()) in read.text, ascii(words)
    tags = {tag for tag, _ in read.elements}
    assert not tags & {"script", "img", "iframe", "object", "embed", "base", "form", "link", "b2"}
    assert not [given for _, given in read.elements for name in given if name.startswith("on") or name == "style"]
    assert len(read.all("style")) == 1


@pytest.mark.parametrize("name", BOOKS)
def test_links_lead_to_workings_and_only_known_ones(name: str) -> None:
    read = written(name)
    names = [given["id"] for _, given in read.elements if "id" in given]
    assert len(names) == len(set(names))
    assert {given["href"].removeprefix("#") for given in read.all("a")} <= set(names)
    assert {f"w-{id_}" for id_ in BOOKS[name].ids} <= set(names)


def test_a_picture_names_its_drawing_only_where_there_is_one(tmp_path: Path) -> None:
    read = bare("".join(pages("small", tmp_path)))
    assert bare("The rooms are drawn. Drawing N-1.") in read
    assert bare("Nobody drew this.") in read
    assert "X-9" not in read
    assert "#d-N-1" in {given["href"] for given in written("small").all("a")}


def test_money_is_in_the_plans_currency(tmp_path: Path) -> None:
    assert "4,321.50EUR" in bare("".join(pages("small", tmp_path)))
    assert "4,321.50 EUR" in written("small").text
    assert "¤" not in written("small").text


def test_the_same_book_is_the_same_bytes_in_another_process() -> None:
    """Whatever the seed of hashes: run apart, and compared."""
    code = (
        "import sys; from hashlib import sha256; import book_samples as s; from scantling.outputs.documents import html, pdf;"
        "b = s.small();"
        "d = {'N-1': s.DRAWING}; print(sha256(pdf.printed(b, d) + html.page(b, d).encode()).hexdigest())"
    )
    path = [str(Path(__file__).parent), str(FOLDER.parents[2])]
    seen = {
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(path)},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(seen) == 1


def test_a_warning_of_the_compiler_stops_the_print(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A family that is not there is only a warning to the compiler; to the book it is a fault."""
    template = tmp_path / "book.typ"
    template.write_text('#set document(title: "x")\n#set text(font: "No Such Face")\nwords', encoding="utf-8")
    monkeypatch.setattr(pdf, "TEMPLATE", template)
    with pytest.raises(pdf.PrintError, match="unknown font family"):
        pdf.printed(BOOKS["empty"], {})


def test_client_text_never_becomes_template(monkeypatch: pytest.MonkeyPatch) -> None:
    """The compiler gets the template as it lies in the package, and the book only as one input."""
    seen: dict[str, object] = {}
    real = typst.compile_with_warnings

    def watched(path: str, **given: object) -> object:
        seen["template"], seen["given"] = Path(path).read_bytes(), given
        return real(path, **given)  # type: ignore[call-overload]

    monkeypatch.setattr(typst, "compile_with_warnings", watched)
    pdf.printed(BOOKS["small"], DRAWN)
    given = seen["given"]
    assert isinstance(given, dict)
    assert seen["template"] == pdf.TEMPLATE.read_bytes()
    assert set(given["sys_inputs"]) == {"data"}
    assert given["ignore_system_fonts"] is True
    assert given["pdf_standards"] == ["a-2a", "ua-1"]


def _light(colour: str) -> float:
    """Relative luminance of #rrggbb (WCAG 2.2, definitions)."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("ground", ["#ffffff", "paper"])
def test_every_ink_is_dark_enough_to_read(ground: str) -> None:
    """4.5 to 1 for text (WCAG 2.2, success criterion 1.4.3), on paper and on the page."""
    inks = dict(re.findall(r"--(\w+):(#[0-9a-f]{6})", (FOLDER / "book.css").read_text("utf-8")))
    template = (FOLDER / "book.typ").read_text("utf-8")
    for name in ("ink", "quiet", "pencil"):
        assert f'#let {name} = rgb("{inks[name]}")' in template, "print and page use the same inks"
        lights = sorted((_light(inks.get(ground, ground)), _light(inks[name])))
        assert (lights[1] + 0.05) / (lights[0] + 0.05) >= 4.5, name
