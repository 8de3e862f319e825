"""Answers that cross on their way: what is being typed stays, and nothing old comes back."""

from typing import TYPE_CHECKING

import pytest
from browsing import Opens

if TYPE_CHECKING:
    from playwright.sync_api import Route

pytestmark = pytest.mark.slow


def test_a_redraw_that_comes_late_takes_nothing_that_was_typed(opens: Opens) -> None:
    """A redraw asked for at the second question is held back until the third is being answered."""
    office = opens(None)
    page, held = office.page, list["Route"]()
    page.route("**/redraw", lambda route: held.append(route) if not held else route.continue_())
    page.goto(office.address)
    page.click("button:text-is('Begin')")
    for number, answer in enumerate(("12", "10 PCs, 4 laptops"), 1):
        office.until(
            f"document.querySelector('.interview .at .quiet')?.textContent === 'question {number} of about 10'"
        )
        page.fill("#typed", answer)
        if number == 2:
            for _ in range(400):
                if held:
                    break
                page.wait_for_timeout(25)
            assert held, "no redraw was asked for while the price was reckoned"
        page.keyboard.press("Enter")
    office.until("document.querySelector('.interview .at .quiet')?.textContent === 'question 3 of about 10'")
    page.fill("#typed", "half an ans")
    with page.expect_response("**/redraw"):
        held[0].continue_()
    office.until("document.querySelector('#interview-price').textContent.includes('EUR')")
    assert page.input_value("#typed") == "half an ans"
    assert "question 3" in page.inner_text("main")
    assert office.console == []
