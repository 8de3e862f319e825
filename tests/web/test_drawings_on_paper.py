"""A drawing printed from the browser: the sheet alone, at its true size."""

import re
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest

from browsing import EXAMPLES, Opens
from offices import changed

MM = 72 / 25.4
"""Points of a page to a millimetre."""


@pytest.mark.parametrize("scenario", ["millrace", "fold-and-fell"])
def test_a_drawing_is_printed_alone_at_its_true_size(opens: Opens, scenario: str) -> None:
    """One page of the sheet's own size (A3: 420 by 297 mm), nothing round it, every word of the sheet on it."""
    office = opens(scenario)
    for number in ("N-1", "P-1"):
        page = office.go(number)
        page.click('[data-zoom="in"]')
        words = set(re.findall(r"\w+", page.inner_text(".drawing-sheet")))
        with pikepdf.open(BytesIO(page.pdf(prefer_css_page_size=True, print_background=True))) as printed:
            assert len(printed.pages) == 1
            left, low, right, high = (float(side) for side in printed.pages[0].mediabox)
            assert ((right - left) / MM, (high - low) / MM) == pytest.approx((420, 297), abs=0.4)
        assert words
    assert office.console == []


def test_the_inch_paper_is_printed_at_its_own_size(opens: Opens, tmp_path: Path) -> None:
    """11 by 17 inches where the brief asks for letter."""
    brief = (EXAMPLES / "fold-and-fell" / "brief.yaml").read_text("utf-8")
    (tmp_path / "inch").mkdir()
    (tmp_path / "inch" / "brief.yaml").write_text(changed(brief, "paper: A4", "paper: letter"), "utf-8")
    office = opens(tmp_path / "inch")
    page = office.go("N-1")
    with pikepdf.open(BytesIO(page.pdf(prefer_css_page_size=True))) as printed:
        assert len(printed.pages) == 1
        left, low, right, high = (float(side) for side in printed.pages[0].mediabox)
        assert ((right - left) / 72, (high - low) / 72) == pytest.approx((17, 11), abs=0.02)
