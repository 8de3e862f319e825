"""Fronts of parts, drawn by hand and by no maker's look: batteries, servers with their bays, switches with their ports."""

import math
from itertools import product

from scantling.outputs.drawings import pencil, ruling
from scantling.outputs.drawings.cabinet_model import Front
from scantling.outputs.drawings.lettering import BOOK, Hand, width
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.svg import Element, element

TOWER, BOX = 0.9, 0.55
"""Shares of a face's width at which things on a board are drawn: their widths are not known."""
ASIDE = Hand(BOOK, 3.2, "quiet")
KEPT = "panels, not yet planned"
DASHED = "1.6 1.1"
A_ROW = 4
"""Wide bays beside each other in a server of full width."""
MOST_A_ROW = 24
GAP = 0.35
"""Between bays or ports, in millimetres."""


def front(pen: Pen, one: Front, face: Box) -> Element:
    """One thing within the width of the face."""
    drawn = {
        "battery": _battery, "rack": _rack, "tower": _tower, "box": _box, "switch": _switch, "aside": _aside, "other": _other,
    }  # fmt: skip
    return element(
        "g",
        *drawn[one.kind](pen, one, face),
        data_part="front",
        data_kind=one.kind,
        data_slug=one.slug or None,
        data_lowest=str(one.lowest),
        data_height=str(one.height),
        data_box=face.written,
    )


def _battery(pen: Pen, one: Front, face: Box) -> list[Element]:
    """Slots for air at the left, the sign of a cell at the right: a long stroke and a short one."""
    parts = [_outline(pen, face)]
    middle, step = (face.top + face.bottom) / 2, min(1.8, face.height / 5)
    rows = max(1, int(face.height * 0.6 / step))
    top = middle - (rows - 1) * step / 2
    for row in range(rows):
        level = top + row * step
        parts.append(pen.line((face.left + face.width * 0.08, level), (face.left + face.width * 0.4, level), "rule"))
    reach, x = face.height * 0.3, face.right - face.width * 0.16
    for shift, share in ((-1.4, 1.0), (1.4, 0.5)) if one.height else ():
        parts.append(pen.line((x + shift, middle - reach * share), (x + shift, middle + reach * share), "door"))
    parts.append(pen.line((x - 6.0, middle), (x - 1.4, middle), "rule"))
    parts.append(pen.line((x + 1.4, middle), (x + 6.0, middle), "rule"))
    return parts


def _rack(pen: Pen, one: Front, face: Box) -> list[Element]:
    """Ears with a screw each, and the bays between them."""
    ear = face.width * 0.035
    inner = Box(face.left + ear, face.top, face.right - ear, face.bottom)
    parts = [_outline(pen, face), pen.line((inner.left, face.top), (inner.left, face.bottom), "rule")]
    parts.append(pen.line((inner.right, face.top), (inner.right, face.bottom), "rule"))
    a_row = A_ROW if one.bays <= A_ROW * one.height * 2 else math.ceil(one.bays / max(1, one.height))
    return [*parts, *_bays(pen, one, inner.inset(0.9, 0.7), min(MOST_A_ROW, max(1, a_row)))]


def _bays(pen: Pen, one: Front, box: Box, a_row: int) -> list[Element]:
    """Open where they are free; a filled one has its grip."""
    if not one.bays or box.width <= 0 or box.height <= 0:
        return []
    rows = math.ceil(one.bays / a_row)
    wide, high = box.width / a_row - GAP, min(box.height / rows - GAP, 6.0)
    parts: list[Element] = []
    for place in range(one.bays):
        left = box.left + place % a_row * (wide + GAP)
        top = box.bottom - (place // a_row + 1) * (high + GAP)
        bay = Box(left, top, left + wide, top + high)
        parts.append(pen.box(bay, "rule", data_part="bay"))
        if place < one.filled:
            grip = Box(
                bay.left + wide * 0.12, bay.bottom - high * 0.42, bay.right - wide * 0.12, bay.bottom - high * 0.2
            )
            parts.append(pen.fill(grip, data_part="disk"))
    return parts


def _tower(pen: Pen, one: Front, face: Box) -> list[Element]:
    """A tower laid on its board: a door with slots, and the bays behind it."""
    body = _narrowed(face, TOWER)
    parts = [_outline(pen, body)]
    bays = Box(body.left + body.width * 0.36, body.top + body.height * 0.16, body.right - 1.6, body.bottom - 1.2)
    step = min(1.8, body.height / 7)
    for row in range(int(body.height * 0.7 / step)):
        level = body.top + body.height * 0.17 + row * step
        parts.append(pen.line((body.left + 2.0, level), (body.left + body.width * 0.28, level), "rule"))
    return [*parts, *_bays(pen, one, bays, 2 if one.bays <= A_ROW else A_ROW)]


def _box(pen: Pen, one: Front, face: Box) -> list[Element]:
    """A small box on a board, its disks upright beside each other."""
    body = _narrowed(face, BOX)
    parts = [_outline(pen, body)]
    inner = body.inset(1.4, min(1.6, body.height * 0.14))
    many = 4
    wide = inner.width / many
    for place in range(many):
        slot = Box(inner.left + place * wide + GAP, inner.top, inner.left + (place + 1) * wide - GAP, inner.bottom)
        parts.append(pen.box(slot, "rule"))
        grip = (slot.left + slot.right) / 2
        parts.append(pen.line((grip, slot.top + 0.7), (grip, slot.top + slot.height * 0.3), "rule"))
    return parts if one.height else []


def _switch(pen: Pen, one: Front, face: Box) -> list[Element]:
    """Its ports in two rows, those that feed full of ink in their lower half, the fast ones at the right."""
    ear = face.width * 0.035
    inner = Box(face.left + ear + 0.6, face.top + 0.6, face.right - ear - 0.6, face.bottom - 0.6)
    a_row = max(1, math.ceil(one.ports / 2))
    columns = max(a_row + one.uplinks / 2 + 1, 14)
    side = min(inner.width / columns - GAP, (inner.height - GAP) / 2)
    middle = (inner.top + inner.bottom) / 2
    parts = [_outline(pen, face), pen.line((face.left + ear, face.top), (face.left + ear, face.bottom), "rule")]
    parts.append(pen.line((face.right - ear, face.top), (face.right - ear, face.bottom), "rule"))
    for place in range(one.ports):
        left = inner.left + place // 2 * (side + GAP)
        top = middle - GAP / 2 - side if place % 2 == 0 else middle + GAP / 2
        port = Box(left, top, left + side, top + side)
        parts.append(pen.box(port, "rule", data_part="port"))
        if place < one.fed:
            parts.append(pen.fill(Box(port.left, top + side / 2, port.right, port.bottom), data_part="fed"))
    for place in range(one.uplinks):
        right = inner.right - place // 2 * (side * 1.3 + GAP)
        top = middle - GAP / 2 - side if place % 2 == 0 else middle + GAP / 2
        parts.append(pen.box(Box(right - side * 1.3, top, right, top + side), "rule", data_part="uplink"))
    return parts


def _aside(pen: Pen, one: Front, face: Box) -> list[Element]:
    """Room that is only set aside: dashed, and what it is for in words where they have room."""
    dashed = pen.box(face.inset(0.5), "rule", "quiet", stroke_dasharray=DASHED)
    room = face.width - 4
    if face.height < ASIDE.leading or width(KEPT, ASIDE) > room or not one.height:
        return [dashed]
    level = (face.top + face.bottom) / 2 + ASIDE.capital / 2
    return [dashed, *pen.words(KEPT, ((face.left + face.right) / 2, level), ASIDE, room, "middle")]


def _other(pen: Pen, one: Front, face: Box) -> list[Element]:
    """A plain front with its four screws' places."""
    corners = product((face.left + 1.2, face.right - 1.2), (face.top + 1.0, face.bottom - 1.0) if one.height else ())
    return [_outline(pen, face), *(pen.line((x - 0.4, y), (x + 0.4, y), "door") for x, y in corners)]


def _outline(pen: Pen, box: Box) -> Element:
    return pen.box(box, "door", fill=pen.colour("paper"), data_part="outline")


def _narrowed(face: Box, share: float) -> Box:
    """A box in the middle of the face at a share of its width."""
    spare = face.width * (1 - share) / 2
    return Box(face.left + spare, face.top + 0.4, face.right - spare, face.bottom)


def blank(pen: Pen, face: Box) -> Element:
    """A blank panel: lightly hatched."""
    lines = ruling.hatch(pen, face, 2.6, "hairline")
    outline = pen.box(face, "rule", "hairline")
    return element("g", *([lines] if lines else []), outline, data_part="blank")


def twice(pen: Pen, face: Box) -> Element:
    """Units that two things fill: hatched in red pencil over both."""
    lines = ruling.hatch(pen, face, 1.6, "pencil")
    return element("g", *([lines] if lines else []), pencil.cloud(pen, face.inset(1.0, -0.4), 0.8), data_part="twice")
