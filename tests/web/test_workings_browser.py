"""Workings in a real browser: touched, opened line by line with keys, edited at the brief's own line, pinned."""

from typing import TYPE_CHECKING

import pytest
from browsing import Office

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.slow
HEADS = "people.roles.programme.heads"


def shows(office: Office, id_: str) -> None:
    """Wait until the margin shows the working of a figure."""
    office.until(f"!!document.querySelector('#working [data-working=\"{id_}\"]')")


def opened(office: Office, id_: str) -> None:
    """Wait until a line of the tree is open and has something below."""
    office.until(
        f"!!document.querySelector('[data-turn=\"{id_}\"][aria-expanded=true]')?.closest('li').querySelector('.below > *')"
    )


def ask(page: "Page", id_: str) -> None:
    """Ask for a working as the sheets' script does; the figure need not stand on this sheet."""
    page.evaluate(
        f"htmx.ajax('GET', new URL('../working/{id_}', document.baseURI).href, {{source: document.body, swap: 'none'}})"
    )


def test_with_keys_alone_down_to_the_brief_and_edited_there(office: Office) -> None:
    """From a price on the sheet to the heads of a role, changed in the margin; the tree stays open and tells before and after."""
    page = office.go("findings")
    ask(page, "people.heads")
    shows(office, "people.heads")
    page.focus(f"[data-turn='brief.{HEADS}']")
    page.keyboard.press("ArrowRight")
    opened(office, f"brief.{HEADS}")
    page.keyboard.press("ArrowLeft")
    office.until(f"document.querySelector('[data-turn=\"brief.{HEADS}\"]').getAttribute('aria-expanded') === 'false'")
    page.keyboard.press("Enter")
    opened(office, f"brief.{HEADS}")
    line = page.locator(f"#working [data-answer='{HEADS}']")
    line.fill("20")
    line.press("Enter")
    office.until(
        "!!document.querySelector('#working .result .big') && document.querySelector('#working .result .big').textContent === '72'"
    )
    assert "heads: 20" in office.brief.read_text()
    assert " ".join(page.inner_text("#working p.moved").split()) == "64 → 72"
    opened(office, f"brief.{HEADS}")
    assert page.input_value(f"#working [data-answer='{HEADS}']") == "20"
    office.settled()


def test_enter_on_a_figure_moves_into_the_margin_and_the_way_back(office: Office) -> None:
    page = office.go("findings")
    first = page.eval_on_selector("main [data-figure]", "figure => figure.dataset.figure")
    page.focus("main [data-figure]")
    page.keyboard.press("Enter")
    shows(office, first)
    office.until("document.activeElement === document.getElementById('working')")
    ask(page, "money.total")
    shows(office, "money.total")
    page.click("#working [data-trail='-1']")
    office.until("document.querySelector('#working [data-working]').dataset.working !== 'money.total'")
    page.click("#working [data-trail='1']")
    shows(office, "money.total")
    taken = page.evaluate(
        "(() => { const key = new KeyboardEvent('keydown', {key: 'ArrowLeft', altKey: true, bubbles: true, cancelable: true});"
        " document.querySelector('[data-turn]').dispatchEvent(key); return key.defaultPrevented; })()"
    )
    assert taken is False, "the browser's own way back stays the browser's"


def test_pinned_in_the_margin_with_its_price(office: Office) -> None:
    page = office.go("findings")
    before = office.brief.read_bytes()
    ask(page, "purchase.cabinet")
    shows(office, "purchase.cabinet")
    page.click("#working .pin summary")
    offered = page.eval_on_selector_all("#pin-value option", "all => all.map((one) => one.value)")
    page.select_option("#pin-value", offered[-1])
    page.fill("#pin-because", "the client wants <i>this</i> one")
    page.click("#working .pin button")
    office.until("!!document.querySelector('#working form.pinned')")
    assert "the client wants <i>this</i> one" in page.inner_text("#working form.pinned")
    office.settled()
    office.until("/costs|Costs|no plan without/.test(document.querySelector('#working form.pinned').textContent)")
    page.click("#working form.pinned button")
    office.until("!document.querySelector('#working form.pinned')")
    assert office.brief.read_bytes() == before
    office.settled()


def test_a_long_list_is_told_whole_when_asked(office: Office) -> None:
    page = office.go("findings")
    ask(page, "rules.list")
    shows(office, "rules.list")
    many = page.locator("#working > .one-working > .branches > li").count()
    more = page.locator("#working [data-whole]")
    if more.count():
        more.click()
        office.until(f"document.querySelectorAll('#working > .one-working > .branches > li').length > {many}")
    assert page.locator("#working [data-whole]").count() == 0
