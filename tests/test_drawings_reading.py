"""Reads a drawing back with the standard XML parser, and the tests of what must hold on every sheet."""

import dataclasses
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest

from scantling.outputs.drawings import rooms, schedule, section
from scantling.outputs.drawings.lettering import (
    BEFORE,
    BEHIND,
    BOOK,
    EVEN,
    LABEL,
    SIGN,
    SLANT,
    STRONG,
    Face,
    Hand,
    width,
)
from scantling.outputs.drawings.paper import LOOKS, Box, Look, field_box, frame_box, sheet_box
from test_drawings_offices import LARGE_ROOMS, LARGE_SECTION, SMALL_ROOMS, SMALL_SECTION
from test_drawings_stress import STRESS_ROOMS, STRESS_SECTIONS

SVG = "{http://www.w3.org/2000/svg}"
FACES = {(face.family, face.weight, face.style): face for face in (SIGN, LABEL, BOOK, STRONG, SLANT, EVEN)}
ROOM_SHEETS = {"small": SMALL_ROOMS, "large": LARGE_ROOMS, **STRESS_ROOMS}
SECTION_SHEETS = {"small": SMALL_SECTION, "large": LARGE_SECTION, **STRESS_SECTIONS}
SHEETS = {
    **{f"N-1 {name}": (rooms.owners_sheet, model, model.block) for name, model in ROOM_SHEETS.items()},
    **{
        f"N-2 {name}": (schedule.technicians_sheet, model, model.technical_block)
        for name, model in ROOM_SHEETS.items()
    },
    **{f"S-1 {name}": (section.section_sheet, model, model.block) for name, model in SECTION_SHEETS.items()},
}


@dataclass(frozen=True)
class Label:
    """One text element: what it says, where its ink may fall, and the boxes and parts it stands in."""

    text: str
    box: Box
    within: tuple[Box, ...]
    parts: tuple[str, ...]


def face_of(element: ET.Element) -> Face:
    family = element.get("font-family", "").split(",")[0].strip("'")
    return FACES[family, int(element.get("font-weight", "400")), element.get("font-style", "normal")]


def label_of(element: ET.Element, within: tuple[Box, ...], parts: tuple[str, ...]) -> Label:
    """Measured from the attributes alone: advance widths, letter spacing, and every dx."""
    size, left, base = (float(element.get(name, "")) for name in ("font-size", "x", "y"))
    text = "".join(element.itertext())
    hand = Hand(face_of(element), size, spacing=float(element.get("letter-spacing", "0")))
    wide = width(text, hand)
    pulls = sum(float(part.get("dx", "0")) for part in element)
    stops = text.count(".") if hand.face.even else 0
    assert pulls == pytest.approx(
        -size * stops * (BEFORE + BEHIND) + size * BEHIND * text.endswith(".") * bool(stops), abs=0.01
    )
    return Label(text, Box(left, base - 0.75 * size, left + wide, base + 0.22 * size), within, parts)


def walk(root: ET.Element) -> Iterator[tuple[ET.Element, tuple[Box, ...], tuple[str, ...]]]:
    """Every element with the boxes and parts it stands in."""

    def down(element: ET.Element, within: tuple[Box, ...], parts: tuple[str, ...]):
        if element.get("data-box"):
            within = (*within, Box(*map(float, element.get("data-box", "").split())))
        if element.get("data-part"):
            parts = (*parts, element.get("data-part", ""))
        yield element, within, parts
        for child in element:
            yield from down(child, within, parts)

    yield from down(root, (), ())


@cache
def labels(svg: str) -> list[Label]:
    found = walk(ET.fromstring(svg))
    return [label_of(element, within, parts) for element, within, parts in found if element.tag == f"{SVG}text"]


def said(svg: str) -> str:
    """All words of a sheet in one string."""
    return " ".join(label.text for label in labels(svg))


def holds(outer: Box, inner: Box, slack: float = 0.02) -> bool:
    return (
        inner.left >= outer.left - slack
        and inner.right <= outer.right + slack
        and inner.top >= outer.top - slack
        and inner.bottom <= outer.bottom + slack
    )


def overlap(one: Box, other: Box) -> bool:
    touch = 0.01  # neighbours on one row abut
    return (
        one.left < other.right - touch
        and other.left < one.right - touch
        and one.top < other.bottom - touch
        and other.top < one.bottom - touch
    )


def segments(element: ET.Element) -> Iterator[Box]:
    """Straight pieces of a line or of a path of M, L and Z, as thin boxes."""
    if element.tag == f"{SVG}line":
        x1, y1, x2, y2 = (float(element.get(name, "")) for name in ("x1", "y1", "x2", "y2"))
        yield Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))
    elif element.tag == f"{SVG}path" and "a" not in element.get("d", ""):
        for course in re.findall(r"M[^M]*", element.get("d", "")):
            points = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", course)]
            ends = [*points[1:], points[0]] if "Z" in course else points[1:]
            for (x1, y1), (x2, y2) in zip(points, ends, strict=False):
                if x1 == x2 or y1 == y2:
                    yield Box(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))


def grown(box: Box, by: float) -> Box:
    return box.inset(-by)


@cache
def drawn(name: str, look: str) -> str:
    draw, model, _ = SHEETS[name]
    return draw(model, LOOKS[look])


@pytest.fixture(params=SHEETS)
def sheet(request):
    """Every sheet by day; that night differs only in colour and weight has a test of its own."""
    return drawn(request.param, "day"), SHEETS[request.param][2]


@pytest.fixture(
    params=[(name, look) for name in SHEETS if "hostile" not in name for look in LOOKS],
    ids=lambda each: f"{each[0]} {each[1]}",
)
def coloured(request):
    return drawn(*request.param)


@pytest.mark.parametrize("name", SHEETS)
def test_night_differs_from_day_in_colour_and_weight_alone(name):
    parts = [walk(ET.fromstring(drawn(name, look))) for look in ("day", "night")]
    for (one, _, kinds), (other, _, _) in zip(*parts, strict=True):
        assert one.tag == other.tag
        assert one.text == other.text
        same = {
            "fill",
            "stroke",
            "stroke-width",
            *(["d", "x", "y", "width", "height"] if {"outer-wall", "roof"} & {*kinds} else []),
        }
        assert {k: v for k, v in one.attrib.items() if k not in same} == {
            k: v for k, v in other.attrib.items() if k not in same
        }


def test_every_label_stays_in_the_box_it_belongs_to(sheet):
    svg, block = sheet
    found = labels(svg)
    assert found
    for label in found:
        assert holds(sheet_box(block.paper), label.box), label
        for box in label.within:
            assert holds(box, label.box), label
        if "border" not in label.parts:
            assert holds(frame_box(block.paper), label.box), label
        if "picture" in label.parts:
            assert holds(field_box(block.paper), label.box), label


def test_nothing_is_drawn_outside_the_field(sheet):
    svg, block = sheet
    for element, _, parts in walk(ET.fromstring(svg)):
        if "picture" in parts:
            for piece in segments(element):
                assert holds(field_box(block.paper), piece), (parts, piece)


def test_no_two_labels_overlap(sheet):
    svg, _ = sheet
    for one, other in combinations(labels(svg), 2):
        assert not overlap(one.box, other.box), (one, other)


def test_labels_keep_clear_of_walls_and_centring_marks(sheet):
    svg, _ = sheet
    lines = [
        (piece, parts[-1])
        for element, _, parts in walk(ET.fromstring(svg))
        if parts and parts[-1] in {"wall", "outer-wall", "centring", "ground", "footing", "post"}
        for piece in segments(element)
    ]
    for label in labels(svg):
        if "border" in label.parts:
            continue
        for piece, kind in lines:
            clear = 2.0 if "room" in label.parts else 0.5
            assert not overlap(grown(piece, clear), label.box), (label, kind, piece)


def test_triangles_and_clouds_keep_clear_of_words(sheet):
    svg, _ = sheet
    triangles = []
    for element, _, parts in walk(ET.fromstring(svg)):
        if parts and parts[-1] == "triangle" and element.tag == f"{SVG}path":
            points = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d", ""))]
            triangles.append(
                Box(
                    min(x for x, _ in points),
                    min(y for _, y in points),
                    max(x for x, _ in points),
                    max(y for _, y in points),
                )
            )
    for label in labels(svg):
        if "triangle" not in label.parts:
            assert not any(overlap(box, label.box) for box in triangles), label


def test_only_plain_svg_is_used(sheet):
    svg, _ = sheet
    allowed = {"svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path"}
    for element in ET.fromstring(svg).iter():
        assert element.tag.removeprefix(SVG) in allowed
        assert not any(name.startswith("on") or name in {"style", "class", "href"} for name in element.attrib)


def test_the_root_names_itself(sheet):
    svg, block = sheet
    root = ET.fromstring(svg)
    assert root.get("role") == "img"
    assert root.get("aria-label") == root[0].text
    assert block.sheet in (root[0].text or "")
    assert root[1].tag == f"{SVG}desc"


def test_strokes_of_the_picture_have_four_weights(coloured):
    svg = coloured
    look = next(look for look in LOOKS.values() if f'fill="{look.paper}"' in svg)
    weights = {look.outer, look.partition, look.door, look.rule}
    for element, _, parts in walk(ET.fromstring(svg)):
        if "picture" in parts and element.get("stroke-width") and element.get("stroke-linecap") != "round":
            assert float(element.get("stroke-width", "")) in weights, (parts, element.attrib)


def test_colours_are_the_looks_own(coloured):
    svg = coloured
    look: Look = next(look for look in LOOKS.values() if f'fill="{look.paper}"' in svg)
    own = {look.paper, look.ink, look.quiet, look.hairline, look.pencil, "none"}
    for element in ET.fromstring(svg).iter():
        assert {element.get("fill", "none"), element.get("stroke", "none")} <= own


def strings(value: object) -> Iterator[str]:
    """Every text of a view model."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from strings(each)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            if field.name not in {"figure", "slug", "paper", "code"}:
                yield from strings(getattr(value, field.name))


def numbers(text: str) -> set[str]:
    return set(re.findall(r"\d+(?:\.\d+)*", text))


@pytest.mark.parametrize("size", ["small", "large"])
def test_every_number_of_the_model_is_on_the_sheets(size):
    model = ROOM_SHEETS[size]
    seen = numbers(said(rooms.owners_sheet(model, LOOKS["day"]))) | numbers(
        said(schedule.technicians_sheet(model, LOOKS["day"]))
    )
    wanted = {number for text in strings(model) for number in numbers(text)}
    assert wanted <= seen, wanted - seen
    assert {str(room.number) for room in model.rooms} <= seen
    cut = SECTION_SHEETS[size]
    seen = numbers(said(section.section_sheet(cut, LOOKS["day"])))
    wanted = {number for text in strings(cut) for number in numbers(text)}
    assert wanted <= seen, wanted - seen


def figures(value: object) -> set[str]:
    """Every figure id of a view model."""
    if isinstance(value, tuple):
        return set().union(*map(figures, value))
    if dataclasses.is_dataclass(value):
        own = {getattr(value, "figure", "")} - {""}
        return own.union(*(figures(getattr(value, field.name)) for field in dataclasses.fields(value)))
    return set()


@pytest.mark.parametrize("size", ["small", "large"])
def test_every_figure_is_underlined_and_carries_its_id(size):
    model = ROOM_SHEETS[size]
    seen: set[str] = set()
    for svg in (rooms.owners_sheet(model, LOOKS["day"]), schedule.technicians_sheet(model, LOOKS["day"])):
        for element in ET.fromstring(svg).iter():
            if element.get("data-figure"):
                seen.add(element.get("data-figure", ""))
                assert [child.tag.removeprefix(SVG) for child in element] == ["text", "line"]
    assert seen == figures(model)
    svg = section.section_sheet(SECTION_SHEETS[size], LOOKS["day"])
    assert {element.get("data-figure") for element in ET.fromstring(svg).iter()} - {None} == figures(
        SECTION_SHEETS[size]
    )
