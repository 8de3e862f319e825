"""The street outside the floor plan: one drawn line for each line to the outside, ending at the wall that it meets."""

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.doors import ENTRY, WIDE
from scantling.outputs.drawings.floorplan import WALL, Floorplan
from scantling.outputs.drawings.lettering import BOOK, SIGN, Hand, width, wrap
from scantling.outputs.drawings.model import Phrase, RoomsSheet, StreetLine, plain
from scantling.outputs.drawings.paper import Box, field_box
from scantling.outputs.drawings.pen import STANDBY, Pen, Point
from scantling.outputs.drawings.svg import Element, element

OUTSIDE = Hand(SIGN, 6.6)
STREET_NAME = Hand(SIGN, 4.6)
STREET_TEXT = Hand(BOOK, 3.7, "quiet")
STUB = 4.0
HEADING = 7.0
"""From the base line of the street's name to the words of the first line."""
STRAIGHT = 0.1
"""A bend of less than this is none, in millimetres."""
SWING = WALL + WIDE + 3.0
"""What the way out takes up of the street."""


def outside(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """The street: one line per line to the outside, each ending at the wall."""
    field, way = field_box(model.block.paper), plan.corridor
    bends = SWING + 1.2 * len(model.street) if model.doors is not None else 5.0
    strip = Box(field.left + 8, field.top, way.left - bends - 2.0, field.bottom)
    heights = [_line_height(line, strip.width) for line in model.street]
    landings, levels = _landings(len(heights), way, doors=model.doors is not None), _levels(heights, way)
    if model.doors is not None:
        levels = _above(heights, landings, strip.top + 14 + HEADING)
    head = (
        min(level - height for level, height in zip(levels, heights, strict=True)) - HEADING if heights else way.top
    )
    head = max(strip.top + 14, head)
    parts: list[Element] = list(pen.words("Outside", (strip.left, head), OUTSIDE, strip.width))
    bend = way.left - 1.1 - (SWING if model.doors is not None else 2.0)
    apart = model.doors is not None or not all(way.top + 3 <= level <= way.bottom - 3 for level in levels)
    courses = _courses(levels, landings if apart else levels, (strip.left, bend, way.left - 1.1))
    for line, height, course in zip(model.street, heights, courses, strict=True):
        level = course[0][1]
        parts.append(_street_line(pen, line, Box(strip.left, level - height, strip.right, level), course))
    if model.outside_findings:
        right = strip.right if model.doors is None else way.left - 7
        room = strip.width / 2 if model.doors is None else right - strip.left - width("Outside", OUTSIDE) - 3
        parts += pencil.triangles(pen, model.pencil, model.outside_findings, (right, head - 1), room)
    return element("g", *parts, data_part="street")


def _landings(count: int, way: Box, *, doors: bool) -> list[float]:
    """Where the lines meet the wall: over the whole of it, or above the doors."""
    room = ENTRY if doors else way.height
    return [way.top + room * (place + 1) / (count + 1) for place in range(count)]


def _levels(heights: list[float], way: Box) -> list[float]:
    """Where each line is drawn: stacked by the height of its words, the lines centred on the corridor."""
    offsets = [sum(heights[1 : index + 1]) for index in range(len(heights))]
    middle = (way.top + way.bottom) / 2
    return [middle + offset - offsets[-1] / 2 for offset in offsets]


def _above(heights: list[float], landings: list[float], top: float) -> list[float]:
    """The same, the last line straight to its landing and the others over it; lower where the sheet ends above."""
    levels = [landings[-1] - sum(heights[place + 1 :]) for place in range(len(heights))] if heights else []
    short = max(0.0, top - (levels[0] - heights[0])) if levels else 0.0
    return [level + short for level in levels]


def _courses(
    levels: list[float], landings: list[float], across: tuple[float, float, float]
) -> list[tuple[Point, ...]]:
    """The way of each line to the wall: straight where it lies on its landing, else bent so that none cross.

    `across` are where the lines begin, where the first of them bends, and the wall.
    """
    left, first, wall = across
    falling = sum(level < landing for level, landing in zip(levels, landings, strict=True))
    courses: list[tuple[Point, ...]] = []
    for place, (level, landing) in enumerate(zip(levels, landings, strict=True)):
        rank = place if place < falling else len(levels) - 1 - place
        bend = first - 1.2 * rank
        bent = ((left, level), (bend, level), (bend, landing), (wall, landing))
        courses.append(bent if abs(level - landing) > STRAIGHT else ((left, landing), (wall, landing)))
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
        wall, level = course[-1]
        parts.append(
            pen.path(((max(course[-2][0], wall - STUB), level), (wall, level)), "door", data_part="line-end")
        )
    parts.append(pen.path(course, "door", stroke_dasharray=STANDBY if line.standby else None, data_part="line"))
    return element("g", *parts, data_part="street-line", data_line=line.slug or None, data_box=box.written)
