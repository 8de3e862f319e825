"""Lays zones out as rooms on both sides of a corridor: places that stay, three widths, one depth, and the walls."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from scantling.outputs.drawings.model import Room
from scantling.outputs.drawings.paper import DAY, Box
from scantling.outputs.drawings.pen import Pen, Point, course
from scantling.outputs.drawings.svg import Element, element

SHARES = {1: 1.0, 2: 1.25, 3: 1.5}
"""Widths of the three sizes of room, as multiples of the smallest."""
UNEVEN = 2
"""How many rooms one side may have more than the other."""
NO_OPENINGS: Mapping[str, tuple[float, float]] = MappingProxyType({})
WALL = 1.6
"""Thickness of the outer wall, as cut by the plan by day, in millimetres; one step thinner by night."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A room and where it lies, measured between the faces of its walls."""

    room: Room
    box: Box


@dataclass(frozen=True, slots=True)
class Floorplan:
    """Rooms north and south of the corridor."""

    north: tuple[Placed, ...]
    south: tuple[Placed, ...]
    corridor: Box

    @property
    def rooms(self) -> tuple[Placed, ...]:
        """All of them, north first."""
        return self.north + self.south

    @property
    def outline(self) -> tuple[Point, ...]:
        """The outer face of the building, clockwise from its top left corner."""
        way = self.corridor
        points: list[Point] = []
        if self.north:
            top, right = self.north[0].box.top, self.north[-1].box.right
            points += [(way.left, top), (right, top), (right, way.top), (way.right, way.top)]
        else:
            points += [(way.left, way.top), (way.right, way.top)]
        if self.south:
            bottom, right = self.south[0].box.bottom, self.south[-1].box.right
            points += [(way.right, way.bottom), (right, way.bottom), (right, bottom), (way.left, bottom)]
        else:
            points += [(way.right, way.bottom), (way.left, way.bottom)]
        return _without_twins(points)


def _without_twins(points: list[Point]) -> tuple[Point, ...]:
    """Points without those that lie on a straight course or on their neighbour."""
    kept = [point for place, point in enumerate(points) if point != points[place - 1]]
    return tuple(
        point
        for place, point in enumerate(kept)
        if not any(kept[place - 1][axis] == point[axis] == kept[(place + 1) % len(kept)][axis] for axis in (0, 1))
    )


def sides(rooms: tuple[Room, ...]) -> tuple[tuple[Room, ...], tuple[Room, ...]]:
    """North and south by the tens of the zone number, so that a new room moves no other across the corridor.

    Where that would leave one side with more than two rooms more than the other, every second room changes sides.
    """
    order = sorted(rooms, key=lambda room: (room.number, room.slug))
    north = tuple(room for room in order if room.number // 10 % 2)
    south = tuple(room for room in order if not room.number // 10 % 2)
    if abs(len(north) - len(south)) > UNEVEN:
        return tuple(order[::2]), tuple(order[1::2])
    return north, south


def unit_width(rooms: tuple[Room, ...], room: float, most: float) -> float:
    """Width of the smallest room, so that the longer side fits."""
    longest = max((sum(SHARES[each.size] for each in side) for side in sides(rooms)), default=0.0)
    return min(most, room / longest) if longest else most


def lay(
    rooms: tuple[Room, ...], corner: Point, unit: float, depths: tuple[float, float], corridor: float
) -> Floorplan:
    """Rooms from the top left corner of the building, one depth a side (north, south); widths are multiples of the unit."""
    north, south = sides(rooms)
    left, top = corner
    upper = _side(north, left, Box(0, top, 0, top + depths[0]), unit)
    lower = _side(south, left, Box(0, top + depths[0] + corridor, 0, top + sum(depths) + corridor), unit)
    right = max((side[-1].box.right for side in (upper, lower) if side), default=left + 2 * unit)
    return Floorplan(upper, lower, Box(left, top + depths[0], right, top + depths[0] + corridor))


def _side(rooms: tuple[Room, ...], left: float, span: Box, unit: float) -> tuple[Placed, ...]:
    placed = []
    for room in rooms:
        right = left + SHARES[room.size] * unit
        placed.append(Placed(room, Box(left, span.top, right, span.bottom)))
        left = right
    return tuple(placed)


def outer_face(points: tuple[Point, ...], thick: float) -> tuple[Point, ...]:
    """The corners of a right-angled outline, clockwise from its top left, moved outwards by the wall's thickness."""
    moved = []
    for place, (x, y) in enumerate(points):
        before, after = points[place - 1], points[(place + 1) % len(points)]
        runs = (_run(before, (x, y)), _run((x, y), after))
        moved.append((x + thick * sum(run[1] for run in runs), y - thick * sum(run[0] for run in runs)))
    return tuple(moved)


def _run(start: Point, end: Point) -> tuple[int, int]:
    """Direction of a course along one axis: its outward side is to the left of it as the sheet's y runs down."""
    return (end[0] > start[0]) - (end[0] < start[0]), (end[1] > start[1]) - (end[1] < start[1])


def walls(pen: Pen, plan: Floorplan, openings: Mapping[str, tuple[float, float]] = NO_OPENINGS) -> Element:
    """The outer wall as cut; partitions between rooms and along the corridor, open where a room has a door.

    `openings` are the left and right ends of the door of each room, by its slug.
    """
    way = plan.corridor
    thick = WALL * pen.look.outer / DAY.outer
    both = f"{course(outer_face(plan.outline, thick))} {course(plan.outline)}"
    parts = [element("path", d=both, fill=pen.colour("ink"), fill_rule="evenodd", data_part="outer-wall")]
    for side, level in ((plan.north, way.top), (plan.south, way.bottom)):
        if side:
            ends = sorted(end for placed in side for end in openings.get(placed.room.slug, ()))
            stops = [way.left, *ends, side[-1].box.right]
            for start, end in zip(stops[::2], stops[1::2], strict=True):
                parts.append(pen.line((start, level), (end, level), "partition", data_part="wall"))
        for placed in side[:-1]:
            box = placed.box
            parts.append(pen.line((box.right, box.top), (box.right, box.bottom), "partition", data_part="wall"))
    return element("g", *parts, data_part="walls")
