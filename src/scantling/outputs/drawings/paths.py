"""Sheet N-5, names and time as pipes in a house: from the street through the stations to tap and clock of every room."""

from collections.abc import Mapping, Sequence

from scantling.outputs.drawings import fittings, stations
from scantling.outputs.drawings.floorplan import WALL
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, shown, width, wrap
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.paths_model import Asked, Paths, Station, Tap
from scantling.outputs.drawings.pen import STANDBY, Pen, Point
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.stations import Half
from scantling.outputs.drawings.svg import Element, element

ROOM = 52.0
"""Width of the house inside; thickness of its wall by day; how far its roof reaches out."""
STOREY = 42.0
"""Largest height of a storey."""
HEAD, FOOT = 14.0, 12.0
"""From the top of the sheet to the roof, from the ground to the sentences under the picture."""
DOWN = Hand(BOOK, 3.7)
NUMBER = 10.0
"""Most that a room's number takes."""
NAME_SIZES = (5.2, 4.8, 4.4, 4.0, 3.6, 3.2)


def paths_sheet(model: Paths, look: Look) -> str:
    """Sheet N-5 as SVG text."""
    pen = Pen(look)
    field = field_box(model.block.paper).inset(9, 11)
    house = _house_box(model, field)
    ground = house.bottom
    levels = _levels(model.taps, house)
    halves = (
        Half(model.names, {tap.slug: tap.names for tap in model.taps}, Box(field.left, field.top + HEAD, house.left, ground), -1),
        Half(model.clocks, {tap.slug: tap.times for tap in model.taps}, Box(house.right, field.top + HEAD, field.right, ground), 1),
    )  # fmt: skip
    middle = (house.left + house.right) / 2
    parts = [
        *pen.words("NAMES", (field.left, field.top + 2.6), HEADING, 60),
        *pen.words("ROOMS", (middle, field.top + 2.6), HEADING, ROOM, "middle"),
        *pen.words("TIME", (field.right, field.top + 2.6), HEADING, 60, "end"),
        *(part for half in halves for part in _half(pen, half, levels)),
        _house(pen, model, house, field),
        *(_room(pen, tap, levels[tap.slug], house, _name_size(model)) for tap in model.taps),
        _down(pen, model, Box(field.left, ground + FOOT, field.right, field.bottom)),
    ]
    return page(model.block, look, tuple(parts), Margin(model.notes, model.pencil), _told(model))


def _told(model: Paths) -> str:
    """The picture in words."""
    names = {station.slug: station.name for station in (*model.names, *model.clocks)}
    ways = [
        f"{tap.name} asks {', '.join(names[one.station] for one in tap.names) or 'nobody'} for names and "
        f"{', '.join(names[one.station] for one in tap.times) or 'nobody'} for the time"
        for tap in model.taps
    ]
    return f"Paths of names and time. {'; '.join(ways)}."


def _house_box(model: Paths, field: Box) -> Box:
    """The house inside its walls, one storey a room, in the middle of the sheet with what is said under it."""
    middle = (field.left + field.right) / 2
    said = _down_height(model, field) + FOOT
    room = field.height - HEAD - 4 - said
    height = min(room, max(1, len(model.taps)) * STOREY)
    ground = field.bottom - said - (room - height) / 2
    return Box(middle - ROOM / 2, ground - height, middle + ROOM / 2, ground)


def _levels(taps: Sequence[Tap], house: Box) -> dict[str, tuple[float, float]]:
    """Ceiling and floor of each room."""
    storey = house.height / max(1, len(taps))
    return {
        tap.slug: (house.top + place * storey, house.top + (place + 1) * storey) for place, tap in enumerate(taps)
    }


def _house(pen: Pen, model: Paths, box: Box, field: Box) -> Element:
    """The outer wall as the section cuts it, roof and slabs, and the earth on both sides."""
    parts = fittings.shell(pen, box)
    for place in range(1, len(model.taps)):
        level = box.top + place * box.height / len(model.taps)
        parts.append(pen.line((box.left, level), (box.right, level), "partition", data_part="wall"))
    for left, right in ((field.left, box.left - WALL), (box.right + WALL, field.right)):
        parts += fittings.earth(pen, left, right, box.bottom)
    return element("g", *parts, data_part="house")


def _name_size(model: Paths) -> float:
    """The largest size at which every name has room."""
    for size in NAME_SIZES:
        room = [_name_room(tap, size) - width(shown(tap.name, SIGN), Hand(SIGN, size)) for tap in model.taps]
        if min(room, default=0.0) >= 0:
            return size
    return NAME_SIZES[-1]


def _name_room(tap: Tap, size: float) -> float:
    """What tap, clock and number leave to a name."""
    taken = min(width(shown(tap.number, LABEL), Hand(LABEL, size * 0.8)), NUMBER)
    return ROOM - fittings.TAP - 2 * fittings.CLOCK - 10.5 - taken


def _room(pen: Pen, tap: Tap, level: tuple[float, float], house: Box, size: float) -> Element:
    """A room with its name and number, its tap where it looks names up, its clock."""
    box = Box(house.left, level[0], house.right, level[1])
    size = min(size, box.height * 0.5)
    middle = (box.top + box.bottom) / 2
    base = middle + size * 0.36
    left, right = box.left + fittings.TAP + 3.5, box.right - 2 * fittings.CLOCK - 4.5
    number = Hand(LABEL, size * 0.8, "quiet")
    taken = min(width(shown(tap.number, LABEL), number), NUMBER)
    parts: list[Element] = list(pen.words(tap.name, (left, base), Hand(SIGN, size), _name_room(tap, size)))
    parts += pen.words(tap.number, (right, base), number, taken + 0.1, "end")
    parts += [fittings.tap(pen, (box.left, stations.branch_level(level, 0, len(tap.names))))] if tap.names else []
    parts += [fittings.clock(pen, (box.right, stations.branch_level(level, 0, len(tap.times))))] if tap.times else []
    return element("g", *parts, data_part="tap", data_room=tap.slug, data_box=box.written)


def _half(pen: Pen, half: Half, levels: Mapping[str, tuple[float, float]]) -> list[Element]:
    """Stations, the pipes from each to its rooms, to the street and to each other."""
    places = stations.places(half)
    parts: list[Element] = []
    for rank, station in enumerate(half.stations):
        parts += _riser(pen, half, (station, rank), places[station.slug], levels)
    for station in half.stations:
        parts += stations.drawn(pen, station, places[station.slug])
        parts += stations.street(pen, half, station, places[station.slug])
        parts += stations.inner(pen, station, places)
    return parts


def _riser(
    pen: Pen, half: Half, ranked: tuple[Station, int], box: Box, levels: Mapping[str, tuple[float, float]]
) -> list[Element]:
    """From the station to its own riser, and a branch from that to every room that asks it."""
    station, rank = ranked
    lane = half.lane(rank)
    edge, wall = (box.right, half.box.right) if half.way < 0 else (box.left, half.box.left)
    out = (box.top + box.bottom) / 2
    ends: list[float] = []
    parts: list[Element] = []
    for slug, asked in half.asked.items():
        for place, one in enumerate(asked):
            if one.station == station.slug:
                level = stations.branch_level(levels[slug], place, len(asked))
                ends.append(level)
                parts.append(_branch(pen, half, one, ((lane, level), (wall, level)), place))
    if not ends:
        return []
    top, bottom = min(out, *ends), max(out, *ends)
    parts.append(pen.line((edge, out), (lane, out), "partition", data_part="pipe"))
    parts.append(pen.line((lane, top), (lane, bottom), "partition", data_part="pipe"))
    return parts + [fittings.joint(pen, (lane, level)) for level in sorted({*ends, out} - {top, bottom})]


def _branch(pen: Pen, half: Half, one: Asked, ends: tuple[Point, Point], place: int) -> Element:
    """A branch with the address at which the room asks, above it by the wall; thinner for whom it asks second."""
    line = pen.line(*ends, "partition" if place == 0 else "rule", data_part="pipe")
    at = ends[1][0] + half.way * (WALL + 1.2)
    words = pen.words(
        one.address, (at, ends[1][1] - 0.9), stations.ADDRESS, stations.LABELS, "end" if half.way < 0 else "start"
    )
    return element("g", line, *words, data_part="branch")


def _down_height(model: Paths, field: Box) -> float:
    rows = sum(len(wrap(says, DOWN, field.width, 2)) for says in model.down)
    return rows * DOWN.leading + 1.2 * len(model.down) + 7.5 if model.down else 0.0


def _down(pen: Pen, model: Paths, box: Box) -> Element:
    """Who answers at a cold start and with the directory down, in sentences under the picture."""
    parts: list[Element] = []
    if model.down:
        said = "AT A COLD START, AND WITH THE DIRECTORY DOWN"
        parts += pen.words(said, (box.left + 16, box.top + 2.6), HEADING, box.width - 16)
        level = box.top + 1.5
        parts.append(pen.line((box.left, level), (box.left + 13, level), "partition", stroke_dasharray=STANDBY))
    base = box.top + 8.6
    for says in model.down:
        rows, base = pen.paragraph(says, (box.left, base), DOWN, box.width, 2)
        parts += rows
        base += 1.2
    return element("g", *parts, data_part="down", data_box=box.written)
