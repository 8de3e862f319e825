"""The interview sheet as PDF, read back by poppler for its words and their places, and by pikepdf for its structure.

Paper sizes after ISO 216 and ANSI/ASME Y14.1, as the book's. That it can be read by people who can't see is what the
exporter promises (ISO 14289-1, from memory); no independent validator is at hand.
"""

import re
import subprocess
from functools import cache
from io import BytesIO
from pathlib import Path
from shutil import which

import pikepdf
import pytest

from hostile import HOSTILE
from hostile_briefs import everywhere, spread
from interview_samples import BAKERY, own, said
from offices import millrace
from scantling import UserError
from scantling.api.interviewing import Meeting
from scantling.api.interviewing_sheet import sheet
from scantling.brief.answers import Answers
from scantling.brief.form import Form, Line, Table, form
from scantling.brief.hearing import of_brief
from scantling.brief.meeting import GROUPS, Many
from scantling.brief.questions import text_of
from scantling.brief.spots import spot
from scantling.outputs.documents.interview_form import printed
from scantling.outputs.documents.letters import printable

MM = 25.4 / 72
PAPERS = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
LEFT, RIGHT, TOP, BOTTOM = 20.0, 14.0, 10.0, 8.0
"""Clear margins in millimetres; head and foot stand in those above and below."""
WORD = re.compile(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>')
PAGE = re.compile(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', re.DOTALL)


@cache
def forms() -> dict[str, Form]:
    """Blank, of a whole talk, of a brief, and with hostile words in every field."""
    hostile = Answers(**vars(of_brief(own(), spread(millrace()), "brief.yaml")))
    return {
        "blank": form(own(), Answers()),
        "letter": form(own(), Answers(), "letter"),
        "bakery": form(own(), said(BAKERY)[0]),
        "millrace": form(own(), of_brief(own(), millrace(), "brief.yaml")),
        "hostile": form(own(), hostile),
        "long": form(own(), of_brief(own(), everywhere(millrace(), "W" * 200), "brief.yaml"), "letter"),
    }


NAMES = ("blank", "letter", "bakery", "millrace", "hostile", "long")


@cache
def pdf(name: str) -> bytes:
    """A form, printed."""
    return printed(forms()[name])


def boxes(name: str) -> str:
    """Poppler's words with their places."""
    return subprocess.run(
        [which("pdftotext") or "pdftotext", "-bbox", "-", "-"], input=pdf(name), capture_output=True, check=True
    ).stdout.decode()


def words(name: str) -> str:
    """All words in reading order, gaps as one blank."""
    raw = subprocess.run(
        [which("pdftotext") or "pdftotext", "-raw", "-", "-"], input=pdf(name), capture_output=True, check=True
    ).stdout.decode()
    return " ".join(raw.split())


def lines(shown: Form) -> list[Line]:
    """Every question of a form, those of the small forms too."""
    found: list[Line] = []
    for part in shown.parts:
        for item in part.items:
            found += [item] if isinstance(item, Line) else [item.naming, *item.questions]
    return found


def bare(text: str) -> str:
    """Without blanks, so that where a line breaks does not matter."""
    return "".join(text.split())


@pytest.mark.parametrize("name", NAMES)
def test_every_question_is_printed_in_order_with_its_number(name: str) -> None:
    """As the form has them, and as the meeting asks them."""
    printed_, numbers = bare(words(name)), [line.number for line in lines(forms()[name])]
    assert numbers == [str(n) for n in range(1, len(numbers) + 1)]
    for line in lines(forms()[name]):
        assert bare(line.text) in printed_, line.text
    asked = [
        text_of(at)
        for group in GROUPS
        for part in group.parts
        for id_ in ([f"{part.id}.*.{word}" for word in part.each] if isinstance(part, Many) else [part.id])
        if (at := spot(id_, own().by_key)) is not None
    ]
    assert len(asked) > 40
    for text in asked:
        assert bare(text) in printed_, text


@pytest.mark.parametrize("name", NAMES)
def test_units_closed_words_and_assumptions_stand_beside_their_questions(name: str) -> None:
    told = bare(words(name))
    for line in lines(forms()[name]):
        for word in line.words:
            assert bare(word) in told
        if line.assumed:
            assert bare(f"if nobody knows: {line.assumed}") in told
    for unit in ("Mbit/s", "TB", "%/year", "EUR", "dB", "mm"):
        assert bare(unit) in told


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_clipped_and_no_word_lies_on_another(name: str) -> None:
    """Every word inside the margins of its page; two words of a page never overlap by more than a hair."""
    for width, height, inside in PAGE.findall(boxes(name)):
        found = [tuple(map(float, word[:4])) for word in WORD.findall(inside)]
        assert found
        for left, top, right, bottom in found:
            assert left >= LEFT / MM - 0.5
            assert right <= float(width) - RIGHT / MM + 0.5
            assert top >= TOP / MM
            assert bottom <= float(height) - BOTTOM / MM
        assert not [(a, b) for i, a in enumerate(found) for b in found[i + 1 :] if overlap(a, b)]


def overlap(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether two boxes share more than 1.2 points both ways; line boxes of one paragraph touch a little."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > 1.2 and down > 0.45 * min(one[3] - one[1], other[3] - other[1])


@pytest.mark.parametrize(
    ("name", "paper"), [("blank", "A4"), ("letter", "letter"), ("bakery", "A4"), ("long", "letter")]
)
def test_the_paper_is_as_wished(name: str, paper: str) -> None:
    with pikepdf.open(BytesIO(pdf(name))) as opened:
        for page in opened.pages:
            size = [round(float(side) * MM, 1) for side in page.mediabox[2:]]
            assert size == pytest.approx(PAPERS[paper], abs=0.2)


@pytest.mark.parametrize("name", NAMES)
def test_pages_are_numbered_and_nothing_in_it_acts(name: str) -> None:
    """It is a paper form: no field to fill, no script, no link outwards; tagged for those who can't see."""
    with pikepdf.open(BytesIO(pdf(name))) as opened:
        count = len(opened.pages)
        assert "/AcroForm" not in opened.Root
        assert "/OpenAction" not in opened.Root
        assert bool(opened.Root.MarkInfo.Marked)
        assert str(opened.Root.Lang) == "en"
        assert not [page for page in opened.pages if "/Annots" in page]
    told = words(name)
    assert all(f"page {n} of {count}" in told for n in range(1, count + 1))
    assert told.count("seen: you saw it yourself; told: somebody said so; guessed: ask again") == count


def test_each_answer_has_a_box_for_seen_told_and_guessed() -> None:
    """As many headings of the boxes as tables, each with all three."""
    told = words("blank")
    assert told.count("seen told guessed") >= len(GROUPS)


def test_what_is_known_stands_in_it() -> None:
    told = words("bakery")
    for known in (
        "Barley Row Bakery",
        "Nuala Byrne, consultant",
        "mon-sat",
        "42 dB",
        "12 GB",
        "16000 EUR",
        "Oven control",
    ):
        assert known in told
    assert "× yes no" in told
    assert told.count("×") > words("blank").count("×") == 0
    picked = next(i for part in forms()["bakery"].parts for i in part.items if isinstance(i, Table) and i.picks)
    assert picked.picked == ("shared files", "printing")


def test_a_brief_of_somebody_else_is_printed_as_known(tmp_path: Path) -> None:
    (tmp_path / "brief.yaml").write_text(millrace(), encoding="utf-8")
    path = sheet(Meeting(tmp_path, "2026-11-25"))
    assert path == tmp_path / "interview.pdf"
    raw = subprocess.run(
        [which("pdftotext") or "pdftotext", "-raw", str(path), "-"], capture_output=True, check=True
    ).stdout.decode()
    for known in ("The Millrace Arts Centre", "Stage control nodes", "Archive video"):
        assert known in raw


def test_a_brief_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / "brief.yaml").write_text("office: {name: X, contry: IE}\n", encoding="utf-8")
    with pytest.raises(UserError, match=r"brief\.yaml:1:19: office\.contry"):
        sheet(Meeting(tmp_path, "2026-11-25"))
    assert not (tmp_path / "interview.pdf").exists()


def test_hostile_words_are_printed_as_words() -> None:
    """Each name of a thing, as far as the fonts have its letters; nothing of it is compiled."""
    told = bare(words("hostile"))
    missing = [name for name in HOSTILE if bare(printable(name))[:12] not in told]
    assert not missing


def test_the_same_form_gives_the_same_bytes() -> None:
    assert printed(forms()["bakery"]) == pdf("bakery")
