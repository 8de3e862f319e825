"""The book as a page: its structure, its links, that it asks nobody for anything, and that hostile text stays text."""

import json
import re
from functools import cache, lru_cache
from html.parser import HTMLParser
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from markupsafe import escape

from hostile import HOSTILE
from hostile_briefs import everywhere, spread
from offices import fold, millrace, planned
from scantling import api
from scantling.cli import showing
from scantling.outputs.documents.book import bound
from scantling.outputs.documents.html import page
from scantling.outputs.drawings.drawn import drawings
from scantling.plan.telling import canonical

VOID = {"meta", "link", "br", "img", "input", "hr", "col"}
CLEAN = "Larkfield"
"""A harmless word: what it gives is what every other word must give but for the text."""


class Reader(HTMLParser):
    """A page as elements with their attributes, and its text; nesting is checked on the way."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self.open: list[str] = []
        self.declared: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Enter an element."""
        assert len({name for name, _ in attrs}) == len(attrs), (tag, attrs)
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Only drawings close elements at once."""
        assert "svg" in self.open, tag
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """What closes is what was opened last."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text, style sheets apart."""
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    def handle_decl(self, decl: str) -> None:
        """The document type."""
        self.declared.append(decl)

    def handle_comment(self, data: str) -> None:
        """There are none."""
        raise AssertionError(data)

    def unknown_decl(self, data: str) -> None:
        """There are none."""
        raise AssertionError(data)

    def handle_pi(self, data: str) -> None:
        """There are none."""
        raise AssertionError(data)

    @property
    def text(self) -> str:
        """All words with single blanks."""
        return " ".join(" ".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        """Attributes of every element of that name."""
        return [given for name, given in self.elements if name == tag]


@cache
def written(brief: str) -> str:
    """The page of a brief's plan."""
    return page(bound(planned(brief)), by_day(brief))


@lru_cache(maxsize=4)
def by_day(brief: str) -> dict[str, str]:
    """The sheets of a brief's plan, as its page has them."""
    return drawings(planned(brief), "day")


@pytest.fixture(params=["millrace", "fold", "hostile"])
def html(request: pytest.FixtureRequest) -> str:
    """Both examples, and one with every hostile string."""
    briefs = {"millrace": millrace(), "fold": fold(), "hostile": spread(millrace())}
    return written(briefs[request.param])


def test_the_page_has_a_language_a_title_and_one_first_heading(html: str) -> None:
    read = Reader(html)
    assert read.declared == ["doctype html"]
    assert read.all("html") == [{"lang": "en"}]
    assert len(read.all("h1")) == len(read.all("main")) == 1
    assert [tag for tag, _ in read.elements].index("title") < [tag for tag, _ in read.elements].index("body")
    heads = [int(tag[1]) for tag, _ in read.elements if re.fullmatch("h[1-6]", tag)]
    assert all(lower <= upper + 1 for upper, lower in pairwise(heads)), "no level is left out"


def test_every_head_of_a_table_says_what_it_heads(html: str) -> None:
    read = Reader(html)
    assert read.all("table")
    assert all(head.get("scope") in {"col", "row"} for head in read.all("th"))
    assert len(read.all("caption")) + html.count('class="facts"><tbody') >= len(read.all("table"))


def test_the_page_asks_nobody_for_anything_and_runs_nothing(html: str) -> None:
    """One file: a policy that forbids all else, no script, no handler, no address outside the page."""
    read = Reader(html)
    policy = next(m["content"] for m in read.all("meta") if m.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none';")
    assert "script" not in policy
    tags = {tag for tag, _ in read.elements}
    assert not tags & {"script", "iframe", "object", "embed", "link", "base", "form", "img", "foreignobject", "use"}
    for tag, given in read.elements:
        assert not any(name.startswith("on") for name in given), tag
        for name in ("src", "href", "xlink:href", "action", "srcset", "poster", "data"):
            assert given.get(name, "#").startswith("#"), (tag, given)
        assert "url(" not in given.get("style", "")
    for address in re.findall(r"url\(([^)]{0,40})", html):
        assert re.match(r'"data:font/(ttf|woff2?);base64,', address), address
    assert "@import" not in html


def test_every_link_leads_somewhere_and_no_name_is_given_twice(html: str) -> None:
    read = Reader(html)
    names = [given["id"] for _, given in read.elements if "id" in given]
    assert len(names) == len(set(names))
    links = [given["href"].removeprefix("#") for given in read.all("a")]
    assert len([link for link in links if link.startswith("w-")]) > 100
    assert set(links) <= set(names)


def test_every_drawing_has_words_for_those_who_cannot_see_it(html: str) -> None:
    read = Reader(html)
    assert len(read.all("figure")) == len(read.all("figcaption")) >= 9
    for drawing in read.all("svg"):
        assert drawing.get("role") == "img", drawing
        assert drawing.get("aria-label") or drawing.get("aria-labelledby"), drawing


def test_the_same_book_is_the_same_page() -> None:
    book, sheets = bound(planned(fold())), drawings(planned(fold()), "day")
    assert page(book, sheets) == page(book, sheets)


def shape(html: str) -> list[tuple[str, tuple[str, ...]]]:
    """Elements outside drawings with the names of their attributes: what a name in the brief may not change."""
    outside = re.sub(r"<svg.*?</svg>", "", html, flags=re.DOTALL)
    return [(tag, tuple(given)) for tag, given in Reader(outside).elements]


@cache
def clean_shape() -> list[tuple[str, tuple[str, ...]]]:
    """The shape of the page of a harmless brief."""
    return shape(written(everywhere(fold(), CLEAN)))


def seen(words: str) -> str:
    """The words as a page shows them: blanks run together (a brief takes no control characters)."""
    return " ".join(words.split())


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_in_every_field_stays_text_in_every_output(words: str) -> None:
    """The page and the drawings have the elements of a harmless brief; text, JSON and workings hold the words."""
    brief = everywhere(fold(), words)
    plan, html = planned(brief), written(brief)
    assert shape(html) == clean_shape()
    assert seen(words) in Reader(html).text
    assert str(escape(words)).strip()[:40] in html
    assert plan.office.name.value.strip() == words.strip()
    assert f'"client": {json.dumps(plan.office.name.value, ensure_ascii=False)}' in canonical(plan)
    for number, sheet in (*by_day(brief).items(), *drawings(plan, "night").items()):
        tags = {element.tag.rpartition("}")[2] for element in ET.fromstring(sheet).iter()}
        assert tags <= {"svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path"}, number


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_on_a_terminal_is_printed_as_it_is(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No mark-up of the terminal library is obeyed, no escape code reaches the screen."""
    plan = planned(everywhere(fold(), words))
    showing.show_plan(plan)
    showing.show_working(api.why(plan, "host.cores.needed"))
    told = capsys.readouterr().out
    assert "\x1b" not in told
    assert words[:20].strip() in told


@pytest.mark.parametrize(
    "words", ["[bold red]shout[/]", "[link=file:///etc]x[/link]", "[/]", "[", ":smile:", "\\[x]"]
)
def test_marks_of_the_terminal_library_stay_text(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    showing.show_plan(planned(everywhere(fold(), words)))
    assert words in capsys.readouterr().out
