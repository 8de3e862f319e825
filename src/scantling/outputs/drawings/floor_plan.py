"""Where the rooms of the network lie: two sides of one corridor, three sizes, and the same places from revision to revision."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scantling.outputs.drawings.canvas import Box
from scantling.outputs.drawings.model import Room

MIDDLE_FROM, LARGE_FROM = 10, 30
SIZES = {"small": 1.0, "middle": 1.22, "large": 1.5}
OUTER, INNER = 2.2, 1.3
"""Thickness of the outer wall and of a partition, in millimetres on the sheet."""
CORRIDOR = 26.0
WIDEST_UNIT = 62.0
DEPTH_LEAST, DEPTH_MOST = 58.0, 112.0
UNEVEN = 2
"""Sides may differ by so many rooms before they are dealt out evenly."""


@dataclass(frozen=True, slots=True)
class PlacedRoom:
    """A room with its floor, clear of the walls; `far` rooms lie above the corridor."""

    room: Room
    floor: Box
    far: bool


@dataclass(frozen=True, slots=True)
class FloorPlan:
    """The plan on the sheet."""

    rooms: tuple[PlacedRoom, ...]
    corridor: Box
    outline: tuple[tuple[float, float], ...]
    """Corners of the outer face of the outer wall."""


def size_of(room: Room) -> str:
    """small, middle or large, by the number of devices."""
    if room.devices >= LARGE_FROM:
        return "large"
    return "middle" if room.devices >= MIDDLE_FROM else "small"


def sides(rooms: Sequence[Room]) -> tuple[list[Room], list[Room]]:
    """The rooms above and below the corridor, each in order of number.

    A room's side follows from its own number alone (odd tens above, even tens below), so that a room added later moves
    no other to the other side. Only where that would crowd one side are they dealt out in turn.
    """
    ordered = sorted(rooms, key=lambda room: (room.number, room.slug))
    far = [room for room in ordered if room.number // 10 % 2]
    near = [room for room in ordered if not room.number // 10 % 2]
    if abs(len(far) - len(near)) > UNEVEN:
        return ordered[::2], ordered[1::2]
    return far, near


def _span(side: Sequence[Room], unit: float) -> float:
    """How long one side is, outer walls and all."""
    return sum(SIZES[size_of(room)] for room in side) * unit + INNER * max(0, len(side) - 1) + 2 * OUTER


def unit_for(rooms: Sequence[Room], width: float) -> float:
    """The width of a small room such that the fuller side fits the width."""
    units = [
        (width - 2 * OUTER - INNER * (len(side) - 1)) / sum(SIZES[size_of(room)] for room in side)
        for side in sides(rooms)
        if side
    ]
    return min([WIDEST_UNIT, *units])


def plan_width(rooms: Sequence[Room], unit: float) -> float:
    """The length of the whole plan."""
    return max([2 * unit, *(_span(side, unit) for side in sides(rooms) if side)])


def _row(side: Sequence[Room], corner: tuple[float, float], unit: float, depth: float, far: bool) -> list[PlacedRoom]:
    x, y = corner[0] + OUTER, corner[1]
    placed = []
    for room in side:
        wide = SIZES[size_of(room)] * unit
        placed.append(PlacedRoom(room, Box(x, y, wide, depth), far))
        x += wide + INNER
    return placed


def _outline(corridor: Box, ends: tuple[float, float], edges: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """The outer face: the two sides may end at different places, the corridor runs to the further one."""
    left, right = corridor.x - OUTER, corridor.right + OUTER
    (far_end, near_end), (top, bottom) = ends, edges
    points = [(left, top), (far_end, top)]
    if far_end < right:
        points += [(far_end, corridor.y - OUTER), (right, corridor.y - OUTER)]
    if near_end < right:
        points += [(right, corridor.bottom + OUTER), (near_end, corridor.bottom + OUTER)]
    return (*points, (near_end, bottom), (left, bottom))


def lay_out(rooms: Sequence[Room], area: Box, needed: Callable[[Room, float], float]) -> FloorPlan:
    """Places the plan in the area, in its middle from top to bottom; `needed` is the depth of a room's text at a width."""
    far, near = sides(rooms)
    unit = unit_for(rooms, area.width)
    total = plan_width(rooms, unit)
    depths = [
        max([DEPTH_LEAST, *(needed(room, SIZES[size_of(room)] * unit) for room in side)]) if side else 0.0
        for side in (far, near)
    ]
    most = min(DEPTH_MOST, (area.height - CORRIDOR - 4 * OUTER) / 2)
    far_depth, near_depth = (min(depth, most) for depth in depths)
    tall = CORRIDOR + 2 * OUTER + sum(depth + INNER for depth in (far_depth, near_depth) if depth)
    x, top = area.x, area.middle - tall / 2
    corridor_top = top + OUTER + (far_depth + INNER if far_depth else 0.0)
    corridor = Box(x + OUTER, corridor_top, total - 2 * OUTER, CORRIDOR)
    near_top = corridor.bottom + INNER
    bottom = (near_top + near_depth if near_depth else corridor.bottom) + OUTER
    placed = [
        *_row(far, (x, top + OUTER), unit, far_depth, far=True),
        *_row(near, (x, near_top), unit, near_depth, far=False),
    ]
    ends = (x + _span(far, unit) if far else x + total, x + _span(near, unit) if near else x + total)
    return FloorPlan(tuple(placed), corridor, _outline(corridor, ends, (top, bottom)))
