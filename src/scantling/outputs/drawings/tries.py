"""Sheet T-1, the rehearsal: from each place on each room and machine, how many tries were let through and how many kept out."""

from collections.abc import Iterator
from dataclasses import dataclass

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, longest_word, width, wrap
from scantling.outputs.drawings.model import plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.rehearsal_model import Goal, Tried, TriesSheet
from scantling.outputs.drawings.ruling import hatch_round
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

WALL = 0.6
"""Between two openings, half on each side, in millimetres."""
NAMES, HEAD, TOP, LEGEND = 50.0, 15.0, 5.0, 32.0
WIDEST, HIGHEST = 46.0, 20.0
NUMBER, INDENT = 9.0, 4.0
PITCH = 1.9
"""Of the hatching."""
NAME_SIZES = (4.4, 4.0, 3.6, 3.2, 2.8, 2.4, 2.1)
COUNT_SIZES = (6.0, 5.4, 5.0, 4.6, 4.2, 3.8, 3.4, 3.0, 2.6, 2.2, 1.9)
SMALLER = 0.76
"""Size of what was kept out, beside what was let through."""
PAD, APART = 1.2, 1.6
MARK = 8.4
"""Width that a triangle takes."""
MARK_HEIGHT = 6.6
"""Height of a row that holds a triangle."""
SAID = Hand(BOOK, 3.9)
KEY = 7.0


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the wall stands, and the size of one of its fields."""

    wall: Box
    wide: float
    high: float

    def field(self, row: int, column: int) -> Box:
        """The opening of a pair, half a wall's strength in from its neighbours."""
        left, top = self.wall.left + column * self.wide, self.wall.top + row * self.high
        return Box(left, top, left + self.wide, top + self.high).inset(WALL)


def grid(model: TriesSheet) -> Grid:
    """As large as the sheet lets it be."""
    field = _site(model)
    columns, rows = max(1, len(model.places)), max(1, len(model.goals))
    wide = min(WIDEST, (field.width - NAMES) / columns)
    high = min(HIGHEST, (field.height - HEAD - TOP - LEGEND) / rows)
    left, top = field.left + NAMES, field.top + TOP + HEAD
    return Grid(Box(left, top, left + columns * wide, top + rows * high), wide, high)


def _site(model: TriesSheet) -> Box:
    return field_box(model.block.paper).inset(9, 11)


def tries_sheet(model: TriesSheet, look: Look) -> str:
    """Sheet T-1 as SVG text."""
    pen, laid, field = Pen(look), grid(model), _site(model)
    hand = count_hand(model, laid)
    opened: list[Box] = []
    drawn: list[Element] = []
    for box, islands, part in _fields(pen, model, laid, hand):
        opened += islands
        drawn.append(element("g", *part, data_part="try", data_box=box.written))
    parts: list[Element] = list(pen.words("WHO TRIED WHOM", (field.left, field.top + 2.6), HEADING, field.width))
    parts.append(element("g", *_columns(pen, model, laid), *_rows(pen, model, laid, field.left), data_part="places"))
    parts.append(hatch_round(pen, laid.wall, opened, PITCH))
    parts.append(pen.box(laid.wall, "outer", data_part="outer-wall"))
    parts += [*drawn, _legend(pen, model, Box(field.left, laid.wall.bottom + 4, field.right, field.bottom))]
    return page(model.block, look, tuple(parts), Margin(model.notes, model.pencil), _told(model))


def _told(model: TriesSheet) -> str:
    """The matrix in words, for those who can't see it."""
    places = {place.slug: place.name for place in model.places}
    goals = {goal.slug: goal.name for goal in model.goals}
    through = [
        f"{places.get(one.who, one.who)} to {goals.get(one.whom, one.whom)} {one.through}"
        for one in model.tries
        if one.through
    ]
    wrong = sum(one.wrong for one in model.tries)
    ends = f"{wrong} tries went otherwise than meant." if wrong else "All went as meant."
    return f"Matrix of tries; columns try, rows are tried. Let through: {', '.join(through) or 'nothing'}. {ends}"


def _columns(pen: Pen, model: TriesSheet, laid: Grid) -> Iterator[Element]:
    """Names of those who try, over their columns."""
    room = laid.wide - 1.4
    sizes = (
        size for size in NAME_SIZES if all(longest_word(one.name, Hand(SIGN, size)) <= room for one in model.places)
    )
    hand = Hand(SIGN, next(sizes, NAME_SIZES[-1]))
    for place, one in enumerate(model.places):
        left = laid.wall.left + place * laid.wide + 0.7
        rows = wrap(plain(one.name), hand, room, 2)
        base = laid.wall.top - 2.0 - (len(rows) - 1) * hand.leading
        yield from pen.words(one.number, (left, base - hand.leading), Hand(LABEL, 3.2, "quiet"), room)
        for row in rows:
            yield from pen.row(row, (left, base), hand)
            base += hand.leading


def _rows(pen: Pen, model: TriesSheet, laid: Grid, left: float) -> Iterator[Element]:
    """Names of those tried: rooms with their numbers, machines drawn in behind their room."""
    size = min(4.4, laid.high * 0.55)
    for place, one in enumerate(model.goals):
        hand = Hand(BOOK, size) if one.room else Hand(SIGN, size)
        start = left + (NUMBER + INDENT if one.room else NUMBER)
        base = laid.wall.top + (place + 0.5) * laid.high + hand.capital / 2
        yield from pen.words(one.number, (left, base), Hand(LABEL, size * 0.85, "quiet"), NUMBER - 1.0)
        yield from pen.words(one.name, (start, base), hand, laid.wall.left - start - 2.0)


def _fields(pen: Pen, model: TriesSheet, laid: Grid, hand: Hand) -> Iterator[tuple[Box, list[Box], list[Element]]]:
    """Each field: its box, what of it is kept clear of the hatching, what stands in it."""
    found = {(one.who, one.whom): one for one in model.tries}
    for row, goal in enumerate(model.goals):
        for column, place in enumerate(model.places):
            box = laid.field(row, column)
            one = found.get((place.slug, goal.slug))
            if one is not None:
                yield box, *_tried(pen, model, one, box, hand)
            elif place.slug in {goal.slug, goal.room}:
                line = pen.line((box.left, box.bottom), (box.right, box.top), "rule", "hairline")
                yield box, [box], [line, pen.box(box, "rule", "hairline")]
            else:
                yield box, [box], [pen.box(box, "rule", "hairline")]


def _tried(pen: Pen, model: TriesSheet, one: Tried, box: Box, hand: Hand) -> tuple[list[Box], list[Element]]:
    """An opening where something was let through; else hatched with what was kept out; in red pencil what went otherwise."""
    holds = int((box.width / 2 - 1.0) / pencil.PITCH) if box.height >= MARK_HEIGHT else 0
    marked = one.differs[: max(holds, int(box.height >= MARK_HEIGHT and box.width >= MARK))]
    room = Box(box.left + PAD, box.top, box.right - (len(marked) * pencil.PITCH + 1.0 if marked else PAD), box.bottom)
    parts: list[Element] = []
    if one.through or one.wrong:
        islands = [box]
        parts += [pen.box(box, "door"), *_counts(pen, one, room, hand)]
    else:
        island = _island(one, box, hand)
        islands = [island]
        base = (box.top + box.bottom) / 2 + small(hand).capital / 2
        parts += pen.words(count(one.kept_out), (box.right - PAD, base), small(hand), box.width - PAD, "end")
    if one.wrong:
        parts.append(pencil.cloud(pen, box.inset(0.5), 0.5))
    if marked:
        corner = (box.right - 1.6, (box.top + box.bottom) / 2 + 0.9)
        parts += pencil.triangles(pen, model.pencil, marked, corner, box.width)
    return islands, parts


def _counts(pen: Pen, one: Tried, room: Box, hand: Hand) -> list[Element]:
    """Let through at the left, large; kept out at the right, small. Where there is room for one only, what was let through."""
    base = (room.top + room.bottom) / 2 + hand.capital / 2
    through, out = count(one.through), count(one.kept_out)
    parts: list[Element] = []
    if width(through, hand) <= room.width:
        parts += pen.words(through, (room.left, base), hand, room.width)
    if one.kept_out and width(through, hand) + APART + width(out, small(hand)) <= room.width:
        parts += pen.words(out, (room.right, base), small(hand), room.width, "end")
    return parts


def _island(one: Tried, box: Box, hand: Hand) -> Box:
    """What is kept clear round the number of those kept out, at the right."""
    wide = min(box.width, width(count(one.kept_out), small(hand)) + 2 * PAD)
    middle, half = (box.top + box.bottom) / 2, min(box.height / 2, small(hand).size * 0.62)
    return Box(box.right - wide, middle - half, box.right, middle + half)


def count(amount: int) -> str:
    """A number as people read it."""
    return f"{amount:,}"


def small(hand: Hand) -> Hand:
    """Of what was kept out."""
    return Hand(LABEL, hand.size * SMALLER, "quiet")


def count_hand(model: TriesSheet, laid: Grid) -> Hand:
    """The largest hand in which every pair of numbers stands side by side in its field, and no row is too low."""
    box = laid.field(0, 0)
    for size in COUNT_SIZES:
        hand = Hand(SIGN, size)
        wide = (
            width(count(one.through), hand) + APART + width(count(one.kept_out), small(hand)) for one in model.tries
        )
        if size <= box.height * 0.75 and max(wide, default=0.0) <= box.width - 2 * PAD:
            return hand
    return Hand(SIGN, COUNT_SIZES[-1])


def _legend(pen: Pen, model: TriesSheet, box: Box) -> Element:
    """How the wall is read, in words beside a piece of it; then what all of it comes to."""
    top, half = box.top + 2.5, box.left + box.width / 2
    keys = [
        Box(left, level, left + 2.4 * KEY, level + KEY) for left in (box.left, half) for level in (top, top + KEY + 2)
    ]
    open_, shut, same, cloud = keys
    hand = Hand(SIGN, 4.2)
    sample = Tried("", "", 14, 27)
    parts: list[Element] = [pen.box(open_, "door"), *_counts(pen, sample, open_.inset(PAD, 0), hand)]
    island = _island(sample, shut, hand)
    parts += [hatch_round(pen, shut, (island,), PITCH), pen.box(shut, "rule")]
    base = (shut.top + shut.bottom) / 2 + small(hand).capital / 2
    parts += pen.words("27", (shut.right - PAD, base), small(hand), shut.width, "end")
    parts += [pen.box(same, "rule", "hairline")]
    parts.append(pen.line((same.left, same.bottom), (same.right, same.top), "rule", "hairline"))
    parts.append(pencil.cloud(pen, cloud.inset(1.0, 1.0), 0.9))
    for key, said in (
        (open_, "Open: let through, and in small how many were kept out."),
        (shut, "Hatched: all were kept out."),
        (same, "One room: what passes inside it, the firewall never sees."),
        (cloud, "Red pencil: something went otherwise than meant."),
    ):
        room = box.width / 2 - 2.4 * KEY - 7
        parts += pen.paragraph(plain(said), (key.right + 3.5, key.top + 4.7), SAID, room, 1)[0]
    parts += pen.paragraph(model.totals, (box.left, shut.bottom + 7.0), SAID, box.width, 1)[0]
    return element("g", *parts, data_part="legend", data_box=box.written)


__all__ = ["Goal", "Grid", "count", "count_hand", "grid", "tries_sheet"]
