"""Texts that nobody should have typed, in every place that takes one: every sheet shows them as text, and nothing of them runs."""

import re
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsing import EXAMPLES, Office, Opens
from hostile import HOSTILE
from hostile_briefs import quoted, spread

from scantling.web.form_kinds import handle

if TYPE_CHECKING:
    from playwright.sync_api import Dialog

pytestmark = pytest.mark.slow
CLIENT = "</title><script>alert(1)</script> & \"' {{ 7 * 7 }} ]]> --> \\u0000 %00 \u200fright\u200e"
UNTURNED = dict.fromkeys(map(ord, "\u200e\u200f"))
"""Marks that only turn the writing are left out where a text is shown among others; a line to write on keeps them."""
KIT = (
    "<b>old</b> & \"' server",
    "</td></tr><script>alert(1)</script>",
    "]]> --> {{ 7 * 7 }} \\x00",
    "\u200fshelf\u200e",
)
FOLDER = "<b>x</b> & \"' {{ 7 * 7 }} %00 ]]> -->"
FILE = "<img src=x onerror=alert(1)> & '%2e {{ 7 * 7 }}.txt"
MADE = (
    "[...document.querySelectorAll('script:not([src]), [onerror], [onload], img, iframe, object, main style, main b > script')]"
    ".map(one => one.outerHTML.slice(0, 120))"
)
"""Elements that only a text could have made: the pages of the office have no picture of a file, no script and no style in them."""


def plain(words: str) -> str:
    """Words as a page shows them: runs of white space are one space, and no mark turns them around."""
    return " ".join(words.translate(UNTURNED).split())


def named(text: str, names: Iterator[str]) -> str:
    """A file of what stands with other names."""
    return re.sub(r"(?m)\bname: [^,\n}]+", lambda _: f"name: {quoted(next(names))}", text)


@pytest.fixture
def office(opens: Opens, tmp_path: Path) -> Iterator[Office]:
    """An office whose client typed hostile texts everywhere, in a folder that is called like one."""
    folder = tmp_path / FOLDER.replace("/", "\u2215")
    (folder / "book").mkdir(parents=True)
    brief = spread((EXAMPLES / "millrace" / "brief.yaml").read_text("utf-8"))
    (folder / "brief.yaml").write_text(
        re.sub(r"(?m)^  name: .*$", lambda _: f"  name: {quoted(CLIENT)}", brief, count=1), "utf-8"
    )
    standing = (EXAMPLES / "millrace" / "standing.yaml").read_text("utf-8")
    kit, issued, rest = standing.partition("\nissued:")
    (folder / "standing.yaml").write_text(named(kit, cycle(KIT)) + issued + rest, "utf-8")
    (folder / "book" / FILE).write_text("<script>alert(1)</script>", "utf-8")
    opened = opens(folder)

    def asked(dialog: "Dialog") -> None:
        opened.console.append(dialog.message)
        dialog.dismiss()

    opened.page.on("dialog", asked)
    yield opened
    assert opened.console == []
    assert opened.strangers == []


def sheets(office: Office) -> list[tuple[str, str]]:
    """Name in the address, and number with title, of every sheet; a title that the list cuts short is told whole in a hint."""
    office.go("brief")
    found = []
    for letter in office.page.eval_on_selector_all("#sheet-list .letters a", "all => all.map(one => one.href)"):
        office.page.goto(letter)
        found += office.page.eval_on_selector_all(
            "#sheet-list .sheets a",
            "all => all.map(one => [one.href.split('/').pop(),"
            " one.title ? `${one.querySelector('.place').textContent} ${one.title}` : one.textContent])",
        )
    return [(slug, plain(title)) for slug, title in found]


def test_every_sheet_shows_hostile_texts_as_text(office: Office) -> None:
    """Every sheet loads with its own title; no element was made of a text; what was typed can be read."""
    seen = ""
    listed = sheets(office)
    assert len(listed) > 40
    for slug, title in listed:
        page = office.go(slug)
        assert plain(page.title()) == plain(f"{title}, {CLIENT}"), slug
        assert page.evaluate(MADE) == [], slug
        assert plain(CLIENT) in plain(page.inner_text("#title-block")), slug
        seen += plain(page.inner_text("main")) + "\n"
    for words in KIT:
        assert plain(words) in seen, words
    missing = [words for words in HOSTILE if len(words) < 60 and plain(words) not in seen]
    assert missing == []


def test_the_form_shows_every_text_on_its_line(office: Office) -> None:
    """What stands on a line of the brief's sheet is what the brief says, letter by letter."""
    page = office.go("brief")
    lines = page.eval_on_selector_all(
        "#sheet [data-answer^='devices.hostile-'][data-answer$='.name']",
        "all => all.map(one => [one.dataset.answer, one.value])",
    )
    assert lines == [[f"devices.hostile-{place}.name", words] for place, words in enumerate(HOSTILE)]


@pytest.mark.parametrize(
    ("typed", "told"),
    [("W" * 2000, "200"), ("turned \u202egnp.exe", "turns the writing"), ("nul\x01here", "can't be printed")],
)
def test_a_text_that_no_brief_takes_is_refused_on_its_line(office: Office, typed: str, told: str) -> None:
    """Two thousand letters, a mark that turns the writing, a control character: a sentence, and the line keeps what was typed."""
    page, before = office.go("brief"), office.brief.read_bytes()
    line = page.locator("#sheet [data-answer='support.who']")
    line.fill(typed)
    line.press("Enter")
    office.until(f"document.getElementById('wrong-{handle('support.who')}').textContent.includes({told!r})")
    assert line.input_value() == typed
    assert office.brief.read_bytes() == before


def test_names_of_tracings_and_files_are_text(office: Office) -> None:
    """A tracing called by a hostile name; a file of the book that is called so."""
    page = office.go("tracings")
    for number, name in enumerate(("</table><script>alert(1)</script>", "{{ 7 * 7 }} & \"' ]]> -->"), 1):
        page.evaluate("document.getElementById('start-bare').open = true")
        page.fill("#name-bare", name)
        page.click("#start-bare button")
        office.until(f"document.querySelectorAll('#tracings thead th').length === {number + 1}")
        assert name in plain(page.inner_text("#tracings thead"))
    assert page.evaluate(MADE) == []
    page = office.go("papers")
    page.click("#paper-list > summary")
    assert FILE in plain(page.inner_text("#paper-list"))
    assert page.evaluate(MADE) == []
    answer = page.request.get(page.locator("#paper-list a").first.evaluate("one => one.href"))
    assert "html" not in answer.headers["content-type"]


def test_a_folder_of_a_hostile_name_is_told_on_the_first_visit(opens: Opens, tmp_path: Path) -> None:
    """The first visit names the folder as it is called."""
    folder = tmp_path / FOLDER.replace("/", "\u2215")
    folder.mkdir()
    office = opens(folder)
    office.page.goto(office.address)
    assert folder.name in plain(office.page.inner_text("#first"))
    assert office.page.evaluate(MADE) == []
    assert office.console == []
