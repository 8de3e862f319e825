"""Drawings made to answer to touch: every mark has a name and one tab stop leads in; nothing that is drawn is lost."""

import re
import time
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawing_plans import plan_of
from scantling.outputs.drawings.drawn import drawings, one
from scantling.outputs.drawings.sheet_set import drawn_sheets
from scantling.web.interactive import touchable, touches
from scantling.web.slips import names

SVG = "{http://www.w3.org/2000/svg}"
SMALL = """<title id="sheet-title">x</title>
<g data-figure="a.b">
<text x="1" y="2" font-size="4">1</text>
</g>
<g data-part="room" data-room="r" data-box="0 0 10 10">
</g>
"""
"""A drawing of one figure and one room."""
SCENARIOS = ("millrace", "fold", "brackwater")
SHEETS = [(scenario, number) for scenario in SCENARIOS for number in drawn_sheets(plan_of(scenario))]
every = pytest.mark.parametrize(("scenario", "number"), SHEETS)


def made(scenario: str, number: str, moved: dict[str, tuple[str, str]] | None = None) -> ET.Element:
    """A drawing as a page holds it, read by an XML reader."""
    plan = plan_of(scenario)
    return ET.fromstring(str(touchable(one(plan, number), number, moved or {}, names(plan))))


@every
def test_one_sheet_alone_is_the_same_as_among_all(scenario: str, number: str) -> None:
    """Byte for byte."""
    plan = plan_of(scenario)
    assert one(plan, number) == drawings(plan)[number]


@every
def test_every_mark_is_reachable_and_named(scenario: str, number: str) -> None:
    """WAI-ARIA 1.2: a role and a name each; one tab stop a drawing; nothing interactive inside what hides its children."""
    root = made(scenario, number)
    marks = [each for each in root.iter() if "touch" in (each.get("class") or "").split()]
    assert marks
    assert all(each.get("role") in {"link", "button"} and each.get("aria-label", "").strip() for each in marks)
    assert [each.get("tabindex") for each in marks].count("0") == 1
    assert {each.get("tabindex") for each in marks} <= {"0", "-1"}
    for button in [each for each in marks if each.get("role") == "button"]:
        assert not [inner for inner in button.iter() if inner is not button and inner.get("tabindex")]
    assert root.get("role") == "group"
    assert root.get("aria-label")


@every
def test_nothing_drawn_is_lost(scenario: str, number: str) -> None:
    """Every word and every figure of the sheet in the book stands in the sheet that can be touched, in the same order."""
    before = ET.fromstring(one(plan_of(scenario), number).encode())
    after = made(scenario, number)
    texts = [["".join(each.itertext()) for each in root.iter(f"{SVG}text")] for root in (before, after)]
    assert texts[0] == texts[1]
    figures = [
        [each.get("data-figure") for each in root.iter() if each.get("data-figure")] for root in (before, after)
    ]
    assert figures[0] == figures[1]
    linked = [each.get("data-figure") for each in after.iter() if each.get("role") == "link"]
    assert linked == figures[0]


@every
def test_ids_belong_to_one_sheet(scenario: str, number: str) -> None:
    """Several drawings in one page share no id (HTML, section 3.2.6)."""
    ids = [each.get("id") for each in made(scenario, number).iter() if each.get("id")]
    assert all(id_ and id_.startswith(number) for id_ in ids)


@every
def test_everything_that_can_be_touched_has_a_name(scenario: str, number: str) -> None:
    """No thing of a drawing is known by its slug alone."""
    plan = plan_of(scenario)
    found = touches(one(plan, number))
    assert found
    assert set(found) <= names(plan).keys()


def test_what_moved_is_marked_with_before_and_after() -> None:
    """A stroke beside the figure, and both values where it is pointed at or heard."""
    id_ = "brief.devices.office-pcs.count"
    root = made("millrace", "N-1", {id_: ("12", "14")})
    (figure,) = [each for each in root.iter() if each.get("data-figure") == id_]
    assert "moved" in (figure.get("class") or "").split()
    assert [each.text for each in figure.iter(f"{SVG}title")] == ["12 \u2192 14"]
    assert [each for each in figure if each.get("class") == "moved-mark"]
    assert figure.get("aria-label") == "devices office-pcs count: 14, was 12"
    others = [each for each in root.iter() if each.get("class") == "touch moved" and each is not figure]
    assert not others


def test_a_new_finding_is_marked() -> None:
    """Its triangle says so."""
    root = made("millrace", "N-1", {"finding/4": ("nothing", "new")})
    marked = [
        each for each in root.iter() if each.get("data-touch") == "finding/4" and "moved" in (each.get("class") or "")
    ]
    assert marked
    assert all("new" in [title.text for title in each.iter(f"{SVG}title")] for each in marked)


@given(st.text(max_size=40), st.text(max_size=40))
def test_hostile_names_and_values_stay_text(name: str, value: str) -> None:
    """Whatever a label or a value says, an XML reader reads the same drawing, and finds no element of theirs."""
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="x">\n{SMALL}</svg>\n'
    hostile = f'"><script>{name}</script><g onload="'
    told = touchable(svg, "N-1", {"a.b": (hostile, value)}, {"room/r": hostile, "figure/a.b": hostile})
    root = ET.fromstring(str(told))
    assert not list(root.iter(f"{SVG}script"))
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {"svg", "g", "text", "rect", "title", "path"}
    assert not [each for each in root.iter() if any(key.startswith("on") for key in each.keys())]  # noqa: SIM118 - an element has no iterator


def test_a_drawing_is_made_touchable_quickly() -> None:
    """String work: the largest drawing in a few milliseconds (ten are allowed; the best of five counts on a busy machine)."""
    plan = plan_of("millrace")
    svg, known = max(drawings(plan).values(), key=len), names(plan)
    times = []
    for _ in range(5):
        start = time.process_time()
        touchable(svg, "N-4", {}, known)
        times.append(time.process_time() - start)
    assert min(times) < 0.010


def test_a_row_of_the_matrix_is_whole() -> None:
    """Every ordered pair of places can be asked about, the shut ones too: n rooms, outside and firewall."""
    plan = plan_of("fold")
    rooms = len(re.findall(r'data-part="zone"', one(plan, "N-4")))
    cells = [touch for touch in touches(one(plan, "N-3")) if touch.startswith("cell/")]
    assert len(cells) == (rooms + 2) * (rooms + 1)
