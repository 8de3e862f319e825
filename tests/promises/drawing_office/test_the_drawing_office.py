"""The promises of the drawing office, tried in a real browser as a new user would."""

import re
import signal
import time
from pathlib import Path

import pytest

from browsing import Office, Opens, served

AXE = (Path(__file__).parents[2] / "web" / "vendor" / "axe.min.js").read_text("utf-8")
SCENARIOS = ("fold-and-fell", "millrace", "brackwater")
JUDGED = """
axe.run(document, {resultTypes: ['violations']}).then(
  (told) => told.violations.map((one) => one.id + ': ' + one.nodes.slice(0, 2).map((node) => node.target.join(' ')).join(', ')))
"""
HEADS = "people.roles.programme.heads"


def sheets_of(office: Office) -> list[str]:
    """The names of every sheet in the sheet list, by going through its letters."""
    office.go("N-1")
    letters = office.page.eval_on_selector_all("#sheet-list .letters a", "all => all.map(one => one.href)")
    found: list[str] = []
    for letter in letters:
        office.page.goto(letter)
        found += office.page.eval_on_selector_all(
            "#sheet-list .sheets a", "all => all.map(one => one.href.split('/').pop())"
        )
    return found


def write(office: Office, id_: str, value: str) -> None:
    """Type an answer into its field on the brief's sheet, and leave the field."""
    office.go(f"brief?at={id_}")
    field = office.page.locator(f"[data-answer='{id_}']").first
    field.fill(value)
    field.press("Enter")
    office.until("!document.querySelector('#changes').hidden")
    office.settled()


def test_the_set_has_a_sheet_for_every_matter(office: Office) -> None:
    """Brief, standing, people, machines, storage, network, traffic, backup, power, price, findings, trials, papers: each has its sheet."""
    listed = set(sheets_of(office))
    wanted = {
        "brief", "text", "standing", "people", "machines", "host", "storage", "N-1", "N-3", "traffic", "backup", "power", "price",
        "findings", "trials", "papers", "kit", "load", "filling", "pools", "demands", "tracings", "work",
    }  # fmt: skip
    assert wanted <= listed


def test_an_answer_edited_in_place_is_one_changed_line(office: Office) -> None:
    """An answer edited on the brief's sheet changes one line of the file; comments stay; figures show before and after."""
    before = office.brief.read_text("utf-8").splitlines()
    write(office, HEADS, "30")
    after = office.brief.read_text("utf-8").splitlines()
    assert len(before) == len(after)
    differing = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(differing) == 1
    assert differing[0][0].replace("heads: 12", "heads: 30") == differing[0][1]
    assert (
        "People" in office.page.locator("#changes").inner_text()
        or "→" in office.page.locator("#changes").inner_text()
    )
    office.page.get_by_role("button", name=re.compile("Undo")).first.click()
    office.until("document.querySelector('#said').textContent.includes('Undone')")
    assert office.brief.read_text("utf-8").splitlines() == before


def test_what_moved_stays_marked_until_it_is_initialled(office: Office) -> None:
    """Changed figures are marked with before and after on every sheet until somebody initials them."""
    write(office, HEADS, "30")
    office.go("host")
    assert office.page.locator("main .moved").count() > 0
    office.page.get_by_role("button", name=re.compile("Initial")).click()
    office.until("!document.querySelector('main .moved')")
    assert office.page.locator("#changes").is_hidden()


def test_an_edit_made_outside_appears(office: Office) -> None:
    """An edit made by another program appears on the open sheet without anybody asking."""
    office.go("people")
    text = office.brief.read_text("utf-8")
    office.brief.write_text(text.replace("heads: 12", "heads: 31"), "utf-8")
    office.until("document.querySelector('#sheet').innerText.includes('31')")


def test_every_figure_opens_its_working_down_to_the_brief(office: Office) -> None:
    """A figure touched by key opens its working in the margin, and its branches lead to a line of the brief."""
    office.go("host")
    office.page.locator("main .figure[data-figure='host.memory.needed'], main .figure").first.focus()
    office.page.keyboard.press("Enter")
    office.until("document.querySelector('#working').innerText.length > 80")
    assert office.page.locator("#working .figure").count() > 0


def test_two_tabs_lose_nothing(office: Office) -> None:
    """Two tabs that edit at once both land, and each sees the other's edit."""
    other = office.tab()
    office.go(f"brief?at={HEADS}")
    other.goto(f"{office.address}sheet/brief?at=people.roles.technical.heads")
    one, two = (
        office.page.locator(f"[data-answer='{HEADS}']").first,
        other.locator("[data-answer='people.roles.technical.heads']").first,
    )
    one.fill("17")
    two.fill("9")
    one.press("Enter")
    two.press("Enter")
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        text = office.brief.read_text("utf-8")
        if "heads: 17" in text and "heads: 9," in text:
            break
        time.sleep(0.1)
    assert "heads: 17" in text
    assert "heads: 9," in text


@pytest.mark.parametrize("scenario", SCENARIOS)
@pytest.mark.parametrize("look", ["day", "night"])
def test_every_sheet_can_be_used_by_everybody(opens: Opens, scenario: str, look: str) -> None:
    """axe-core finds nothing to object to on any sheet, in both looks; the console stays empty and nobody else is asked."""
    office = opens(scenario, look=look)
    wrong = {}
    for sheet in sheets_of(office):
        office.go(sheet)
        found = office.page.evaluate(AXE + JUDGED)
        if found:
            wrong[sheet] = found
    assert wrong == {}
    assert office.console == []
    assert office.strangers == []


def test_an_office_killed_while_it_saves_leaves_a_whole_brief(opens: Opens) -> None:
    """The process killed at any moment of a save leaves the old brief or the new one, never a part of one."""
    office = opens("fold-and-fell")
    whole = office.brief.read_bytes()
    office.go("brief")
    folder = office.folder
    office.process.send_signal(signal.SIGKILL)
    office.process.wait()
    assert office.brief.read_bytes() == whole
    with served(folder) as (address, _):
        assert address


def test_an_empty_folder_offers_the_interview_or_an_invented_office(opens: Opens) -> None:
    """An empty folder begins with two ways: the interview, or an invented office to explore."""
    office = opens(None)
    office.page.goto(office.address)
    words = office.page.inner_text("body")
    assert "nterview" in words
    assert "invented" in words
