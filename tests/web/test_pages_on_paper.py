"""Sheets printed from the browser: no page of tables, text or charts is cut at an edge; a drawing is whole on any paper."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from browsing import Office, Opens

MM = 96 / 25.4
MARGIN = 12
PAPERS = {"A4": 210 - 2 * MARGIN, "A4 lying": 297 - 2 * MARGIN, "A3 lying": 420 - 2 * MARGIN}
"""Widths of the printed field in millimetres, after ISO 216's sheet sizes and the stylesheet's margins."""
OUTSIDE = """() => {
  const shown = [...document.querySelectorAll('main *, .margin *')].filter(
    one => one.checkVisibility() && !one.closest('svg, .heard, label.cell'));
  const wide = document.documentElement.clientWidth + 1;
  const told = one => one.tagName + '.' + one.className + ' ' + one.textContent.trim().slice(0, 40);
  const past = shown.filter(one => one.getBoundingClientRect().right > wide).map(told);
  const cut = shown.filter(one => getComputedStyle(one).overflowX !== 'visible' && one.tagName !== 'INPUT'
    && (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1)).map(told);
  return [...past, ...cut];
}"""


def every_sheet(office: Office) -> list[str]:
    """The names of all sheets of the set."""
    names = []
    for letter in office.page.eval_on_selector_all("#sheet-list .letters a", "all => all.map(one => one.href)"):
        office.page.goto(letter)
        names += office.page.eval_on_selector_all(
            "#sheet-list .sheets a", "all => all.map(one => one.href.split('/').pop())"
        )
    return names


def test_no_page_runs_off_its_paper(opens: Opens) -> None:
    """As print lays it out, at the width of each paper's field: nothing ends beyond it, nothing is hidden behind an edge."""
    office = opens("millrace")
    page = office.go("brief")
    for name in every_sheet(office):
        office.page.goto(f"{office.address}sheet/{name}")
        if page.locator("[data-drawing]").count():
            continue
        page.emulate_media(media="print")
        for paper, millimetres in PAPERS.items():
            page.set_viewport_size({"width": int(millimetres * MM), "height": 1000})
            assert page.evaluate(OUTSIDE) == [], f"{name} on {paper}"
        assert page.locator(".title-block").is_visible()
        page.emulate_media(media="screen")
        page.set_viewport_size({"width": 1440, "height": 900})


@pytest.mark.parametrize("look", ["day", "night"])
def test_the_printed_words_are_all_there(opens: Opens, tmp_path: Path, look: str) -> None:
    """Read back by another program: every line of the brief's text, and every cell of a page of tables, on A4."""
    program = shutil.which("pdftotext")
    assert program is not None, "install poppler-utils"
    office = opens("millrace", look=look)
    for name, selector in (("text", ".printed"), ("N-10", "main table")):
        page = office.go(name)
        page.emulate_media(media="print")
        words = re.findall(r"[\w.:-]+", " ".join(page.locator(selector).all_inner_texts()))
        page.emulate_media(media="null")
        page.pdf(path=tmp_path / "printed.pdf", format="A4", prefer_css_page_size=True)
        told = subprocess.run(
            [program, "-raw", tmp_path / "printed.pdf", "-"], capture_output=True, text=True, check=True
        ).stdout
        packed = "".join(told.split())
        assert words
        assert [word for word in words if word not in packed] == [], name
    office.go("text")
    assert office.page.locator(".printed").is_hidden()


def test_a_drawing_is_whole_on_small_and_large_paper(opens: Opens) -> None:
    """On A4 it is made smaller, not cut: one page, and in print's layout the sheet ends within its own paper."""
    office = opens("fold-and-fell")
    page = office.go("N-1")
    for paper in ("A4", "A3"):
        content = page.pdf(format=paper, landscape=True)
        assert len(re.findall(rb"/Type\s*/Page\b", content)) == 1, paper
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int(420 * MM), "height": int(297 * MM)})
    box = page.locator(".drawing-sheet > svg").bounding_box()
    assert box is not None
    assert (box["x"], box["y"]) == pytest.approx((0, 0), abs=0.5)
    assert box["width"] == pytest.approx(420 * MM, abs=1)
    assert box["height"] <= 297 * MM
    assert page.locator('[data-part="title-block"]').is_visible()
    assert page.locator('[data-part="border"]').is_visible()
