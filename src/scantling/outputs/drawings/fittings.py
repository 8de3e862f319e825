"""Small signs of a house: wall and roof, earth under a ground line, the tap and the clock in a room, the joint of a pipe."""

import math

from scantling.outputs.drawings.floorplan import WALL, outer_face
from scantling.outputs.drawings.paper import DAY, Box
from scantling.outputs.drawings.pen import Pen, Point, course
from scantling.outputs.drawings.svg import Element, element, number

JOINT = 0.85
EAVES = 3.5
TAP, CLOCK = 5.5, 2.3
"""Reach of a tap into its room; radius of a clock; millimetres."""


def shell(pen: Pen, box: Box) -> list[Element]:
    """The outer wall as a section cuts it, and the roof with its eaves; one step thinner by night."""
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    thick = WALL * pen.look.outer / DAY.outer
    both = f"{course(outer_face(corners, thick))} {course(corners)}"
    wall = element("path", d=both, fill=pen.colour("ink"), fill_rule="evenodd", data_part="outer-wall")
    roof = Box(box.left - thick - EAVES, box.top - thick, box.right + thick + EAVES, box.top)
    return [wall, pen.fill(roof, data_part="roof")]


def earth(pen: Pen, left: float, right: float, level: float) -> list[Element]:
    """The ground line with the short strokes that mean earth, in threes."""
    parts = [pen.line((left, level), (right, level), "outer", data_part="ground")]
    place = left + 3.0
    while place + 5.0 < right:
        parts += [
            pen.line((place + 1.3 * each, level), (place + 1.3 * each - 2.4, level + 2.4), "rule")
            for each in range(3)
        ]
        place += 9.0
    return parts


def ring(centre: Point, radius: float) -> str:
    """A circle as path data."""
    size, both = number(radius), number(2 * radius)
    return f"M{number(centre[0] - radius)} {number(centre[1])} a{size} {size} 0 0 1 {both} 0 a{size} {size} 0 0 1 -{both} 0 Z"


def joint(pen: Pen, at: Point) -> Element:
    """Where a branch leaves its riser; pipes that only cross have none."""
    return element("path", d=ring(at, JOINT), fill=pen.colour("ink"), data_part="joint")


def tap(pen: Pen, at: Point) -> Element:
    """A tap on the inner face of a wall at the left: pipe, spout and handle."""
    x, y = at
    spout = f"M{number(x)} {number(y)} l{number(TAP - 1.6)} 0 a1.6 1.6 0 0 1 1.6 1.6 l0 0.9"
    course = element("path", d=spout, fill="none", stroke=pen.colour("ink"), stroke_width=pen.look.partition)
    handle = pen.line((x + 1.4, y - 1.7), (x + 4.0, y - 1.7), "door")
    stem = pen.line((x + 2.7, y - 1.7), (x + 2.7, y), "door")
    return element("g", course, handle, stem, data_part="tap-sign")


def clock(pen: Pen, at: Point) -> Element:
    """A clock on the inner face of a wall at the right, its hands at ten past ten."""
    x, y = at[0] - CLOCK - 1.2, at[1]
    face = element(
        "path", d=ring((x, y), CLOCK), fill=pen.colour("paper"), stroke=pen.colour("ink"), stroke_width=pen.look.door
    )
    hands = [
        pen.line((x, y), (x + reach * math.sin(turn), y - reach * math.cos(turn)), "door")
        for turn, reach in ((math.radians(305), CLOCK * 0.5), (math.radians(60), CLOCK * 0.72))
    ]
    return element("g", face, *hands, pen.line((x + CLOCK, y), at, "rule"), data_part="clock-sign")
