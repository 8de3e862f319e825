"""Charts in a real browser: read with keys alone, told aloud and drawn, as a table, beside an edit; nobody left out."""

from pathlib import Path

import pytest
from browsing import Office, Opens
from offices import changed

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
pytestmark = pytest.mark.slow
PEOPLE = "rect.reading[data-chart='people']"
DRAWN = "[...document.querySelectorAll('g.reading-line text')].map(one => one.textContent)"


def told(office: Office) -> list[str]:
    """What the live region says."""
    return office.page.inner_text(".charts .read").split("; ")


def row(office: Office, chart: str, place: str) -> list[str]:
    """A row of the values' table, each value with its head, as the reading line tells it."""
    cells: list[str] = office.page.evaluate(
        """([chart, place]) => {
          const table = document.querySelector(`[data-values="${chart}"] table`);
          const heads = [...table.tHead.rows[0].cells].map(one => one.textContent);
          const row = [...table.tBodies[0].rows].find(one => one.cells[0].textContent === place);
          return [...row.cells].map((one, at) => at ? `${heads[at]}: ${one.textContent}` : one.textContent);
        }""",
        [chart, place],
    )
    return cells


def test_the_reading_line_goes_by_keys_and_tells_the_tables_values(office: Office) -> None:
    page = office.go("load")
    page.focus(PEOPLE)
    assert told(office) == row(office, "people", "19:30 to 19:45") == page.evaluate(DRAWN)
    page.keyboard.press("ArrowRight")
    assert told(office) == row(office, "people", "19:45 to 20:00") == page.evaluate(DRAWN)
    page.keyboard.press("Home")
    assert told(office)[0] == "00:00 to 00:15"
    page.keyboard.press("ArrowLeft")
    assert told(office)[0] == "00:00 to 00:15"
    page.keyboard.press("PageUp")
    assert told(office)[0] == "02:00 to 02:15"
    page.keyboard.press("End")
    page.keyboard.press("ArrowRight")
    assert told(office)[0] == "23:45 to 00:00"
    assert page.get_attribute(PEOPLE, "aria-valuetext") == "23:45 to 00:00"
    page.keyboard.press("Escape")
    assert page.locator("g.reading-line").count() == 0


def test_the_line_stands_at_its_place_and_its_marks_on_the_lines(office: Office) -> None:
    """Measured on screen: the mark of the first series lies on its path."""
    page = office.go("pools")
    page.focus("rect.reading[data-chart='pool-guests']")
    page.keyboard.press("ArrowRight")
    x, marks = page.evaluate(
        """() => [Number(document.querySelector('line.reading-rule').getAttribute('x1')),
                  [...document.querySelectorAll('circle.reading-mark')].map(one => Number(one.getAttribute('cy')))]"""
    )
    heights = page.evaluate(
        """x => [...document.querySelectorAll('[data-chart="pool-guests"] path[data-part="series"]')].reverse().map(path => {
          const long = path.getTotalLength();
          let best = [1e9, 0];
          for (let at = 0; at <= long; at += 0.05) {
            const point = path.getPointAtLength(at);
            if (Math.abs(point.x - x) < best[0]) best = [Math.abs(point.x - x), point.y];
          }
          return best[1];
        })""",
        x,
    )
    assert marks == pytest.approx(heights, abs=0.2)


def test_a_touch_reads_where_it_was_touched(office: Office) -> None:
    page = office.go("load")
    box = page.locator(PEOPLE).bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.6)
    assert told(office)[0] in {"11:45 to 12:00", "12:00 to 12:15"}


def test_with_tab_and_enter_alone_to_a_working(office: Office) -> None:
    """From the plot to the figures on it: Tab reaches each, Enter opens its working in the margin."""
    page = office.go("load")
    page.focus("rect.reading[data-chart='cores']")
    page.keyboard.press("Tab")
    figure = page.evaluate("document.activeElement.dataset.figure")
    assert figure in {"host.cores.bought", "host.cores.needed"}
    page.keyboard.press("Enter")
    office.until(f"!!document.querySelector('#working [data-working=\"{figure}\"]')")


def test_an_edit_elsewhere_redraws_the_chart_and_keeps_the_reader_there(office: Office) -> None:
    page = office.go("load")
    page.focus("rect.reading[data-chart='line-up']")
    page.keyboard.press("Home")
    before = page.evaluate("document.querySelector('#chart-load').dataset.stamp")
    text = office.brief.read_text("utf-8")
    office.brief.write_text(changed(text, "Programme and office, heads: 12", "Programme and office, heads: 30"))
    office.until(f"document.querySelector('#chart-load').dataset.stamp !== '{before}'")
    office.until("document.activeElement.dataset.chart === 'line-up'")
    office.settled()
    assert told(office)[0] == "00:00 to 00:15"


def test_demands_are_weighed_from_their_sheet_and_read_by_keys(opens: Opens) -> None:
    office = opens("fold-and-fell")
    page = office.go("demands")
    page.click("text=Weigh each demand")
    office.until("!!document.querySelector('rect.reading[data-chart=demands]')", 120)
    page.focus("rect.reading[data-chart='demands']")
    first = told(office)
    assert first[0].startswith("Room for copies at hand: asked at least")
    page.keyboard.press("ArrowDown")
    assert told(office)[0] != first[0]
    page.keyboard.press("ArrowUp")
    assert told(office) == first
    assert office.console == []
    _opened_again(opens, office)


def _opened_again(opens: Opens, office: Office) -> None:
    """The office is opened anew: the weighing is there, for this plan; after an edit it is of an earlier one, with the same fingerprint."""
    before = office.page.inner_text(".weighing .mono")
    again = opens(office.folder)
    page = again.go("demands")
    assert page.locator("rect.reading[data-chart=demands]").count() == 1
    assert "Weighed for this plan" in page.inner_text(".weighing")
    assert page.inner_text(".weighing .mono") == before
    text = again.brief.read_text("utf-8")
    again.brief.write_text(changed(text, "kind: pc, count: 5", "kind: pc, count: 12"), "utf-8")
    again.until("document.querySelector('.weighing').textContent.includes('of an earlier plan')")
    assert page.inner_text(".weighing .mono") == before
    assert page.locator("rect.reading[data-chart=demands]").count() == 1
    assert again.console == []


@pytest.mark.parametrize("look", ["day", "night"])
def test_nobody_is_left_out_of_a_chart(opens: Opens, look: str) -> None:
    """axe-core, its best practices and target sizes too, a table open and a reading line drawn."""
    office = opens("millrace", look=look)
    for slug in ("load", "filling", "pools", "demands"):
        page = office.go(slug)
        if page.locator("rect.reading").count():
            page.locator("details.values summary").first.click()
            page.locator("rect.reading").first.focus()
        found = page.evaluate(
            AXE + "\naxe.run(document, {rules: {'target-size': {enabled: true}}}).then(r => r.violations.map("
            "v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))"
        )
        assert found == [], slug
    assert office.console == []
    assert office.strangers == []


@pytest.mark.parametrize("width", [1440, 1024, 768])
def test_no_width_makes_the_sheet_wider_than_the_page(opens: Opens, width: int) -> None:
    office = opens("millrace", width=width)
    for slug in ("load", "filling", "pools"):
        page = office.go(slug)
        assert page.evaluate(
            "document.querySelector('.plots').scrollWidth <= document.querySelector('main').clientWidth"
        )
        sizes = page.evaluate(
            "[...document.querySelectorAll('.plots text')].map(one => one.getBoundingClientRect().height).filter(high => high > 0)"
        )
        assert min(sizes) > 9
