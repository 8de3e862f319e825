"""The whole job in a real browser, from an empty folder to an open book: once by clicks, once by keys alone."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsing import Office, Opens
from conftest import TIER

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.slow
ANSWERS = (
    "12", "10 PCs, 4 laptops", "0", "files, print", "1.5 TB", "15 %/year", "8 h", "cupboard, 40 dB", "200/40 Mbit/s", "IE, 20000 EUR",
)  # fmt: skip
REASON = "the client has one on the shelf"
QUESTION = (
    "document.querySelector('.interview .at .quiet')?.textContent === 'question %d of about 10'"
    " && document.activeElement.id === 'typed'"
)


def heads_of(brief: Path) -> int:
    """How many people the first role of a brief has."""
    found = re.search(r"\bheads: (\d+)", brief.read_text("utf-8"))
    assert found is not None
    return int(found[1])


def changed(office: Office, before: bytes) -> None:
    """Wait until the brief on disk is another one, and the plan of it whole."""
    for _ in range(1200):
        if office.brief.read_bytes() != before:
            break
        office.page.wait_for_timeout(25)
    assert office.brief.read_bytes() != before
    office.settled()


def taken_back(office: Office, before: bytes) -> None:
    """Wait until the office says that it is undone; the brief is as it was, to the letter."""
    office.until("document.querySelector('#said').textContent.includes('Undone')")
    assert office.brief.read_bytes() == before
    office.settled()


def traced(office: Office) -> None:
    """Wait until a tracing stands beside the plan, reckoned."""
    office.until("document.querySelectorAll('#tracings thead th').length === 2")
    office.until("!document.querySelector('#tracings .waiting')")


def book_written(office: Office) -> None:
    """Wait until the book lies there, and is of the plan as it is."""
    office.until("document.body.textContent.includes('Open the book to print')", 120)
    office.until("document.querySelector('#paper-book').textContent.includes('It is of the plan as it is now.')")
    assert (office.folder / "book/book.pdf").read_bytes().startswith(b"%PDF-")


def read(office: Office, book: "Page") -> None:
    """The book in its own tab: the client's name, the pin's reason, the network's drawing."""
    book.wait_for_load_state()
    assert re.search(r"\w", book.title())
    words = book.inner_text("body")
    assert REASON in words
    assert book.locator("svg, img").count() > 0
    assert office.console == []
    assert office.strangers == []


# ------------------------------------------------------------------------------------------------------------ by clicks


def by_clicks(office: Office) -> None:
    """Interview, brief, an answer changed and what it moves initialled, a pin, a tracing, undo, a room, the book."""
    page = office.page
    page.click("button:text-is('Begin')")
    for number, answer in enumerate(ANSWERS, 1):
        office.until(QUESTION % number)
        page.fill("#typed", answer)
        page.click("button:text-is('Answer')")
    page.click("text=Write the brief and open")
    page.wait_for_url("**/sheet/brief")
    office.settled()
    heads = page.locator("#sheet [data-answer$='.heads']").first
    heads.fill(str(heads_of(office.brief) + 9))
    page.click("#sheet h1")
    office.until("!document.querySelector('#changes').hidden")
    office.settled()
    assert "21" in page.inner_text("#changes")
    to_sheet(office, "S", "The server")
    assert page.locator("main .moved").count() > 0
    page.click("text=Initial them")
    office.until("document.querySelector('#changes').hidden && !document.querySelector('main .moved')")
    click_a_pin(office)
    click_a_tracing(office)
    to_sheet(office, "N", "Network by rooms")
    page.click("[data-room='staff'] text:text-is('Staff')")
    office.until("!!document.querySelector('#working [data-slip=\"room/staff\"]')")
    assert "Staff" in page.inner_text("#working")
    to_sheet(office, "W", "Files and book")
    page.click("#offer-book button")
    book_written(office)
    with office.context.expect_page() as opened:
        page.click("text=Open it as a page")
    read(office, opened.value)


def to_sheet(office: Office, letter: str, title: str) -> None:
    """By the sheet list: the letter, then the sheet."""
    for link in (f".letters a:has(b:text-is('{letter}'))", f".sheets a:has-text('{title}') >> nth=0"):
        with office.page.expect_navigation():
            office.page.click(link)
    office.page.wait_for_selector(f".sheets a[aria-current=page]:has-text('{title}')")
    office.settled()


def click_a_pin(office: Office) -> None:
    """Another battery unit pinned in the margin, with a reason."""
    page, before = office.page, office.brief.read_bytes()
    to_sheet(office, "O", "Rough price")
    page.click("main [data-figure='purchase.ups'] >> nth=0")
    page.click("#working .pin summary")
    offered = page.eval_on_selector_all("#pin-value option:not(:checked)", "all => all.map(one => one.value)")
    page.select_option("#pin-value", offered[0])
    page.fill("#pin-because", REASON)
    page.click("button:text-is('Pin it')")
    office.until("!!document.querySelector('#working form.pinned')")
    changed(office, before)
    assert REASON in office.brief.read_text("utf-8")


def click_a_tracing(office: Office) -> None:
    """More people on a tracing, taken up, and undone."""
    page = office.page
    to_sheet(office, "O", "Tracings")
    page.click("#start-people > summary")
    page.fill("#start-percent", "50 %")
    page.click("#start-people button")
    traced(office)
    before = office.brief.read_bytes()
    page.click("button:text-is('Take it up')")
    changed(office, before)
    page.click("button:text-is('Undo')")
    taken_back(office, before)


# -------------------------------------------------------------------------------------------------------- by keys alone


def tab_to(office: Office, selector: str, most: int = 400) -> None:
    """Go on with the tab key until something that fits has the focus."""
    for _ in range(most):
        if office.page.evaluate(f"document.activeElement.matches({selector!r})"):
            return
        office.page.keyboard.press("Tab")
    pytest.fail(f"no way by keys to {selector}; at {office.page.evaluate('document.activeElement.outerHTML')[:300]}")


def enter(office: Office, selector: str) -> None:
    """Go there, and press Enter."""
    tab_to(office, selector)
    office.page.keyboard.press("Enter")


def keys_to_sheet(office: Office, first: str, slug: str) -> None:
    """By the sheet list: the letter whose first sheet is named, then the sheet."""
    for name in dict.fromkeys((first, slug)):
        with office.page.expect_navigation():
            enter(office, f"#sheet-list a[href$='sheet/{name}']")
    office.settled()


def arrow_to(office: Office, name: str) -> None:
    """Go on with the arrows, as in reading, until something has the focus whose name begins so."""
    for key in ("Home", *("ArrowRight",) * 20, *("ArrowDown", "ArrowLeft") * 20):
        office.page.keyboard.press(key)
        if office.page.evaluate("document.activeElement.getAttribute('aria-label') || ''").startswith(name):
            return
    pytest.fail(f"no way by arrows to {name}")


def typed(office: Office, selector: str, words: str) -> None:
    """Go to a line and write on it, in place of what stood there."""
    tab_to(office, selector)
    office.page.keyboard.press("Control+a")
    office.page.keyboard.type(words)


def by_keys(office: Office) -> None:
    """The same with tab, arrows, Enter and letters; it begins with an invented office."""
    page = office.page
    enter(office, ".offices li:first-child button")
    page.wait_for_url("**/sheet/brief")
    office.settled()
    before = office.brief.read_bytes()
    typed(office, "#sheet [data-answer$='.heads']", str(heads_of(office.brief) + 4))
    page.keyboard.press("Enter")
    changed(office, before)
    office.until("!document.querySelector('#changes').hidden")
    keys_to_sheet(office, "S-1", "host")
    assert page.locator("main .moved").count() > 0
    enter(office, "#changes form button")
    office.until("document.querySelector('#changes').hidden && !document.querySelector('main .moved')")
    keys_to_a_pin(office)
    keys_to_a_tracing(office)
    keys_to_sheet(office, "N-1", "N-1")
    tab_to(office, ".drawing-sheet .touch")
    arrow_to(office, "Room ")
    page.keyboard.press("Enter")
    office.until("!!document.querySelector('#working [data-slip^=\"room/\"]')")
    keys_to_sheet(office, "papers", "papers")
    enter(office, "#offer-book form button")
    book_written(office)
    with office.context.expect_page() as opened:
        enter(office, "#paper-book a[href$='book.html']")
    read(office, opened.value)


def keys_to_a_pin(office: Office) -> None:
    """Another battery unit, pinned with a reason."""
    page, before = office.page, office.brief.read_bytes()
    keys_to_sheet(office, "price", "price")
    enter(office, "main [data-figure='purchase.ups']")
    office.until("document.activeElement.id === 'working'")
    enter(office, "#working .pin summary")
    tab_to(office, "#pin-value")
    chosen = page.input_value("#pin-value")
    page.keyboard.press("ArrowDown")
    if page.input_value("#pin-value") == chosen:  # it was the last of the list
        page.keyboard.press("ArrowUp")
    tab_to(office, "#pin-because")
    page.keyboard.type(REASON)
    page.keyboard.press("Enter")
    office.until("!!document.querySelector('#working form.pinned')")
    changed(office, before)
    assert REASON in office.brief.read_text("utf-8")


def keys_to_a_tracing(office: Office) -> None:
    """More people on a tracing, taken up, and undone."""
    keys_to_sheet(office, "price", "tracings")
    enter(office, "#start-people > summary")
    typed(office, "#start-percent", "100 %")
    office.page.keyboard.press("Enter")
    traced(office)
    before = office.brief.read_bytes()
    enter(office, "#tracings .acts form[action$='take-up'] button")
    changed(office, before)
    tab_to(office, "main")
    office.page.keyboard.press("Control+z")
    taken_back(office, before)


# ------------------------------------------------------------------------------------------------------- from end to end

WAYS = {"keys": by_keys, "clicks": by_clicks}


@pytest.mark.parametrize("way", WAYS if TIER == "full" else ["keys"])
def test_from_an_empty_folder_to_the_book(opens: Opens, way: str) -> None:
    """The first visit, and all that follows until the book is read; the short tier goes one way only."""
    office = opens(None)
    office.page.goto(office.address)
    WAYS[way](office)
