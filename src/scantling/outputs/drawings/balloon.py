"""The numbered balloon of a door: a circle round its number, drawn out where the number is long."""

from scantling.outputs.drawings.lettering import SIGN, Hand, shown, width
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.svg import Element, element, number

RADIUS = 3.1
NUMBER = Hand(SIGN, 3.4)
LONGEST = 9.0


def wide(text: str) -> float:
    """Width of the balloon in millimetres."""
    return max(2 * RADIUS, min(width(shown(text, SIGN), NUMBER), LONGEST) + 3.2)


def balloon(pen: Pen, text: str, start: Point) -> Element:
    """The balloon, the centre of its left end at `start`."""
    x, y = start
    run = wide(text) - 2 * RADIUS
    arc = f"a{number(RADIUS)} {number(RADIUS)} 0 0 1"
    course = (
        f"M{number(x)} {number(y - RADIUS)} l{number(run)} 0 {arc} 0 {number(2 * RADIUS)} l{number(-run)} 0 {arc} 0 {number(-2 * RADIUS)}"
    )  # fmt: skip
    outline = element(
        "path", d=course, fill=pen.colour("paper"), stroke=pen.colour("ink"), stroke_width=pen.look.door
    )
    words = pen.words(text, (x + run / 2, y + NUMBER.capital / 2), NUMBER, LONGEST, "middle")
    return element("g", outline, *words, data_part="balloon")
