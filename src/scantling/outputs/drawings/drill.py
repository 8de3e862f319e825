"""Sheet T-2, the fault drill: a ruled table of what was broken on purpose, where it was found, and whether all was well again."""

from collections.abc import Iterator
from dataclasses import dataclass

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, STRONG, Hand, Row, wrap
from scantling.outputs.drawings.model import plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.rehearsal_model import DrillSheet, FaultLine
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

HEAD = Hand(LABEL, 3.1, "quiet")
WHAT, WORDS = Hand(STRONG, 3.7), Hand(BOOK, 3.7)
SAID = Hand(BOOK, 3.9)
COLUMNS: tuple[tuple[str, float], ...] = (
    ("", 0.04),
    ("fault", 0.29),
    ("put at", 0.19),
    ("", 0.04),
    ("found at", 0.1),
    ("showed by", 0.26),
    ("healed", 0.08),
)
WAY, SIGNS = 3, 5
"""The column in which a line leads from where a fault was put to where it was found."""
DOT = 0.8
GUTTER, LEADING, AIR = 3.0, 1.14, 2.4
HEADS, TOTALS = 13.0, 12.0
SIZES = (3.7, 3.4, 3.1, 2.8, 2.6)
MOST_ROWS = 4
THERE, NOT_FOUND, NOT_HEALED = "there", "not noticed", "no"
MARK = 7.4
"""Height of a line that holds a triangle, and its width."""


def site(model: DrillSheet) -> Box:
    """Where the table stands."""
    return field_box(model.block.paper).inset(11, 12)


@dataclass(frozen=True, slots=True)
class Setting:
    """How lines are set: size of the letters, and how many rows a line may take."""

    size: float
    rows: int

    @property
    def leading(self) -> float:
        """From one row to the next."""
        return self.size * LEADING

    def wrapped(self, one: FaultLine, place: int, box: Box) -> list[tuple[Box, Hand, tuple[Row, ...]]]:
        """What stands in each column; by what it showed takes no more rows than the rest."""
        found = []
        for (text, hand), cell in zip(_texts(one, place), cells(box), strict=True):
            sized = hand.at(self.size)
            found.append((cell, sized, wrap(plain(text), sized, cell.width, self.rows)))
        most = max(len(rows) for number, (_, _, rows) in enumerate(found) if number != SIGNS)
        cell, hand, _ = found[SIGNS]
        found[SIGNS] = cell, hand, wrap(plain(one.sign), hand, cell.width, max(1, most))
        return found

    def height(self, one: FaultLine, box: Box) -> float:
        """Of one line with all its rows."""
        most = max(len(rows) for _, _, rows in self.wrapped(one, 0, box))
        return max(MARK if one.differs else 0.0, max(1, most) * self.leading + AIR)


def setting(model: DrillSheet, box: Box) -> Setting:
    """The largest letters in which all faults stand whole; else the smallest, with as many rows as there is room for."""
    room = box.height - HEADS - TOTALS
    tried = [
        *(Setting(size, MOST_ROWS) for size in SIZES),
        *(Setting(SIZES[-1], rows) for rows in range(MOST_ROWS - 1, 0, -1)),
    ]
    return next((one for one in tried if sum(one.height(each, box) for each in model.faults) <= room), tried[-1])


def drill_sheet(model: DrillSheet, look: Look) -> str:
    """Sheet T-2 as SVG text."""
    pen, box = Pen(look), site(model)
    parts: list[Element] = list(pen.words("FAULT DRILL", (box.left, box.top + 2.6), HEADING, box.width))
    for (heading, _), cell in zip(COLUMNS, cells(box), strict=True):
        parts += pen.words(heading, (cell.left, box.top + 10), HEAD, cell.width)
    level, laid = box.top + 12.2, setting(model, box)
    parts.append(pen.line((box.left, level), (box.right, level), "door"))
    for place, one in enumerate(model.faults):
        high = laid.height(one, box)
        if level + high > box.bottom - TOTALS:
            left = f"{len(model.faults) - place} more in the record of the rehearsal"
            parts += pen.words(left, (box.left, level + 4.5), WORDS.inked("quiet"), box.width)
            break
        parts.append(_line(pen, model, place, Box(box.left, level, box.right, level + high), laid))
        level += high
    parts += pen.paragraph(model.totals, (box.left, box.bottom - 1.5), SAID, box.width, 1)[0]
    whole = element("g", *parts, data_part="drill", data_box=box.written)
    return page(model.block, look, (whole,), Margin(model.notes, model.pencil), _told(model))


def _told(model: DrillSheet) -> str:
    lines = [f"{one.what}, put at {one.put}: {one.found or NOT_FOUND}" for one in model.faults]
    return f"Table of faults that were put into the running office, and where each was found. {'; '.join(lines)}."


def cells(box: Box) -> list[Box]:
    """Columns from left to right."""
    found, left = [], box.left
    for _, share in COLUMNS:
        wide = share * box.width
        found.append(Box(left, box.top, left + wide - GUTTER, box.bottom))
        left += wide
    return found


def _texts(one: FaultLine, place: int) -> tuple[tuple[str, Hand], ...]:
    """What stands in each column, red where it went otherwise."""
    wrong = one.found != one.put
    return (
        (str(place + 1), Hand(SIGN, 3.7, "quiet")),
        (one.what, WHAT),
        (one.put, WORDS),
        ("", WORDS),
        (one.found or NOT_FOUND, WORDS.inked("pencil")) if wrong else (THERE, WORDS),
        (one.sign, WORDS.inked("quiet")),
        ("yes", WORDS) if one.healed else (NOT_HEALED, WORDS.inked("pencil")),
    )


def _line(pen: Pen, model: DrillSheet, place: int, box: Box, laid: Setting) -> Element:
    one = model.faults[place]
    parts: list[Element] = [pen.line((box.left, box.bottom), (box.right, box.bottom), "rule", "hairline")]
    for cell, hand, found in laid.wrapped(one, place, box):
        base = box.top + 0.7 + laid.size
        for row in found:
            parts += pen.row(row, (cell.left, base), hand)
            base += laid.leading
    parts += _way(pen, one, cells(box)[WAY], box.top + 0.7 + laid.size * 0.68)
    if one.differs:
        right = (box.right, box.top + MARK / 2 + 0.9)
        parts += pencil.triangles(pen, model.pencil, one.differs, right, MARK)
    return element("g", *parts, data_part="fault", data_box=box.written)


def _way(pen: Pen, one: FaultLine, cell: Box, level: float) -> Iterator[Element]:
    """From where it was put to where it was found: a line that arrives at a dot; broken off in red pencil where it does not."""
    if one.found == one.put:
        yield pen.line((cell.left, level), (cell.right - DOT, level), "rule", data_part="found")
        yield pen.fill(Box(cell.right - 2 * DOT, level - DOT, cell.right, level + DOT))
        return
    middle = (cell.left + cell.right) / 2
    yield pen.line((cell.left, level), (middle, level), "rule", "pencil", data_part="lost")
    yield pen.line((middle - 1.1, level - 1.1), (middle + 1.1, level + 1.1), "door", "pencil")
    yield pen.line((middle - 1.1, level + 1.1), (middle + 1.1, level - 1.1), "door", "pencil")
