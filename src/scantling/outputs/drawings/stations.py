"""The stations of the sheet of names and time, drawn as tanks: whom they ask outside and inside, the copy they answer from."""

from collections.abc import Mapping
from dataclasses import dataclass

from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, Hand, longest_word, shown, width, wrap
from scantling.outputs.drawings.model import plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.paths_model import Asked, Station
from scantling.outputs.drawings.pen import STANDBY, Pen
from scantling.outputs.drawings.svg import Element, element

STREET, STATION, LABELS = 40.0, 39.0, 21.0
"""Widths of what lies outside, of a tank, and of the addresses on the branches."""
LANE, APART = 4.2, 4.0
"""Between two risers; from the last of them to the tanks."""
LEAST, MOST = 9.0, 32.0
"""Between two tanks of a column."""
NAME, WORDS, SMALL = Hand(SIGN, 4.4), Hand(BOOK, 3.5), Hand(BOOK, 3.3, "quiet")
COPY = Hand(BOOK, 3.3)
ADDRESS = Hand(EVEN, 2.4, "quiet")
OUT = Hand(LABEL, 3.3)
SMALLER = (3.3, 3.1, 2.9, 2.7)
LID, LEGS = 1.4, 1.6
"""How far a tank's lid reaches out, how high its legs are."""
ROWS = 3
WORD_SIZES = (3.5, 3.2, 2.9, 2.6)


@dataclass(frozen=True, slots=True)
class Half:
    """One side of the sheet: its stations, whom each room asks, and the direction from the rooms to the street."""

    stations: tuple[Station, ...]
    asked: Mapping[str, tuple[Asked, ...]]
    box: Box
    way: int
    """-1: the street lies at the left; 1: at the right."""

    def lane(self, rank: int) -> float:
        """Where the riser of a station runs."""
        start = self.box.right if self.way < 0 else self.box.left
        return start + self.way * (LABELS + 3.5 + LANE * rank)

    @property
    def tanks(self) -> tuple[float, float]:
        """Left and right side of the tanks."""
        near = self.lane(max(0, len(self.stations) - 1)) + self.way * APART
        return (near - STATION, near) if self.way < 0 else (near, near + STATION)


def branch_level(level: tuple[float, float], place: int, count: int) -> float:
    """Where a branch meets its room: the first asked above, the others under it."""
    return level[0] + (level[1] - level[0]) * (place + 1) / (count + 1)


def words_hand(station: Station) -> Hand:
    """The largest hand in which no word of what a station does is broken."""
    fits = (size for size in WORD_SIZES if longest_word(station.does, WORDS.at(size)) <= STATION - 5)
    return WORDS.at(next(fits, WORD_SIZES[-1]))


def _height(station: Station) -> float:
    """Of a tank, legs and lid left out."""
    rows = len(wrap(plain(station.does), words_hand(station), STATION - 5, ROWS))
    copy = len(wrap(plain(station.copy), COPY, STATION - 9, ROWS)) * COPY.leading + 4.4 if station.copy else 0.0
    outside = (min(len(station.outside), ROWS) + (len(station.outside) > ROWS)) * OUT.leading
    return max(NAME.leading + rows * WORDS.leading + 3.0 + copy, outside)


def places(half: Half) -> dict[str, Box]:
    """Where the tanks stand: one below the other, in the middle of the height."""
    left, right = half.tanks
    heights = [_height(station) for station in half.stations]
    free = half.box.height - sum(heights)
    space = min(MOST, max(LEAST, free / (len(heights) + 1)))
    level = half.box.top + max(0.0, free - space * (len(heights) - 1)) / 2
    found = {}
    for station, height in zip(half.stations, heights, strict=True):
        found[station.slug] = Box(left, level, right, level + height)
        level += height + space
    return found


def drawn(pen: Pen, station: Station, box: Box) -> list[Element]:
    """A tank: name, what it does, and inside it the copy from which it answers when others are down."""
    side = ((box.left, box.top), (box.left, box.bottom), (box.right, box.bottom), (box.right, box.top))
    parts: list[Element] = [pen.path(side, "outer", data_part="outer-wall")]
    parts.append(pen.line((box.left - LID, box.top), (box.right + LID, box.top), "door", data_part="wall"))
    parts += [
        pen.line((x, box.bottom), (x, box.bottom + LEGS), "partition") for x in (box.left + 2.5, box.right - 2.5)
    ]
    base = box.top + 1.6 + NAME.size * 0.8
    parts += pen.words(station.name, (box.left + 2.5, base), NAME, box.width - 5)
    base += WORDS.leading + 0.3
    rows, base = pen.paragraph(plain(station.does), (box.left + 2.5, base), words_hand(station), box.width - 5, ROWS)
    parts += rows
    if station.copy:
        lines = wrap(plain(station.copy), COPY, box.width - 9, ROWS)
        top = base - WORDS.size * 0.6
        copy = Box(box.left + 2.5, top, box.right - 2.5, top + len(lines) * COPY.leading + 2.0)
        parts.append(pen.box(copy, "door", stroke_dasharray=STANDBY, data_part="copy"))
        start = (copy.left + 2.0, top + 1.0 + COPY.size * 0.8)
        parts += pen.paragraph(plain(station.copy), start, COPY, copy.width - 4, ROWS)[0]
    return [element("g", *parts, data_part="station", data_box=box.written)]


def street(pen: Pen, half: Half, station: Station, box: Box) -> list[Element]:
    """Whom a station asks outside, and the pipe there."""
    if not station.outside:
        return []
    lines = list(station.outside[:ROWS])
    lines += [f"and {len(station.outside) - ROWS} more"] if len(station.outside) > ROWS else []
    out = half.way < 0
    edge, far = (box.left, half.box.left) if out else (box.right, half.box.right)
    room = min(STREET, abs(edge - far) - 5.0)
    middle = (box.top + box.bottom) / 2
    start = far + room if out else far - room
    parts: list[Element] = [pen.line((edge, middle), (start - half.way * 1.5, middle), "partition", data_part="pipe")]
    fits = (size for size in SMALLER if all(width(shown(line, LABEL), OUT.at(size)) <= room for line in lines))
    hand = OUT.at(next(fits, SMALLER[-1]))
    base = middle - (len(lines) - 1) * OUT.leading / 2 + hand.size * 0.36
    for line in lines:
        parts += pen.words(line, (start, base), hand, room, "end" if out else "start")
        base += OUT.leading
    return [element("g", *parts, data_part="outside")]


def inner(pen: Pen, station: Station, found: Mapping[str, Box]) -> list[Element]:
    """Pipes from a tank to others of its column, with what it asks them for."""
    parts: list[Element] = []
    for rank, (slug, what) in enumerate(each for each in station.asks if each[0] in found):
        start, end = found[station.slug], found[slug]
        x = start.left + 6.0 + 5.0 * rank
        ends = (start.bottom, end.top) if end.top > start.top else (end.bottom, start.top)
        parts.append(pen.line((x, ends[0]), (x, ends[1]), "partition", data_part="pipe"))
        rows = wrap(plain(what), SMALL, start.right - x - 2.0, 2)
        base = (ends[0] + ends[1]) / 2 - (len(rows) - 1) * SMALL.leading / 2 + SMALL.size * 0.3
        for row in rows:
            parts += pen.row(row, (x + 2.0, base), SMALL)
            base += SMALL.leading
    return [element("g", *parts, data_part="inner")] if parts else []
