"""The owner's door schedule under the plan: one line a caller, door by door, poured into columns."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.outputs.drawings import balloon
from scantling.outputs.drawings.door_schedule import headline
from scantling.outputs.drawings.lettering import BOOK, SIGN, SLANT, STRONG, Hand, shown, width, wrap
from scantling.outputs.drawings.model import Caller, Door, Phrase, Text, plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.sheet import HEADING
from scantling.outputs.drawings.svg import Element, element

HEAD = 9.0
"""Of the schedule's own heading."""
HEADING_HEIGHT = 8.4
GAP = 9.0
"""Between two columns."""
FEW = 7
"""Up to so many lines stand in two columns."""
COLUMNS = 3
NAMES = (0.28, 0.44)
"""Least and largest share of a column that the callers' names have."""
CLEAR = 2.5
"""Between a name and what is wanted."""
ROWS_NAME, ROWS_WANTS = 2, 4
SCALES = (1.0, 0.95, 0.9, 0.85, 0.79)


@dataclass(frozen=True, slots=True)
class Line:
    """A door's heading, or one caller, as it is set at one scale and width."""

    door: Door
    caller: Caller | None
    height: float


@dataclass(frozen=True, slots=True)
class Setting:
    """The whole schedule set in columns: what stands in each, how high it is, and how many lines had no room."""

    columns: tuple[tuple[Line, ...], ...]
    scale: float
    height: float
    left_out: int
    widths: tuple[float, float]
    """Room for names and for what is wanted."""


def _who(scale: float) -> Hand:
    return Hand(STRONG, 3.7 * scale)


def _wants(scale: float) -> Hand:
    return Hand(BOOK, 3.7 * scale)


def wording(caller: Caller) -> Phrase:
    """What a caller wants, and in which hours only."""
    return (*caller.wants, Text(f", {caller.hours} only")) if caller.hours else caller.wants


def _widths(doors: Sequence[Door], wide: float, scale: float) -> tuple[float, float]:
    """Room for names and for what is wanted, of a column: names stand in one row where they can."""
    names = [width(shown(caller.who, STRONG), _who(scale)) for door in doors for caller in door.callers]
    room = min(
        NAMES[1] * wide, max([NAMES[0] * wide, *(name + CLEAR for name in names if name + CLEAR <= NAMES[1] * wide)])
    )
    return room - CLEAR + 0.1, wide - room


def _lines(doors: Sequence[Door], wide: float, scale: float) -> list[Line]:
    names, rest = _widths(doors, wide, scale)
    found = []
    for door in doors:
        callers = [Line(door, caller, _height(caller, (names, rest), scale)) for caller in door.callers]
        found += [Line(door, None, HEADING_HEIGHT), *callers] if callers else []
    return found


def _height(caller: Caller, widths: tuple[float, float], scale: float) -> float:
    who = len(wrap(plain(caller.who), _who(scale), widths[0], ROWS_NAME))
    wants = len(wrap(wording(caller), _wants(scale), widths[1], ROWS_WANTS))
    return max(who, wants, 1) * _wants(scale).leading


def setting(doors: Sequence[Door], wide: float, scale: float, most: float) -> Setting:
    """The schedule at a scale, in columns as low as can be but no higher than `most`, the last lines left out if need be."""
    callers = sum(len(door.callers) for door in doors)
    count = COLUMNS if callers > FEW else COLUMNS - 1
    column = (wide - (count - 1) * GAP) / count
    lines = _lines(doors, column, scale)
    limit = max(most - HEAD, 0.0)
    height = min(limit, sum(line.height for line in lines) / count)
    poured, rest = _poured(lines, count, height)
    while rest and height < limit:
        height = min(limit, height + 1.0)
        poured, rest = _poured(lines, count, height)
    if rest:  # the last row tells of what is left out
        poured, rest = _poured(lines, count, height - _wants(scale).leading)
    return Setting(
        poured, scale, HEAD + height, sum(line.caller is not None for line in rest), _widths(doors, column, scale)
    )


def _poured(lines: Sequence[Line], count: int, height: float) -> tuple[tuple[tuple[Line, ...], ...], list[Line]]:
    """Columns filled one after the other, and what had no room; a heading never stands last, and is told again at the top."""
    columns: list[tuple[Line, ...]] = []
    rest = list(lines)
    for _ in range(count):
        column: list[Line] = []
        if rest and rest[0].caller is not None:
            column.append(Line(rest[0].door, None, HEADING_HEIGHT))
        left = height - sum(line.height for line in column)
        while rest:
            follows = rest[1].height if rest[0].caller is None and len(rest) > 1 else 0.0
            if rest[0].height + follows > left + 1e-6:
                break
            left -= rest[0].height
            column.append(rest.pop(0))
        columns.append(tuple(column) if any(line.caller is not None for line in column) else ())
    return tuple(columns), rest


def schedule(pen: Pen, set_: Setting, box: Box, sheet: str) -> Element:
    """The schedule as set, from the top of the box; `sheet` is where the technician's stands."""
    parts: list[Element] = list(pen.words("DOOR SCHEDULE", (box.left, box.top + 2.6), HEADING, box.width))
    count = len(set_.columns)
    wide = (box.width - (count - 1) * GAP) / count
    for place, column in enumerate(set_.columns):
        left, level = box.left + place * (wide + GAP), box.top + HEAD - 4.0
        for line in column:
            cell = Box(left, level, left + wide, level + line.height)
            parts.append(_heading(pen, line.door, cell) if line.caller is None else _line(pen, line, cell, set_))
            level = cell.bottom
    if set_.left_out:
        hand = Hand(SLANT, 3.7 * set_.scale, "quiet")
        more = f"{set_.left_out} more lines on sheet {sheet}" if sheet else f"{set_.left_out} more lines in the plan"
        start = (box.left + (count - 1) * (wide + GAP), box.top + set_.height - 2.0)
        parts += pen.words(more, start, hand, wide)
    return element("g", *parts, data_part="door-list", data_box=Box(box.left, box.top, box.right, box.bottom).written)


def _heading(pen: Pen, door: Door, box: Box) -> Element:
    base, left = box.bottom - 2.6, box.left
    parts: list[Element] = []
    if door.number:
        parts.append(balloon.balloon(pen, door.number, (left + balloon.RADIUS, base - 1.5)))
        left += balloon.wide(door.number) + 1.8
    parts += pen.words(headline(door), (left, base), Hand(SIGN, 3.9), box.right - left)
    parts.append(pen.line((left, box.bottom - 0.6), (box.right, box.bottom - 0.6), "rule", "hairline"))
    return element("g", *parts, data_part="door-heading", data_door=door.key, data_box=box.written)


def _line(pen: Pen, line: Line, box: Box, set_: Setting) -> Element:
    assert line.caller is not None
    scale, (names, rest) = set_.scale, set_.widths
    base = box.top + _wants(scale).size * 0.98
    words, _ = pen.paragraph(plain(line.caller.who), (box.left, base), _who(scale), names, ROWS_NAME)
    wants, _ = pen.paragraph(wording(line.caller), (box.right - rest, base), _wants(scale), rest, ROWS_WANTS)
    return element("g", *words, *wants, data_part="caller", data_door=line.door.key)
