"""Answers that cross on their way: what is being typed stays, and nothing old comes back."""

from typing import TYPE_CHECKING

import pytest
from browsing import Office, Opens

if TYPE_CHECKING:
    from playwright.sync_api import Route

pytestmark = pytest.mark.slow


def asked(office: Office, number: int) -> None:
    """Wait for a question."""
    office.until(f"document.querySelector('.interview .at .quiet')?.textContent === 'question {number} of about 10'")


def test_a_redraw_that_comes_late_takes_nothing_that_was_typed(opens: Opens) -> None:
    """A redraw asked for at the second question is held back until the third is being answered."""
    office = opens(None)
    page, held = office.page, list["Route"]()
    page.route("**/redraw", lambda route: held.append(route) if not held else route.continue_())
    page.goto(office.address)
    page.click("button:text-is('Begin')")
    asked(office, 1)
    page.fill("#typed", "12")
    page.keyboard.press("Enter")
    asked(office, 2)
    page.fill("#typed", "10 PCs, 4 laptops")
    looks = 0
    while not held and looks < 400:
        looks += 1
        page.wait_for_timeout(25)
    assert held, "no redraw was asked for while the price was reckoned"
    page.keyboard.press("Enter")
    asked(office, 3)
    page.fill("#typed", "half an ans")
    with page.expect_response("**/redraw"):
        held[0].continue_()
    office.until("document.querySelector('#interview-price').textContent.includes('EUR')")
    assert page.input_value("#typed") == "half an ans"
    assert "question 3" in page.inner_text("main")
    assert office.console == []
