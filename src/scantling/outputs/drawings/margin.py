"""The margin column of a sheet: its notes, the list in red pencil, and the title block at the foot."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.outputs.drawings.canvas import Box, Canvas
from scantling.outputs.drawings.lettering import Hand
from scantling.outputs.drawings.model import Pencilled, Shown, TitleBlock
from scantling.outputs.drawings.rows import HEADING, LABEL, PLAIN, QUIET, STRONG, Row, draw, gap, height, lettered, paragraph
from scantling.outputs.drawings.sheet import COLUMN, Paper

PADDING = 6.0
SECTION_GAP = 7.0
CELL_PAD = 2.8
CLIENT = STRONG.sized(4.9)
TITLE = Hand("National Park", 600, 5.4)
SHEET = Hand("National Park", 600, 5.0)
TRIANGLE_ROOM = 10.5
WEIGHTS = {"stop": 0, "mend": 1, "note": 2}
"""Worst first, where there is not room for all."""


@dataclass(frozen=True, slots=True)
class Part:
    """A headed part of the margin column."""

    heading: str
    rows: tuple[Row, ...]


def _cell(label: str, rows: Sequence[Row], width: float) -> list[Row]:
    return [gap(1.1), lettered(Shown(label), LABEL, width), *rows]


def _wide(canvas: Canvas, box: Box, label: str, rows: Sequence[Row]) -> None:
    """One field of the title block, ruled above."""
    canvas.line((box.x, box.y, box.right, box.y), "rule", "hairline")
    draw(canvas, (box.x + CELL_PAD, box.y), box.width - 2 * CELL_PAD, _cell(label, rows, box.width - 2 * CELL_PAD))


def _fields(block: TitleBlock, title: str, doors: str) -> list[list[tuple[str, str, Hand, int]]]:
    """The rows of the title block: label, value, hand, most lines."""
    rows = [
        [("client", block.client, CLIENT, 2)],
        [("title", title, TITLE, 2)],
        [("planned for", block.planned_for, PLAIN, 2)],
        [("sheet", block.sheet, SHEET, 1), ("of the set", block.place, PLAIN, 1), ("revision", block.revision, PLAIN, 1)],
        [("date", block.date, PLAIN, 1), ("drawn", block.drawn, PLAIN, 1), ("checked", block.checked, PLAIN, 1)],
    ]
    last = [("proof", block.proof, PLAIN, 2)]
    return [*rows, [*last, ("doors", doors, PLAIN, 2)] if doors else last]


def title_block(canvas: Canvas, paper: Paper, block: TitleBlock, title: str, says: tuple[str, str] = ("", "")) -> float:
    """Draws the title block at the foot of the column; `says` is the scale and the doors. Gives the y of its upper edge."""
    column = paper.column
    scale, doors = says
    fields = _fields(block, title, doors)
    fields.insert(-1, [("scale", scale, QUIET, 4)])
    laid: list[tuple[float, list[tuple[str, list[Row]]]]] = []
    for cells in fields:
        width = column.width / len(cells) - 2 * CELL_PAD
        drawn = [(label, paragraph(value or "-", hand, width, most)) for label, value, hand, most in cells]
        tallest = max(height(_cell(label, rows, width)) for label, rows in drawn)
        laid.append((tallest + 1.3, drawn))
    y = top = column.bottom - sum(tall for tall, _ in laid)
    for tall, drawn in laid:
        width = column.width / len(drawn)
        for index, (label, rows) in enumerate(drawn):
            box = Box(column.x + index * width, y, width, tall)
            _wide(canvas, box, label, rows)
            if index:
                canvas.line((box.x, y, box.x, y + tall), "rule", "hairline")
        y += tall
    canvas.line((column.x, top, column.right, top), "frame")
    canvas.line((column.x, top, column.x, column.bottom), "frame")
    return top


def notes(sentences: Sequence[str]) -> Part:
    """The notes of the sheet."""
    width = inner_width()
    rows: list[Row] = []
    for sentence in sentences:
        rows += [*paragraph(sentence, QUIET, width, 6), gap(1.6)]
    return Part("NOTES", tuple(rows))


def inner_width() -> float:
    """The width of text in the column, in millimetres."""
    return COLUMN - 2 * PADDING


def parts(canvas: Canvas, paper: Paper, given: Sequence[Part]) -> float:
    """Draws headed parts from the top of the column down; gives the y below the last."""
    column = paper.column
    x, y = column.x + PADDING, column.y + PADDING
    for part in given:
        if part.rows:
            y = draw(canvas, (x, y), inner_width(), [lettered(Shown(part.heading), HEADING, inner_width()), gap(1.4)])
            y = draw(canvas, (x, y), inner_width(), part.rows) + SECTION_GAP
    return y


def _pencilled(finding: Pencilled, width: float) -> list[Row]:
    ink = [hand.inked("pencil") for hand in (STRONG, PLAIN, PLAIN)]
    rows = [lettered(Shown(finding.weight), ink[0], width), *paragraph(finding.sentence, ink[1], width, 7)]
    if finding.remedy:
        rows += [gap(0.8), *paragraph(finding.remedy, Hand("Libertinus Serif", 400, 3.7, "pencil", "italic"), width, 6)]
    return rows


def red_pencil(canvas: Canvas, paper: Paper, findings: Sequence[Pencilled], space: tuple[float, float]) -> None:
    """The list of findings between two heights; where all do not fit, the gravest stand and the rest are counted."""
    y, foot = space
    column, width = paper.column, inner_width() - TRIANGLE_ROOM
    x = column.x + PADDING
    if not findings:
        return
    y = draw(canvas, (x, y), inner_width(), [lettered(Shown("RED PENCIL"), HEADING.inked("pencil"), inner_width()), gap(1.6)])
    fitting = _fitting(findings, width, foot - y)
    for finding in (item for item in findings if item in fitting):
        rows = _pencilled(finding, width)
        canvas.triangle(x + 3.4, y + 3.0, finding.number)
        y = draw(canvas, (x + TRIANGLE_ROOM, y), width, rows) + 3.2
    left = len(findings) - len(fitting)
    if left:
        more = f"{left} more in the book, under Findings."
        draw(canvas, (x + TRIANGLE_ROOM, y), width, paragraph(more, STRONG.inked("pencil"), width, 2))


def _fitting(findings: Sequence[Pencilled], width: float, room: float) -> list[Pencilled]:
    """As many as fit, gravest first."""
    heights = {finding.number: height(_pencilled(finding, width)) + 3.2 for finding in findings}
    if sum(heights.values()) <= room:
        return list(findings)
    room -= 2 * STRONG.leading
    kept: list[Pencilled] = []
    for finding in sorted(findings, key=lambda item: (WEIGHTS.get(item.weight, 3), item.number)):
        if heights[finding.number] <= room:
            kept.append(finding)
            room -= heights[finding.number]
    return kept
