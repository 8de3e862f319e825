"""Beside the server: its copies as outbuildings up the hill, the road to each, and the boundary of the premises."""

from dataclasses import dataclass

from scantling.outputs.drawings import pencil
from scantling.outputs.drawings.lettering import BOOK, LABEL, SIGN, Hand, wrap
from scantling.outputs.drawings.model import Outbuilding, PencilNote, Phrase, plain
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen, Point, course
from scantling.outputs.drawings.svg import Element, element

SHED = 58.0
"""Width of an outbuilding."""
EAVES, RISE, LIFT, KERB = 3.0, 8.0, 5.0, 1.8
"""Overhang and height of a roof, an outbuilding's level over its plot, width of a road; millimetres."""
TALLEST = 60.0
NAME = Hand(SIGN, 4.6)
TEXT = Hand(BOOK, 3.8)
QUIET = Hand(BOOK, 3.8, "quiet")
SIZES = (1.0, 0.92, 0.85, 0.78, 0.7)
MOST = 4
"""Rows at most of place, capacity and note each."""
BOUNDARY = Hand(LABEL, 3.1, "quiet")
CHAIN = "6 1.4 0.6 1.4"


@dataclass(frozen=True, slots=True)
class Site:
    """Where outbuildings stand: the box right of the server, whose bottom is the ground."""

    box: Box
    wall: float
    """The server's outer face, where every road begins."""


def outbuildings(pen: Pen, copies: tuple[Outbuilding, ...], notes: tuple[PencilNote, ...], site: Site) -> Element:
    """On the premises first, from the ground up; then the boundary; then what lies off the site."""
    order = [copy for copy in copies if not copy.off_site] + [copy for copy in copies if copy.off_site]
    near = sum(not copy.off_site for copy in copies)
    height = min(TALLEST, site.box.height / max(1, len(order)))
    parts: list[Element] = []
    for place, copy in enumerate(order):
        level = site.box.bottom - place * height
        plot = Box(site.box.left, level - height, site.box.right, level)
        parts.append(_plot(pen, copy, notes, plot, site))
    if near < len(order):
        level = site.box.bottom - near * height
        parts.append(
            _boundary(pen, site, level + 2.2 if near else site.box.bottom, site.box.bottom - len(order) * height)
        )
    return element("g", *parts, data_part="outbuildings")


def _plot(pen: Pen, copy: Outbuilding, notes: tuple[PencilNote, ...], plot: Box, site: Site) -> Element:
    level, wall = plot.bottom - LIFT, site.wall
    ground = plot.bottom == site.box.bottom
    shed = Box(plot.right - SHED, plot.top + 4.0 + RISE, plot.right - EAVES, level)
    parts = [
        _road(pen, (wall, level), plot.right, ground=ground),
        _shell(pen, shed),
        _inside(pen, copy, shed),
        _road_words(pen, copy, Box(wall + 7, shed.top + 2 if copy.findings else plot.top + 6, shed.left - 4, level)),
    ]
    if copy.findings:
        parts.insert(
            2, pencil.cloud(pen, Box(shed.left + 2.2, shed.top + 2.2, shed.right - 2.2, shed.bottom - 2.2), 0.9)
        )
        parts += pencil.triangles(pen, notes, copy.findings, (shed.left - EAVES - 2, shed.top - 3), 30)
    return element("g", *parts, data_part="outbuilding", data_copy=copy.slug, data_box=plot.written)


def _road(pen: Pen, start: Point, right: float, *, ground: bool) -> Element:
    """The road to the server's wall: on the ground itself, or a terrace of its own up the hill."""
    level = start[1]
    if ground:
        return element("g", pen.line(start, (right, level), "outer", data_part="road"))
    upper = pen.line(start, (right, level), "door", data_part="road")
    return element("g", upper, pen.line((start[0], level + KERB), (right, level + KERB), "rule"))


def _shell(pen: Pen, shed: Box) -> Element:
    middle = (shed.left + shed.right) / 2
    walls = ((shed.left, shed.bottom), (shed.left, shed.top), (shed.right, shed.top), (shed.right, shed.bottom))
    roof = ((shed.left - EAVES, shed.top), (middle, shed.top - RISE), (shed.right + EAVES, shed.top))
    return element(
        "g",
        pen.path(walls, "partition", data_part="wall"),
        pen.path(roof, "partition", closed="yes", data_part="wall"),
    )


def _inside(pen: Pen, copy: Outbuilding, shed: Box) -> Element:
    """Name, place, capacity and a note, as many rows as the shed holds."""
    inner = Box(shed.left + 5.5, shed.top + 1.5, shed.right - 5.5, shed.bottom - 5.0)
    told: tuple[tuple[Phrase, Hand], ...] = ((plain(copy.place), QUIET), (copy.capacity, TEXT), (copy.note, QUIET))
    size = next((each for each in SIZES if _tall(copy, told, inner.width, each) <= inner.height), SIZES[-1])
    base = inner.top + 6.4 * size
    name = NAME.at(NAME.size * size)
    words, base = pen.paragraph(plain(copy.name), (inner.left, base), name, inner.width, 2)
    parts: list[Element] = list(words)
    base += 5.6 * size - name.leading
    for phrase, full in told:
        hand = full.at(full.size * size)
        rows = int((inner.bottom - base) / hand.leading + 1e-9) + 1
        if rows > 0 and base <= inner.bottom:
            words, base = pen.paragraph(phrase, (inner.left, base), hand, inner.width, min(rows, MOST))
            parts += words
    return element("g", *parts, data_box=shed.written)


def _tall(copy: Outbuilding, told: tuple[tuple[Phrase, Hand], ...], room: float, size: float) -> float:
    """Height of a shed's words at a share of their full size."""
    rows = sum(min(MOST, len(wrap(phrase, hand.at(hand.size * size), room))) for phrase, hand in told)
    names = min(2, len(wrap(plain(copy.name), NAME.at(NAME.size * size), room)))
    return size * (6.4 + 5.6 + (names - 1) * NAME.leading + (rows - 1) * TEXT.leading) + 0.5


def _road_words(pen: Pen, copy: Outbuilding, box: Box) -> Element:
    """What the road carries, written along it."""
    rows = wrap(copy.road, TEXT, box.width, max(1, int((box.height - 6) / TEXT.leading)))
    base = box.bottom - 3.0 - (len(rows) - 1) * TEXT.leading
    parts: list[Element] = []
    for place, row in enumerate(rows):
        parts += pen.row(row, (box.left, base + place * TEXT.leading), TEXT)
    return element("g", *parts, data_box=box.written)


def _boundary(pen: Pen, site: Site, level: float, top: float) -> Element:
    """A chain line round what stands on the premises; roads that leave them cross it."""
    left = site.wall + 4.0
    points = ((site.box.right, level), (left, level), (left, top + 2))
    line = element(
        "path",
        d=course(points, closed=False),
        fill="none",
        stroke=pen.colour("quiet"),
        stroke_width=pen.look.door,
        stroke_dasharray=CHAIN,
        data_part="boundary",
    )
    return element("g", line, *pen.words("off the premises", (left + 3, top + 3.6), BOUNDARY, 50))
