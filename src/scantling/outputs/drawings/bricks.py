"""Addresses drawn as bricks: full where issued, hatched where kept, lined where lent, bare where spare."""

from collections.abc import Iterator

from scantling.outputs.drawings.address_model import Run, Sixth, Use, ZoneMap
from scantling.outputs.drawings.lettering import EVEN, STRONG, Hand, width
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.ruling import hatch
from scantling.outputs.drawings.svg import Element, element, number

SWATCH = 5.0
NETWORK = 58.0
"""Most that a network's own words take."""
SIXTH = 16.0
"""Length of the broken course that stands for the sixth version."""
LEAST_JOINT = 1.0
"""Narrowest brick whose joints are drawn each; below it every eighth is."""
PITCH = 1.0
NUMBERED = (5.5, 4.0)
"""Least width and height of a brick that bears its number."""
DIGITS, OCTET = Hand(EVEN, 2.7, "paper"), 256


def courses(pen: Pen, zone: ZoneMap, wall: Box, course: int, common: int) -> list[Element]:
    """All bricks of a zone; `common` addresses fill the wall's width on this sheet, `course` in this zone."""
    whole = wall.width
    brick = whole / max(course, common)
    count = -(-zone.size // course)
    high = wall.height / count
    parts: list[Element] = []
    for run in zone.runs:
        for box in _boxes(run, wall, course, (brick, high)):
            parts += _filled(pen, run.use, box)
    joints, edges = [], []
    step = 1 if brick >= LEAST_JOINT else 8
    for place in range(count):
        top, bottom = wall.top + place * high, wall.top + (place + 1) * high
        long = min(course, zone.size - place * course)
        joints += [
            f"M{number(wall.left + at * brick)} {number(top)} L{number(wall.left + at * brick)} {number(bottom)}"
            for at in range(step, long, step)
        ]
        edges.append(Box(wall.left, top, wall.left + long * brick, bottom))
    if joints:
        d = " ".join(joints)
        parts.append(element("path", d=d, fill="none", stroke=pen.colour("hairline"), stroke_width=pen.look.rule))
    parts += [pen.box(edge, "rule") for edge in edges]
    parts += [_crossed(pen, place, Box(wall.left, wall.top, brick, high), course) for place in (0, zone.size - 1)]
    if brick >= NUMBERED[0] and high >= NUMBERED[1]:
        parts += _numbers(pen, zone, wall, course, (brick, high))
    return [element("g", *parts, data_part="bricks")]


def _numbers(pen: Pen, zone: ZoneMap, wall: Box, course: int, brick: tuple[float, float]) -> Iterator[Element]:
    """The last part of every issued address, on its brick."""
    for place in (place for run in zone.runs if run.use == "issued" for place in range(run.first, run.last + 1)):
        (box,) = _boxes(Run("issued", place, place), wall, course, brick)
        middle, base = (box.left + box.right) / 2, (box.top + box.bottom) / 2 + DIGITS.capital / 2
        text = str((zone.base + place) % OCTET)
        if width(text, DIGITS) <= box.width - 0.6:
            yield from pen.words(text, (middle, base), DIGITS, box.width, "middle")


def _boxes(run: Run, wall: Box, course: int, brick: tuple[float, float]) -> Iterator[Box]:
    """Where a run lies, course by course."""
    wide, high = brick
    for place in range(run.first // course, run.last // course + 1):
        first, last = max(run.first, place * course), min(run.last, place * course + course - 1)
        if first <= last:
            top = wall.top + place * high
            left, right = wall.left + (first - place * course) * wide, wall.left + (last + 1 - place * course) * wide
            yield Box(left, top, right, top + high)


def _filled(pen: Pen, use: Use, box: Box) -> list[Element]:
    """A run in the manner of its use."""
    if use == "issued":
        return [pen.fill(box, data_part="issued")]
    if use == "kept":
        lines = hatch(pen, box, PITCH)
        return [element("g", lines, data_part="kept")] if lines is not None else []
    if use == "leased":
        count = max(2, round(box.height / PITCH))
        levels = [box.top + (place + 0.5) * box.height / count for place in range(count)]
        d = " ".join(f"M{number(box.left)} {number(level)} L{number(box.right)} {number(level)}" for level in levels)
        return [
            element(
                "path", d=d, fill="none", stroke=pen.colour("ink"), stroke_width=pen.look.rule, data_part="leased"
            )
        ]
    return []


def _crossed(pen: Pen, place: int, brick: Box, course: int) -> Element:
    """One of the two addresses that nobody can bear: a stroke through its brick. `brick` is corner, width and height."""
    left = brick.left + place % course * brick.right
    top = brick.top + place // course * brick.bottom
    return pen.line((left, top + brick.bottom), (left + brick.right, top), "rule", data_part="unusable")


def swatch(pen: Pen, use: str, box: Box) -> list[Element]:
    """A brick that stands for its kind beside a count."""
    uses: dict[str, Use] = {"issued": "issued", "kept": "kept", "leased": "leased", "spare": "spare"}
    return [*_filled(pen, uses[use], box), pen.box(box, "rule")]


def sixth(pen: Pen, zone: Sixth, box: Box, scale: float) -> list[Element]:
    """A course that is broken off, since no sheet is long enough; then the network. `box.bottom` is the base line."""
    high = 2.6 * scale
    top = box.bottom - high + 0.2
    full = min(SIXTH * 0.5, max(1.2, zone.issued * 0.8)) if zone.issued else 0.0
    bar = Box(box.left, top, box.left + SIXTH - 3, top + high)
    at = bar.left + (SIXTH - 3) * 0.72
    parts = _filled(pen, "issued", Box(bar.left, top, bar.left + full, top + high)) if full else []
    upper = ((bar.left, bar.top), (at, bar.top))
    parts += [pen.path(upper, "rule"), pen.path(((bar.left, bar.bottom), (at, bar.bottom)), "rule")]
    parts += [pen.path(((bar.left, bar.top), (bar.left, bar.bottom)), "rule")]
    for shift in (0.0, 1.4):  # the sign of a break: two strokes
        parts.append(pen.line((at + shift - 0.5, bar.bottom + 0.6), (at + shift + 0.7, bar.top - 0.6), "rule"))
    rest = ((at + 1.4, bar.top), (bar.right, bar.top), (bar.right, bar.bottom), (at + 1.4, bar.bottom))
    parts.append(pen.path(rest, "rule"))
    parts += pen.words(zone.network, (box.left + SIXTH, box.bottom), network_hand(scale), NETWORK + 0.1)
    return [element("g", *parts, data_part="sixth")]


def network_hand(scale: float) -> Hand:
    """Of a network of the sixth version: its colons stand too far apart in an even face."""
    return Hand(STRONG, 3.4 * scale)
