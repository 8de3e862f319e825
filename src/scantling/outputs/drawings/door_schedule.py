"""The technician's door schedule, sheet N-6 and on: who calls on whom, for what, when, carried by what, let by which rules."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from scantling.outputs.drawings import balloon
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, STRONG, Hand, wrap
from scantling.outputs.drawings.model import Door, Paper, Passage, PencilNote, Phrase, TitleBlock, plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

HEAD = Hand(LABEL, 3.1, "quiet")
DOOR_NAME = Hand(SIGN, 4.2)
WHO, WORDS, PORTS = Hand(STRONG, 3.6), Hand(BOOK, 3.6), Hand(EVEN, 2.5)
MOST_ROWS = (8, 5, 4, 3, 2, 1)
SHEET_LINES, HEADING_LINES = 26.0, 1.5
"""Lines of a sheet; what a door's heading counts for."""
STEP = 0.5
"""Lines by which sheets are made less full until one more would be needed."""
COLUMNS: tuple[tuple[str, float, Hand], ...] = (
    ("who", 0.18, WHO),
    ("to whom", 0.15, WORDS),
    ("for what", 0.19, WORDS),
    ("hours", 0.09, WORDS),
    ("protocols and ports", 0.23, PORTS),
    ("rules", 0.11, PORTS),
    ("logged", 0.05, WORDS),
)
INDENT, GUTTER = 4.0, 3.0
DOOR_HEIGHT, HEADS = 9.5, 16.0
ALWAYS = "always"


@dataclass(frozen=True, slots=True)
class DoorsSheet:
    """One sheet of the schedule."""

    block: TitleBlock
    doors: tuple[Door, ...]
    notes: tuple[Phrase, ...]
    pencil: tuple[PencilNote, ...] = ()


def site(paper: Paper) -> Box:
    """Where the schedule stands."""
    return field_box(paper).inset(11, 12)


def paged(doors: Sequence[Door]) -> tuple[tuple[Door, ...], ...]:
    """The doors cut into as few sheets as they need, and evenly over these, by their lines alone, whatever they say.

    A door that goes on stands on both. At least one sheet.
    """
    fewest = cut(doors, SHEET_LINES)
    least = max(HEADING_LINES + 1, sum(map(lines_of, doors)) / len(fewest))
    even = (cut(doors, least + step * STEP) for step in range(ceil((SHEET_LINES - least) / STEP)))
    return next((pages for pages in even if len(pages) == len(fewest)), fewest)


def lines_of(door: Door) -> float:
    """How many lines of a sheet a door takes."""
    return HEADING_LINES + len(door.passages)


def cut(doors: Sequence[Door], lines: float) -> tuple[tuple[Door, ...], ...]:
    """The doors cut into sheets of so many lines, each as full as it can be."""
    pages: list[list[Door]] = [[]]
    left = lines
    for whole in doors:
        door, rest = whole, list(whole.passages)
        while rest:
            if left < HEADING_LINES + 1:
                pages, left = [*pages, []], lines
            count = int(left - HEADING_LINES)
            pages[-1].append(replace(door, passages=tuple(rest[:count])))
            left -= HEADING_LINES + len(rest[:count])
            rest = rest[count:]
            door = replace(whole, name=f"{whole.name}, continued")
    return tuple(tuple(each) for each in pages)


def _rows(model: DoorsSheet, box: Box) -> int:
    """The most rows a line may have so that all lines of the sheet find room."""
    for rows in MOST_ROWS:
        heights = [_height(each, box, rows) for door in model.doors for each in door.passages]
        if HEADS + DOOR_HEIGHT * len(model.doors) + sum(heights) <= box.height:
            return rows
    return MOST_ROWS[-1]


def schedule_sheet(model: DoorsSheet, look: Look) -> str:
    """One sheet of the schedule as SVG text."""
    pen = Pen(look)
    box = site(model.block.paper)
    parts: list[Element] = list(pen.words("DOOR SCHEDULE", (box.left, box.top + 2.6), HEADING, box.width))
    for (heading, _, _), cell in zip(COLUMNS, _cells(box), strict=True):
        parts += pen.words(heading, (cell.left, box.top + 10), HEAD, cell.width)
    level, rows = box.top + 12.2, _rows(model, box)
    parts.append(pen.line((box.left, level), (box.right, level), "door"))
    for door in model.doors:
        headed = Box(box.left, level, box.right, level + DOOR_HEIGHT)
        parts.append(_heading(pen, door, headed))
        level = headed.bottom
        for each in door.passages:
            row = Box(box.left, level, box.right, level + _height(each, box, rows))
            parts.append(_row(pen, door, each, row, rows))
            level = row.bottom
    names = ", ".join(door.name for door in model.doors)
    told = f"Door schedule for technicians: every caller with protocols, ports and rules. Doors: {names}."
    whole = element("g", *parts, data_part="door-schedule", data_box=box.written)
    return page(model.block, look, (whole,), Margin(model.notes, model.pencil), told)


def _heading(pen: Pen, door: Door, box: Box) -> Element:
    """The door's number and whom it leads to."""
    base, left = box.bottom - 2.6, box.left
    parts: list[Element] = []
    if door.number:
        parts.append(balloon.balloon(pen, door.number, (left + balloon.RADIUS, base - 1.5)))
        left += balloon.wide(door.number) + 2.0
    parts += pen.words(headline(door), (left, base), DOOR_NAME, box.right - left)
    parts.append(pen.line((box.left, box.bottom), (box.right, box.bottom), "rule"))
    return element("g", *parts, data_part="door-heading", data_door=door.key, data_box=box.written)


def headline(door: Door) -> str:
    """What stands over the lines of a door."""
    opening = {"room": "To ", "never": "Forbidden: ", "always": "Without a door: "}.get(door.kind, "")
    name = door.name.replace("never", "whatever else lets it pass") if door.kind == "never" else door.name
    return f"{opening}{name}" if opening else name[:1].upper() + name[1:]


def _cells(box: Box) -> list[Box]:
    """Columns from left to right."""
    lefts, left = [], box.left
    for _, share, _ in COLUMNS:
        wide = share * box.width
        lefts.append(Box(left, box.top, left + wide - GUTTER, box.bottom))
        left += wide
    return lefts


def _texts(passage: Passage) -> tuple[str, ...]:
    return (
        passage.who, passage.whom, passage.wants, passage.hours or ALWAYS, passage.carried, passage.rules, passage.logged,
    )  # fmt: skip


def _height(passage: Passage, box: Box, rows: int) -> float:
    """Of one line with all its rows."""
    tallest = 0.0
    for text, (_, _, hand), cell in zip(_texts(passage), COLUMNS, _cells(box), strict=True):
        tallest = max(tallest, len(wrap(plain(text), hand, cell.width, rows)) * _leading(hand))
    return tallest + 1.9


def _leading(hand: Hand) -> float:
    return max(hand.leading, 4.1)


def _row(pen: Pen, door: Door, passage: Passage, box: Box, rows: int) -> Element:
    parts: list[Element] = [pen.line((box.left, box.bottom), (box.right, box.bottom), "rule", "hairline")]
    for text, (_, _, hand), cell in zip(_texts(passage), COLUMNS, _cells(box), strict=True):
        base = box.top + 3.9
        for row in wrap(plain(text), hand, cell.width, rows):
            parts += pen.row(row, (cell.left, base), hand)
            base += _leading(hand)
    return element("g", *parts, data_part="passage", data_door=door.key, data_box=box.written)
