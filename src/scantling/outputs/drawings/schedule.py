"""Sheet N-2, the technician's layer: a key plan with zone numbers, the room schedule, and the addresses held."""

from collections.abc import Callable
from dataclasses import dataclass

from scantling.outputs.drawings import doors, floorplan
from scantling.outputs.drawings.floorplan import Placed
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, STRONG, Hand, width
from scantling.outputs.drawings.model import Holder, Room, RoomsSheet, RoomTechnical, Text
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

DASH = " \u2013 "
"""Between the first and the last address of a range."""
NONE = Text("\u2013")
HEAD = Hand(LABEL, 3.1, "quiet")
KEY_DEPTH, KEY_CORRIDOR, KEY_WIDTH, KEY_DOOR = 25.0, 9.0, 118.0, 4.0


@dataclass(frozen=True, slots=True)
class Field:
    """One column of the room schedule: its heading, its share of the width, and where its text is found."""

    heading: str
    share: float
    text: Callable[[RoomTechnical], Text]


FIELDS = (
    Field("subnet", 1.35, lambda each: each.subnet),
    Field("gateway", 1.05, lambda each: each.gateway),
    Field("static", 1.15, lambda each: each.static),
    Field("reserved", 1.15, lambda each: each.reserved),
    Field("leased", 1.15, lambda each: each.leased),
    Field("lease", 0.6, lambda each: each.lease),
)
NUMBER_WIDTH, NAME_WIDTH = 12.0, 46.0


def technicians_sheet(model: RoomsSheet, look: Look) -> str:
    """Sheet N-2 as SVG text."""
    pen = Pen(look)
    field = field_box(model.technical_block.paper).inset(11, 12)
    top = Box(field.left, field.top, field.left + KEY_WIDTH, field.top + 2 * KEY_DEPTH + KEY_CORRIDOR + 14)
    parts = (
        _key_plan(pen, model, top),
        _addresses(pen, model, Box(top.right + 16, field.top, field.right, top.bottom)),
        _schedule(pen, model, Box(field.left, top.bottom + 10, field.right, field.bottom)),
    )
    told = "Schedule of the network's rooms: zone, subnet, gateway, ranges, lease time, and who holds which address."
    return page(model.technical_block, look, parts, Margin(model.technical_notes, model.pencil), told)


def _key_plan(pen: Pen, model: RoomsSheet, box: Box) -> Element:
    """The plan of sheet N-1 at a smaller size, with zone numbers alone."""
    parts: list[Element] = list(pen.words("KEY PLAN", (box.left, box.top + 2.6), HEADING, box.width))
    unit = floorplan.unit_width(model.rooms, box.width - 2 * floorplan.WALL, 34.0)
    corner = (box.left + floorplan.WALL, box.top + 9)
    plan = floorplan.lay(model.rooms, corner, unit, (KEY_DEPTH, KEY_DEPTH), KEY_CORRIDOR)
    hung = model.doors or ()
    parts.append(floorplan.walls(pen, plan, doors.openings(plan, hung, KEY_DOOR)))
    parts += [doors.room_doors(pen, plan, hung, KEY_DOOR, named=False)] if hung else []
    parts += [_key(pen, placed) for placed in plan.rooms]
    return element("g", *parts, data_part="key-plan", data_box=box.written)


def _key(pen: Pen, placed: Placed) -> Element:
    box = placed.box
    words = pen.words(
        str(placed.room.number),
        ((box.left + box.right) / 2, (box.top + box.bottom) / 2 + 2.2),
        Hand(SIGN, 6.0),
        box.width - 4,
        "middle",
    )
    return element("g", *words, data_part="room", data_room=placed.room.slug, data_box=box.written)


def _schedule(pen: Pen, model: RoomsSheet, box: Box) -> Element:
    """One ruled row a room."""
    rooms = sorted(model.rooms, key=lambda room: (room.number, room.slug))
    parts: list[Element] = list(pen.words("ROOM SCHEDULE", (box.left, box.top + 2.6), HEADING, box.width))
    lefts, widths = _columns(box)
    base = box.top + 10
    headings = ("VLAN", "room", *(field.heading for field in FIELDS))
    for heading, left, wide in zip(headings, lefts, widths, strict=True):
        parts += pen.words(heading, (left, base), HEAD, wide - 2)
    level = base + 2.2
    parts.append(pen.line((box.left, level), (box.right, level), "door"))
    height = min(14.0, (box.bottom - level) / max(1, len(rooms)))
    for room in rooms:
        parts.append(_room_row(pen, room, Box(box.left, level, box.right, level + height), (lefts, widths)))
        level += height
    return element("g", *parts, data_part="schedule", data_box=box.written)


def _columns(box: Box) -> tuple[list[float], list[float]]:
    rest = box.width - NUMBER_WIDTH - NAME_WIDTH
    shares = sum(field.share for field in FIELDS)
    widths = [NUMBER_WIDTH, NAME_WIDTH, *(rest * field.share / shares for field in FIELDS)]
    return [box.left + sum(widths[:place]) for place in range(len(widths))], widths


def _room_row(pen: Pen, room: Room, box: Box, columns: tuple[list[float], list[float]]) -> Element:
    lefts, widths = columns
    middle = (box.top + box.bottom) / 2
    size = min(1.0, box.height / 11)
    name = Hand(SIGN, 4.4 * size)
    parts: list[Element] = [pen.line((box.left, box.bottom), (box.right, box.bottom), "rule", "hairline")]
    parts += pen.words(str(room.number), (lefts[0], middle + 1.5), name.inked("quiet"), widths[0] - 2)
    parts += pen.words(room.name, (lefts[1], middle + 1.5), name, widths[1] - 3)
    if room.technical:
        for field, left, wide in zip(FIELDS, lefts[2:], widths[2:], strict=True):
            hand = Hand(BOOK, 4.1 * size) if field.heading == "lease" else Hand(EVEN, 3.2 * size)
            parts += _value(pen, field.text(room.technical), Box(left, middle, left + wide - 3, box.bottom), hand)
    return element("g", *parts, data_part="row", data_room=room.slug, data_box=box.written)


def _value(pen: Pen, text: Text, box: Box, hand: Hand) -> tuple[Element, ...]:
    """A value round the middle of its row: a range on two rows, first and last address, anything else on one."""
    first, dash, last = text.text.replace(" - ", DASH).partition(DASH)
    if not dash:
        if not text.text:
            return pen.words(NONE, (box.left, box.top + 1.2), Hand(BOOK, 3.8, "quiet"), box.width)
        return pen.words(text, (box.left, box.top + hand.capital / 2), hand, box.width)
    upper, lower = Text(first, text.figure), Text(f"{DASH.lstrip()}{last}", text.figure)
    shift = width(DASH.lstrip(), hand)
    return (
        *pen.words(upper, (box.left + shift, box.top - 0.7), hand, box.width - shift),
        *pen.words(lower, (box.left, box.top + 1.5 * hand.size - 0.7), hand, box.width),
    )


def _addresses(pen: Pen, model: RoomsSheet, box: Box) -> Element:
    """Holders in columns, in the order of their rooms; what does not fit is counted."""
    held = [(room, holder) for room in sorted(model.rooms, key=lambda room: room.number) for holder in room.addresses]
    parts: list[Element] = list(pen.words("ADDRESSES HELD", (box.left, box.top + 2.6), HEADING, box.width))
    step, top = 5.6, box.top + 10
    rows = int((box.bottom - top) / step) + 1
    columns = 1 if len(held) <= rows else 2
    wide = min(86.0, (box.width - (columns - 1) * 8) / columns)
    shown = held if len(held) <= rows * columns else held[: rows * columns - 1]
    for place, (_, holder) in enumerate(shown):
        left = box.left + place // rows * (wide + 8)
        parts += _holder(pen, holder, Box(left, top + place % rows * step, left + wide, 0))
    if len(shown) < len(held):
        left, base = box.left + (columns - 1) * (wide + 8), top + (rows - 1) * step
        parts += pen.words(f"{len(held) - len(shown)} more in the plan", (left, base), Hand(BOOK, 3.8, "quiet"), wide)
    return element("g", *parts, data_part="addresses", data_box=box.written)


def _holder(pen: Pen, holder: Holder, box: Box) -> tuple[Element, ...]:
    even = Hand(EVEN, 3.2)
    taken = min(width(holder.address.text, even), box.width * 0.6)
    rule = pen.line((box.left, box.top + 1.75), (box.right, box.top + 1.75), "rule", "hairline")
    name = pen.words(holder.name, (box.left, box.top), Hand(STRONG, 3.8), box.width - taken - 3)
    return (*name, *pen.words(holder.address, (box.right, box.top), even, taken + 0.1, "end"), rule)
