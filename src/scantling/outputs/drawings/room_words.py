"""What stands in a room of the floor plan: its name and number, people and devices counted, remarks."""

from dataclasses import dataclass

from scantling.outputs.drawings.lettering import BOOK, ELLIPSIS, LABEL, SIGN, STRONG, Hand, longest_word, width
from scantling.outputs.drawings.model import Count, Room, Text, plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.svg import Element

INSET = 5.0
"""From a wall to words: a cloud and its clearance fit between."""
TRIANGLES = 8.5


@dataclass(frozen=True, slots=True)
class Hands:
    """The lettering inside the rooms of one sheet: one scale for all of them."""

    name: Hand
    number: Hand
    label: Hand
    remark: Hand
    room: Hand | None = None
    """Of the room's own number; None: it is not written."""


def hands(names: float, words: float, *, numbered: bool = False) -> Hands:
    """The lettering of names and of words at shares of their full sizes."""
    body = 4.5 * words
    room = Hand(LABEL, 5.4 * names, "quiet") if numbered else None
    return Hands(Hand(SIGN, 6.6 * names), Hand(STRONG, body), Hand(BOOK, body), Hand(BOOK, body, "quiet"), room)


def name_room(room: Room, wide: float, letters: Hands) -> float:
    """What the walls and the room's own number leave to its name."""
    number = width(str(room.number), letters.room) + 3.0 if letters.room is not None else 0.0
    return wide - 2 * INSET - number


def name_fits(room: Room, wide: float, letters: Hands) -> bool:
    """Whether the longest word of the name stands in one row."""
    return longest_word(room.name, letters.name) <= name_room(room, wide, letters)


def contents(pen: Pen, room: Room, box: Box, letters: Hands, *, marked: bool) -> tuple[tuple[Element, ...], float]:
    """Name, ruled off; then counts in a column of numbers; then remarks. Also the bottom of the words.

    `marked`: triangles stand under the words.
    """
    inner = box.inset(INSET)
    floor = inner.bottom - (TRIANGLES if marked else 0)
    parts, base = _name(pen, room, box, letters)
    numbers = max((width(count.number, letters.number) for count in room.counts), default=0.0)
    numbers = min(numbers, inner.width * 0.5)
    for place, count in enumerate(room.counts):
        if base + letters.label.leading > floor and place + 1 < len(room.counts):
            parts += pen.words(ELLIPSIS, (inner.left, min(base, floor)), letters.number, inner.width)
            base = floor + letters.label.leading
            break
        row, base = _count(pen, count, Box(inner.left, base, inner.right, floor), numbers, letters)
        parts += row
    base += 1.0 if room.lines and room.counts else 0.0
    for line in room.lines:
        rows = int((floor - base) / letters.remark.leading) + 1
        if rows > 0 and base <= floor:
            words, base = pen.paragraph(line, (inner.left, base), letters.remark, inner.width, rows)
            parts += words
    return tuple(parts), base - letters.label.leading + INSET


def _name(pen: Pen, room: Room, box: Box, letters: Hands) -> tuple[list[Element], float]:
    """The name and the room's number, ruled off, and the base line of the first count."""
    inner = box.inset(INSET)
    base = inner.top + letters.name.capital + 1.2
    parts: list[Element] = []
    if letters.room is not None:
        parts += pen.words(str(room.number), (inner.right, base), letters.room, inner.width / 2, "end")
    words, base = pen.paragraph(
        plain(room.name), (inner.left, base), letters.name, name_room(room, box.width, letters), 3
    )
    base += 2.6 - letters.name.leading
    parts += [*words, pen.line((inner.left, base), (inner.right, base), "rule")]
    return parts, base + letters.label.leading + 0.6


def _count(pen: Pen, count: Count, box: Box, numbers: float, letters: Hands) -> tuple[tuple[Element, ...], float]:
    """One count: its number to the right of the column, its label in up to three rows. `box.top` is the base line."""
    gap = letters.label.size * 0.45
    if box.top > box.bottom:
        return (), box.top
    rows = min(3, int((box.bottom - box.top) / letters.label.leading) + 1)
    drawn = pen.words(Text(count.number, count.figure), (box.left + numbers, box.top), letters.number, numbers, "end")
    place = (box.left + numbers + gap, box.top)
    label, base = pen.paragraph(plain(count.label), place, letters.label, box.width - numbers - gap, rows)
    return (*drawn, *label), max(base, box.top + letters.label.leading)
