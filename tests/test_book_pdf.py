"""The book as PDF, read back by two other programs: pikepdf for its structure, poppler for its words.

No independent PDF/A or PDF/UA validator is at hand: what is checked is what the exporter promises, read by another
library, after ISO 19005-2 (PDF/A-2a) and ISO 14289-1 (PDF/UA-1), both from memory.
"""

import re
import subprocess
import unicodedata
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from shutil import which
from typing import Any

import pikepdf
import pytest

from hostile import HOSTILE
from hostile_briefs import everywhere, spread
from offices import ROOT, changed, fold, millrace, planned
from scantling import UserError, api
from scantling.outputs.documents import pdf
from scantling.outputs.documents.book import bound
from scantling.outputs.drawings.drawn import drawings

MM = 25.4 / 72
PAPERS = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
XMP = {
    "{http://www.aiim.org/pdfua/ns/id/}part": "1",
    "{http://www.aiim.org/pdfa/ns/id/}part": "2",
    "{http://www.aiim.org/pdfa/ns/id/}conformance": "A",
}
FORBIDDEN = {
    "/JavaScript",
    "/Launch",
    "/URI",
    "/GoToR",
    "/SubmitForm",
    "/ImportData",
    "/Movie",
    "/Sound",
    "/Rendition",
}


def smallest() -> str:
    """The brief on the page from which a newcomer writes one."""
    page = (ROOT / "docs/brief-reference.md").read_text(encoding="utf-8")
    return page.split("```yaml\n", 1)[1].split("```", 1)[0]


def briefs() -> dict[str, str]:
    """Both examples, letter paper, the smallest office, and one with every hostile string."""
    return {
        "millrace": millrace(),
        "fold": fold(),
        "letter": changed(millrace(), "paper: A4", "paper: letter"),
        "smallest": smallest(),
        "hostile": spread(millrace()),
    }


@cache
def printed(text: str) -> bytes:
    """The PDF of a brief's plan."""
    plan = planned(text)
    return pdf.printed(bound(plan), drawings(plan, "day"))


@pytest.fixture(params=["millrace", "fold", "letter", "smallest", "hostile"])
def document(request: pytest.FixtureRequest) -> Iterator[pikepdf.Pdf]:
    """Each book, opened by pikepdf."""
    with pikepdf.open(BytesIO(printed(briefs()[request.param]))) as opened:
        yield opened


def elements(document: pikepdf.Pdf) -> list[Any]:
    """Every structure element, depth first."""
    found, waiting = [], [document.Root.StructTreeRoot]
    while waiting:
        node = waiting.pop()
        if isinstance(node, pikepdf.Array):
            waiting += list(node)
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node and node.get("/Type", pikepdf.Name.StructElem) == pikepdf.Name.StructElem:
                found.append(node)
            if "/K" in node:
                waiting.append(node.K)
    return found


def kinds(document: pikepdf.Pdf) -> list[str]:
    """Names of the structure elements, after the document's own role map."""
    roles: Any = document.Root.StructTreeRoot.get("/RoleMap", {})
    return [str(roles.get(str(e.S), e.S)) for e in elements(document)]


def test_the_document_says_its_language_title_and_marks(document: pikepdf.Pdf) -> None:
    root = document.Root
    assert str(root.Lang).startswith("en")
    assert bool(root.MarkInfo.Marked)
    assert bool(root.ViewerPreferences.DisplayDocTitle)
    assert not document.is_encrypted
    assert document.docinfo.get("/Title", "") != "" or "/Metadata" in root


def test_it_claims_pdf_a_2a_and_pdf_ua_1(document: pikepdf.Pdf) -> None:
    with document.open_metadata() as told:
        assert {key: told[key] for key in XMP} == XMP
        assert told["dc:title"].startswith("The book of ")


def test_its_colours_have_a_profile_of_their_own(document: pikepdf.Pdf) -> None:
    intents = list(document.Root.OutputIntents)
    assert len(intents) == 1
    assert intents[0].S == "/GTS_PDFA1"
    profile = intents[0].DestOutputProfile
    assert profile.N in {1, 3, 4}
    assert profile.read_bytes()[36:40] == b"acsp", "an ICC profile (ISO 15076-1) has its mark there"


def test_every_font_is_in_the_file(document: pikepdf.Pdf) -> None:
    fonts = [o for o in document.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
    assert fonts
    for font in fonts:
        assert any(key in font for key in ("/FontFile", "/FontFile2", "/FontFile3")), font.FontName


def test_it_has_an_outline_that_leads_to_pages(document: pikepdf.Pdf) -> None:
    with document.open_outline() as outline:
        titles = [item.title for item in outline.root]
    for title in ("Summary", "Findings", "Cautions", "Workings"):
        assert any(title in found for found in titles), titles
    assert any(found.startswith("N-1") for found in titles)
    assert any(found.startswith("S-1") for found in titles)


def test_tables_have_heads_and_captions_and_drawings_words(document: pikepdf.Pdf) -> None:
    found = kinds(document)
    for kind in ("/Table", "/TR", "/TH", "/TD", "/Caption", "/Figure", "/H1", "/Link", "/P"):
        assert kind in found, kind
    pictures = [e for e in elements(document) if e.S == "/Figure"]
    assert len(pictures) >= 9
    for picture in pictures:
        assert len(str(picture.Alt)) > 40
    heads = [e for e in elements(document) if e.S == "/TH"]
    assert heads


def test_every_page_is_read_in_the_order_of_its_structure(document: pikepdf.Pdf) -> None:
    """Where a page says how the tab key moves, it says: by structure."""
    assert len(document.pages) > 10
    for page in document.pages:
        assert page.get("/Tabs", "/S") == "/S"
        assert "/StructParents" in page or not page.get("/Contents")


def test_nothing_in_it_acts_or_calls_out(document: pikepdf.Pdf) -> None:
    """No script, no launch, no address outside the file, no embedded file."""
    assert "/OpenAction" not in document.Root
    assert "/JavaScript" not in document.Root.get("/Names", {})
    assert "/EmbeddedFiles" not in document.Root.get("/Names", {})
    for thing in document.objects:
        if isinstance(thing, pikepdf.Dictionary):
            assert "/JS" not in thing
            assert str(thing.get("/S", "")) not in FORBIDDEN or thing.get("/Type") == "/StructElem", thing


def test_every_link_leads_to_a_place_in_it(document: pikepdf.Pdf) -> None:
    """Each figure's dotted underline goes to its working: an explicit page, or a name that the file resolves."""
    links = [note for page in document.pages for note in page.get("/Annots", []) if note.Subtype == "/Link"]
    assert len(links) > 40
    pages = {page.objgen for page in document.pages}
    names = set(_names(document.Root.Names.Dests)) if "/Dests" in document.Root.get("/Names", {}) else set()
    for link in links:
        target = link.A.D if "/A" in link else link.Dest
        if isinstance(target, pikepdf.Array):
            assert target[0].objgen in pages
        else:
            assert str(target) in names


def _names(tree: Any) -> Iterator[str]:
    for place, name in enumerate(tree.get("/Names", [])):
        if place % 2 == 0:
            yield str(name)
    for kid in tree.get("/Kids", []):
        yield from _names(kid)


@pytest.mark.parametrize(("name", "paper"), [("millrace", "A4"), ("letter", "letter")])
def test_the_paper_is_the_one_the_client_prints_on(name: str, paper: str) -> None:
    with pikepdf.open(BytesIO(printed(briefs()[name]))) as document:
        for page in document.pages:
            sides = sorted(float(side) * MM for side in page.mediabox[2:])
            assert sides == pytest.approx(sorted(PAPERS[paper]), abs=0.5)


def test_the_same_book_is_the_same_bytes() -> None:
    plan = planned(fold())
    again = pdf.printed(bound(plan), drawings(plan, "day"))
    assert again == printed(fold())


def test_the_template_fetches_nothing() -> None:
    """No package, no address, no file but the drawings: the compiler has nobody to ask."""
    template = pdf.TEMPLATE.read_text(encoding="utf-8")
    for word in ("@preview", "@local", "http", "import ", "include ", "plugin(", "read(", "eval("):
        assert word not in template, word


def words(data: bytes, tmp_path: Path) -> str:
    """The text as poppler reads it, in reading order, compatibility forms folded, without any blank."""
    program = which("pdftotext")
    assert program is not None, "install poppler-utils"
    (tmp_path / "book.pdf").write_bytes(data)
    read = subprocess.run(
        [program, "-raw", str(tmp_path / "book.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    return bare(read)


def bare(text: str) -> str:
    """What must be the same before and after: letters, without blanks, hyphenation marks and compatibility forms."""
    return re.sub(r"[\s\u00ad\u200b]+", "", unicodedata.normalize("NFKC", text))


def test_the_words_can_be_read_back(tmp_path: Path) -> None:
    read = words(printed(millrace()), tmp_path)
    for expected in ("The Millrace Arts Centre", "10.44.30.0/25", "Payment terminals", "host.cores.needed"):
        assert bare(expected) in read, expected


def test_hostile_words_are_read_back_as_they_were_typed(tmp_path: Path) -> None:
    """Those that the fonts can set; of the others each letter that no font has stands as [U+…]."""
    from scantling.outputs.documents.letters import printable  # noqa: PLC0415 - the one use

    read = words(printed(spread(millrace())), tmp_path)
    for one in HOSTILE:
        if one.isascii() and len(one) < 60:
            assert bare(one) in read, one
    shown = printable("\U0001f600 \u6771")
    assert shown == "[U+1F600] [U+6771]"
    assert bare(shown.split()[0]) in read


@pytest.mark.parametrize("place", [4, 10, 12, 43, 44, 45, 46, 48, 50])
def test_a_client_of_any_name_gets_a_book(place: int) -> None:
    """The ones that trouble a typesetter, in every field at once; the file opens and has its pages."""
    text = everywhere(fold(), HOSTILE[place])
    with pikepdf.open(BytesIO(printed(text))) as document:
        assert len(document.pages) > 10
        assert document.check_pdf_syntax() == []


def test_a_refusal_of_the_compiler_is_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    broken = tmp_path / "book.typ"
    broken.write_text("#panic(1)", encoding="utf-8")
    monkeypatch.setattr(pdf, "TEMPLATE", broken)
    with pytest.raises(UserError, match=r"^this can't be printed"):
        api.book(planned(fold()), tmp_path / "out")
    assert not (tmp_path / "out").exists()
