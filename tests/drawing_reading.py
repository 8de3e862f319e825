"""Reads a drawing back with the standard XML parser: its labels, where they stand, and its lines."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from drawing_cabinets import LARGE_CABINET, SMALL_CABINET, STRESS_CABINETS, hostile_cabinet
from drawing_networks import (
    DOORED, MAPS, MATRICES, PATHS, hostile_doored, hostile_map, hostile_matrix, hostile_paths, schedule as door_sheet,
)  # fmt: skip
from drawing_offices import LARGE_ROOMS, SMALL_ROOMS
from drawing_rehearsals import DAYS, DRILLS, TRIES, hostile_days, hostile_drill, hostile_tries
from drawing_servers import LARGE_SECTION, SMALL_SECTION
from drawing_stress import STRANGE, STRESS_ROOMS, STRESS_SECTIONS
from scantling.outputs.drawings import (
    address_map, busiest, cabinet, door_schedule, drill, matrix, paths, rooms, schedule, section, tries,
)  # fmt: skip
from scantling.outputs.drawings.lettering import BEFORE, BEHIND, BOOK, EVEN, LABEL, SIGN, SLANT, STRONG, Hand, width
from scantling.outputs.drawings.model import TitleBlock
from scantling.outputs.drawings.paper import LOOKS, Box, Look

SVG = "{http://www.w3.org/2000/svg}"
FACES = {(face.family, face.weight, face.style): face for face in (SIGN, LABEL, BOOK, STRONG, SLANT, EVEN)}
ROOM_SHEETS = {"small": SMALL_ROOMS, "large": LARGE_ROOMS, **STRESS_ROOMS}
SECTION_SHEETS = {"small": SMALL_SECTION, "large": LARGE_SECTION, **STRESS_SECTIONS}
CABINET_SHEETS = {
    "small": SMALL_CABINET, "large": LARGE_CABINET, **STRESS_CABINETS,
    **{f"strange {place}": hostile_cabinet(text) for place, text in enumerate(STRANGE)},
}  # fmt: skip
STRANGELY = {f"strange {place}": text for place, text in enumerate(STRANGE)}
NETWORKS: dict[str, tuple[Callable[[Any, Look], str], dict[str, Any]]] = {
    "N-1": (
        rooms.owners_sheet,
        {**DOORED, **{f"doors {name}": hostile_doored(text) for name, text in STRANGELY.items()}},
    ),
    "N-3": (matrix.matrix_sheet, {**MATRICES, **{name: hostile_matrix(text) for name, text in STRANGELY.items()}}),
    "N-4": (address_map.address_sheet, {**MAPS, **{name: hostile_map(text) for name, text in STRANGELY.items()}}),
    "N-5": (paths.paths_sheet, {**PATHS, **{name: hostile_paths(text) for name, text in STRANGELY.items()}}),
    "N-6": (
        door_schedule.schedule_sheet,
        {
            f"{name} {place}": door_sheet(each, part)
            for name, each in {**DOORED, **{name: hostile_doored(text) for name, text in STRANGELY.items()}}.items()
            for place, part in enumerate(door_schedule.paged(each.doors or ())[:3])
        },
    ),
    "T-1": (tries.tries_sheet, {**TRIES, **{name: hostile_tries(text) for name, text in STRANGELY.items()}}),
    "T-2": (drill.drill_sheet, {**DRILLS, **{name: hostile_drill(text) for name, text in STRANGELY.items()}}),
    "T-3": (busiest.days_sheet, {**DAYS, **{name: hostile_days(text) for name, text in STRANGELY.items()}}),
}
SHEETS: dict[str, tuple[Callable[[Any, Look], str], Any, TitleBlock]] = {
    **{f"N-1 {name}": (rooms.owners_sheet, each, each.block) for name, each in ROOM_SHEETS.items()},
    **{f"N-2 {name}": (schedule.technicians_sheet, each, each.technical_block) for name, each in ROOM_SHEETS.items()},
    **{f"N-2 {name}": (schedule.technicians_sheet, each, each.technical_block) for name, each in DOORED.items()},
    **{
        f"{sheet} {name}": (draw, each, each.block)
        for sheet, (draw, many) in NETWORKS.items()
        for name, each in many.items()
    },
    **{f"S-1 {name}": (section.section_sheet, each, each.block) for name, each in SECTION_SHEETS.items()},
    **{f"P-1 {name}": (cabinet.cabinet_sheet, each, each.block) for name, each in CABINET_SHEETS.items()},
}
Found = tuple[ET.Element, tuple[Box, ...], tuple[str, ...]]
"""An element, the boxes its words belong in, and the parts of the drawing it stands in."""


@dataclass(frozen=True)
class Label:
    """One text element: what it says, where its ink may fall, and the boxes and parts it stands in."""

    text: str
    box: Box
    within: tuple[Box, ...]
    parts: tuple[str, ...]


@cache
def drawn(name: str, look: str) -> str:
    """One of the sheets in one look, as SVG text."""
    draw, model, _ = SHEETS[name]
    return draw(model, LOOKS[look])


def root(svg: str) -> ET.Element:
    """The drawing as a tree. It is our own output, and the parser is the one every reader has."""
    return ET.fromstring(svg)


def walk(svg: str) -> Iterator[Found]:
    """Every element with the boxes and parts it stands in."""
    return _down(root(svg), (), ())


def _down(element: ET.Element, within: tuple[Box, ...], parts: tuple[str, ...]) -> Iterator[Found]:
    if element.get("data-box"):
        left, top, right, bottom = map(float, element.get("data-box", "").split())
        within = (*within, Box(left, top, right, bottom))
    if element.get("data-part"):
        parts = (*parts, element.get("data-part", ""))
    yield element, within, parts
    for child in element:
        yield from _down(child, within, parts)


def label_of(element: ET.Element, within: tuple[Box, ...], parts: tuple[str, ...]) -> Label:
    """Measured from the attributes alone: advance widths, letter spacing, and every dx."""
    size, left, base = (float(element.get(name, "")) for name in ("font-size", "x", "y"))
    text = "".join(element.itertext())
    family = element.get("font-family", "").split(",")[0].strip("'")
    face = FACES[family, int(element.get("font-weight", "400")), element.get("font-style", "normal")]
    hand = Hand(face, size, spacing=float(element.get("letter-spacing", "0")))
    pulls = sum(float(part.get("dx", "0")) for part in element)
    stops = text.count(".") if face.even else 0
    unpulled = BEHIND if stops and text.endswith(".") else 0.0
    assert pulls == pytest.approx(size * (unpulled - stops * (BEFORE + BEHIND)), abs=0.01)
    return Label(text, Box(left, base - 0.75 * size, left + width(text, hand), base + 0.22 * size), within, parts)


@cache
def labels(svg: str) -> list[Label]:
    """Every text of a drawing."""
    return [label_of(element, within, parts) for element, within, parts in walk(svg) if element.tag == f"{SVG}text"]


def said(svg: str) -> str:
    """All words of a sheet in one string, blanks plain."""
    return " ".join(label.text for label in labels(svg)).replace("\u00a0", " ")


def holds(outer: Box, inner: Box, slack: float = 0.02) -> bool:
    """Whether the inner box lies in the outer one."""
    across = inner.left >= outer.left - slack and inner.right <= outer.right + slack
    return across and inner.top >= outer.top - slack and inner.bottom <= outer.bottom + slack


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share more than an edge."""
    touch = 0.01
    across = one.left < other.right - touch and other.left < one.right - touch
    return across and one.top < other.bottom - touch and other.top < one.bottom - touch


def pairs(course: str) -> list[tuple[float, float]]:
    """The points of path data without arcs, or of one course of it."""
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", course)]


def around(points: list[tuple[float, float]]) -> Box:
    """The box round some points."""
    across, down = zip(*points, strict=True)
    return Box(min(across), min(down), max(across), max(down))


def segments(element: ET.Element) -> Iterator[Box]:
    """Upright and level pieces of a line, or of a path of M, L and Z, as thin boxes."""
    if element.tag == f"{SVG}line":
        x1, y1, x2, y2 = (float(element.get(name, "")) for name in ("x1", "y1", "x2", "y2"))
        yield around([(x1, y1), (x2, y2)])
    data = element.get("d", "")
    for course in re.findall(r"M[^M]*", data) if "a" not in data else ():
        points = pairs(course)
        ends = [*points[1:], points[0]] if "Z" in course else points[1:]
        boxes = (around([start, end]) for start, end in zip(points, ends, strict=False))
        yield from (box for box in boxes if 0 in {box.width, box.height})
