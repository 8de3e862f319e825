"""Sheet N-3, who may reach whom: a hatched wall with an opening for every pair of places where something passes."""

from dataclasses import dataclass

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, Hand, cut, longest_word, width, wrap
from scantling.outputs.drawings.matrix_model import Crossing, Matrix, Whereabout
from scantling.outputs.drawings.model import Phrase, plain
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.ruling import hatch_round
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

WALL = 0.9
"""Between two openings, half on each side, in millimetres."""
NAMES, HEAD, TOP = 36.0, 16.0, 5.0
"""Room for the names of rows, and of columns."""
LEGEND = 33.0
WIDEST, HIGHEST = 56.0, 42.0
PAD = 1.5
NAME_SIZES = (4.6, 4.2, 3.8, 3.4, 3.0, 2.7)
WORD_SIZES = (4.2, 3.8, 3.4, 3.0, 2.7, 2.4)
MOST_FIT = 0.75
COUNT = Hand(SIGN, 4.6)
RULES = Hand(EVEN, 2.2, "quiet")
SAID = Hand(BOOK, 3.9)
SMALL_PAD, SMALL_COUNT, UNDER = 1.1, 3.7, 0.8
LEAST_BOTH = 15.0
"""Height of an opening from which its number stands beside its triangle; below it the triangle stands alone."""
MARK = 4.5
"""Of an opening's height, what a triangle takes."""
KEY = 7.5


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


def grid(model: Matrix) -> Grid:
    """As large as the sheet lets it be."""
    field = field_box(model.block.paper).inset(9, 11)
    count = max(1, len(model.places))
    wide = min(WIDEST, (field.width - NAMES) / count)
    high = min(HIGHEST, (field.height - HEAD - TOP - LEGEND) / count)
    left, top = field.left + NAMES, field.top + TOP + HEAD
    return Grid(Box(left, top, left + count * wide, top + count * high), wide, high)


def matrix_sheet(model: Matrix, look: Look) -> str:
    """Sheet N-3 as SVG text."""
    pen = Pen(look)
    laid = grid(model)
    usual = usual_size(model, laid)
    field = field_box(model.block.paper).inset(9, 11)
    by_pair = {(each.who, each.whom): each for each in model.crossings}
    parts: list[Element] = list(pen.words("WHO MAY REACH WHOM", (field.left, field.top + 2.6), HEADING, field.width))
    parts += _names(pen, model, laid, field)
    opened: list[Box] = []
    cells: list[Element] = []
    for row, who in enumerate(model.places):
        for column, whom in enumerate(model.places):
            box = laid.field(row, column)
            crossing = by_pair.get((who.slug, whom.slug))
            if who.slug == whom.slug:
                opened.append(box)
                cells.append(_same(pen, box))
            elif crossing is not None:
                opened.append(box if crossing.open or crossing.differs else _island(box))
                cells.append(_crossing(pen, model, crossing, box, usual))
            else:
                cells.append(_shut(who, whom, box))
    parts.append(hatch_round(pen, laid.wall, opened, 1.9))
    parts.append(pen.box(laid.wall, "outer", data_part="outer-wall"))
    parts += [*cells, _legend(pen, model, Box(field.left, laid.wall.bottom + 4, field.right, field.bottom))]
    names = ", ".join(place.name for place in model.places)
    told = f"Matrix of who may reach whom. Rows begin, columns are reached, in this order: {names}. {_open(model)}"
    return page(model.block, look, tuple(parts), Margin(model.notes, model.pencil), told)


def _open(model: Matrix) -> str:
    """The openings in words, for those who can't see them."""
    names = {place.slug: place.name for place in model.places}
    ways = [
        f"{names.get(each.who, each.who)} to {names.get(each.whom, each.whom)}"
        for each in model.crossings
        if each.open
    ]
    return f"Open: {', '.join(ways)}." if ways else "Nothing is open."


def _names(pen: Pen, model: Matrix, laid: Grid, field: Box) -> list[Element]:
    """Names of the rows at the left, of the columns above, with their room numbers."""
    row_room, column_room = NAMES - 11, laid.wide - 1.0
    hand = _name_hand(model.places, min(row_room, column_room))
    parts: list[Element] = []
    for place, each in enumerate(model.places):
        middle = laid.wall.top + (place + 0.5) * laid.high
        rows = wrap(plain(each.name), hand, row_room, 2)
        base = middle + hand.capital / 2 - (len(rows) - 1) * hand.leading / 2
        parts += pen.words(each.number, (laid.wall.left - 2.5, middle + 1.4), Hand(LABEL, 3.4, "quiet"), 8, "end")
        for row in rows:
            parts += pen.row(row, (field.left, base), hand)
            base += hand.leading
        left = laid.wall.left + place * laid.wide + 0.6
        rows = wrap(plain(each.name), hand, column_room, 2)
        base = laid.wall.top - 2.2 - (len(rows) - 1) * hand.leading
        parts += pen.words(each.number, (left, base - hand.leading), Hand(LABEL, 3.4, "quiet"), column_room)
        for row in rows:
            parts += pen.row(row, (left, base), hand)
            base += hand.leading
    return [element("g", *parts, data_part="places")]


def _name_hand(places: tuple[Whereabout, ...], room: float) -> Hand:
    """The largest hand in which no name is broken inside a word."""
    fitting = (
        size for size in NAME_SIZES if all(longest_word(each.name, Hand(SIGN, size)) <= room for each in places)
    )
    return Hand(SIGN, next(fitting, NAME_SIZES[-1]))


def _same(pen: Pen, box: Box) -> Element:
    """A field where who and whom are the same: the firewall sees nothing of it."""
    line = pen.line((box.left, box.bottom), (box.right, box.top), "rule", "hairline")
    return element("g", line, pen.box(box, "rule"), data_part="same", data_box=box.written)


def _shut(who: Whereabout, whom: Whereabout, box: Box) -> Element:
    """A field where nothing is meant to pass: nothing is drawn on the hatching, but it can be asked about."""
    return element("g", data_part="shut", data_who=who.slug, data_whom=whom.slug, data_box=box.written)


def _crossing(pen: Pen, model: Matrix, crossing: Crossing, box: Box, usual: float) -> Element:
    """An opening: the number of intents and the rules; what passes in short words; or what is forbidden on a shut way."""
    inner, number = box.inset(_pad(box)), _count_hand(box)
    parts: list[Element] = [pen.box(box, "door")] if crossing.open or crossing.differs else []
    level = inner.top
    small = bool(crossing.differs) and box.height < LEAST_BOTH
    if crossing.open and not small:
        level += number.capital
        count = cut(str(crossing.intents), number, inner.width * 0.6)
        parts += pen.row(count, (inner.left, level), number)
        room = inner.width - sum(piece.width for piece in count) - 1.2
        rules = next((each for each in (crossing.rules, crossing.rules_short) if width(each, RULES) <= room), "")
        parts += pen.words(rules, (inner.right, level), RULES, room + 0.01, "end")
        level += UNDER
    foot = inner.bottom - (MARK if crossing.differs else 0.0)
    parts += [] if small else _words(pen, crossing, Box(inner.left, level, inner.right, foot), usual)
    if crossing.differs:
        parts.append(pencil.cloud(pen, box.inset(0.6), 0.6))
        corner = (box.right - 4.4, box.bottom - 3.4)
        parts += pencil.triangles(pen, model.pencil, crossing.differs, corner, box.width - 6)
    return element(
        "g", *parts, data_part="crossing", data_who=crossing.who, data_whom=crossing.whom, data_box=box.written
    )


def _island(box: Box) -> Box:
    """What is kept clear in a shut pair of which something is said: one row of words."""
    return Box(box.left, box.top, box.right, min(box.bottom, box.top + _pad(box) + WORD_SIZES[0] * 1.4))


def _pad(box: Box) -> float:
    """From an opening's frame to its words."""
    return PAD if box.height >= LEAST_BOTH else SMALL_PAD


def _count_hand(box: Box) -> Hand:
    """Of the number of intents."""
    return COUNT if box.height >= LEAST_BOTH else COUNT.at(SMALL_COUNT)


def _said(crossing: Crossing) -> Phrase:
    shut = [f"{crossing.forbidding} forbidden"] if crossing.forbidding else []
    return plain(", ".join([*crossing.passing, *shut]))


def _fits(crossing: Crossing, size: float, room: Box) -> bool:
    """Whether all words of an opening stand in it at a size, none broken."""
    said, hand = _said(crossing), Hand(BOOK, size)
    whole = longest_word(said[0].text, hand) <= room.width
    return whole and len(wrap(said, hand, room.width)) <= _most(room, hand)


def _most(room: Box, hand: Hand) -> int:
    return int((room.height - 0.3 * hand.size) / hand.leading)


def usual_size(model: Matrix, laid: Grid) -> float:
    """The largest size at which three quarters of the openings hold their words; the others are set smaller."""
    box = laid.field(0, 0)
    room = box.inset(_pad(box))
    room = Box(room.left, room.top + _count_hand(box).capital + UNDER, room.right, room.bottom)
    for size in WORD_SIZES:
        if sum(_fits(each, size, room) for each in model.crossings) >= MOST_FIT * len(model.crossings):
            return size
    return WORD_SIZES[-1]


def _words(pen: Pen, crossing: Crossing, box: Box, usual: float) -> list[Element]:
    """What passes and what is forbidden, no larger than usual, else cut."""
    sizes = [size for size in WORD_SIZES if size <= usual]
    size = next((each for each in sizes if _fits(crossing, each, box)), sizes[-1])
    hand = Hand(BOOK, size, "ink" if crossing.open else "quiet")
    most = _most(box, hand)
    if most < 1:
        return []
    return list(pen.paragraph(_said(crossing), (box.left, box.top + hand.size), hand, box.width, most)[0])


def _legend(pen: Pen, model: Matrix, box: Box) -> Element:
    """How the wall is read, in words beside a piece of it; then how much of it is open."""
    top = box.top + 3
    shut = Box(box.left, top, box.left + 2 * KEY, top + KEY)
    open_ = Box(box.left, shut.bottom + 2.5, box.left + 2 * KEY, shut.bottom + 2.5 + KEY)
    same = Box(box.left + box.width / 2, top, box.left + box.width / 2 + 2 * KEY, top + KEY)
    cloud = Box(same.left, open_.top, same.right, open_.bottom)
    parts: list[Element] = [
        hatch_round(pen, shut, (), 1.9),
        pen.box(shut, "rule"),
        pen.box(open_, "door"),
        pen.box(same, "rule"),
    ]
    parts += pen.words("4", (open_.left + PAD, open_.top + PAD + COUNT.capital), COUNT, KEY)
    parts.append(pen.line((same.left, same.bottom), (same.right, same.top), "rule", "hairline"))
    parts.append(pencil.cloud(pen, cloud.inset(1.0, 1.0), 0.9))
    for key, said in (
        (shut, "Hatched: nothing passes."),
        (open_, "Open: how many intents, what passes, by which rules."),
        (same, "One room: what passes inside it, the firewall never sees."),
        (cloud, "Red pencil: the rules do something else than is meant."),
    ):
        room = box.width / 2 - 2 * KEY - 8
        parts += pen.paragraph(plain(said), (key.right + 3.5, key.top + 4.9), SAID, room, 1)[0]
    if model.totals:
        parts += pen.paragraph(model.totals, (box.left, open_.bottom + 7.5), SAID, box.width, 1)[0]
    return element("g", *parts, data_part="legend", data_box=box.written)
