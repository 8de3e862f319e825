"""Tracings in a real browser: laid, compared, taken up and undone, with keys alone."""

import pytest
from browsing import Office, Opens

pytestmark = pytest.mark.slow


def columns(office: Office, many: int) -> None:
    """Wait until so many tracings stand beside the plan, all reckoned."""
    office.until(f"document.querySelectorAll('#tracings thead th').length === {many + 1}")
    office.until("!document.querySelector('#tracings .waiting')")


def test_more_people_taken_up_and_undone_with_keys(office: Office) -> None:
    page = office.go("tracings")
    before = office.brief.read_bytes()
    page.focus("#start-people > summary")
    page.keyboard.press("Enter")
    page.focus("#start-percent")
    page.keyboard.press("Control+a")
    page.keyboard.type("50 %")
    office.until("document.querySelector('#tracing-growth').textContent.includes('Office PCs: 14 → 21')")
    page.keyboard.press("Enter")
    columns(office, 1)
    assert "devices.office-pcs.count" in page.inner_text("#tracings").replace("\u200b", "")
    assert "50 % more people" in page.inner_text("#tracings thead")
    assert "being reckoned" not in page.inner_text("#tracings")
    page.focus("#tracings .acts form button")
    page.keyboard.press("Enter")
    office.until("document.querySelector('#tracings').textContent.includes('It says what the brief says.')")
    assert office.brief.read_bytes() != before
    office.settled()
    page.focus("main")
    page.keyboard.press("Control+z")
    office.until("!document.querySelector('#tracings').textContent.includes('It says what the brief says.')")
    assert office.brief.read_bytes() == before
    office.settled()


def test_an_answer_changed_is_checked_as_typed(office: Office) -> None:
    page = office.go("tracings")
    page.click("#start-bare > summary")
    page.fill("#name-bare", "Quiet <b>room</b>")
    page.click("#start-bare button")
    columns(office, 1)
    slug = page.get_attribute("#tracings .acts > details", "id")
    assert slug == "change-quiet-b-room-b"
    page.click(f"#{slug} > summary")
    page.fill("#answer-quiet-b-room-b", "premises.noise")
    page.fill("#value-quiet-b-room-b", "loud")
    told = "#tracing-told-quiet-b-room-b"
    office.until(f"document.querySelector('{told}').className === 'pencil'")
    page.fill("#value-quiet-b-room-b", "45 dB")
    office.until(f"document.querySelector('{told}').className !== 'pencil'")
    page.keyboard.press("Enter")
    office.until("document.querySelector('#tracings').textContent.includes('take it back')")
    columns(office, 1)
    assert "noise: 60 dB" in office.brief.read_text()
    page.click("#tracings a[data-of]")
    office.until("!!document.querySelector('#working [data-of]')")
    assert "On the tracing Quiet <b>room</b>" in page.inner_text("#working")


@pytest.mark.parametrize("width", [1440, 1024, 768])
@pytest.mark.parametrize("look", ["day", "night"])
def test_nothing_runs_out_of_the_sheet(opens: Opens, width: int, look: str) -> None:
    """The page itself never scrolls sideways; only the table does, in its own frame."""
    office = opens("fold-and-fell", width=width, look=look)
    page = office.go("tracings")
    for _ in range(2):
        page.evaluate("document.getElementById('start-bare').open = true")
        page.click("#start-bare button")
        office.until("!!document.querySelector('#tracings thead')")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1")
    assert (office.console, office.strangers) == ([], [])
