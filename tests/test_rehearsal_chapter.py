"""The rehearsal in the book: its words and drawings are bound in behind the plan's own, and only if it was of this plan."""

import hashlib
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from hostile import EVERYTHING
from offices import example
from rehearsal_samples import SMALL, WRONG, checked, hostile
from scantling import UserError, api
from scantling.api import rehearsal_chapter
from scantling.api.rehearsal_chapter import chapter
from scantling.outputs.documents.appended import Appended, with_appended
from scantling.outputs.documents.book import bound
from scantling.outputs.documents.html import page
from scantling.outputs.documents.pdf import printed
from scantling.outputs.documents.volume import Book, Plate, Sheet
from scantling.trials.rehearsal.report import LIMIT, compared_part, digest_of
from scantling.trials.rehearsal.results import Rehearsed

OWN = tuple(
    replace(checked(one.path), digest=hashlib.sha256(one.content).hexdigest())
    for one in api.files(example("fold"))
    if one.path.startswith("names/")
)


class Reader(HTMLParser):
    """Words and names of elements of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.elements: set[str] = set()

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002 - the parser says so
        """Note it."""
        self.elements.add(tag)

    def handle_data(self, data: str) -> None:
        """Note it."""
        self.words.append(data)


def read(text: str) -> Reader:
    """A page, read by the standard parser."""
    reader = Reader()
    reader.feed(text)
    return reader


@cache
def thin() -> Book:
    """The book of the smallest office without most of its pages."""
    book = bound(example("fold"))
    return replace(book, workings=[], notes=[], sheets=book.sheets[:1])


def told(found: Rehearsed) -> str:
    """A rehearsal of the smallest office in its book, as HTML."""
    more = chapter(example("fold"), replace(found, checked=OWN))
    return page(with_appended(thin(), more), {**more.day})


def flat(text: str) -> str:
    """Its words on one line."""
    return " ".join(" ".join(read(text).words).split())


def test_a_rehearsal_that_went_as_meant_is_told_with_its_counts() -> None:
    said = flat(told(SMALL))
    for words in (
        "T-4", "The rehearsal in words", "Everything went as meant.", "ordinary user with a range of ids", "14 (one of each row",
        "330 of 330", "330: 41 let through, 289 kept out", "a stand-in: nothing of its settings is planned yet", LIMIT,
    ):  # fmt: skip
        assert words in said, words
    assert digest_of(compared_part(replace(SMALL, checked=OWN)))[:16] in said


def test_whatever_went_otherwise_is_told_with_what_to_look_at() -> None:
    said = flat(told(WRONG))
    for words in (
        "5 things went otherwise than meant.", "let through by rule &quot;oops&quot;".replace("&quot;", '"'), "packet 10.44.60.23 tcp",
        "brief.yaml:88 domains.tickets", "not noticed", "relay on the firewall; not well again", "lent for 2 h", "215", "35.9%",
        "10, 9 of them with an effect; noticed both by proof and by packets: 8 of 9",
    ):  # fmt: skip
        assert words in said, words


def test_drawings_stand_in_the_book_with_words_for_those_who_cannot_see_them() -> None:
    made = example("fold")
    for found, numbers in ((SMALL, ["T-1"]), (WRONG, ["T-1", "T-2", "T-3"])):
        more = chapter(made, replace(found, checked=OWN))
        assert list(more.day) == list(more.night) == list(more.plates) == numbers
        assert all(len(plate.says) > 40 for plate in more.plates.values())
        book = with_appended(bound(made), more)
        assert [*book.plates][-len(numbers) :] == numbers
        assert book.sheets[-1].number == "T-4"


def test_a_rehearsal_of_another_plan_is_refused() -> None:
    with pytest.raises(UserError, match="this rehearsal was of another plan: names/") as wrong:
        chapter(example("millrace"), replace(SMALL, checked=OWN))
    assert "rehearse this one with --out" in str(wrong.value)


def test_a_number_that_is_taken_is_refused() -> None:
    book = bound(example("fold"))
    taken = next(iter(book.plates))
    with pytest.raises(ValueError, match=taken):
        with_appended(book, Appended([], {taken: Plate("x", "y")}, {}, {}))
    with pytest.raises(ValueError, match=book.sheets[0].number):
        with_appended(book, Appended([Sheet(book.sheets[0].number, "x", [])], {}, {}, {}))


def test_the_book_is_written_with_it_and_without_it(tmp_path: Path) -> None:
    made = example("fold")
    plain = api.book(made, tmp_path / "a")
    bound_in = api.book(made, tmp_path / "b", rehearsal=replace(SMALL, checked=OWN))
    assert bound_in.keys() - plain.keys() == {"T-1.svg", "T-1-night.svg"}
    assert bound_in["book.pdf"] > plain["book.pdf"]
    assert "The rehearsal in words" not in (tmp_path / "a" / "book.html").read_text("utf-8")
    with pytest.raises(UserError, match="another plan"):
        api.book(made, tmp_path / "c", rehearsal=SMALL)
    assert not (tmp_path / "c").exists()


@pytest.mark.parametrize("text", EVERYTHING, ids=range(len(EVERYTHING)))
def test_hostile_text_stays_text_on_the_page(text: str) -> None:
    """Read back by the standard parser: no element that the same page has not without it, no control letter. Drawings: elsewhere."""
    found, harmless = (
        page(with_appended(thin(), Appended([Sheet("T-4", "x", [*rehearsal_chapter.blocks(one)])], {}, {}, {})), {})
        for one in (hostile(text), WRONG)
    )
    assert read(found).elements <= read(harmless).elements
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f]", found)


def test_hostile_text_is_set_in_print() -> None:
    """All hostile strings at once, as so many causes, through the document compiler."""
    made = example("fold")
    causes = tuple(one for text in EVERYTHING for one in hostile(text).mismatches)
    more = chapter(made, replace(WRONG, checked=OWN, mismatches=causes))
    assert printed(with_appended(thin(), more), dict(more.day)).startswith(b"%PDF")
