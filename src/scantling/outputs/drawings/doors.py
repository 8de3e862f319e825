"""Doors on the floor plan: each hung on the wall of the room that may be called on; the two to the street; sealed rooms."""

from collections.abc import Mapping, Sequence

from scantling.outputs.drawings import balloon
from scantling.outputs.drawings.floorplan import WALL, Floorplan, Placed
from scantling.outputs.drawings.lettering import LABEL, Hand, width
from scantling.outputs.drawings.model import Door
from scantling.outputs.drawings.paper import DAY, Box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.ruling import hatch_round
from scantling.outputs.drawings.svg import Element, element, number

WIDE = 9.0
"""Clear width of a door, in millimetres on the sheet."""
SWING = WIDE + 3.0
"""What a door takes up of its room, words kept clear."""
CORRIDOR = 36.0
"""Depth of the corridor once it has doors: where the lines come in, the way out, the way in."""
ENTRY, IN, OUT = 10.5, 12.0, 24.0
"""From the corridor's north wall to the end of where lines may land, to the way in, to the way out."""
FROM_PARTITION = 5.0
NO_DOOR = "no door"
SEALED = Hand(LABEL, 4.2)
CLEAR = 2.4
"""Round an island in the hatching."""


def by_room(doors: Sequence[Door]) -> Mapping[str, Door]:
    """Doors into rooms by the room's slug."""
    return {door.room: door for door in doors if door.kind == "room"}


def openings(plan: Floorplan, doors: Sequence[Door], wide: float = WIDE) -> dict[str, tuple[float, float]]:
    """Left and right end of each room's door: at the end away from the street, where the corridor is free."""
    hung = by_room(doors)
    return {placed.room.slug: _opening(placed, wide) for placed in plan.rooms if placed.room.slug in hung}


def _opening(placed: Placed, wide: float) -> tuple[float, float]:
    right = placed.box.right - min(FROM_PARTITION, (placed.box.width - wide) / 2)
    return right - wide, right


def room_doors(
    pen: Pen, plan: Floorplan, doors: Sequence[Door], wide: float = WIDE, *, named: bool = True
) -> Element:
    """The doors of all rooms, their leaves inside; numbered in the corridor."""
    hung = by_room(doors)
    parts = []
    for side, level, into in ((plan.north, plan.corridor.top, -1), (plan.south, plan.corridor.bottom, 1)):
        for placed in side:
            door = hung.get(placed.room.slug)
            if door is None:
                continue
            left, right = _opening(placed, wide)
            hanging = [leaf(pen, (right, level), (left, level), (0, into))]
            if named:
                middle = (left + right - balloon.wide(door.number)) / 2 + balloon.RADIUS
                hanging.append(balloon.balloon(pen, door.number, (middle, level - into * (balloon.RADIUS + 1.6))))
            far, near = level + into * (right - left), level - into * (2 * balloon.RADIUS + 1.6 if named else 0)
            parts.append(_hung(door, hanging, Box(left, min(far, near), right, max(far, near))))
    return element("g", *parts, data_part="doors")


def _hung(door: Door, parts: Sequence[Element], box: Box) -> Element:
    """A door with its number, as one thing."""
    return element("g", *parts, data_part="hung-door", data_door=door.key, data_box=box.written)


def leaf(pen: Pen, hinge: Point, jamb: Point, way: tuple[int, int]) -> Element:
    """A door that stands open: its leaf from the hinge into the room, and the quarter circle on which it swings."""
    wide = max(abs(jamb[0] - hinge[0]), abs(jamb[1] - hinge[1]))
    tip = (hinge[0] + way[0] * wide, hinge[1] + way[1] * wide)
    across = (jamb[0] - hinge[0], jamb[1] - hinge[1])
    turn = 1 if way[0] * across[1] - way[1] * across[0] > 0 else 0
    arc = f"a{number(wide)} {number(wide)} 0 0 {turn} {number(jamb[0] - tip[0])} {number(jamb[1] - tip[1])}"
    swing = element(
        "path", d=f"M{number(tip[0])} {number(tip[1])} {arc}", fill="none", stroke=pen.colour("ink"), stroke_width=pen.look.rule
    )  # fmt: skip
    return element("g", pen.line(hinge, tip, "door", data_part="leaf"), swing, data_part="door")


def street_doors(pen: Pen, plan: Floorplan, doors: Sequence[Door]) -> Element:
    """The way out, which opens outward only, and the way in where somebody may come in; numbered in the corridor."""
    way, thick = plan.corridor, WALL * pen.look.outer / DAY.outer
    parts: list[Element] = []
    for door in doors:
        if door.kind not in {"out", "in"}:
            continue
        top = way.top + (OUT if door.kind == "out" else IN)
        wall = Box(way.left - thick - 0.1, top, way.left + 0.1, top + WIDE)
        parts.append(element("g", pen.fill(wall, "paper"), data_part="outer-wall"))
        out = door.kind == "out"
        face = way.left - WALL if out else way.left
        start = way.left + (2.2 if out else WIDE + 2.6) + balloon.RADIUS
        hanging = (
            leaf(pen, (face, top), (face, top + WIDE), (-1 if out else 1, 0)),
            balloon.balloon(pen, door.number, (start, top + WIDE / 2)),
        )
        end = start - balloon.RADIUS + balloon.wide(door.number)
        parts.append(_hung(door, hanging, Box(face - WIDE if out else face, top, end, top + WIDE)))
    return element("g", *parts, data_part="street-doors")


def name_left(doors: Sequence[Door]) -> float:
    """How far from the street wall the corridor's name begins, clear of doors and their numbers."""
    ends = [
        (WIDE if door.kind == "in" else 0.0) + balloon.wide(door.number) + 7.0
        for door in doors
        if door.kind in {"out", "in"}
    ]
    return max(ends, default=8.0)


def label_width(label: str) -> float:
    """What is said of a room without a door takes up so much of its width, clearance included."""
    return width(label, SEALED) + 2 * CLEAR + 1.0


def sealed(pen: Pen, placed: Placed, islands: Sequence[Box], *, north: bool, label: str) -> tuple[Element, ...]:
    """Hatching over a room without a door, clear round its words and marks; that it has none is said by the corridor."""
    box = placed.box
    if not label:
        return (hatch_round(pen, box, islands),)
    left, most = box.left + FROM_PARTITION, box.width - 2 * FROM_PARTITION
    room = min(width(label, SEALED), most)
    base = box.bottom - 5.4 if north else box.top + 8.2
    clear = Box(left - CLEAR, base - SEALED.size, left + room + CLEAR, base + CLEAR)
    return hatch_round(pen, box, [*islands, clear]), *pen.words(label, (left, base), SEALED, most)
