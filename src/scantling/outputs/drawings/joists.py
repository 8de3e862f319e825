"""Below the floors: the arrays as joists, a cut end for each disk, and the battery as the foundation."""

from scantling.outputs.drawings import pencil, ruling
from scantling.outputs.drawings.lettering import BOOK, SIGN, Hand, wrap
from scantling.outputs.drawings.model import Foundation, Joists, Text
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, course
from scantling.outputs.drawings.svg import Element, element

ROW = 20.0
FOOTING = 19.0
SPREAD = 7.0
"""How far the foundation stands out on both sides, in millimetres."""
A_ROW = 6
END = 5.6
NAME = Hand(SIGN, 4.4)
TEXT = Hand(BOOK, 3.7, "quiet")
FILLED = Hand(BOOK, 3.9)
SIZES = (3.9, 3.6, 3.3, 3.0)


def array_row(pen: Pen, array: Joists, box: Box) -> Element:
    """One array: its name, level and disks; the disks as joist ends; how full it is, ruled to its own size."""
    names = Box(box.left + 5, box.top, box.left + 50, box.bottom)
    ends = Box(box.left + 52, box.top, box.left + 52 + A_ROW * (END + 0.8), box.bottom)
    bar = Box(ends.right + 5, box.top, box.right - 5, box.bottom)
    parts: list[Element] = []
    if array.findings:
        parts.append(pencil.cloud(pen, Box(box.left + 2.0, box.top + 0.9, box.right - 2.0, box.bottom - 1.2), 0.8))
    base = box.top + 6.8
    parts += pen.words(array.name, (names.left, base), NAME, names.width)
    parts += pen.words(array.level, (names.left, base + 4.9), TEXT, names.width)
    parts += pen.words(array.disks, (names.left, base + 9.6), TEXT, names.width)
    parts += _ends(pen, array.disk_count, ends)
    parts += _filled(pen, array, bar)
    return element("g", *parts, data_part="array", data_array=array.slug, data_box=box.written)


def _ends(pen: Pen, count: int, box: Box) -> list[Element]:
    """Joist ends as a section shows cut timber: a square with its diagonals; small ones where there are many."""
    rows = max(1, -(-count // A_ROW))
    size = min(END, (box.height - 5) / rows - 0.8)
    a_row = max(A_ROW, int(box.width / (size + 0.8)))
    rows = max(1, -(-count // a_row))
    top = (box.top + box.bottom) / 2 - (rows * (size + 0.8) - 0.8) / 2
    parts: list[Element] = []
    for place in range(count):
        left, up = box.left + place % a_row * (size + 0.8), top + place // a_row * (size + 0.8)
        square = Box(left, up, left + size, up + size)
        parts.append(pen.box(square, "door", data_part="joist"))
        parts.append(pen.line((square.left, square.top), (square.right, square.bottom), "rule"))
        parts.append(pen.line((square.left, square.bottom), (square.right, square.top), "rule"))
    return parts


def _filled(pen: Pen, array: Joists, box: Box) -> list[Element]:
    """The bar from nought to what is usable: full now, hatched to the horizon; words over it, its rule under it."""
    told = (
        Text(array.filled_now.text, array.filled_now.figure),
        Text(" now, "),
        Text(array.filled_horizon.text, array.filled_horizon.figure),
        Text(f" {array.horizon}, of "),
        Text(array.usable.text, array.usable.figure),
    )
    hand = next(
        (FILLED.at(size) for size in SIZES if len(wrap(told, FILLED.at(size), box.width)) == 1), FILLED.at(SIZES[-1])
    )
    parts = list(pen.words(told, (box.left, box.top + 6.4), hand, box.width))
    most = max(array.usable.value, array.filled_now.value, array.filled_horizon.value) or 1.0
    per = (box.width - 3) / most
    level = Box(box.left, box.top + 8.6, box.right, box.top + 12.2)
    parts += ruling.bar(pen, level, per, (array.filled_now.value, array.filled_horizon.value, array.usable.value))
    end = box.left + array.usable.value * per
    parts.append(pen.line((end, level.top - 1.4), (end, level.bottom + 1.4), "outer"))
    rule = Box(box.left, level.bottom, box.left + most * per, box.bottom)
    return [*parts, *ruling.scale(pen, rule, most, ruling.step(most, 6))]


def foundation(pen: Pen, model: Foundation, box: Box) -> Element:
    """The footing under the building, wider than its walls, with its name and how long it carries."""
    thick = (
        (box.left, box.top),
        (box.right, box.top),
        (box.right + SPREAD, box.bottom),
        (box.left - SPREAD, box.bottom),
    )
    parts: list[Element] = [
        element(
            "path",
            d=course(thick),
            fill="none",
            stroke=pen.colour("ink"),
            stroke_width=pen.look.outer,
            data_part="footing",
        )
    ]
    if model.findings:
        parts.append(pencil.cloud(pen, Box(box.left + 1.0, box.top + 1.6, box.right - 1.0, box.bottom - 1.6), 0.8))
    base = box.top + 8.4
    room = box.width - 13
    parts += pen.words(model.name, (box.left + 6.6, base), NAME, room)
    parts += pen.words(model.line, (box.left + 6.6, base + 5.4), FILLED, room)
    return element("g", *parts, data_part="foundation", data_box=box.written)


def no_foundation(pen: Pen, box: Box) -> Element:
    """Where no battery is planned the drawing says so."""
    words = pen.words(
        "no battery planned: it stands on the mains alone", (box.left + 6.6, box.top + 8.4), FILLED, box.width - 13
    )
    return element("g", *words, data_part="foundation")
