"""Red pencil: the cloud round a thing, the numbered triangle, and the list of findings in the margin column."""

import math

from scantling.outputs.drawings.lettering import BOOK, ELLIPSIS, LABEL, SIGN, SLANT, Hand, wrap
from scantling.outputs.drawings.model import PencilNote, plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Point, Weight
from scantling.outputs.drawings.svg import Element, element, number

TWO_DIGITS = 10
SIDE = 6.4
HEIGHT = SIDE * math.sqrt(3) / 2
PITCH = SIDE + 1.4
NUMBER = Hand(SIGN, 2.9, "pencil")
WORD = Hand(SIGN, 3.9, "pencil")
SENTENCE = Hand(BOOK, 3.9, "pencil")
REMEDY = Hand(SLANT, 3.9, "pencil")
CODE = Hand(LABEL, 3.2, "pencil")
INDENT = 9.5
DEPTH = 1.0
"""How far a cloud's scallops swell out of its box, in millimetres."""
STEPS = ((12, 12), (6, 3), (4, 2), (3, 1), (2, 1), (2, 0), (1, 0))
"""Rows left to a sentence and to its remedy as the list gets longer."""


def triangle(pen: Pen, note: PencilNote, centre: Point) -> Element:
    """The numbered triangle of a finding; filled for stop, outlined for mend, thin for note."""
    x, y = centre
    points = ((x - SIDE / 2, y + HEIGHT / 3), (x, y - 2 * HEIGHT / 3), (x + SIDE / 2, y + HEIGHT / 3))
    stop = note.weight == "stop"
    stroke: Weight = "rule" if note.weight == "note" else "door"
    size = NUMBER.size if note.number < TWO_DIGITS else NUMBER.size * 0.85
    hand = NUMBER.at(size).inked("paper" if stop else "pencil")
    label = pen.words(str(note.number), (x, y + HEIGHT / 3 - 1.0), hand, SIDE, "middle")
    outline = pen.path(points, stroke, "pencil", closed="yes", fill=pen.colour("pencil" if stop else "paper"))
    return element("g", outline, *label, data_finding=str(note.number), data_part="triangle")


def cloud(pen: Pen, box: Box, swell: float = DEPTH) -> Element:
    """A revision cloud whose scallops swell outwards from the box, all of one size on a side."""
    corners = ((box.left, box.top), (box.right, box.top), (box.right, box.bottom), (box.left, box.bottom))
    course = [f"M{number(box.left)} {number(box.top)}"]
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        length = math.hypot(end[0] - start[0], end[1] - start[1])
        count = max(1, round(length / 4.8))
        chord = length / count
        radius = (chord * chord / 4 + swell * swell) / (2 * swell)
        step = ((end[0] - start[0]) / count, (end[1] - start[1]) / count)
        arc = f"a{number(radius)} {number(radius)} 0 0 1 {number(step[0])} {number(step[1])}"
        course += [arc] * count
    return element(
        "path",
        d=" ".join(course) + " Z",
        data_part="cloud",
        stroke=pen.colour("pencil"),
        stroke_width=pen.look.door,
        fill="none",
    )


def triangles(
    pen: Pen, notes: tuple[PencilNote, ...], numbers: tuple[int, ...], right: Point, room: float
) -> tuple[Element, ...]:
    """Triangles in a row that ends at `right`; as many as the room holds, and dots for the others."""
    wanted = [note for note in notes if note.number in numbers]
    holds = max(1, int(room / PITCH))
    kept = wanted if len(wanted) <= holds else wanted[: max(1, holds - 1)]
    first = right[0] - SIDE / 2 - (len(kept) - 1) * PITCH
    drawn = [triangle(pen, note, (first + place * PITCH, right[1])) for place, note in enumerate(kept)]
    if len(kept) < len(wanted):
        drawn += pen.words(ELLIPSIS, (first - SIDE / 2 - 1.0, right[1] + HEIGHT / 3), SENTENCE, SIDE, "end")
    return tuple(drawn)


def _rows(note: PencilNote, room: float, step: tuple[int, int]) -> float:
    """Height of one finding in the list."""
    sentence = len(wrap(note.sentence, SENTENCE, room, step[0]))
    remedy = len(wrap(note.remedy, REMEDY, room, step[1])) if step[1] else 0
    return (1 + sentence + remedy) * SENTENCE.leading + 2.6


def listed(pen: Pen, notes: tuple[PencilNote, ...], box: Box) -> tuple[Element, ...]:
    """The findings in order, shortened evenly until they fit; those that still do not are counted."""
    room = box.width - INDENT
    fits = [step for step in STEPS if sum(_rows(note, room, step) for note in notes) <= box.height]
    step = fits[0] if fits else STEPS[-1]
    drawn: list[Element] = []
    top = box.top
    for place, note in enumerate(notes):
        left = len(notes) - place
        spare = 0.0 if left == 1 or fits else SENTENCE.leading
        if top + _rows(note, room, step) > box.bottom - spare:
            more = plain(f"{left} more in the list of findings")
            drawn += pen.paragraph(more, (box.left + INDENT, top + 4.4), REMEDY, room, 1)[0]
            break
        drawn.append(_finding(pen, note, (box.left, top), room, step))
        top += _rows(note, room, step)
    return tuple(drawn)


def _finding(pen: Pen, note: PencilNote, place: Point, room: float, step: tuple[int, int]) -> Element:
    left, top = place
    base = top + 4.2
    parts: list[Element] = [triangle(pen, note, (left + SIDE / 2, base - 1.0))]
    words = pen.words(note.weight, (left + INDENT, base), WORD, room)
    code = pen.words(note.code, (left + INDENT + room, base), CODE, room / 2, "end")
    base += SENTENCE.leading
    sentence, base = pen.paragraph(note.sentence, (left + INDENT, base), SENTENCE, room, step[0])
    parts += [*words, *code, *sentence]
    if step[1] and note.remedy:
        remedy, base = pen.paragraph(note.remedy, (left + INDENT, base), REMEDY, room, step[1])
        parts += remedy
    return element("g", *parts, data_finding=str(note.number), data_part="pencil-note")
