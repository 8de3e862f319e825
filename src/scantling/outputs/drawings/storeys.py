"""The storeys of the server: memory as a beam under the roof, machines as floors with cores and memory to scale."""

import math
from dataclasses import dataclass

from scantling.outputs.drawings import pencil, ruling
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, STRONG, Hand, cut, width, wrap
from scantling.outputs.drawings.model import Amount, Floor, SectionSheet, Text, plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Weight
from scantling.outputs.drawings.svg import Element, element

ATTIC, HEADS = 25.0, 13.0
HEAD = Hand(LABEL, 3.1, "quiet")
MARK = Hand(BOOK, 3.6)
TOTAL = Hand(STRONG, 4.0)
WIDE_APART = 1.6
"""Pitch from which posts are drawn in the heaviest line, in millimetres."""
GAP = 2.5
"""Between two labels under the beam."""
NUMBERS = 13.4
TALL = 14.0
"""Width of one column of memory numbers."""


@dataclass(frozen=True, slots=True)
class Bays:
    """The upright divisions of the building: names, cores, memory bar, memory numbers. Each from left to right."""

    names: tuple[float, float]
    cores: tuple[float, float]
    memory: tuple[float, float]
    numbers: tuple[float, float]


def bays(left: float, right: float) -> Bays:
    """The divisions of a building between two inner faces."""
    numbers = right - 5 - 3 * NUMBERS
    cores = left + 52
    memory = cores + 25
    return Bays((left + 5, cores - 2), (cores, memory - 4), (memory, numbers - 1), (numbers, right - 5))


def beam(pen: Pen, model: SectionSheet, box: Box) -> Element:
    """The memory fitted, and the sums over all machines on the same rule, labelled where they end."""
    inner = Box(box.left + 5, box.top + 10.5, box.right - 5, box.top + 14.5)
    amounts = [amount.value for _, amount in model.memory_marks]
    most = max([model.memory_total.value, *amounts, 1e-9])
    per = inner.width / (most * 1.02)
    head = f"memory of the whole server, {model.memory_unit}"
    parts: list[Element] = list(pen.words(head, (inner.left, box.top + 6.2), HEAD, inner.width * 0.55))
    fitted = inner.left + model.memory_total.value * per
    first = amounts[0] if amounts else 0.0
    second = amounts[1] if len(amounts) > 1 else first
    parts += ruling.bar(pen, inner, per, (first, second, model.memory_total.value))
    parts.append(pen.line((fitted, inner.top - 2.2), (fitted, inner.bottom + 2.2), "outer"))
    total = (Text(model.memory_total.text, model.memory_total.figure), Text(" fitted"))
    row = cut(total, TOTAL, inner.width * 0.4)
    end = max(inner.right - inner.width * 0.4 + sum(piece.width for piece in row), min(fitted, inner.right))
    parts += pen.row(row, (end, box.top + 6.2), TOTAL, "end")
    parts += _beam_marks(pen, model, inner, per)
    return element("g", *parts, data_part="beam", data_box=box.written)


def _beam_marks(pen: Pen, model: SectionSheet, inner: Box, per: float) -> list[Element]:
    """Labels under the beam, each as near under its end as the others let it."""
    room = inner.width / max(1, len(model.memory_marks)) - GAP
    marked = sorted(model.memory_marks, key=lambda mark: mark[1].value)
    rows = [cut((Text(f"{label} "), Text(each.text, each.figure)), MARK, room) for label, each in marked]
    wide = [sum(piece.width for piece in row) for row in rows]
    ends = [inner.left + max(0.0, each.value) * per for _, each in marked]
    parts: list[Element] = [pen.line((x, inner.bottom), (x, inner.bottom + 1.6), "door") for x in ends]
    for row, left in zip(rows, _side_by_side(ends, wide, inner), strict=True):
        parts += pen.row(row, (left, inner.bottom + 5.2), MARK)
    return parts


def _side_by_side(middles: list[float], wide: list[float], inner: Box) -> list[float]:
    """Left ends of labels centred on their middles, pushed right, then left, until none meet and all stay inside."""
    lefts: list[float] = []
    edge = inner.left
    for middle, length in zip(middles, wide, strict=True):
        lefts.append(max(edge, middle - length / 2))
        edge = lefts[-1] + length + GAP
    edge = inner.right
    for place in range(len(lefts) - 1, -1, -1):
        lefts[place] = min(lefts[place], edge - wide[place])
        edge = lefts[place] - GAP
    return lefts


def heads(pen: Pen, model: SectionSheet, box: Box) -> Element:
    """Headings of the divisions and the common rule of memory."""
    at = bays(box.left, box.right)
    base = box.top + 4.2
    parts: list[Element] = list(pen.words("machine", (at.names[0], base), HEAD, 30))
    parts += pen.words("cores", (at.cores[0], base), HEAD, 20)
    parts += pen.words(f"memory, {model.memory_unit}", (at.memory[0], base), HEAD, at.memory[1] - at.memory[0])
    for place, name in enumerate(("floor", "expected", "ceiling")):
        parts += pen.words(name, (at.numbers[0] + (place + 1) * NUMBERS, base), HEAD.at(2.9), NUMBERS, "end")
    most = memory_most(model)
    rule = Box(at.memory[0], box.top + 6.4, at.memory[1], box.bottom)
    parts += ruling.scale(pen, rule, most, ruling.step(most, 5, doubling=True))
    return element("g", *parts, data_part="heads", data_box=box.written)


def memory_most(model: SectionSheet) -> float:
    """Where the common rule of memory ends."""
    amounts = [each.value for floor in model.floors for each in (floor.memory_expected, floor.memory_ceiling)]
    most = max([1.0, *amounts])
    each = ruling.step(most, 5, doubling=True)
    return each * math.ceil(most / each - 1e-9)


def floor_row(pen: Pen, model: SectionSheet, floor: Floor, box: Box) -> Element:
    """One machine: its name and roles, a post for each core, its memory on the common rule and in numbers."""
    at = bays(box.left, box.right)
    size = min(1.0, box.height / 12.5)
    middle = (box.top + box.bottom) / 2
    parts: list[Element] = []
    if floor.findings:
        parts.append(pencil.cloud(pen, Box(box.left + 2.0, box.top, box.right - 2.0, box.bottom), 0.8))
    parts += _named(pen, floor, Box(at.names[0], box.top, at.names[1], box.bottom), size)
    parts += _posts(pen, model, floor, Box(at.cores[0], box.top, at.cores[1], box.bottom))
    bar = Box(at.memory[0], middle - 1.9 * size, at.memory[1], middle + 1.9 * size)
    amounts = (floor.memory_floor, floor.memory_expected, floor.memory_ceiling)
    per = (at.memory[1] - at.memory[0]) / memory_most(model)
    parts += ruling.bar(pen, bar, per, (amounts[0].value, amounts[1].value, amounts[2].value))
    parts += _numbers(pen, model, amounts, Box(at.numbers[0], middle + 1.3 * size, at.numbers[1], box.bottom), size)
    return element("g", *parts, data_part="floor", data_floor=floor.slug, data_box=box.written)


def _columns(model: SectionSheet) -> tuple[tuple[str, ...], ...]:
    """What is printed in each column of memory numbers; the unit stands in the heading."""
    unit = f" {model.memory_unit}"
    rows = [(each.memory_floor, each.memory_expected, each.memory_ceiling) for each in model.floors]
    return tuple(tuple(amount.text.removesuffix(unit) for amount in column) for column in zip(*rows, strict=True))


def _numbers(
    pen: Pen, model: SectionSheet, amounts: tuple[Amount, ...], box: Box, size: float
) -> tuple[Element, ...]:
    """Three numbers in their columns, aligned on the decimal, at one size that holds the widest. `box.top`: base."""
    columns = _columns(model)
    hand = Hand(BOOK, 4.0 * size)
    widest = max(sum(_halves(column, hand)) for column in columns)
    hand = hand.at(hand.size * min(1.0, max(0.6, (NUMBERS - 2.2) / max(widest, 1e-9))))
    parts: list[Element] = []
    for place, (amount, column) in enumerate(zip(amounts, columns, strict=True)):
        text = amount.text.removesuffix(f" {model.memory_unit}")
        right = box.left + (place + 1) * NUMBERS
        end = right - _halves(column, hand)[1] + _halves((text,), hand)[1]
        parts += pen.words(Text(text, amount.figure), (end, box.top), hand, NUMBERS - 2.2 + end - right, "end")
    return tuple(parts)


def _halves(texts: tuple[str, ...], hand: Hand) -> tuple[float, float]:
    """Greatest widths before the decimal point, and from it on."""
    split = [text.partition(".") for text in texts]
    return (
        max((width(head, hand) for head, _, _ in split), default=0.0),
        max((width(point + tail, hand) for _, point, tail in split), default=0.0),
    )


def _named(pen: Pen, floor: Floor, box: Box, size: float) -> list[Element]:
    middle = (box.top + box.bottom) / 2
    name, roles = Hand(SIGN, 4.4 * size), Hand(BOOK, 3.5 * size, "quiet")
    room = box.width
    if not floor.roles:
        return list(pen.words(floor.name, (box.left, middle + 1.5 * size), name, room))
    rows = wrap(plain(floor.roles), roles, room)
    if len(rows) > 1 and box.height >= TALL:  # a tall storey has room for two rows of roles
        upper = pen.words(floor.name, (box.left, middle - 2.6 * size), name, room)
        words, _ = pen.paragraph(plain(floor.roles), (box.left, middle + 1.6 * size), roles, room, 2)
        return [*upper, *words]
    upper = pen.words(floor.name, (box.left, middle - 0.9 * size), name, room)
    return [*upper, *pen.words(floor.roles, (box.left, middle + 3.3 * size), roles, room)]


def _posts(pen: Pen, model: SectionSheet, floor: Floor, box: Box) -> list[Element]:
    """The number of cores and a post for each, at one pitch for all machines."""
    most = max((other.cores.value for other in model.floors), default=1.0)
    digits = 7.0
    pitch = min(2.2, (box.width - digits) / max(1.0, most))
    size = min(1.0, box.height / 12.5)
    middle = (box.top + box.bottom) / 2
    label = Text(floor.cores.text, floor.cores.figure)
    parts = list(
        pen.words(label, (box.left + digits - 2, middle + 1.3 * size), Hand(STRONG, 4.0 * size), digits, "end")
    )
    for place in range(round(floor.cores.value)):
        x = box.left + digits + (place + 0.5) * pitch
        parts.append(pen.line((x, box.top), (x, box.bottom), _post(pitch), data_part="post"))
    return parts


def _post(pitch: float) -> Weight:
    """A weight of line that leaves white between posts at this pitch."""
    return "outer" if pitch >= WIDE_APART else "door" if pitch >= WIDE_APART / 2 else "rule"


def empty(pen: Pen, box: Box) -> Element:
    """A server without machines says so."""
    words = pen.words("no machines planned", (box.left + 5, box.top + 7), MARK, box.width - 10)
    return element("g", *words, data_part="floor")
