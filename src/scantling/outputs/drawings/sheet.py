"""The sheet round every drawing: frame, grid, centring and folding marks, margin column, title block."""

from dataclasses import dataclass

from scantling.outputs.drawings import pencil, svg
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, STRONG, Hand, shown, wrap
from scantling.outputs.drawings.model import PencilNote, Phrase, TitleBlock, plain
from scantling.outputs.drawings.paper import BINDING, GRID, Box, Look, column_box, frame_box, sheet_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.svg import Element, element

COLUMNS, ROWS = 8, "ABCDEF"
GRID_HAND = Hand(LABEL, 3.0, "quiet")
FIELD_NAME = Hand(LABEL, 2.7, "quiet")
FIELD_TEXT = Hand(STRONG, 4.4)
HEADING = Hand(SIGN, 3.1, spacing=0.42)
NOTE = Hand(BOOK, 4.0)
TWO_ROWS = 12.0
"""Least height of a field for a long text on two rows."""
TITLE_ROWS = (12.5, 12.5, 14.5, 11.5, 11.5)
PAD = 7.0
"""From the edge of the margin column to its words: clear of the centring mark."""


@dataclass(frozen=True, slots=True)
class Margin:
    """What stands in the margin column."""

    notes: tuple[Phrase, ...]
    pencil: tuple[PencilNote, ...]


def page(block: TitleBlock, look: Look, picture: tuple[Element, ...], margin: Margin, description: str) -> str:
    """One whole sheet as SVG text."""
    pen = Pen(look)
    outside = sheet_box(block.paper)
    parts = (
        pen.fill(outside, "paper"),
        frame(pen, block),
        element("g", *picture, data_part="picture"),
        margin_column(pen, block, margin),
        title_block(pen, block),
    )
    title = f"{block.sheet} {block.title}, {block.client}"
    named = shown(title, STRONG), shown(description, STRONG)
    return svg.document(outside.width, outside.height, *named, parts)


def frame(pen: Pen, block: TitleBlock) -> Element:
    """Frame, grid border with letters and numbers on both sides, centring marks, folding marks."""
    inner = frame_box(block.paper)
    outer = inner.inset(-GRID)
    return element(
        "g",
        pen.box(outer, "rule", "hairline"),
        *_across(pen, inner, outer),
        *_down(pen, inner, outer),
        *_centring(pen, inner),
        *_folding(pen, block),
        pen.box(inner, "door", data_part="frame"),
        data_part="border",
    )


def _across(pen: Pen, inner: Box, outer: Box) -> list[Element]:
    step = inner.width / COLUMNS
    parts: list[Element] = []
    for index in range(COLUMNS):
        left = inner.left + index * step
        for top, bottom in ((outer.top, inner.top), (inner.bottom, outer.bottom)):
            if index:
                parts.append(pen.line((left, top), (left, bottom), "rule", "hairline"))
            parts += pen.words(str(index + 1), (left + step / 2, top + 3.55), GRID_HAND, step, "middle")
    return parts


def _down(pen: Pen, inner: Box, outer: Box) -> list[Element]:
    step = inner.height / len(ROWS)
    parts: list[Element] = []
    for index, letter in enumerate(ROWS):
        top = inner.top + index * step
        for left, right in ((outer.left, inner.left), (inner.right, outer.right)):
            if index:
                parts.append(pen.line((left, top), (right, top), "rule", "hairline"))
            parts += pen.words(letter, ((left + right) / 2, top + step / 2 + 1.05), GRID_HAND, GRID, "middle")
    return parts


def _centring(pen: Pen, inner: Box) -> list[Element]:
    """Marks on both axes of the sheet, across the grid border and 5 mm into the field."""
    x, y = (inner.left - BINDING + inner.right + 10) / 2, (inner.top + inner.bottom) / 2
    ends = (
        ((x, inner.top - GRID), (x, inner.top + 4)),
        ((x, inner.bottom), (x, inner.bottom + GRID)),
        ((inner.left - GRID, y), (inner.left + 4, y)),
        ((inner.right - 4, y), (inner.right + GRID, y)),
    )
    return [pen.line(start, end, "outer", data_part="centring") for start, end in ends]


def _folding(pen: Pen, block: TitleBlock) -> list[Element]:
    """Ticks at the trimmed edge where the sheet is folded to half its width, binding edge left open."""
    whole = sheet_box(block.paper)
    second = whole.right / 2 + BINDING
    first = BINDING + (second - BINDING) / 2
    parts = []
    for x in (first, second):
        parts.append(pen.line((x, 0), (x, 3), "rule", "quiet", data_part="fold"))
        parts.append(pen.line((x, whole.bottom - 3), (x, whole.bottom), "rule", "quiet", data_part="fold"))
    return parts


def column_rest(block: TitleBlock) -> Box:
    """The margin column above the title block, drawn in to where words may stand."""
    column = column_box(block.paper)
    return Box(column.left + PAD, column.top + PAD, column.right - PAD, column.bottom - sum(TITLE_ROWS) - 4)


def margin_column(pen: Pen, block: TitleBlock, margin: Margin) -> Element:
    """Notes first, then the red pencil, each under its heading."""
    column, rest = column_box(block.paper), column_rest(block)
    parts: list[Element] = [pen.line((column.left, column.top), (column.left, column.bottom), "rule", "hairline")]
    base = rest.top + 3.2
    if margin.notes:
        parts += pen.words("NOTES", (rest.left, base), HEADING, rest.width)
        base += 6.6
        most = rest.top + rest.height * (0.45 if margin.pencil else 1.0)
        for note in margin.notes:
            rows = max(0, int((most - base) / NOTE.leading) + 1)
            if not rows:
                break
            words, base = pen.paragraph(note, (rest.left, base), NOTE, rest.width, rows)
            parts += words
            base += 1.6
        base += 7.0
    if margin.pencil:
        parts += pen.words("RED PENCIL", (rest.left, base), HEADING.inked("pencil"), rest.width)
        parts += pencil.listed(pen, margin.pencil, Box(rest.left, base + 3.0, rest.right, rest.bottom))
    return element("g", *parts, data_part="margin", data_box=rest.written)


def title_block(pen: Pen, block: TitleBlock) -> Element:
    """The fields after ISO 7200, at the bottom right corner of the frame."""
    column = column_box(block.paper)
    top = column.bottom - sum(TITLE_ROWS)
    rows: tuple[tuple[tuple[str, str], ...], ...] = (
        (("client", block.client),),
        (("title", block.title),),
        (("planned for", block.planned_for),),
        (("sheet", f"{block.sheet}, {block.sheet_of}"), ("revision", block.revision), ("date", block.date)),
        (("drawn", block.drawn), ("checked", block.checked), ("proof", block.proof)),
    )
    parts: list[Element] = []
    for height, cells in zip(TITLE_ROWS, rows, strict=True):
        wide = column.width / len(cells)
        for index, (name, text) in enumerate(cells):
            left = column.left + index * wide
            parts.append(_cell(pen, Box(left, top, left + wide, top + height), name, text))
        top += height
    parts.append(pen.box(Box(column.left, column.bottom - sum(TITLE_ROWS), column.right, column.bottom), "door"))
    return element("g", *parts, data_part="title-block")


def _cell(pen: Pen, box: Box, name: str, text: str) -> Element:
    room = box.width - 5.5
    words_in = plain(text or "\u2013")
    sizes = [size for size in (5.0, 4.4, 3.8) if len(wrap(words_in, FIELD_TEXT.at(size), room)) <= 1]
    hand = FIELD_TEXT.at(sizes[0] if sizes else 3.2)
    rows = wrap(words_in, hand, room, 1 if sizes or box.height < TWO_ROWS else 2)
    base = box.bottom - (2.3 if len(rows) == 1 else 1.7) - (len(rows) - 1) * hand.leading * 0.86
    base = min(base, box.top + 10.2) if len(rows) == 1 else base
    words: list[Element] = []
    for row in rows:
        words += pen.row(row, (box.left + 3, base), hand)
        base += hand.leading * 0.86
    label = pen.words(name, (box.left + 3, box.top + 3.1), FIELD_NAME, room)
    return element("g", pen.box(box, "rule", "hairline"), *label, *words, data_part="cell", data_box=box.written)
