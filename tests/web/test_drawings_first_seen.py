"""The first size of a drawing in a real browser: whole where it can be read so, else as wide as the window; and the sheet list above it."""

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from browsing import ROOT, Office, Opens
from scantling.outputs.drawings.paper import field_box
from scantling.web.extent import LARGEST, MOST_ARE_LARGER, ROUND, SMALLEST, extent

WIDTHS = (1440, 1024, 768)
LEGIBLE = 8.8
"""Pixels of letter height; nine is what the drawing office aims at, rounded extents take up to a fiftieth of it."""
SHOWN = """() => {
  const view = document.querySelector('.drawing-window'), sheet = document.querySelector('.drawing-sheet');
  const svg = sheet.querySelector('svg'), scale = svg.getScreenCTM().a, place = sheet.getBoundingClientRect();
  const seen = [...svg.querySelectorAll('[data-part="picture"] :is(text, rect:not(.hit), line, path)')]
    .filter(one => one.checkVisibility({visibilityProperty: true})).map(one => one.getBoundingClientRect());
  const sizes = [...svg.querySelectorAll('[data-part="picture"] text')].map(one => parseFloat(one.getAttribute('font-size')) * scale);
  return {
    view: [view.clientWidth, view.clientHeight], sheet: [place.width, place.height], sizes: sizes.sort((a, b) => a - b),
    past: [place.left - Math.min(...seen.map(one => one.left)), Math.max(...seen.map(one => one.right)) - place.right,
           place.top - Math.min(...seen.map(one => one.top)), Math.max(...seen.map(one => one.bottom)) - place.bottom],
    told: document.querySelector('[data-zoom-told]').textContent,
  };
}"""
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8") + (
    "\naxe.run('#sheet-list', {rules: {'target-size': {enabled: true}}}).then(r => r.violations.map("
    "v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))"
)
DRAWINGS = sorted((ROOT / "tests" / "goldens").glob("*/[NSP]-*.svg"))


@pytest.mark.parametrize(("scenario", "look"), [("fold-and-fell", "day"), ("saltmarsh", "night")])
def test_a_drawing_is_seen_whole_where_it_can_be_read(opens: Opens, scenario: str, look: str) -> None:
    """At three widths of a window: whole and legible, or full width; nothing of the picture lies outside; the size is told."""
    office = opens(scenario, look=look)
    office.go("N-1")
    whole = []
    for width in WIDTHS:
        office.page.set_viewport_size({"width": width, "height": 900})
        for number in ("N-1", "N-2", "S-1", "P-1"):
            office.go(number)
            whole += [(width, number)] if _whole(office, width) else []
    assert (1440, "N-2") in whole
    assert ((1440, "N-1") in whole) == (scenario == "fold-and-fell")
    assert office.console == []


def _whole(office: Office, width: int) -> bool:
    """Whether the drawing that is shown is seen whole, having checked that it is so rightly."""
    shown = office.page.evaluate(SHOWN)
    view, sheet = shown["view"], shown["sheet"]
    assert max(shown["past"]) <= 1
    assert sheet[0] <= view[0] + 1
    full = sheet[0] >= view[0] - 1
    office.until(f"document.querySelector('[data-zoom-told]').textContent === '{round(100 * sheet[0] / view[0])} %'")
    lettering = shown["sizes"][len(shown["sizes"]) // MOST_ARE_LARGER]
    if not full:
        assert sheet[1] == pytest.approx(view[1], abs=1)
        assert lettering >= LEGIBLE or sheet[0] >= 0.9 * view[0] - 1
    elif width > 860:
        tall = view[1] / sheet[1]
        assert tall >= 1 or (lettering * tall < LEGIBLE * 1.03 and tall < 0.9)
    return bool(sheet[1] <= view[1] + 1)


def test_the_first_size_needs_no_scripts(opens: Opens) -> None:
    """The same size with scripts switched off: the stylesheet finds it, and no script changes it afterwards."""
    office = opens("fold-and-fell")
    office.go("N-1")
    sizes = [office.page.locator(".drawing-sheet").bounding_box()]
    browser = office.context.browser
    assert browser is not None
    context = browser.new_context(viewport={"width": 1440, "height": 900}, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{office.address}sheet/N-1")
    sizes.append(page.locator(".drawing-sheet").bounding_box())
    context.close()
    assert sizes[0] == sizes[1]
    assert sizes[0] is not None
    assert sizes[0]["height"] < 700


def test_all_of_it_is_all_of_it(office: Office) -> None:
    """From full width to whole and back; the whole sheet has frame and title block."""
    page = office.page
    page.click('[data-zoom="all"]')
    shown = page.evaluate(SHOWN)
    assert shown["sheet"][1] == pytest.approx(shown["view"][1], abs=2)
    page.click('[data-zoom="fit"]')
    shown = page.evaluate(SHOWN)
    assert shown["sheet"][0] == pytest.approx(shown["view"][0], abs=1)
    page.click('[data-zoom="sheet"]')
    page.click('[data-zoom="all"]')
    shown = page.evaluate(SHOWN)
    assert shown["sheet"][0] / shown["sheet"][1] == pytest.approx(420 / 297, rel=0.01)
    assert page.locator('.drawing-sheet [data-part="title-block"]').is_visible()


@pytest.mark.parametrize("path", DRAWINGS, ids=lambda path: f"{path.parent.name} {path.stem}")
def test_an_extent_holds_every_mark(path: Path) -> None:
    """Against the drawing read by the standard XML parser: every line, rectangle and base line lies within the extent."""
    svg = path.read_text("utf-8")
    found = extent(svg, "A3")
    picture = ET.fromstring(svg).find(".//*[@data-part='picture']")
    assert picture is not None
    heights = [float(one.get(name, "")) for one in picture.iter() for name in ("y1", "y2", "y") if one.get(name)]
    field = field_box("A3")
    assert max(field.top, found.skip) <= min(heights)
    assert max(heights) <= found.skip + found.deep
    assert found.skip + found.deep <= field.bottom + ROUND


@pytest.mark.parametrize("svg", ["", "<svg></svg>", '<g data-part="picture"></g><g data-part="margin">'])
def test_an_empty_drawing_has_the_whole_field(svg: str) -> None:
    """Nothing drawn: the field of ISO 5457's A3 as the paper says, and some lettering."""
    field, found = field_box("A3"), extent(svg, "A3")
    assert found.skip <= field.top
    assert found.skip + found.deep >= field.bottom
    assert SMALLEST <= found.lettering <= LARGEST


def test_the_stylesheet_has_every_class() -> None:
    """Whatever an extent may be rounded to is known to the page."""
    css = (ROOT / "src/scantling/web/static/drawing_extent.css").read_text("utf-8")
    for paper in ("A3", "tabloid"):
        field = field_box(paper)
        for place in range(int(field.top) // ROUND * ROUND, int(field.bottom), ROUND):
            assert f".skip-{place} {{" in css
    for deep in range(ROUND, 281, ROUND):
        assert f".deep-{deep} {{ --deep: {deep}; }}" in css
    for lettering in range(SMALLEST, LARGEST + 1):
        assert f".lettering-{lettering} {{ --lettering: {lettering / 10:g}; }}" in css


@pytest.mark.parametrize(("width", "rows"), [(1440, 2), (1024, 3), (768, 4)])
def test_the_sheet_list_is_short(opens: Opens, width: int, rows: int) -> None:
    """The letters in one row, the longest letter's sheets in a few; each place to touch at least 24 px; whole names are told."""
    office = opens("millrace", width=width)
    page = office.go("N-1")
    for list_, most in (("letters", 1), ("sheets", rows)):
        boxes = page.eval_on_selector_all(
            f"#sheet-list .{list_} a",
            "all => all.map(one => { const b = one.getBoundingClientRect(); return [b.top, b.width, b.height]; })",
        )
        assert len({round(top) for top, _, _ in boxes}) <= most
        assert min(height for _, _, height in boxes) >= 24
        assert min(wide for _, wide, _ in boxes) >= 24
    texts = page.eval_on_selector_all("#sheet-list .sheets a", "all => all.map(one => one.textContent.trim())")
    assert texts[0] == "N-1 Network by rooms"
    assert texts[1] == "N-2 Network by rooms, technician's layer"
    assert all(text.startswith(f"N-{place} ") for place, text in enumerate(texts, 1))
    assert page.get_attribute("#sheet-list .sheets a[href$='N-6']", "title") == "Door schedule for the technician"
    assert page.evaluate(AXE) == []
    page.locator("#sheet-list .sheets a").first.focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('href')").endswith("N-2")
