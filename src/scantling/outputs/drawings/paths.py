"""Sheet N-5, names and time as pipes in a house: from the street through the stations to the tap in every room."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, Hand, shown, width, wrap
from scantling.outputs.drawings.model import plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.paths_model import Asked, Paths, Station, Tap
from scantling.outputs.drawings.pen import STANDBY, Pen, Point
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

STREET, STATION, ROOM = 33.0, 38.0, 42.0
"""Widths of what lies outside, of a station, of a room."""
LANE = 4.2
"""Between two risers."""
HEAD, FOOT = 11.0, 10.0
NAME, ROOM_NAME, WORDS, SMALL = Hand(SIGN, 4.2), Hand(SIGN, 4.4), Hand(BOOK, 3.5), Hand(BOOK, 3.2, "quiet")
ADDRESS = Hand(EVEN, 2.4, "quiet")
OUT = Hand(LABEL, 3.3)
DOWN = Hand(BOOK, 3.7)
DOT = 0.9
MOST_ROWS = 3
ROOMS = (24.0, 7.0)
"""Largest and smallest pitch of the rooms."""


@dataclass(frozen=True, slots=True)
class Half:
    """One side of the sheet: its stations, whom each room asks, and the direction from the rooms to the street."""

    stations: tuple[Station, ...]
    asked: Mapping[str, tuple[Asked, ...]]
    box: Box
    way: int
    """-1: the street lies at the left; 1: at the right."""

    def across(self, near: float, far: float) -> tuple[float, float]:
        """Left and right end of what lies so far from the rooms."""
        start = self.box.right if self.way < 0 else self.box.left
        ends = start + self.way * near, start + self.way * far
        return min(ends), max(ends)


def paths_sheet(model: Paths, look: Look) -> str:
    """Sheet N-5 as SVG text."""
    pen = Pen(look)
    field = field_box(model.block.paper).inset(9, 11)
    said = _down_height(model, field)
    picture = Box(field.left, field.top, field.right, field.bottom - said)
    middle = (field.left + field.right) / 2
    rooms = Box(middle - ROOM / 2, picture.top + HEAD, middle + ROOM / 2, picture.bottom - FOOT)
    levels = _levels(model.taps, rooms)
    left = Half(
        model.names,
        {tap.slug: tap.names for tap in model.taps},
        Box(field.left, rooms.top, rooms.left, rooms.bottom),
        -1,
    )
    right = Half(
        model.clocks,
        {tap.slug: tap.times for tap in model.taps},
        Box(rooms.right, rooms.top, field.right, rooms.bottom),
        1,
    )
    parts = [
        *pen.words("NAMES", (field.left, field.top + 2.6), HEADING, 60),
        *pen.words("ROOMS", (middle, field.top + 2.6), HEADING, ROOM, "middle"),
        *pen.words("TIME", (field.right, field.top + 2.6), HEADING, 60, "end"),
        *_half(pen, left, levels), *_half(pen, right, levels),
        *(_room(pen, tap, Box(rooms.left, levels[tap.slug][0], rooms.right, levels[tap.slug][1])) for tap in model.taps),
        _down(pen, model, Box(field.left, picture.bottom, field.right, field.bottom)),
    ]  # fmt: skip
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


def _levels(taps: Sequence[Tap], rooms: Box) -> dict[str, tuple[float, float]]:
    """Top and bottom of each room."""
    pitch = max(ROOMS[1], min(ROOMS[0], rooms.height / max(1, len(taps))))
    start = rooms.top + max(0.0, rooms.height - pitch * len(taps)) / 2
    gap = min(4.0, pitch * 0.18)
    return {
        tap.slug: (start + place * pitch + gap / 2, start + (place + 1) * pitch - gap / 2)
        for place, tap in enumerate(taps)
    }


def _room(pen: Pen, tap: Tap, box: Box) -> Element:
    """A room with its name and number."""
    size = min(ROOM_NAME.size, box.height * 0.55)
    base = (box.top + box.bottom) / 2 + size * 0.36
    number = Hand(LABEL, size * 0.85, "quiet")
    taken = width(shown(tap.number, LABEL), number)
    words = pen.words(tap.name, (box.left + 3, base), ROOM_NAME.at(size), box.width - taken - 9)
    return element(
        "g", pen.box(box, "partition", data_part="wall"), *words,
        *pen.words(tap.number, (box.right - 3, base), number, taken + 0.1, "end"),
        data_part="tap", data_room=tap.slug, data_box=box.written,
    )  # fmt: skip


def _half(pen: Pen, half: Half, levels: Mapping[str, tuple[float, float]]) -> list[Element]:
    """Stations, the pipes from each to its rooms, to the street and to each other."""
    places = _stations(half)
    parts: list[Element] = []
    for rank, station in enumerate(half.stations):
        parts += _riser(pen, half, (station, rank), places[station.slug], levels)
    for station in half.stations:
        parts += _station(pen, station, places[station.slug])
        parts += _street(pen, half, station, places[station.slug])
        parts += _inner(pen, half, station, places)
    return parts


def _station_height(station: Station) -> float:
    rows = len(wrap(plain(station.does), WORDS, STATION - 5, MOST_ROWS))
    copy = (
        len(wrap(plain(station.copy), SMALL, STATION - 9, MOST_ROWS)) * SMALL.leading + 4.0 if station.copy else 0.0
    )
    outside = len(station.outside[:MOST_ROWS]) * OUT.leading + 4.0
    return max(NAME.leading + rows * WORDS.leading + 4.5 + copy, outside)


def _stations(half: Half) -> dict[str, Box]:
    """Where the stations stand: one below the other, spread over the height."""
    near = 6.0 + LANE * len(half.stations) + 27.0
    left, right = half.across(near, near + STATION)
    heights = [_station_height(station) for station in half.stations]
    space = max(0.0, half.box.height - sum(heights)) / (len(heights) + 1)
    space = min(space, 34.0)
    level = half.box.top + (half.box.height - sum(heights) - space * max(0, len(heights) - 1)) / 2
    places = {}
    for station, height in zip(half.stations, heights, strict=True):
        places[station.slug] = Box(left, level, right, level + height)
        level += height + space
    return places


def _station(pen: Pen, station: Station, box: Box) -> list[Element]:
    """Its box: name, what it does, and the copy from which it answers when others are down."""
    base = box.top + 2.2 + NAME.size * 0.8
    parts: list[Element] = [pen.box(box, "outer", data_part="outer-wall")]
    parts += pen.words(station.name, (box.left + 2.5, base), NAME, box.width - 5)
    rows, base = pen.paragraph(
        plain(station.does), (box.left + 2.5, base + WORDS.leading), WORDS, box.width - 5, MOST_ROWS
    )
    parts += rows
    if station.copy:
        lines = len(wrap(plain(station.copy), SMALL, box.width - 9, MOST_ROWS))
        top = base - WORDS.size * 0.55
        copy = Box(box.left + 2.5, top, box.right - 2.5, top + lines * SMALL.leading + 2.0)
        parts.append(pen.box(copy, "door", stroke_dasharray=STANDBY, data_part="copy"))
        parts += pen.paragraph(
            plain(station.copy), (copy.left + 2.0, top + 1.0 + SMALL.size * 0.8), SMALL, copy.width - 4, MOST_ROWS
        )[0]
    return [element("g", *parts, data_part="station", data_box=box.written)]


def _riser(
    pen: Pen, half: Half, ranked: tuple[Station, int], box: Box, levels: Mapping[str, tuple[float, float]]
) -> list[Element]:
    """From the station to its own riser, and a branch from that to every room that asks it; the second asked is thinner."""
    station, rank = ranked
    lane = half.across(6.0 + 27.0 + LANE * rank, 6.0 + 27.0 + LANE * rank)[0]
    edge, wall = (box.right, half.box.right) if half.way < 0 else (box.left, half.box.left)
    out = (box.top + box.bottom) / 2
    ends: list[float] = []
    parts: list[Element] = []
    for slug, asked in half.asked.items():
        for place, one in enumerate(asked):
            if one.station == station.slug:
                level = _branch_level(levels[slug], place, len(asked))
                ends.append(level)
                parts += _branch(pen, half, one, ((lane, level), (wall, level)), place)
    if not ends:
        return []
    top, bottom = min(out, *ends), max(out, *ends)
    parts.append(pen.path(((edge, out), (lane, out)), "partition", data_part="pipe"))
    parts.append(pen.path(((lane, top), (lane, bottom)), "partition", data_part="pipe"))
    parts += [_dot(pen, (lane, level)) for level in ends if level not in {top, bottom}]
    return parts


def _branch_level(level: tuple[float, float], place: int, count: int) -> float:
    """Where a branch meets its room: the first asked above, the others under it."""
    return level[0] + (level[1] - level[0]) * (place + 1) / (count + 1)


def _branch(pen: Pen, half: Half, one: Asked, ends: tuple[Point, Point], place: int) -> list[Element]:
    """A branch with the address at which the room asks, above the line by the room."""
    line = pen.line(*ends, "partition" if place == 0 else "rule", data_part="pipe")
    wall = ends[1]
    anchor, at = ("end", wall[0] - 1.5) if half.way < 0 else ("start", wall[0] + 1.5)
    words = pen.words(one.address, (at, wall[1] - 0.9), ADDRESS, 27.0, "end" if anchor == "end" else "start")
    return [element("g", line, *words, data_part="branch")]


def _dot(pen: Pen, at: Point) -> Element:
    """Where a branch leaves its riser; pipes that only cross have none."""
    return pen.fill(Box(at[0] - DOT, at[1] - DOT, at[0] + DOT, at[1] + DOT))


def _street(pen: Pen, half: Half, station: Station, box: Box) -> list[Element]:
    """Whom a station asks outside, and the pipe there."""
    if not station.outside:
        return []
    lines = station.outside[:MOST_ROWS]
    edge = box.left if half.way < 0 else box.right
    left, right = (
        (half.box.left, half.box.left + STREET) if half.way < 0 else (half.box.right - STREET, half.box.right)
    )
    middle = (box.top + box.bottom) / 2
    near = right if half.way < 0 else left
    parts: list[Element] = [pen.line((edge, middle), (near + half.way * -1.5, middle), "partition", data_part="pipe")]
    base = middle - (len(lines) - 1) * OUT.leading / 2 + OUT.size * 0.36
    for line in lines:
        start = (right, base) if half.way < 0 else (left, base)
        parts += pen.words(line, start, OUT, STREET, "end" if half.way < 0 else "start")
        base += OUT.leading
    if len(station.outside) > len(lines):
        parts += pen.words(f"and {len(station.outside) - len(lines)} more", (left, base), SMALL, STREET)
    return [element("g", *parts, data_part="outside")]


def _inner(pen: Pen, half: Half, station: Station, places: Mapping[str, Box]) -> list[Element]:
    """Pipes from a station to others of its column, on the side of the street, with what it asks them for."""
    parts: list[Element] = []
    for rank, (slug, what) in enumerate(station.asks):
        if slug in places:
            start, end = places[station.slug], places[slug]
            down = end.top > start.top
            x = start.left + start.width * (0.3 + 0.2 * rank)
            ends = ((x, start.bottom), (x, end.top)) if down else ((x, start.top), (x, end.bottom))
            parts.append(pen.line(*ends, "partition", data_part="pipe"))
            middle = (ends[0][1] + ends[1][1]) / 2 + 1.1
            parts += pen.words(what, (x + 2.0, middle), SMALL, start.right - x - 2)
    return [element("g", *parts, data_part="inner")] if parts else []


def _down_height(model: Paths, field: Box) -> float:
    rows = sum(len(wrap(says, DOWN, field.width, 2)) for says in model.down)
    return rows * DOWN.leading + 1.2 * len(model.down) + 10.0 if model.down else 0.0


def _down(pen: Pen, model: Paths, box: Box) -> Element:
    """Who answers at a cold start and with the directory down, in sentences under the picture."""
    parts: list[Element] = []
    if model.down:
        said = "AT A COLD START, AND WITH THE DIRECTORY DOWN"
        parts += pen.words(said, (box.left + 16, box.top + 4.6), HEADING, box.width - 16)
        parts.append(
            pen.line((box.left, box.top + 3.6), (box.left + 13, box.top + 3.6), "partition", stroke_dasharray=STANDBY)
        )
    base = box.top + 10.6
    for says in model.down:
        rows, base = pen.paragraph(says, (box.left, base), DOWN, box.width, 2)
        parts += rows
        base += 1.2
    return element("g", *parts, data_part="down", data_box=box.written)
