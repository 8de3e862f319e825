"""More promises of the drawing office: what is tried, pinned, stopped, refused and printed while a client looks on."""

from io import BytesIO

import pikepdf
import pytest

from browsing import Office, Opens

pytestmark = pytest.mark.slow
POINTS_A_MM = 72 / 25.4


def touched(office: Office, id_: str) -> None:
    """Open the working of a figure of the sheet."""
    office.page.click(f"main [data-figure='{id_}'] >> nth=0")
    office.until(f"!!document.querySelector('#working [data-working=\"{id_}\"]')")


def undone(office: Office) -> None:
    """Press Undo, and wait until the office says that it is done and the plan is whole again."""
    office.page.click("button:text-is('Undo')")
    office.until("document.querySelector('#said').textContent.includes('Undone')")
    office.settled()


def test_what_if_is_laid_compared_and_taken_up(office: Office) -> None:
    """A tracing leaves the plan alone until it is taken up; then it is the brief, and undo takes it back."""
    page, before = office.go("tracings"), office.brief.read_bytes()
    page.click("#start-people > summary")
    page.click("#start-people button")
    office.until("document.querySelectorAll('#tracings thead th').length === 2")
    office.until("!document.querySelector('#tracings .waiting')")
    assert "EUR" in page.inner_text("#tracings")
    assert office.brief.read_bytes() == before
    page.click("button:text-is('Take it up')")
    office.until("document.querySelector('#tracings').textContent.includes('It says what the brief says.')")
    assert b"heads: 15" in office.brief.read_bytes()
    office.settled()
    undone(office)
    assert office.brief.read_bytes() == before


def test_a_pin_needs_a_reason_and_can_be_undone(office: Office) -> None:
    """A figure pinned in the margin stands in the brief with its reason; undo takes the pin back, to the letter."""
    page, before = office.go("price"), office.brief.read_bytes()
    touched(office, "purchase.ups")
    page.click("#working .pin summary")
    offered = page.eval_on_selector_all("#pin-value option:not(:checked)", "all => all.map(one => one.value)")
    page.select_option("#pin-value", offered[-1])
    page.click("button:text-is('Pin it')")
    assert office.brief.read_bytes() == before
    page.fill("#pin-because", "there is one on the shelf")
    page.click("button:text-is('Pin it')")
    office.until("!!document.querySelector('#working form.pinned')")
    assert f"purchase.ups: {{value: {offered[-1]}, because: there is one on the shelf}}" in office.brief.read_text(
        "utf-8"
    )
    office.settled()
    undone(office)
    assert office.brief.read_bytes() == before


def test_long_work_shows_how_far_it_is_and_can_be_stopped(opens: Opens) -> None:
    """The book being written tells its progress; stopped, it leaves nothing half; started again, it is written and kept."""
    office = opens("fold-and-fell")
    page = office.go("papers")
    page.click("#offer-book button")
    office.until("!!document.querySelector('#offer-book progress')")
    page.click("#offer-book .going button")
    office.until("!document.querySelector('#offer-book progress')")
    assert not (office.folder / "book").exists()
    page.click("#offer-book button:has-text('Write the book')")
    office.until("document.body.textContent.includes('Open the book to print')", 120)
    office.go("work")
    office.go("papers")
    office.until("document.querySelector('#paper-book').textContent.includes('It is of the plan as it is now.')")
    assert (office.folder / "book" / "book.pdf").read_bytes().startswith(b"%PDF-")


def test_a_brief_over_the_limit_is_refused_politely(office: Office) -> None:
    """A text larger than a brief may be is refused with a sentence; what was typed stays on the screen, the file as it was."""
    page, before = office.go("text"), office.brief.read_bytes()
    area = page.locator("textarea")
    more = f"{area.input_value()}\n# {'more and more ' * 80_000}"
    area.evaluate(
        "(area, text) => { area.value = text; area.dispatchEvent(new Event('input', {bubbles: true})); }", more
    )
    area.press("Control+s")
    office.until("document.querySelector('#said').textContent.includes('Not saved')")
    office.until("/at most|larger|large/.test(document.querySelector('.mistakes').textContent)")
    assert len(area.input_value()) == len(more)
    assert office.brief.read_bytes() == before


def test_a_text_saved_over_anothers_edit_loses_nothing(office: Office) -> None:
    """Where another program wrote meanwhile, the text typed here is kept beside the brief, and the person is told where."""
    page = office.go("text")
    area, text = page.locator("textarea"), office.brief.read_text("utf-8")
    area.fill(text + "# typed here\n")
    office.brief.write_text(text + "# written elsewhere\n", "utf-8")
    office.until("document.querySelector('#text-kept').textContent !== ''")
    area.press("Control+s")
    office.until("document.querySelector('#said').textContent.includes('brief.mine-1.yaml')")
    assert office.brief.read_text("utf-8").endswith("# written elsewhere\n")
    assert (office.folder / "brief.mine-1.yaml").read_text("utf-8").endswith("# typed here\n")


def test_an_invented_office_is_copied_and_open_at_once(opens: Opens) -> None:
    """From an empty folder one click leads to an invented office, planned and drawn."""
    office = opens(None)
    office.page.goto(office.address)
    office.page.click("text=Copy brief.yaml here >> nth=0")
    office.page.wait_for_url("**/sheet/brief")
    office.go("N-1")
    assert office.page.locator("[data-room]").count() > 1


def test_a_first_answer_is_kept_and_gives_a_price(opens: Opens) -> None:
    """From an empty folder the interview asks in a client's words, keeps every answer at once and tells the price as it goes."""
    office = opens(None)
    page = office.page
    page.goto(office.address)
    page.click("button:text-is('Begin')")
    office.until("document.activeElement.id === 'typed'")
    page.keyboard.type("12\n")
    office.until("document.querySelector('#interview-price').textContent.includes('EUR')")
    assert "rough.people: 12" in (office.folder / "answers.yaml").read_text("utf-8")


def test_a_sheet_is_changed_asked_and_left_by_keys_alone(office: Office) -> None:
    """With the tab key and Enter alone: to a sheet, to a figure, into its working and on to one of its inputs."""
    page = office.go("N-1")

    def tab_to(selector: str) -> None:
        for _ in range(300):
            if page.evaluate("one => document.activeElement.matches(one)", selector):
                return
            page.keyboard.press("Tab")
        pytest.fail(f"no way by keys to {selector}")

    with page.expect_navigation():
        tab_to("#sheet-list a[href$='sheet/S-1']")
        page.keyboard.press("Enter")
    with page.expect_navigation():
        tab_to("#sheet-list a[href$='sheet/host']")
        page.keyboard.press("Enter")
    tab_to("main .figure")
    page.keyboard.press("Enter")
    office.until("document.activeElement.id === 'working'")
    tab_to("#working [data-turn]")
    page.keyboard.press("Enter")
    office.until("!!document.querySelector('#working [data-turn][aria-expanded=true]')")
    page.keyboard.press("Escape")
    office.until("document.activeElement.closest('main') !== null")


def test_a_drawing_prints_at_its_paper_size(office: Office) -> None:
    """A drawing goes to paper alone, one page of A3 (ISO 216: 420 by 297 mm)."""
    page = office.go("N-1")
    with pikepdf.open(BytesIO(page.pdf(prefer_css_page_size=True))) as printed:
        assert len(printed.pages) == 1
        left, low, right, high = (float(side) for side in printed.pages[0].mediabox)
    assert ((right - left) / POINTS_A_MM, (high - low) / POINTS_A_MM) == pytest.approx((420, 297), abs=0.4)
