"""From an empty folder to a book in a real browser, by keys alone; long work seen going on, stopped, and told in every tab."""

from pathlib import Path

import pytest
from browsing import Office, Opens

pytestmark = pytest.mark.slow
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
ANSWERS = (
    "12", "10 PCs, 4 laptops", "0", "files, print", "1.5 TB", "15 %/year", "8 h", "cupboard, 40 dB", "200/40 Mbit/s", "IE, 20000 EUR",
)  # fmt: skip


def focused(office: Office, words: str, most: int = 80) -> None:
    """Go by the tab key to the thing of these words."""
    for _ in range(most):
        at = "document.activeElement"
        if words in office.page.evaluate(f"{at}.matches('button, a, summary') ? {at}.textContent : ''"):
            return
        office.page.keyboard.press("Tab")
    raise AssertionError(f"no way by keys to {words}")


def asked(office: Office, number: int) -> None:
    """Wait for a question, its field ready to be written on."""
    office.until(
        f"(document.querySelector('.interview .at .quiet') || {{}}).textContent === 'question {number} of about 10' "
        "&& document.activeElement.id === 'typed'"
    )


def nothing_wrong(office: Office) -> None:
    assert office.console == []
    assert office.strangers == []


def judged(office: Office) -> object:
    """What axe-core finds on the page, its best practices and target sizes too."""
    return office.page.evaluate(
        AXE + "\naxe.run(document, {rules: {'target-size': {enabled: true}}}).then(r => r.violations.map("
        "v => [v.id, v.nodes.map(n => n.html.slice(0, 120) + ' ' + (n.failureSummary || '').slice(0, 300))]))"
    )


def test_from_nothing_to_a_book_by_keys_alone(opens: Opens) -> None:
    office = opens(None)
    page = office.page
    page.goto(office.address)
    page.keyboard.press("Enter")
    for number, answer in enumerate(ANSWERS, 1):
        asked(office, number)
        page.keyboard.type(answer)
        page.keyboard.press("Enter")
    office.until("!!document.querySelector('.interview .price')")
    office.until("document.activeElement.textContent.includes('Write the brief')")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sheet/brief")
    assert office.brief.is_file()
    office.go("papers")
    focused(office, "Write the book")
    page.keyboard.press("Enter")
    office.until("!!document.querySelector('#offer-book progress')")
    office.until("document.body.textContent.includes('Open the book to print')", 120)
    assert (office.folder / "book/book.pdf").read_bytes().startswith(b"%PDF-")
    office.until("document.querySelector('#paper-book').textContent.includes('It is of the plan as it is now.')")
    nothing_wrong(office)


def test_a_mistyped_answer_stays_and_back_leads_back(opens: Opens) -> None:
    office = opens(None)
    page = office.page
    page.goto(office.address)
    page.keyboard.press("Enter")
    asked(office, 1)
    page.keyboard.type("several")
    page.keyboard.press("Enter")
    office.until("document.getElementById('typed').getAttribute('aria-invalid') === 'true'")
    assert page.input_value("#typed") == "several"
    asked(office, 1)
    page.keyboard.type("7")  # what was typed is marked, so that this takes its place
    page.keyboard.press("Enter")
    asked(office, 2)
    assert "7" in page.inner_text("#interview-said")
    focused(office, "ask again")
    page.keyboard.press("Enter")
    asked(office, 1)
    assert page.input_value("#typed") == "7"
    nothing_wrong(office)


def test_words_are_picked_and_put_together(opens: Opens) -> None:
    office = opens(None)
    page = office.page
    page.goto(office.address)
    page.keyboard.press("Enter")
    for number, answer in enumerate(ANSWERS[:3], 1):
        asked(office, number)
        page.keyboard.type(answer)
        page.keyboard.press("Enter")
    asked(office, 4)
    page.click("[data-add=files]")
    page.click("[data-add=print]")
    assert page.input_value("#typed") == "files, print"
    page.click("[data-add=files]")
    assert page.input_value("#typed") == "print"
    page.keyboard.press("Enter")
    asked(office, 5)
    nothing_wrong(office)


def test_an_invented_office_is_opened(opens: Opens) -> None:
    office = opens(None)
    page = office.page
    page.goto(office.address)
    focused(office, "Copy brief.yaml here: Fold & Fell")
    page.keyboard.press("Enter")
    page.wait_for_url("**/sheet/brief")
    office.settled()
    assert "Fold & Fell" in page.inner_text("#title-block")
    nothing_wrong(office)


def test_work_is_seen_in_two_tabs_and_stopped_from_the_other(opens: Opens) -> None:
    office = opens("fold-and-fell")
    page = office.go("work")
    other = office.tab()
    other.goto(f"{office.address}sheet/papers")
    focused(office, "Write the book")
    page.keyboard.press("Enter")
    office.until("!!document.querySelector('#work-list .going')")
    other.wait_for_selector("#offer-book .going button")
    other.focus("#offer-book .going button")
    other.keyboard.press("Enter")
    office.until("document.querySelector('#work-list').textContent.includes('Stopped.')", 20)
    assert not (office.folder / "book").exists()
    nothing_wrong(office)


@pytest.mark.parametrize("width", [1440, 1024, 768])
@pytest.mark.parametrize("look", ["day", "night"])
def test_nothing_runs_out_of_the_sheet(opens: Opens, width: int, look: str) -> None:
    office = opens("fold-and-fell", width=width, look=look)
    for sheet in ("papers", "trials", "work", "T-1"):
        page = office.go(sheet)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), sheet
    nothing_wrong(office)


@pytest.mark.parametrize("look", ["day", "night"])
def test_the_judge_of_accessibility_finds_nothing(opens: Opens, look: str) -> None:
    """axe-core on the first visit, in the midst of the interview with a mistake, at its end, and on the sheets of long work."""
    office = opens(None, look=look)
    page = office.page
    page.goto(office.address)
    assert judged(office) == []
    page.click(".begin input[value=like]")
    assert judged(office) == []
    page.click(".begin input[value=quick]")
    page.click(".begin button")
    for number, answer in enumerate(ANSWERS, 1):
        asked(office, number)
        if number == 5:
            page.keyboard.type("lots\n")
            office.until("document.getElementById('typed').getAttribute('aria-invalid') === 'true'")
            assert judged(office) == []
        page.fill("#typed", answer)
        page.keyboard.press("Enter")
    office.until("!!document.querySelector('.interview .price')")
    assert judged(office) == []
    page.click("text=Write the brief and open")
    page.wait_for_url("**/sheet/brief")
    for sheet in ("papers", "trials", "T-2"):
        office.go(sheet)
        if sheet == "papers":
            office.until("!!document.querySelector('table.files')")
            page.click("table.files a.mono >> nth=3")
            office.until("!!document.querySelector('.paper-text')")
        assert judged(office) == [], sheet
    office.go("work")
    page.click("#offer-files button")
    office.until("!!document.querySelector('#work-list .going')")
    assert judged(office) == []
    office.until("!!document.querySelector('#work-list .done')")
    assert judged(office) == []
    nothing_wrong(office)
