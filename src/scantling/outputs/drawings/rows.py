"""Columns of text: paragraphs, entries and headings laid out as rows first, so that their height is known before drawing."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.outputs.drawings.canvas import Anchor, Box, Canvas, Word
from scantling.outputs.drawings.lettering import Hand, cut, wrap
from scantling.outputs.drawings.model import Shown

HEADING = Hand("National Park", 600, 2.8, spacing=0.42)
LABEL = Hand("National Park", 400, 2.6, "quiet", spacing=0.08)
NAME = Hand("National Park", 600, 5.0)
PLAIN = Hand("Libertinus Serif", 400, 3.7)
QUIET = Hand("Libertinus Serif", 400, 3.5, "quiet")
ITALIC = Hand("Libertinus Serif", 400, 3.5, "quiet", style="italic")
STRONG = Hand("Libertinus Serif", 600, 3.7)
ADDRESS = Hand("B612 Mono", 400, 2.75)
GUTTER = 2.6
"""Least white between two texts on one line, in millimetres."""


@dataclass(frozen=True, slots=True)
class Row:
    """A strip of a column: its height, the baseline in it, words at their distance from the left, perhaps a rule."""

    height: float
    baseline: float = 0.0
    words: tuple[tuple[float, Word], ...] = ()
    ruled: bool = False


def gap(height: float) -> Row:
    """White."""
    return Row(height)


def rule(above: float, below: float) -> tuple[Row, ...]:
    """A hairline across the column."""
    return Row(above), Row(0.0, ruled=True), Row(below)


def _strip(hand: Hand, *words: tuple[float, Word]) -> Row:
    """A row as high as the hand's leading, its baseline so that capitals stand in the upper part."""
    return Row(hand.leading, hand.capital + (hand.leading - hand.size) / 2, words)


def place(width: float, anchor: Anchor) -> float:
    """Where a word anchored so stands in a column of that width."""
    return {"start": 0.0, "middle": width / 2, "end": width}[anchor]


def paragraph(text: str, hand: Hand, width: float, most: int = 1000, indent: float = 0.0) -> list[Row]:
    """Words in lines that fit."""
    lines = wrap(text, hand, width - indent, most)
    was_cut = " ".join(lines).replace(" ", "") != text.replace(" ", "")
    last = len(lines) - 1
    return [
        _strip(hand, (indent, Word(line, hand, full=text if was_cut and index == last else "")))
        for index, line in enumerate(lines)
    ]


def lettered(shown: Shown, hand: Hand, width: float, anchor: Anchor = "start") -> Row:
    """One line: words or a figure, cut if it must be."""
    text = cut(shown.text, hand, width)
    full = "" if text == shown.text else shown.text
    return _strip(hand, (place(width, anchor), Word(text, hand, anchor, shown.figure_id, full)))


def entry(label: str, value: Shown, hands: tuple[Hand, Hand], width: float) -> list[Row]:
    """A label at the left and its value at the right, on one line; the label wraps, the value is never cut for it."""
    said, shown = hands
    text = cut(value.text, shown, width)
    right = Word(text, shown, "end", value.figure_id, "" if text == value.text else value.text)
    left = width - right.width - GUTTER
    if left < min(width / 3, said.width(label)):
        return [*paragraph(label, said, width, 2), _strip(shown, (width, right))]
    rows = paragraph(label, said, left, 3)
    if not rows:
        return [_strip(shown, (width, right))]
    last = rows[-1]
    return [*rows[:-1], Row(last.height, last.baseline, (*last.words, (width, right)))]


def height(rows: Sequence[Row]) -> float:
    """How high the rows stand together, in millimetres."""
    return sum(row.height for row in rows)


def extent(rows: Sequence[Row], x: float, y: float) -> Box | None:
    """The box round all words of the rows when drawn at (x, y); None without words."""
    boxes = []
    for row in rows:
        boxes += [word.box(x + dx, y + row.baseline) for dx, word in row.words if word.text]
        y += row.height
    if not boxes:
        return None
    left, top = min(box.x for box in boxes), min(box.y for box in boxes)
    return Box(left, top, max(box.right for box in boxes) - left, max(box.bottom for box in boxes) - top)


def draw(canvas: Canvas, corner: tuple[float, float], width: float, rows: Sequence[Row]) -> float:
    """Letters the rows from the corner down; gives the y below the last."""
    x, y = corner
    for row in rows:
        if row.ruled:
            canvas.line((x, y, x + width, y), "rule", "hairline")
        for dx, word in row.words:
            canvas.word(word, x + dx, y + row.baseline)
        y += row.height
    return y
