"""The brief in a real browser: written on, checked, saved, added to, undone, led to, and nothing typed is ever lost."""

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from browsing import Office, Opens
from scantling.web.form_kinds import handle

if TYPE_CHECKING:
    from playwright.sync_api import Locator

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
HEADS = "people.roles.programme.heads"


@pytest.fixture
def brief(office: Office) -> Office:
    """The Millrace's brief, its plan whole."""
    office.go("brief")
    return office


def line(office: Office, id_: str) -> "Locator":
    """The line of an answer."""
    return office.page.locator(f'#sheet [data-answer="{id_}"]')


def told(office: Office, id_: str) -> str:
    """The message under a line."""
    return office.page.locator(f"#wrong-{handle(id_)}").inner_text()


def written(office: Office, words: str) -> None:
    """Wait until the brief on disk says something."""
    for _ in range(2400):
        if words in office.brief.read_text(encoding="utf-8"):
            return
        office.page.wait_for_timeout(50)
    pytest.fail(f"not in the brief: {words}")


def test_an_answer_is_checked_kept_and_saved(brief: Office) -> None:
    before = brief.brief.read_text(encoding="utf-8").splitlines()
    heads = line(brief, HEADS)
    heads.fill("12 apples")
    brief.until(f"document.getElementById('wrong-{handle(HEADS)}').textContent !== ''")
    assert heads.get_attribute("aria-invalid") == "true"
    heads.press("Enter")
    brief.page.wait_for_timeout(300)
    assert heads.input_value() == "12 apples"
    assert brief.brief.read_text(encoding="utf-8").splitlines() == before
    heads.fill("13")
    heads.press("Tab")
    written(brief, "heads: 13")
    assert brief.page.evaluate("document.activeElement.dataset.answer") == "people.roles.programme.growth"
    brief.until(f"document.getElementById('wrong-{handle(HEADS)}').textContent === ''")
    after = brief.brief.read_text(encoding="utf-8").splitlines()
    assert [a for a, b in zip(before, after, strict=True) if a != b] == [x for x in before if "heads: 12" in x]
    brief.until("document.querySelector('#changes').textContent.includes('→')")


def test_undo_by_keys_brings_the_line_back(brief: Office) -> None:
    before = brief.brief.read_bytes()
    line(brief, "backup.away").select_option("tape")
    brief.until("document.querySelector('#said').textContent.includes('backup.away: tape')")
    brief.page.locator("#sheet").focus()
    brief.page.keyboard.press("Control+z")
    written(brief, "away: disks")
    brief.until("document.querySelector('[data-answer=\"backup.away\"]').value === 'disks'")
    assert brief.brief.read_bytes() == before
    brief.page.keyboard.press("Control+Shift+z")
    brief.until("document.querySelector('[data-answer=\"backup.away\"]').value === 'tape'")


def test_a_house_rule_is_written_in(brief: Office) -> None:
    boots = line(brief, "data.boot_disks")
    assert boots.get_attribute("placeholder") == "assumed: 2"
    brief.page.locator('[data-write="data.boot_disks"]').click()
    written(brief, "boot_disks: 2")
    line(brief, "services.print.users").focus()
    assert "How many people use it" in brief.page.locator("#brief-prompt").inner_text()
    brief.page.locator('[data-more="more-' + handle("lines.fibre") + '"]').click()
    line(brief, "lines.fibre.notice").press("Control+Enter")
    written(brief, "notice: 3 month")


def test_a_thing_is_added_and_taken_out_by_keys_alone(brief: Office) -> None:
    page = brief.page
    page.locator("#adding-devices > summary").focus()
    page.keyboard.press("Enter")
    for words in ("Wall clocks", "pc", "2", "staff"):
        page.keyboard.press("Tab")
        page.keyboard.type(words)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    written(brief, "wall-clocks: {name: Wall clocks, kind: pc, count: 2, zone: staff}")
    brief.until("document.activeElement.tagName === 'SUMMARY'")
    row = page.locator('tbody[data-id="devices.wall-clocks"]')
    row.locator("[data-take-out]").press("Enter")
    assert "out of the brief?" in row.inner_text()
    page.keyboard.press("Enter")
    brief.until("!document.querySelector('tbody[data-id=\"devices.wall-clocks\"]')")
    assert "wall-clocks" not in brief.brief.read_text(encoding="utf-8")


def test_what_is_typed_stays_when_the_brief_changes_outside(brief: Office) -> None:
    heads = line(brief, HEADS)
    heads.fill("14")
    brief.brief.write_text(
        brief.brief.read_text(encoding="utf-8").replace("heads: 12,", "heads: 15,"), encoding="utf-8"
    )
    brief.until(f"document.querySelector('[data-answer=\"{HEADS}\"]').defaultValue === '15'")
    assert heads.input_value() == "14"
    heads.press("Enter")
    brief.until(f"document.getElementById('wrong-{handle(HEADS)}').textContent.includes('15')")
    assert "heads: 15," in brief.brief.read_text(encoding="utf-8")
    heads.press("Enter")
    written(brief, "heads: 14,")


def test_an_address_leads_to_a_field(brief: Office) -> None:
    brief.go("brief?at=lines.fibre.handoff")
    brief.until("document.activeElement.dataset.answer === 'lines.fibre.handoff'")
    assert line(brief, "lines.fibre.handoff").is_visible()
    box = line(brief, "lines.fibre.handoff").bounding_box()
    assert box is not None
    assert 0 < box["y"] < 900
    brief.go(f"brief?at={HEADS}")
    brief.until(f"document.activeElement.dataset.answer === '{HEADS}'")


def test_the_text_marks_its_mistakes_and_leads_to_them(brief: Office) -> None:
    brief.go("text")
    area = brief.page.locator("textarea")
    text = area.input_value()
    assert text == brief.brief.read_text(encoding="utf-8")
    area.fill(text.replace("  country: IE", "  country: Ireland"))
    brief.until("document.querySelectorAll('.mistakes [data-line]').length === 1")
    assert brief.page.locator(".gutter b").inner_text() == "△ 6"
    brief.page.locator(".mistakes button").click()
    caret = brief.page.evaluate("document.activeElement.selectionStart")
    assert area.input_value()[caret:].startswith("Ireland")
    area.press("Control+s")
    brief.until("document.querySelector('#said').textContent.includes('Not saved')")
    assert area.input_value() != text
    assert brief.brief.read_text(encoding="utf-8") == text
    area.fill(text.replace("heads: 12", "heads: 16"))
    area.press("Control+s")
    written(brief, "heads: 16")
    brief.until("document.querySelector('#said').textContent.includes('Saved')")


def test_a_text_begun_is_kept_when_another_program_writes(brief: Office) -> None:
    brief.go("text")
    area = brief.page.locator("textarea")
    text = area.input_value()
    area.fill(text + "# mine\n")
    brief.brief.write_text(text + "# theirs\n", encoding="utf-8")
    brief.until("document.querySelector('#text-kept').textContent !== ''")
    brief.page.locator("[data-save-text]").click()
    brief.until("document.querySelector('#said').textContent.includes('brief.mine-1.yaml')")
    assert area.input_value() == text + "# mine\n"
    assert brief.brief.read_text(encoding="utf-8") == text + "# theirs\n"
    assert (brief.folder / "brief.mine-1.yaml").read_text(encoding="utf-8") == text + "# mine\n"


@pytest.mark.parametrize("width", [1440, 1024, 768])
def test_nothing_is_cut_off_at_any_width(opens: Opens, width: int) -> None:
    """Neither the page nor a line to write on is wider than the sheet."""
    office = opens("millrace", width)
    for sheet in ("brief", "text", "standing"):
        office.go(sheet)
        assert office.page.evaluate("document.documentElement.scrollWidth") <= width
        outside = "[...document.querySelectorAll('main .line, main button')].filter(one => one.getBoundingClientRect().right > innerWidth)"
        assert office.page.evaluate(f"{outside}.length") == 0
    assert office.console == []


@pytest.mark.parametrize("look", ["day", "night"])
def test_nobody_is_left_out_of_the_brief(opens: Opens, look: str) -> None:
    """axe-core, its best practices and target sizes too, with further answers, a new thing and a question open."""
    office = opens("millrace", look=look)
    for sheet in ("brief?at=lines.fibre.handoff", "text", "standing"):
        page = office.go(sheet)
        if sheet.startswith("brief"):
            page.locator("#adding-devices > summary").click()
            page.locator("[data-take-out]").first.click()
        found = page.evaluate(
            AXE + "\naxe.run(document, {rules: {'target-size': {enabled: true}}}).then(r => r.violations.map("
            "v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))"
        )
        assert found == [], sheet
    assert office.console == []
