"""Sheet N-1, the network by rooms as the owner sees it: names, people and devices; doors; the street; the red pencil."""

from dataclasses import dataclass

from scantling.outputs.drawings import door_list, doors, floorplan, pencil
from scantling.outputs.drawings.door_list import Setting
from scantling.outputs.drawings.floorplan import Floorplan, Placed
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, cut, width
from scantling.outputs.drawings.model import Room, RoomsSheet, plain
from scantling.outputs.drawings.paper import DAY, Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.room_words import INSET, TRIANGLES, Hands, contents, hands, name_fits
from scantling.outputs.drawings.sheet import Margin, page
from scantling.outputs.drawings.street import outside
from scantling.outputs.drawings.svg import Element, element

STREET, STREET_WITH_DOORS = 57.0, 64.0
"""Width of the strip outside the building, in millimetres."""
CORRIDOR = 28.0
WIDEST = 82.0
DEPTHS = (68.0, 98.0)
LEAST_DEPTH = 44.0
"""Smallest depth of a room above or below a door schedule."""
MOST_ROOMS = 0.68
"""Largest share of the height that rooms take from the schedule."""
SCALES = (1.2, 1.1, 1.0, 0.92, 0.85, 0.78, 0.72, 0.66, 0.6)
NAME_SCALES = (*SCALES, 0.54, 0.48)
LEAST_NUMBERED = 0.66
"""Names set smaller than this have no number beside them; it stands with the door, or with the words that there is none."""
READABLE = 0.78
"""Words in rooms are set no smaller for the sake of a larger schedule."""
CLOUD = 2.4
"""From a wall to the cloud inside a room."""
ELLIPSIS_ROOM = 4.0
"""What dots for further triangles take."""
TITLE = 18.0
"""From the foot of the building to what stands under the plan's title."""
LEAST_SAID = 60.0
"""Room for what is said beside the title; with less it stands under it."""
PLAN_TITLE = Hand(SIGN, 7.0)
UNDER_TITLE = Hand(BOOK, 4.0, "quiet")
CORRIDOR_NAME = Hand(LABEL, 5.0)
CORRIDOR_NOTE = Hand(LABEL, 4.2, "quiet")
NOT_PLANNED, LOCKED = "doors: not yet planned", "locked, but for the door schedule"


@dataclass(frozen=True, slots=True)
class Arranged:
    """The plan of the rooms, their lettering, and the door schedule under them."""

    plan: Floorplan
    letters: Hands
    schedule: Setting | None = None


def owners_sheet(model: RoomsSheet, look: Look) -> str:
    """Sheet N-1 as SVG text."""
    pen = Pen(look)
    arranged = laid_out(model)
    plan = arranged.plan
    hung = model.doors or ()
    parts = (
        outside(pen, model, plan),
        floorplan.walls(pen, plan, doors.openings(plan, hung)),
        _corridor(pen, model, plan),
        *(_room(pen, model, placed, arranged.letters) for placed in plan.rooms),
        *((doors.room_doors(pen, plan, hung), doors.street_doors(pen, plan, hung)) if hung else ()),
        _plan_title(pen, model, plan),
        *((_schedule(pen, model, arranged),) if arranged.schedule else ()),
    )
    return page(model.block, look, parts, Margin(model.notes, model.pencil), _told(model, plan))


def _told(model: RoomsSheet, plan: Floorplan) -> str:
    """The picture in words."""
    names = ", ".join(placed.room.name for placed in plan.rooms)
    told = f"Floor plan of the network: the rooms {names} open on the corridor {model.corridor}."
    if model.doors is None:
        return f"{told} Doors: not yet planned."
    hung = [f"{door.number} into {door.name}" for door in model.doors if door.kind == "room"]
    return f"{told} Doors: {', '.join(hung) or 'none'}. Rooms without a door are hatched."


def building_box(model: RoomsSheet) -> Box:
    """Where the building may stand, over the title of the plan."""
    field = field_box(model.block.paper)
    strip = STREET if model.doors is None else STREET_WITH_DOORS
    top = field.top + (16 if model.doors is None else 13)
    return Box(field.left + strip, top, field.right - 7, field.bottom - (34 if model.doors is None else 6))


def arrange(model: RoomsSheet) -> tuple[Floorplan, Hands]:
    """The plan of the rooms and their lettering."""
    arranged = laid_out(model)
    return arranged.plan, arranged.letters


def laid_out(model: RoomsSheet) -> Arranged:
    """The plan of the rooms, the largest lettering that fits in all of them, and the schedule in what is left."""
    if model.doors is None:
        return _without_doors(model)
    site = building_box(model)
    unit = floorplan.unit_width(model.rooms, site.width, WIDEST)
    named, room = _naming(model, unit), site.height - doors.CORRIDOR - TITLE
    least = min(sum(_needed(model, unit, hands(named[0], READABLE, numbered=named[1]))), room * MOST_ROOMS)
    wide = _list_box(model, 0).width
    settings = (door_list.setting(model.doors, wide, scale, room - least) for scale in door_list.SCALES)
    setting = next((each for each in settings if not each.left_out), None)
    if setting is None:
        setting = door_list.setting(model.doors, wide, door_list.SCALES[-1], room - least)
    letters, depths = _letters(model, unit, named, room - setting.height)
    plan = floorplan.lay(model.rooms, (site.left, site.top), unit, depths, doors.CORRIDOR)
    return Arranged(plan, letters, setting)


def _without_doors(model: RoomsSheet) -> Arranged:
    site = building_box(model)
    unit = floorplan.unit_width(model.rooms, site.width, WIDEST)
    (names, _), most = _naming(model, unit), min(DEPTHS[1], (site.height - CORRIDOR) / 2)
    letters, depth = hands(names, SCALES[-1]), most
    for scale in _word_scales(names):
        needed = max(_needed(model, unit, hands(names, scale)))
        if needed <= most:
            letters, depth = hands(names, scale), max(DEPTHS[0], min(most, needed + 6))
            break
    top = (site.top + site.bottom - CORRIDOR) / 2 - depth
    return Arranged(floorplan.lay(model.rooms, (site.left, top), unit, (depth, depth), CORRIDOR), letters)


def _naming(model: RoomsSheet, unit: float) -> tuple[float, bool]:
    """The scale of the names, and whether the rooms' numbers stand beside them."""
    if model.doors is None:
        return _names_scale(model, unit, numbered=False), False
    scale = _names_scale(model, unit, numbered=True)
    return (scale, True) if scale >= LEAST_NUMBERED else (_names_scale(model, unit, numbered=False), False)


def _names_scale(model: RoomsSheet, unit: float, *, numbered: bool) -> float:
    """The largest scale at which no room's name is broken inside a word."""
    scales = SCALES if model.doors is None else NAME_SCALES
    for scale in scales:
        letters = hands(scale, 1, numbered=numbered)
        if all(name_fits(room, floorplan.SHARES[room.size] * unit, letters) for room in model.rooms):
            return scale
    return scales[-1]


def _word_scales(names: float) -> tuple[float, ...]:
    """Scales of words that go with a scale of names, the largest first."""
    return tuple(scale for scale in SCALES if scale <= max(names * 1.3, SCALES[-1]))


def _letters(
    model: RoomsSheet, unit: float, named: tuple[float, bool], room: float
) -> tuple[Hands, tuple[float, float]]:
    """The largest lettering with which all words stand in rooms that share a depth, and the depths, what is left shared out."""
    names, numbered = named
    letters, needed = hands(names, SCALES[-1], numbered=numbered), (room / 2, room / 2)
    for scale in _word_scales(names):
        tried = hands(names, scale, numbered=numbered)
        wanted = _needed(model, unit, tried)
        if sum(wanted) <= room and max(wanted) <= DEPTHS[1]:
            letters, needed = tried, wanted
            break
    spare = (room - sum(needed)) / 2
    north, south = (min(DEPTHS[1], depth + spare) for depth in needed)
    return letters, (north, south)


def _needed(model: RoomsSheet, unit: float, letters: Hands) -> tuple[float, float]:
    """Depth that the fullest room of each side needs."""
    least = LEAST_DEPTH if model.doors is not None else 0.0
    north, south = (
        max((_depth(model, room, unit, letters) for room in side), default=least)
        for side in floorplan.sides(model.rooms)
    )
    return max(north, least), max(south, least)


def _depth(model: RoomsSheet, room: Room, unit: float, letters: Hands) -> float:
    """Depth the room's words need, its triangles or its door included."""
    box = Box(0, 0, floorplan.SHARES[room.size] * unit, 1e4)
    base = contents(Pen(DAY), room, box, letters, marked=False)[1]
    if model.doors is not None:
        return base + doors.SWING + (2.0 if room.findings else 0.0)
    return base + (TRIANGLES + 1.5 if room.findings else 2.0)


def _room(pen: Pen, model: RoomsSheet, placed: Placed, letters: Hands) -> Element:
    room, box = placed.room, placed.box
    if model.doors is not None:
        parts = _room_with_doors(pen, model, placed, letters)
    else:
        parts = list(contents(pen, room, box, letters, marked=bool(room.findings))[0])
        if room.findings:
            parts.insert(0, pencil.cloud(pen, box.inset(CLOUD)))
            corner = (box.right - 5.6, box.bottom - 6.4)
            parts += pencil.triangles(pen, model.pencil, room.findings, corner, box.width - 10)
    return element("g", *parts, data_part="room", data_room=room.slug, data_box=box.written)


def _room_with_doors(pen: Pen, model: RoomsSheet, placed: Placed, letters: Hands) -> list[Element]:
    """Words clear of the door's swing; the triangles beside the door; hatched where there is none."""
    room, box = placed.room, placed.box
    north = box.top <= building_box(model).top
    inner = Box(box.left, box.top, box.right, box.bottom - doors.SWING)
    inner = inner if north else Box(box.left, box.top + doors.SWING, box.right, box.bottom)
    words, foot = contents(pen, room, inner, letters, marked=False)
    hung = room.slug in doors.by_room(model.doors or ())
    right = box.right - (doors.SWING + 4.0 if hung else 2.6)
    said = doors.NO_DOOR if letters.room is not None else f"{room.number}: {doors.NO_DOOR}"
    taken = doors.label_width(said) + doors.FROM_PARTITION
    label = (
        said if not hung and (not room.findings or right - box.left - taken >= pencil.PITCH + ELLIPSIS_ROOM) else ""
    )
    left = box.left + (taken if label else CLOUD)
    space = right - left - ELLIPSIS_ROOM
    many = min(len(room.findings), max(1, int(space / pencil.PITCH)))
    level = box.bottom - 5.0 if north else box.top + 7.6
    parts: list[Element] = []
    if not hung:
        marks = Box(right - many * pencil.PITCH - ELLIPSIS_ROOM, level - 5.6, right + 0.8, level + 3.2)
        islands = [Box(box.left + 2.6, inner.top + 2.4, box.right - 2.6, min(foot, inner.bottom) - 2.0)]
        parts += doors.sealed(pen, placed, [*islands, *([marks] if many else [])], north=north, label=label)
    if many:
        parts.append(pencil.cloud(pen, inner.inset(CLOUD)))
        parts += pencil.triangles(pen, model.pencil, room.findings, (right, level), space)
    return [*parts, *words]


def _corridor(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """The firewall's name at the street end; at the far end, that all is locked, or that doors are not planned yet."""
    way = plan.corridor
    middle = (way.top + way.bottom) / 2 + 1.6
    start = way.left + (INSET + 3 if model.doors is None else doors.name_left(model.doors))
    end = way.right - INSET - 3
    note = NOT_PLANNED if model.doors is None else LOCKED
    taken = width(note, CORRIDOR_NOTE)
    named = max(end - start - taken - 6, (end - start) / 3)
    name = pen.words(model.corridor, (start, middle), CORRIDOR_NAME, named)
    closing = pen.words(note, (end, middle), CORRIDOR_NOTE, min(taken + 0.1, end - start - named), "end")
    return element("g", *name, *closing, data_part="corridor", data_box=way.written)


def _plan_title(pen: Pen, model: RoomsSheet, plan: Floorplan) -> Element:
    """Title under the plan, ruled off as under any plan, and what its sizes mean."""
    field = field_box(model.block.paper)
    left, right = plan.corridor.left, field.right - 9
    base = max(point[1] for point in plan.outline) + (15 if model.doors is None else 11)
    row = cut(model.block.title, PLAN_TITLE, right - left)
    parts = list(pen.row(row, (left, base), PLAN_TITLE))
    said = plain(f"Not to scale. Width of a room: {model.size_note}." if model.size_note else "Not to scale.")
    start = left + sum(piece.width for piece in row) + 6
    if model.doors is None or start > right - LEAST_SAID:
        parts += pen.paragraph(said, (left, base + 6.6), UNDER_TITLE, right - left, 2 if model.doors is None else 1)[
            0
        ]
    else:
        parts += pen.words(said, (start, base), UNDER_TITLE, right - start)
    return element("g", *parts, data_part="plan-title")


def _list_box(model: RoomsSheet, top: float) -> Box:
    """Where the door schedule stands."""
    field = field_box(model.block.paper)
    return Box(field.left + 8, top, field.right - 9, field.bottom - 4)


def _schedule(pen: Pen, model: RoomsSheet, arranged: Arranged) -> Element:
    assert arranged.schedule is not None
    top = max(point[1] for point in arranged.plan.outline) + TITLE
    return door_list.schedule(pen, arranged.schedule, _list_box(model, top), model.schedule)
