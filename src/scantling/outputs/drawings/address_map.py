"""Sheet N-4, the address map: each zone as courses of bricks, one for every address, filled by what they are for."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.outputs.drawings import bricks, pencil
from scantling.outputs.drawings.address_model import AddressMap, ZoneMap
from scantling.outputs.drawings.lettering import BOOK, EVEN, LABEL, SIGN, SLANT, STRONG, Hand, cut, shown, width, wrap
from scantling.outputs.drawings.model import Text
from scantling.outputs.drawings.paper import Box, Look, field_box
from scantling.outputs.drawings.pen import Pen, Point
from scantling.outputs.drawings.sheet import HEADING, Margin, page
from scantling.outputs.drawings.svg import Element, element

STARTS, APART = 13.0, 10.0
"""Room for the numbers at the beginning of each course; between two columns."""
HEAD = 8.0
SPLIT = 8
"""More zones than this stand in two columns."""
MOST_COURSES = 16
"""A zone of more is drawn at a scale of its own."""
LARGEST_BRICK, SMALLEST_BRICK = 7.5, 1.3
"""Height of a course, in millimetres."""
SETTINGS = (
    (32, 1.35, 5.0),
    (64, 1.2, 4.2),
    (64, 1.0, 2.6),
    (64, 0.9, 2.2),
    (128, 0.9, 2.0),
    (128, 0.85, 1.6),
    (256, 0.78, 1.3),
)
"""Addresses of a course, lettering and least brick, the ones that read best first; in two columns half as many addresses."""
ROWS = (3, 2, 1)
GAP, MORE_GAP = 4.5, 11.0
"""Between two zones, and what is added where there is room."""
NARROW, MOST_COUNT = 190.0, 26.0
"""In a column narrower than this the counts have a row of their own; most that one of them takes."""
LEAST_LABELLED = 2.0
"""Height of a course from which each has its number."""


@dataclass(frozen=True, slots=True)
class Laid:
    """How the zones are laid out: columns, addresses of a course, height of a course, lettering, rows of words."""

    columns: tuple[tuple[ZoneMap, ...], ...]
    course: int
    brick: float
    scale: float
    rows: int
    left_out: int = 0


def name_hand(scale: float) -> Hand:
    """Of a zone's name."""
    return Hand(SIGN, 4.8 * scale)


def word_hand(scale: float) -> Hand:
    """Of what is said under the bricks."""
    return Hand(BOOK, 3.4 * scale)


def own_course(zone: ZoneMap, course: int) -> int:
    """Addresses of one course of this zone: those of the sheet, or more where it would stand too high."""
    while zone.size > course * MOST_COURSES:
        course *= 2
    return course


def courses(zone: ZoneMap, course: int) -> int:
    """How many courses the zone has."""
    return -(-zone.size // own_course(zone, course))


def _words_rows(zone: ZoneMap, wide: float, laid: tuple[float, int]) -> int:
    scale, rows = laid
    hand = word_hand(scale)
    sixth = len(wrap(zone.sixth.says, hand, _sixth_room(zone, wide, scale), rows)) if zone.sixth else 0
    return len(wrap(zone.says, hand, wide - STARTS, rows)) + sixth


def _sixth_room(zone: ZoneMap, wide: float, scale: float) -> float:
    assert zone.sixth is not None
    taken = min(width(shown(zone.sixth.network.text, STRONG), bricks.network_hand(scale)), bricks.NETWORK)
    return wide - STARTS - bricks.SIXTH - taken - 6.0


def _frame(zone: ZoneMap, wide: float, laid: tuple[float, int]) -> float:
    """Height of a zone without its bricks."""
    scale = laid[0]
    head = name_hand(scale).leading + (count_leading(scale) if wide < NARROW else 0.0)
    return head + 2.2 + _words_rows(zone, wide, laid) * word_hand(scale).leading + 2.8 + GAP


def lay(model: AddressMap, box: Box) -> Laid:
    """The setting that reads best of those with which all zones stand on the sheet; the last zones left out if none does."""
    many = 2 if len(model.zones) > SPLIT else 1
    wide = (box.width - (many - 1) * APART) / many
    room = box.height - HEAD
    for rows in ROWS:
        for course, scale, least in SETTINGS:
            set_ = (course // many, wide, scale, rows)
            split = _split(model.zones, many, set_)
            brick = min((_brick(part, room, set_) for part in split), default=LARGEST_BRICK)
            laid = Laid(split, course // many, min(brick, LARGEST_BRICK), scale, rows)
            if brick >= least:
                return laid
    return _cut(laid, room, wide)


def _brick(part: Sequence[ZoneMap], room: float, laid: tuple[int, float, float, int]) -> float:
    """Height of a course with which a column of zones just fits."""
    course, wide, scale, rows = laid
    high = sum(courses(zone, course) for zone in part)
    return (room - sum(_frame(zone, wide, (scale, rows)) for zone in part)) / max(high, 1)


def _split(
    zones: Sequence[ZoneMap], many: int, laid: tuple[int, float, float, int]
) -> tuple[tuple[ZoneMap, ...], ...]:
    """Zones in columns in their order, the columns as even as can be."""
    if many == 1:
        return (tuple(zones),)
    course, wide, scale, rows = laid
    high = [_frame(zone, wide, (scale, rows)) + courses(zone, course) * 2 * SMALLEST_BRICK for zone in zones]
    at = min(range(len(zones) + 1), key=lambda place: max(sum(high[:place]), sum(high[place:])))
    return tuple(zones[:at]), tuple(zones[at:])


def _cut(laid: Laid, room: float, wide: float) -> Laid:
    """The zones that find room with the smallest bricks; how many do not is told."""
    kept: list[tuple[ZoneMap, ...]] = []
    for part in laid.columns:
        left, fits = room - 6.0, []
        for zone in part:
            left -= _frame(zone, wide, (laid.scale, laid.rows)) + courses(zone, laid.course) * SMALLEST_BRICK
            if left < 0:
                break
            fits.append(zone)
        kept.append(tuple(fits))
    out = sum(map(len, laid.columns)) - sum(map(len, kept))
    return Laid(tuple(kept), laid.course, SMALLEST_BRICK, laid.scale, laid.rows, out)


def address_sheet(model: AddressMap, look: Look) -> str:
    """Sheet N-4 as SVG text."""
    pen = Pen(look)
    box = field_box(model.block.paper).inset(9, 11)
    laid = lay(model, box)
    many = len(laid.columns)
    wide = (box.width - (many - 1) * APART) / many
    said = f"ADDRESS MAP: ONE BRICK AN ADDRESS, {laid.course} TO A COURSE"
    parts: list[Element] = list(pen.words(said, (box.left, box.top + 2.6), HEADING, box.width))
    for place, part in enumerate(laid.columns):
        left, level = box.left + place * (wide + APART), box.top + HEAD
        high = sum(
            _frame(zone, wide, (laid.scale, laid.rows)) + courses(zone, laid.course) * laid.brick for zone in part
        )
        more = min(MORE_GAP, max(0.0, box.height - HEAD - high) / max(len(part), 1))
        for zone in part:
            bottom = level + _frame(zone, wide, (laid.scale, laid.rows)) + courses(zone, laid.course) * laid.brick
            parts.append(_zone(pen, model, zone, laid, Box(left, level, left + wide, bottom)))
            level = bottom + more
    if laid.left_out:
        told = f"{laid.left_out} more zones in the register of the plan"
        parts += pen.words(told, (box.left, box.bottom), Hand(SLANT, 3.6, "quiet"), box.width)
    names = "; ".join(
        f"{zone.name} {', '.join(f'{count.number} {count.label}' for count in zone.counts)}" for zone in model.zones
    )
    told = f"Address map: each zone's addresses as bricks. {names}."
    return page(model.block, look, tuple(parts), Margin(model.notes, model.pencil), told)


def _zone(pen: Pen, model: AddressMap, zone: ZoneMap, laid: Laid, box: Box) -> Element:
    """One zone: name, network and counts; its bricks; who bears what; the sixth version."""
    hand, words = name_hand(laid.scale), word_hand(laid.scale)
    base = box.top + hand.capital + 0.6
    parts = _head(pen, zone, laid.scale, Box(box.left, base, box.right, base))
    top = base + 2.0 + (count_leading(laid.scale) if box.width < NARROW else 0.0)
    wall = Box(box.left + STARTS, top, box.right, top + courses(zone, laid.course) * laid.brick)
    course = own_course(zone, laid.course)
    parts += bricks.courses(pen, zone, wall, course, laid.course)
    for place in range(courses(zone, laid.course)):
        label = Hand(EVEN, min(2.7, laid.brick * 0.8), "quiet")
        start = zone.starts[place * course // 32] if place * course // 32 < len(zone.starts) else ""
        level = wall.top + (place + 0.5) * laid.brick + label.capital / 2
        if laid.brick >= LEAST_LABELLED or place % 2 == 0:
            parts += pen.words(start, (wall.left - 1.6, level), label, STARTS - 2, "end")
    base = wall.bottom + words.size + 0.5
    rows, base = pen.paragraph(zone.says, (wall.left, base), words, wall.width, laid.rows)
    parts += rows
    if zone.sixth is not None:
        parts += bricks.sixth(pen, zone.sixth, Box(wall.left, base - words.size * 0.75, wall.right, base), laid.scale)
        beside = wall.right - _sixth_room(zone, box.width, laid.scale)
        parts += pen.paragraph(zone.sixth.says, (beside, base), words, wall.right - beside, laid.rows)[0]
    if zone.findings:
        parts += pencil.triangles(pen, model.pencil, zone.findings, (box.left + 7.0, wall.bottom + 5.0), 8.0)
    return element("g", *parts, data_part="zone", data_room=zone.slug, data_box=box.written)


def _head(pen: Pen, zone: ZoneMap, scale: float, line: Box) -> list[Element]:
    """Number, name and network from the left; the counts from the right, under them where the column is narrow."""
    hand, base = name_hand(scale), line.top
    narrow = line.width < NARROW
    parts, right = _counts(pen, zone, scale, (line.right, base + (count_leading(scale) if narrow else 0.0)))
    right = line.right if narrow else right
    number = Hand(LABEL, hand.size * 0.85, "quiet")
    parts += pen.words(zone.number, (line.left, base), number, STARTS - 2)
    network = Hand(EVEN, 3.2 * scale)
    taken = min(width(shown(zone.network.text, EVEN), network), bricks.NETWORK)
    name = cut(zone.name, hand, max(right - line.left - STARTS - taken - 6, 10.0))
    parts += pen.row(name, (line.left + STARTS, base), hand)
    start = line.left + STARTS + sum(piece.width for piece in name) + 4
    parts += pen.words(zone.network, (start, base), network, min(max(right - start - 1, 1.0), bricks.NETWORK + 0.1))
    return parts


def count_leading(scale: float) -> float:
    """Height of a row of counts."""
    return 5.6 * scale


def _counts(pen: Pen, zone: ZoneMap, scale: float, end: Point) -> tuple[list[Element], float]:
    """The four counts, each with a brick of its kind, ending at a point; and where they begin."""
    label = Hand(BOOK, 3.5 * scale)
    parts: list[Element] = []
    right, base = end
    for count, use in reversed(tuple(zip(zone.counts, ("issued", "kept", "leased", "spare"), strict=True))):
        row = cut((Text(count.number, count.figure), Text(f" {count.label}")), label, MOST_COUNT)
        right -= sum(piece.width for piece in row)
        parts += pen.row(row, (right, base), label)
        right -= bricks.SWATCH + 1.4
        parts += bricks.swatch(pen, use, Box(right, base - 2.7 * scale, right + bricks.SWATCH, base + 0.2))
        right -= 4.0
    return parts, right
