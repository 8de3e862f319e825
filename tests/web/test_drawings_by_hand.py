"""Drawings in a real browser: by keys, by hand, on paper; a part of the cabinet moved both ways, and taken back."""

from collections.abc import Callable
from pathlib import Path

import pytest

from browsing import Office, Opens

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text("utf-8")
HEARD = "document.activeElement.getAttribute('aria-label') || ''"


def slip(office: Office, touch: str) -> str:
    """Wait for a slip, and give its words."""
    office.until(f"!!document.querySelector('#working [data-slip=\"{touch}\"]')")
    return office.page.inner_text("#working")


def focus(office: Office, mark: str) -> None:
    """Put the focus on something of the drawing."""
    office.page.locator(mark).first.focus()


def zoom(office: Office) -> str:
    """The size that is told."""
    return office.page.inner_text("[data-zoom-told]")


def stands(office: Office, part: str) -> int:
    """The unit in which a part is drawn."""
    return int(office.page.get_attribute(f'[data-part="front"][data-slug="{part}"]', "data-lowest") or 0)


def moved_to(office: Office, part: str, unit: int) -> None:
    """Wait until a part is drawn there."""
    office.until(f"document.querySelector('[data-part=\"front\"][data-slug=\"{part}\"]').dataset.lowest === '{unit}'")


def test_one_tab_stop_leads_in_and_arrows_go_on(office: Office) -> None:
    """From a room to its neighbour at the right, as they are drawn; Home and End; Enter opens the slip; Escape leads back."""
    page = office.page
    assert page.locator('.drawing-sheet [tabindex="0"]').count() == 1
    focus(office, '[data-room="management"] .hit')
    page.keyboard.press("ArrowRight")
    heard = [page.evaluate(HEARD)]
    for _ in range(40):
        page.keyboard.press("ArrowRight")
        heard.append(page.evaluate(HEARD))
    assert any("Staff" in one for one in heard)
    assert "70" in heard[-1] or "payment" in heard[-1].lower() or "terminals" in heard[-1]
    assert page.locator('.drawing-sheet [tabindex="0"]').count() == 1
    page.keyboard.press("Home")
    first = page.evaluate(HEARD)
    page.keyboard.press("End")
    assert page.evaluate(HEARD) != first
    focus(office, '[data-room="staff"] .hit')
    page.keyboard.press("Enter")
    told = slip(office, "room/staff")
    assert "Office PCs" in told
    office.until("document.activeElement.id === 'working'")
    page.keyboard.press("Escape")
    office.until(f"({HEARD}).includes('Staff')")


def test_every_mark_can_be_reached_by_arrows(office: Office) -> None:
    """From the first mark of the floor plan some way of arrows leads to every other: the nearest in each direction, followed on."""
    page = office.page
    marks = page.eval_on_selector_all(
        ".drawing-sheet .touch",
        "all => all.filter(one => one.checkVisibility({visibilityProperty: true})).map((one, n) => (one.dataset.test = n, n))",
    )
    seen: set[str] = set()
    waiting = ["0"]
    while waiting:
        now = waiting.pop()
        if now in seen:
            continue
        seen.add(now)
        for key in ("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown"):
            focus(office, f'[data-test="{now}"]')
            page.keyboard.press(key)
            waiting.append(page.evaluate("document.activeElement.dataset.test || '0'"))
    assert len(seen) == len(marks)


def test_a_figure_on_a_drawing_opens_its_working(office: Office) -> None:
    """By a click and by Enter."""
    id_ = "brief.devices.office-pcs.count"
    office.page.locator(f'svg [data-figure="{id_}"]').click()
    office.until("document.querySelector('#working').innerText.includes('14')")
    office.page.locator(f'svg [data-figure="{id_}"]').focus()
    office.page.keyboard.press("Enter")
    office.until("document.querySelector('#working').innerText.includes('14')")


def test_a_door_and_a_field_of_the_matrix_are_touched(office: Office) -> None:
    """A door by hand; a shut field too; one packet is tried in the margin."""
    office.page.locator('[data-part="hung-door"][data-door="20"]').click()
    assert "What the proof says" in slip(office, "door/20")
    office.go("N-3")
    office.page.locator('[data-who="guests"][data-whom="servers"]').click()
    assert "Nothing is meant to pass" in slip(office, "cell/guests/servers")
    office.page.locator('[data-who="staff"][data-whom="servers"]').click()
    slip(office, "cell/staff/servers")
    office.page.fill('#working input[name="target"]', "files")
    office.page.fill('#working input[name="port"]', "445")
    office.page.keyboard.press("Enter")
    office.until("document.querySelector('#packet-told').innerText.includes('it passes')")


def test_the_picture_is_sized_by_buttons_keys_and_wheel(office: Office) -> None:
    """Larger, smaller, full width; what is under the pointer stays there; kept when the sheet is shown again."""
    page = office.page
    page.click('[data-zoom="in"]')
    assert zoom(office) == "125 %"
    focus(office, '[data-room="staff"] .hit')
    page.keyboard.press("+")
    assert zoom(office) == "156 %"
    page.keyboard.press("0")
    assert zoom(office) == "100 %"
    room = page.locator('[data-room="guests"] .hit')
    box = room.bounding_box()
    assert box is not None
    at = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(*at)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -200)
    page.keyboard.up("Control")
    office.until("document.querySelector('[data-zoom-told]').innerText !== '100 %'")
    after = room.bounding_box()
    assert after is not None
    assert after["x"] <= at[0] <= after["x"] + after["width"]
    size = zoom(office)
    office.go("N-1")
    assert zoom(office) == size
    page.click('[data-zoom="true"]')
    drawn = page.evaluate("document.querySelector('.drawing-sheet svg').getBoundingClientRect().width")
    assert drawn == pytest.approx(420 * 96 / 25.4, rel=0.01)


def test_the_paper_is_pulled_by_hand(office: Office) -> None:
    """A drag on a larger picture moves it, and touches nothing."""
    page = office.page
    for _ in range(4):
        page.click('[data-zoom="in"]')
    before = page.evaluate("document.querySelector('.drawing-window').scrollLeft")
    box = page.locator(".drawing-window").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y - 10, steps=4)
    page.mouse.up()
    assert page.evaluate("document.querySelector('.drawing-window').scrollLeft") == before + 60
    page.wait_for_timeout(300)
    assert page.locator("#working [data-slip]").count() == 0


def test_a_part_is_moved_by_keys_and_undone(office: Office) -> None:
    """M lifts it, arrows carry it, Enter puts it down, Escape leaves it; focus stays on it; Ctrl+Z takes it back."""
    page = office.go("P-1")
    text = office.brief.read_bytes()
    start = stands(office, "near")
    focus(office, '[data-part="front"][data-slug="near"] .hit')
    page.keyboard.press("m")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Escape")
    assert page.locator(".ghost").count() == 0
    assert office.brief.read_bytes() == text
    page.keyboard.press("m")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    assert f"units {start + 2} to {start + 5}" in page.inner_text("[data-drawing-told]")
    page.keyboard.press("Enter")
    moved_to(office, "near", start + 2)
    assert f"pins:\n  places.near.lowest: {{value: {start + 2}" in office.brief.read_text("utf-8")
    office.until(f"({HEARD}).includes('units {start + 2} to')")
    assert page.locator('.drawing-sheet .moved[data-figure="places.near.lowest"]').count() == 1
    page.keyboard.press("Control+z")
    moved_to(office, "near", start)
    assert office.brief.read_bytes() == text


def test_a_part_is_moved_by_hand_in_whole_units(office: Office) -> None:
    """A drag by three and a bit units is three; over another part the outline says so and the plan stops."""
    page = office.go("P-1")
    start = stands(office, "near")
    front = page.locator('[data-part="front"][data-slug="near"] .hit')
    box = front.bounding_box()
    assert box is not None
    unit = box["height"] / 4
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - unit * 3.3, steps=5)
    assert page.locator(".ghost").count() == 1
    page.mouse.up()
    moved_to(office, "near", start + 3)
    office.settled()
    page.mouse.move(x, y - unit * 3)
    page.mouse.down()
    page.mouse.move(x, y + unit * 4, steps=5)
    assert "already there: Server" in page.inner_text("[data-drawing-told]")
    page.mouse.up()
    moved_to(office, "near", start - 4)
    office.until("document.querySelector('#pencil').innerText.includes('filled twice')")
    assert page.locator('[data-part="twice"]').count() == 1


Touch = Callable[..., None]


@pytest.fixture
def fingers(office: Office) -> Touch:
    """One step of a touch with some fingers, as the browser's own protocol takes it."""
    session = office.context.new_cdp_session(office.page)

    def step(kind: str, *points: tuple[float, float]) -> None:
        told = [{"x": x, "y": y, "id": place} for place, (x, y) in enumerate(points)]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    return step


def test_two_fingers_size_the_picture_and_one_carries_a_part(office: Office, fingers: Touch) -> None:
    """On a tablet: pinched to twice the distance it is about twice as large; a part follows a finger in whole units."""
    page = office.page
    box = page.locator(".drawing-window").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    fingers("touchStart", (x - 60, y), (x + 60, y))
    for half in (70, 80, 90, 100, 110, 120):
        fingers("touchMove", (x - half, y), (x + half, y))
    fingers("touchEnd")
    office.until("parseInt(document.querySelector('[data-zoom-told]').innerText) > 150")
    office.go("P-1")
    start = stands(office, "near")
    front = page.locator('[data-part="front"][data-slug="near"] .hit').bounding_box()
    assert front is not None
    x, y, unit = front["x"] + front["width"] / 2, front["y"] + front["height"] / 2, front["height"] / 4
    fingers("touchStart", (x, y))
    for step in (0.5, 1.0, 1.5, 2.0):
        fingers("touchMove", (x, y - unit * step))
    fingers("touchEnd")
    moved_to(office, "near", start + 2)


@pytest.mark.parametrize("look", ["day", "night"])
def test_nobody_is_left_out_of_a_drawing(opens: Opens, look: str) -> None:
    """axe-core, its best practices and target sizes too, has nothing to object to on any drawing, a slip open."""
    office = opens("millrace", look=look)
    office.go("N-1")
    numbers = ("N-1", "N-2", "N-3", "N-4", "N-5", "N-6", "S-1", "P-1")
    for number in numbers:
        page = office.go(number)
        page.click(".in-words summary")
        page.locator(".in-words [data-touch]").first.click()
        office.until("!!document.querySelector('#working [data-slip]')")
        found = page.evaluate(
            AXE + "\naxe.run(document, {rules: {'target-size': {enabled: true}}}).then(r => r.violations.map("
            "v => v.id + ': ' + v.nodes.slice(0, 3).map(n => n.target.join(' ')).join(', ')))"
        )
        assert found == [], number
    assert office.console == []
    assert office.strangers == []
