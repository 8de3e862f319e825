"""The pen: lines, boxes and words as SVG elements in one look."""

from dataclasses import dataclass
from typing import Literal

from scantling.outputs.drawings.lettering import BEFORE, BEHIND, Hand, Row, cut, width, wrap
from scantling.outputs.drawings.model import Phrase, Text
from scantling.outputs.drawings.paper import Box, Look
from scantling.outputs.drawings.svg import Element, element, number

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]
Weight = Literal["outer", "partition", "door", "rule"]
REGULAR = 400
STANDBY = "2.4 1.6"
DOTS = "0.01 0.75"


def family(name: str) -> str:
    """The family with its fallback, as a font-family list."""
    return f"'{name}', 'Noto Sans', {'monospace' if 'Mono' in name else 'serif' if 'Serif' in name else 'sans-serif'}"


def _natural(text: str, hand: Hand) -> tuple[Element | str, ...]:
    """The text with the full stops of an even face drawn in, so that an address reads without gaps."""
    if not hand.face.even or "." not in text:
        return (text,)
    head, *tail = text.split(".")
    parts: list[Element | str] = [head] if head else []
    for piece in tail:
        parts.append(element("tspan", ".", dx=-BEFORE * hand.size))
        if piece:
            parts.append(element("tspan", piece, dx=-BEHIND * hand.size))
    return tuple(parts)


def course(points: tuple[Point, ...], *, closed: bool = True) -> str:
    """Straight lines through points, as path data."""
    return "M" + " L".join(f"{number(x)} {number(y)}" for x, y in points) + (" Z" if closed else "")


@dataclass(frozen=True, slots=True)
class Pen:
    """Draws in one look."""

    look: Look

    def colour(self, ink: str) -> str:
        """The look's colour for ink, quiet, hairline, pencil or paper."""
        colour: str = getattr(self.look, ink)
        return colour

    def line(
        self, start: Point, end: Point, weight: Weight = "rule", ink: str = "ink", **more: str | float | None
    ) -> Element:
        """A straight line."""
        return element(
            "line",
            x1=start[0],
            y1=start[1],
            x2=end[0],
            y2=end[1],
            stroke=self.colour(ink),
            stroke_width=getattr(self.look, weight),
            **more,
        )

    def box(self, box: Box, weight: Weight = "rule", ink: str = "ink", **more: str | float | None) -> Element:
        """An empty rectangle, unless `fill` is given."""
        return element(
            "rect",
            x=box.left,
            y=box.top,
            width=box.width,
            height=box.height,
            **{"fill": "none", "stroke": self.colour(ink), "stroke_width": getattr(self.look, weight), **more},
        )

    def fill(self, box: Box, ink: str = "ink", **more: str | float | None) -> Element:
        """A full rectangle."""
        return element(
            "rect", x=box.left, y=box.top, width=box.width, height=box.height, fill=self.colour(ink), **more
        )

    def path(
        self, points: tuple[Point, ...], weight: Weight = "rule", ink: str = "ink", **more: str | float | None
    ) -> Element:
        """A line through points, closed where `closed="yes"` is given."""
        closed = bool(more.pop("closed", None))
        return element(
            "path",
            d=course(points, closed=closed),
            **{
                "fill": "none",
                "stroke": self.colour(ink),
                "stroke_width": getattr(self.look, weight),
                "stroke_linejoin": "miter",
                **more,
            },
        )

    def row(self, row: Row, place: Point, hand: Hand, anchor: Anchor = "start") -> tuple[Element, ...]:
        """One row of words, its base line at `place`; a figure is underlined with dots and carries its id."""
        total = sum(piece.width for piece in row)
        left = place[0] - {"start": 0.0, "middle": total / 2, "end": total}[anchor]
        drawn = []
        for piece in row:
            text = piece.text.strip(" ")
            if text:
                lead = width(piece.text[: len(piece.text) - len(piece.text.lstrip(" "))], hand)
                start = (left + piece.offset + lead, place[1])
                drawn.append(self._piece(text, piece.figure, start, hand))
        return tuple(drawn)

    def _piece(self, text: str, figure: str, start: Point, hand: Hand) -> Element:
        words = element(
            "text",
            *_natural(text, hand),
            x=start[0],
            y=start[1],
            font_family=family(hand.face.family),
            font_size=hand.size,
            font_weight=None if hand.face.weight == REGULAR else str(hand.face.weight),
            font_style=None if hand.face.style == "normal" else hand.face.style,
            letter_spacing=hand.spacing or None,
            fill=self.colour(hand.ink),
        )
        return self._figure(words, figure, start, width(text, hand)) if figure else words

    def _figure(self, words: Element, figure: str, start: Point, length: float) -> Element:
        drop = start[1] + 0.95
        dots = element(
            "line",
            x1=start[0],
            y1=drop,
            x2=start[0] + length,
            y2=drop,
            stroke=dict(words.attributes)["fill"],
            stroke_width=max(self.look.door, 0.28),
            stroke_dasharray=DOTS,
            stroke_linecap="round",
        )
        return element("g", words, dots, data_figure=figure)

    def words(
        self, text: str | Text | Phrase, place: Point, hand: Hand, room: float, anchor: Anchor = "start"
    ) -> tuple[Element, ...]:
        """One row, cut with an ellipsis to the room it has."""
        return self.row(cut(text, hand, room), place, hand, anchor)

    def paragraph(
        self, phrase: Phrase, place: Point, hand: Hand, room: float, most: int = 1000
    ) -> tuple[tuple[Element, ...], float]:
        """Rows of words from the first base line down, and the base line of the row after the last."""
        base = place[1]
        drawn: list[Element] = []
        for row in wrap(phrase, hand, room, most):
            drawn += self.row(row, (place[0], base), hand)
            base += hand.leading
        return tuple(drawn), base
