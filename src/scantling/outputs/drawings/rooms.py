"""Sheet N-1, the network by rooms as the owner sees it: names, people and devices; the street; the red pencil."""

from dataclasses import dataclass

from scantling.outputs.drawings import floorplan, pencil
from scantling.outputs.drawings.floorplan import Floorplan, Placed
from scantling.outputs.drawings.lettering import BOOK, ELLIPSIS, LABEL, SIGN, STRONG, Hand, longest_word, width, wrap
from scantling.outputs.drawings.model import Count, Phrase, Room, RoomsSheet, StreetLine, Text, plain
from scantling.outputs.drawings.paper import DAY, Box, Look, field_box
from scantling.outputs.drawings.pen import STANDBY, Pen, Point
from scantling.outputs.drawings.sheet import Margin, page
from scantling.outputs.drawings.svg import Element, element

STREET = 57.0
"""Width of the strip outside the building, in millimetres."""
CORRIDOR = 28.0
INSET = 5.0
"""From a wall to words: a cloud and its clearance fit between."""
WIDEST = 82.0
DEPTHS = (68.0, 98.0)
SCALES = (1.2, 1.1, 1.0, 0.92, 0.85, 0.78, 0.72, 0.66, 0.6)
CLOUD = 2.4
"""From a wall to the cloud inside a room."""
PLAN_TITLE = Hand(SIGN, 7.0)
UNDER_TITLE = Hand(BOOK, 4.0, "quiet")
OUTSIDE = Hand(SIGN, 6.6)
STREET_NAME = Hand(SIGN, 4.6)
STREET_TEXT = Hand(BOOK, 3.7, "quiet")
CORRIDOR_NAME = Hand(LABEL, 5.0)
CORRIDOR_NOTE = Hand(LABEL, 4.2, "quiet")


@dataclass(frozen=True, slots=True)
class Hands:
    """The lettering inside the rooms of one sheet: one scale for all of them."""

    name: Hand
    number: Hand
    label: Hand
    remark: Hand


def hands(names: float, words: float) -> Hands:
    """The lettering of names and of words at shares of their full sizes."""
    body = 4.5 * words
    return Hands(Hand(SIGN, 6.6 * names), Hand(STRONG, body), Hand(BOOK, body), Hand(BOOK, body, "quiet"))


def owners_sheet(model: RoomsSheet, look: Look) -> str:
    """Sheet N-1 as SVG text."""
    pen = Pen(look)
    plan, letters = arrange(model)
    parts = (
        _outside(pen, model, plan),
        floorplan.walls(pen, plan),
        _corridor(pen, model, plan),
        *(_room(pen, model, placed, letters) for placed in plan.rooms),
        _plan_title(pen, model, plan),
    )
    names = ", ".join(placed.room.name for placed in plan.rooms)
    told = (
        f"Floor plan of the network: the rooms {names} open on the corridor {model.corridor}. Doors: not yet planned."
    )
    return page(model.block, look, parts, Margin(model.notes, model.pencil), told)


def building_box(model: RoomsSheet) -> Box:
    """Where the building may stand."""
    field = field_box(model.block.paper)
    return Box(field.left + STREET, field.top + 16, field.right - 7, field.bottom - 34)


def arrange(model: RoomsSheet) -> tuple[Floorplan, Hands]:
    """The plan of the rooms and the largest lettering that fits in all of them."""
    site = building_box(model)
    unit = floorplan.unit_width(model.rooms, site.width, WIDEST)
    most = min(DEPTHS[1], (site.height - CORRIDOR) / 2)
    names = next(
        (scale for scale in SCALES if all(_name_fits(room, unit, scale) for room in model.rooms)), SCALES[-1]
    )
    letters, depth = hands(names, SCALES[-1]), most
    for scale in (scale for scale in SCALES if scale <= max(names * 1.3, SCALES[-1])):
        needed = max((_depth(room, unit, hands(names, scale)) for room in model.rooms), default=0.0)
        if needed <= most:
            letters, depth = hands(names, scale), max(DEPTHS[0], min(most, needed + 6))
            break
    top = (site.top + site.bottom - CORRIDOR) / 2 - depth
    return floorplan.lay(model.rooms, (site.left, top), unit, depth, CORRIDOR), letters


def _name_fits(room: Room, unit: float, scale: float) -> bool:
    return longest_word(room.name, hands(scale, 1).name) <= floorplan.SHARES[room.size] * unit - 2 * INSET


def _depth(room: Room, unit: float, letters: Hands) -> float:
    """Depth the room's words need, its triangles included."""
    box = Box(0, 0, floorplan.SHARES[room.size] * unit, 1e4)
    base = _contents(Pen(DAY), room, box, letters)[1]
    return base + (10.0 if room.findings else 2.0)


def _room(pen: Pen, model: RoomsSheet, placed: Placed, letters: Hands) -> Element:
    room, box = placed.room, placed.box
    parts = list(_contents(pen, room, box, letters)[0])
    if room.findings:
        parts.insert(0, pencil.cloud(pen, box.inset(CLOUD)))
        corner = (box.right - 5.6, box.bottom - 6.4)
        parts += pencil.triangles(pen, model.pencil, room.findings, corner, box.width - 10)
    return element("g", *parts, data_part="room", data_room=room.slug, data_box=box.written)


def _contents(pen: Pen, room: Room, box: Box, letters: Hands) -> tuple[tuple[Element, ...], float]:
    """Name, ruled off; then counts in a column of numbers; then remarks. Also the bottom of the words."""
    inner = box.inset(INSET)
    floor = inner.bottom - (8.5 if room.findings else 0)
    base = inner.top + letters.name.capital + 1.2
    parts: list[Element] = []
    words, base = pen.paragraph(plain(room.name), (inner.left, base), letters.name, inner.width, 3)
    parts += words
    base += 2.6 - letters.name.leading
    parts.append(pen.line((inner.left, base), (inner.right, base), "rule"))
    base += letters.label.leading + 0.6
    numbers = max((width(count.number, letters.number) for count in room.counts), default=0.0)
    numbers = min(numbers, inner.width * 0.5)
    for place, count in enumerate(room.counts):
        if base + letters.label.leading > floor and place + 1 < len(room.counts):
            parts += pen.words(ELLIPSIS, (inner.left, min(base, floor)), letters.number, inner.width)
            base = floor + letters.label.leading
            break
        row, base = _count(pen, count, Box(inner.left, base, inner.right, floor), numbers, letters)
        parts += row
    base += 1.0 if room.lines and room.counts else 0.0
    for line in room.lines:
        rows = int((floor - base) / letters.remark.leading) + 1
        if rows > 0 and base <= floor:
            words, base = pen.paragraph(line, (inner.left, base), letters.remark, inner.width, rows)
            parts += words
    return tuple(parts), base - letters.label.leading + INSET


def _count(pen: Pen, count: Count, box: Box, numbers: float, letters: Hands) -> tuple[tuple[Element, ...], float]:
    """One count: its number to the right of the column, its label in up to three rows. `box.top` is the base line."""
    gap = letters.label.size * 0.45
    if box.top > box.bottom:
        return (), box.top
    rows = min(3, int((box.bottom - box.top) / letters.label.leading) + 1)
    drawn = pen.words(Text(count.number, count.figure), (box.left + numbers, box.top), letters.number, numbers, "end")
    place = (box.left + numbers + gap, box.top)
    label, base = pen.paragraph(plain(count.label), place, letters.label, box.width - numbers - gap, rows)
    return (*drawn, *label), max(base, box.top + letters.label.leading)


def _corridor(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """The firewall's name at the street end; at the far end, that doors are not planned yet."""
    way = plan.corridor
    middle = (way.top + way.bottom) / 2 + 1.6
    room = way.width - 2 * INSET - 6
    note = "doors: not yet planned"
    taken = width(note, CORRIDOR_NOTE)
    name = pen.words(model.corridor, (way.left + INSET + 3, middle), CORRIDOR_NAME, max(room - taken - 6, room / 3))
    closing = pen.words(note, (way.right - INSET - 3, middle), CORRIDOR_NOTE, room, "end")
    return element("g", *name, *closing, data_part="corridor", data_box=way.written)


def _outside(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """The street: one line per line to the outside, each ending at the wall; standby dashed."""
    field = field_box(model.block.paper)
    strip = Box(field.left + 8, field.top, plan.corridor.left - 7, field.bottom)
    way = plan.corridor
    heights = [_line_height(line, strip.width) for line in model.street]
    levels = _levels(heights, way)
    head = min(level - height for level, height in zip(levels, heights, strict=True)) - 7 if heights else way.top
    head = max(strip.top + 14, head)
    parts: list[Element] = list(pen.words("Outside", (strip.left, head), OUTSIDE, strip.width))
    for line, height, course in zip(model.street, heights, _courses(levels, strip.left, way), strict=True):
        level = course[0][1]
        parts.append(_street_line(pen, line, Box(strip.left, level - height, strip.right, level), course))
    if model.outside_findings:
        parts += pencil.triangles(pen, model.pencil, model.outside_findings, (strip.right, head - 1), strip.width / 2)
    return element("g", *parts, data_part="street")


def _levels(heights: list[float], way: Box) -> list[float]:
    """Where each line is drawn: stacked by the height of its words, the lines centred on the corridor."""
    offsets = [sum(heights[1 : index + 1]) for index in range(len(heights))]
    middle = (way.top + way.bottom) / 2
    return [middle + offset - offsets[-1] / 2 for offset in offsets]


def _courses(levels: list[float], left: float, way: Box) -> list[tuple[Point, ...]]:
    """The way of each line to the wall: straight where all meet the corridor, else bent so that none cross."""
    wall = way.left - 1.1
    if all(way.top + 3 <= level <= way.bottom - 3 for level in levels):
        return [((left, level), (wall, level)) for level in levels]
    landings = [way.top + way.height * (place + 1) / (len(levels) + 1) for place in range(len(levels))]
    falling = sum(level < landing for level, landing in zip(levels, landings, strict=True))
    courses: list[tuple[Point, ...]] = []
    for place, (level, landing) in enumerate(zip(levels, landings, strict=True)):
        rank = place if place < falling else len(levels) - 1 - place
        bend = wall - 2.0 - 1.2 * rank
        courses.append(((left, level), (bend, level), (bend, landing), (wall, landing)))
    return courses


def _line_rows(line: StreetLine) -> tuple[Phrase, ...]:
    return (plain("standing by"), *line.lines) if line.standby else line.lines


def _line_height(line: StreetLine, room: float) -> float:
    rows = sum(min(3, len(wrap(phrase, STREET_TEXT, room))) for phrase in _line_rows(line))
    return STREET_NAME.capital + rows * STREET_TEXT.leading + 8.0


def _street_line(pen: Pen, line: StreetLine, box: Box, course: tuple[Point, ...]) -> Element:
    base = box.top + 4.5 + STREET_NAME.capital
    parts: list[Element] = list(pen.words(line.name, (box.left, base), STREET_NAME, box.width))
    base += STREET_TEXT.leading + 0.4
    for phrase in _line_rows(line):
        words, base = pen.paragraph(phrase, (box.left, base), STREET_TEXT, box.width, 3)
        parts += words
    if line.standby:  # the last stub is drawn full, so that it meets the wall wherever the dashes fall
        parts.append(pen.path(course[-2:], "door", data_part="line-end"))
    parts.append(pen.path(course, "door", stroke_dasharray=STANDBY if line.standby else None, data_part="line"))
    return element("g", *parts, data_part="street-line")


def _plan_title(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """Title under the plan, ruled off as under any plan, and what its sizes mean."""
    field = field_box(model.block.paper)
    left, right = plan.corridor.left, field.right - 9
    base = max(point[1] for point in plan.outline) + 15
    parts = list(pen.words(model.block.title, (left, base), PLAN_TITLE, right - left))
    said = f"Not to scale. Width of a room: {model.size_note}." if model.size_note else "Not to scale."
    words, _ = pen.paragraph(plain(said), (left, base + 6.6), UNDER_TITLE, right - left, 2)
    return element("g", *parts, *words, data_part="plan-title")
