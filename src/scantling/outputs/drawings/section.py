"""Sheet S-1, the server in section: machines as floors, arrays as joists, copies as outbuildings, battery below."""

from dataclasses import dataclass

from scantling.outputs.drawings import joists, outbuildings, pencil, storeys
from scantling.outputs.drawings.fittings import earth, shell
from scantling.outputs.drawings.floorplan import WALL
from scantling.outputs.drawings.lettering import BOOK, SIGN, Hand
from scantling.outputs.drawings.model import SectionSheet, plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.sheet import Margin, page
from scantling.outputs.drawings.svg import Element, element

HOST, TITLE = 15.0, 25.0
WIDE = 165.0
"""Width of the server between its inner faces."""
FLOOR = (8.0, 17.0)
HOST_NAME = Hand(SIGN, 7.0)
HOST_LINE = Hand(BOOK, 4.2, "quiet")
PLAN_TITLE = Hand(SIGN, 7.0)
READING = Hand(BOOK, 4.0, "quiet")
READ = (
    "Cores and memory to scale. Full of ink: the floor, or filled now. Hatched: up to what is expected, or filled at "
    "the horizon. Open: up to the ceiling, or what is usable. A crossed square is a disk."
)


@dataclass(frozen=True, slots=True)
class Levels:
    """The building between its inner faces, and its levels from the top down."""

    building: Box
    floors: float
    storey: float
    ground: float
    footing: float


def section_sheet(model: SectionSheet, look: Look) -> str:
    """Sheet S-1 as SVG text."""
    pen = Pen(look)
    at = levels(model)
    parts = (
        _host(pen, model, at),
        _structure(pen, model, at),
        storeys.beam(
            pen, model, Box(at.building.left, at.building.top, at.building.right, at.building.top + storeys.ATTIC)
        ),
        storeys.heads(pen, model, Box(at.building.left, at.floors - storeys.HEADS, at.building.right, at.floors)),
        *_floors(pen, model, at),
        *_arrays(pen, model, at),
        _footing(pen, model, at),
        _beside(pen, model, at),
        _marks(pen, model, at),
        _under_title(pen, model, at),
    )
    floors = ", ".join(floor.name for floor in model.floors)
    told = f"Section of the server {model.host.name}: machines {floors}; arrays below; copies beside it."
    return page(model.block, look, parts, Margin(model.notes, model.pencil), told)


def levels(model: SectionSheet) -> Levels:
    """Everything at its height: storeys as tall as there is room for, the whole in the middle of the field."""
    field = field_box(model.block.paper)
    fixed = storeys.ATTIC + storeys.HEADS + len(model.arrays) * joists.ROW + joists.FOOTING
    room = field.height - 12 - HOST - TITLE - fixed
    storey = min(FLOOR[1], room / max(1, len(model.floors)))
    height = fixed + storey * max(1, len(model.floors))
    top = field.top + 8 + HOST + max(0.0, (field.height - 12 - HOST - TITLE - height) / 2)
    left = field.left + 22
    floors = top + storeys.ATTIC + storeys.HEADS
    ground = floors + storey * max(1, len(model.floors))
    footing = ground + len(model.arrays) * joists.ROW
    return Levels(Box(left, top, left + WIDE, footing), floors, storey, ground, footing)


def _host(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    box = at.building
    words = list(pen.words(model.host.name, (box.left, box.top - 10.5), HOST_NAME, box.width - 24))
    room = box.width - (26 if model.host.findings else 0)
    words += pen.words(model.host.line, (box.left, box.top - 4.6), HOST_LINE, room)
    words += pencil.triangles(pen, model.pencil, model.host.findings, (box.right, box.top - 9.5), 22)
    whole = Box(box.left, box.top - 17.5, box.right, box.top - 2.5)
    return element("g", *words, data_part="host", data_box=whole.written)


def _structure(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    """The outer wall as the section cuts it, slabs between storeys, the ground and the earth below it."""
    box = at.building
    parts = shell(pen, box)
    parts.append(pen.line((box.left, at.floors - storeys.HEADS), (box.right, at.floors - storeys.HEADS), "rule"))
    for place in range(max(1, len(model.floors))):
        level = at.floors + place * at.storey
        parts.append(
            pen.line((box.left, level), (box.right, level), "partition" if place == 0 else "door", data_part="wall")
        )
    for place in range(1, len(model.arrays)):
        level = at.ground + place * joists.ROW
        parts.append(pen.line((box.left, level), (box.right, level), "rule", data_part="wall"))
    parts.append(pen.line((box.left, at.ground), (box.right, at.ground), "outer", data_part="wall"))
    field = field_box(model.block.paper)
    for left, right in ((field.left + 7, box.left - WALL), (box.right + WALL, field.right - 7)):
        parts += earth(pen, left, right, at.ground)
    return element("g", *parts, data_part="structure")


def _floors(pen: Pen, model: SectionSheet, at: Levels) -> tuple[Element, ...]:
    box = at.building
    if not model.floors:
        return (storeys.empty(pen, Box(box.left, at.floors, box.right, at.ground)),)
    return tuple(
        storeys.floor_row(
            pen,
            model,
            floor,
            Box(box.left, at.floors + place * at.storey, box.right, at.floors + (place + 1) * at.storey),
        )
        for place, floor in enumerate(model.floors)
    )


def _arrays(pen: Pen, model: SectionSheet, at: Levels) -> tuple[Element, ...]:
    box = at.building
    tops = (at.ground + place * joists.ROW for place in range(len(model.arrays)))
    return tuple(
        joists.array_row(pen, array, Box(box.left, top, box.right, top + joists.ROW))
        for array, top in zip(model.arrays, tops, strict=True)
    )


def _footing(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    box = Box(at.building.left - WALL, at.footing + WALL, at.building.right + WALL, at.footing + joists.FOOTING)
    return joists.foundation(pen, model.foundation, box) if model.foundation else joists.no_foundation(pen, box)


def _beside(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    field = field_box(model.block.paper)
    wall = at.building.right + WALL
    plots = Box(wall, field.top + 8, field.right - 7, at.ground + 5.0)
    return outbuildings.outbuildings(pen, model.copies, model.pencil, outbuildings.Site(plots, wall))


def _marks(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    """Triangles left of the building, level with the storey, the array or the footing they are about."""
    rows = [(floor.findings, at.floors + (place + 0.5) * at.storey) for place, floor in enumerate(model.floors)]
    rows += [(array.findings, at.ground + (place + 0.5) * joists.ROW) for place, array in enumerate(model.arrays)]
    right = at.building.left - WALL - 1.6
    drawn = [
        each for found, level in rows for each in pencil.triangles(pen, model.pencil, found, (right, level + 0.9), 16)
    ]
    if model.foundation:
        foot = (right - joists.SPREAD, at.footing + joists.FOOTING / 2 + 1.5)
        drawn += pencil.triangles(pen, model.pencil, model.foundation.findings, foot, 9)
    return element("g", *drawn, data_part="marks")


def _under_title(pen: Pen, model: SectionSheet, at: Levels) -> Element:
    field = field_box(model.block.paper)
    left, right = at.building.left - WALL, field.right - 9
    base = at.footing + joists.FOOTING + 11
    words = pen.words(model.block.title, (left, base), PLAN_TITLE, right - left)
    told, _ = pen.paragraph(plain(READ), (left, base + 6.4), READING, right - left, 2)
    return element("g", *words, *told, data_part="plan-title")
