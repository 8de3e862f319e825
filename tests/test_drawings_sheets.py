"""What must hold on every sheet: nothing leaves its box, nothing meets, nothing but plain SVG in the look's inks."""

from itertools import combinations

import pytest

from drawing_reading import SHEETS, SVG, around, drawn, holds, labels, overlap, pairs, root, segments, walk
from scantling.outputs.drawings.model import TitleBlock
from scantling.outputs.drawings.paper import LOOKS, Look, field_box, frame_box, sheet_box

Sheet = tuple[str, TitleBlock]
HARD = {"wall", "outer-wall", "centring", "ground", "footing", "post", "leaf"}
"""Lines that no word may touch."""
CLEAR_IN_A_ROOM, CLEAR = 2.0, 0.5
"""Least distance from words to such lines, in millimetres. 2.0 is the look's 8 px of a sketch of 1600 px."""
ALLOWED = {"svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path"}


@pytest.fixture(params=SHEETS)
def sheet(request: pytest.FixtureRequest) -> Sheet:
    """Every sheet by day; that night differs only in colour and weight has a test of its own."""
    return drawn(request.param, "day"), SHEETS[request.param][2]


@pytest.fixture(params=[f"{name}|{look}" for name in SHEETS if "strange" not in name for look in LOOKS])
def coloured(request: pytest.FixtureRequest) -> str:
    """Sheets in both looks."""
    name, look = request.param.split("|")
    return drawn(name, look)


def look_of(svg: str) -> Look:
    """The look a sheet is drawn in, by its paper."""
    return next(look for look in LOOKS.values() if f'fill="{look.paper}"' in svg)


def test_every_label_stays_in_the_box_it_belongs_to(sheet: Sheet) -> None:
    svg, block = sheet
    assert labels(svg)
    for label in labels(svg):
        assert holds(sheet_box(block.paper), label.box), label
        for box in label.within:
            assert holds(box, label.box), label
        if "border" not in label.parts:
            assert holds(frame_box(block.paper), label.box), label
        if "picture" in label.parts:
            assert holds(field_box(block.paper), label.box), label


def test_nothing_is_drawn_outside_the_field(sheet: Sheet) -> None:
    svg, block = sheet
    pieces = [piece for element, _, parts in walk(svg) if "picture" in parts for piece in segments(element)]
    assert pieces
    for piece in pieces:
        assert holds(field_box(block.paper), piece), piece


def test_no_two_labels_overlap(sheet: Sheet) -> None:
    svg, _ = sheet
    for one, other in combinations(labels(svg), 2):
        assert not overlap(one.box, other.box), (one, other)


def test_labels_keep_clear_of_walls_and_centring_marks(sheet: Sheet) -> None:
    svg, _ = sheet
    found = [(element, parts) for element, _, parts in walk(svg) if parts and parts[-1] in HARD]
    lines = [piece for element, _ in found for piece in segments(element)]
    for label in labels(svg):
        clear = CLEAR_IN_A_ROOM if "room" in label.parts else CLEAR
        for line in lines if "border" not in label.parts else ():
            assert not overlap(line.inset(-clear), label.box), (label, line)


def test_triangles_keep_clear_of_words_and_of_each_other(sheet: Sheet) -> None:
    svg, _ = sheet
    triangles = [
        around(pairs(element.get("d", "")))
        for element, _, parts in walk(svg)
        if parts and parts[-1] == "triangle" and element.tag == f"{SVG}path"
    ]
    assert not any(overlap(one, other) for one, other in combinations(triangles, 2))
    for label in labels(svg):
        if "triangle" not in label.parts:
            assert not any(overlap(box, label.box) for box in triangles), label


def test_only_plain_svg_is_used(sheet: Sheet) -> None:
    svg, _ = sheet
    for element in root(svg).iter():
        assert element.tag.removeprefix(SVG) in ALLOWED
        assert not any(name.startswith("on") or name in {"style", "class", "href"} for name in element.attrib)


def test_the_sheet_names_itself(sheet: Sheet) -> None:
    svg, block = sheet
    top = root(svg)
    assert top.get("role") == "img"
    assert top.get("aria-label") == top[0].text
    assert block.sheet in (top[0].text or "")
    assert top[1].tag == f"{SVG}desc"
    assert top[1].text


@pytest.mark.parametrize("name", SHEETS)
def test_night_differs_from_day_in_colour_and_weight_alone(name: str) -> None:
    day, night = (list(walk(drawn(name, look))) for look in ("day", "night"))
    assert len(day) == len(night)
    for (one, _, parts), (other, _, _) in zip(day, night, strict=True):
        free = {"fill", "stroke", "stroke-width"} | (
            {"d", "x", "y", "width", "height"} if {"outer-wall", "roof"} & {*parts} else set()
        )
        assert (one.tag, one.text) == (other.tag, other.text)
        assert {key: value for key, value in one.attrib.items() if key not in free} == {
            key: value for key, value in other.attrib.items() if key not in free
        }


def test_lines_of_the_picture_have_four_weights(coloured: str) -> None:
    look = look_of(coloured)
    weights = {look.outer, look.partition, look.door, look.rule}
    for element, _, parts in walk(coloured):
        dots = element.get("stroke-linecap") == "round"
        if "picture" in parts and element.get("stroke-width") and not dots:
            assert float(element.get("stroke-width", "")) in weights, (parts, element.attrib)


def test_colours_are_the_looks_own(coloured: str) -> None:
    look = look_of(coloured)
    own = {look.paper, look.ink, look.quiet, look.hairline, look.pencil, "none"}
    for element in root(coloured).iter():
        assert {element.get("fill", "none"), element.get("stroke", "none")} <= own


def test_the_same_model_gives_the_same_bytes() -> None:
    """What was drawn before for all who look at it, and once more."""
    for name, (draw, model, _) in SHEETS.items():
        if "strange" not in name:
            assert draw(model, LOOKS["day"]) == drawn(name, "day")
