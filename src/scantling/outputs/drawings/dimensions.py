"""Dimension lines in the spirit of ISO 129-1: extension lines, oblique strokes, numbers that read upright; the centre of gravity."""

from scantling.outputs.drawings.lettering import LABEL, Hand, cut
from scantling.outputs.drawings.model import Amount, Text
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.svg import Element, element, number

NUMBER = Hand(LABEL, 3.3)
STROKE = 1.1
"""Half the length of an oblique stroke, in millimetres."""
BEYOND, CLEAR = 1.4, 1.0
"""How far an extension line goes on behind the dimension line, and how far from the thing it begins."""


def upright(pen: Pen, amount: Amount, ends: tuple[Point, Point], x: float, room: float) -> Element:
    """A height: from the lower to the upper end, at `x`; the number stands left of the line."""
    (left, low), (_, high) = ends
    lines = [pen.line((left - CLEAR, level), (x - BEYOND, level), "rule") for level in (low, high)]
    lines.append(pen.line((x, low), (x, high), "rule"))
    lines += [_oblique(pen, (x, level)) for level in (low, high)]
    level = (low + high) / 2 + NUMBER.capital / 2
    words = pen.words(Text(amount.text, amount.figure), (x - 1.8, level), NUMBER, room, "end")
    return element("g", *lines, *words, data_part="dimension")


def level(pen: Pen, amount: Amount, ends: tuple[Point, Point], y: float, room: float) -> Element:
    """A depth: from the left to the right end, at `y`; the number stands over the line, or behind it where it is short."""
    (left, top), (right, _) = ends
    lines = [pen.line((x, top + CLEAR), (x, y + BEYOND), "rule") for x in (left, right)]
    lines.append(pen.line((left, y), (right, y), "rule"))
    lines += [_oblique(pen, (x, y)) for x in (left, right)]
    row = cut(Text(amount.text, amount.figure), NUMBER, room)
    wide = sum(piece.width for piece in row)
    inside = wide + 3 <= right - left
    place = ((left + right) / 2, y - 1.6) if inside else (right + 2.2, y + NUMBER.capital / 2)
    return element("g", *lines, *pen.row(row, place, NUMBER, "middle" if inside else "start"), data_part="dimension")


def _oblique(pen: Pen, at: Point) -> Element:
    x, y = at
    return pen.line((x - STROKE, y + STROKE), (x + STROKE, y - STROKE), "door")


def centre_of_gravity(pen: Pen, at: Point, radius: float) -> Element:
    """A circle in quarters, two of them full."""
    x, y = at
    half = f"a{number(radius)} {number(radius)} 0 1 1"
    ring = f"M{number(x - radius)} {number(y)} {half} {number(2 * radius)} 0 {half} {number(-2 * radius)} 0 Z"
    arc = f"a{number(radius)} {number(radius)} 0 0 1"
    quarters = " ".join(
        f"M{number(x)} {number(y)} l0 {number(-r)} {arc} {number(r)} {number(r)} Z" for r in (radius, -radius)
    )
    return element(
        "g",
        element("path", d=ring, fill=pen.colour("paper"), stroke=pen.colour("ink"), stroke_width=pen.look.door),
        element("path", d=quarters, fill=pen.colour("ink")),
        data_part="sign",
    )
