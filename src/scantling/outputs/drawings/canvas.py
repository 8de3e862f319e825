"""A sheet being drawn: lines, walls, words, pencil clouds and triangles in one look, collected as SVG elements."""

from dataclasses import dataclass, field
from math import hypot
from typing import Literal

from scantling.outputs.drawings.lettering import DESCENT, STOP_TIGHTENING, Hand
from scantling.outputs.drawings.look import Ink, Look, Weight
from scantling.outputs.drawings.svg import Attribute, Element, element, number

Anchor = Literal["start", "middle", "end"]
FAMILIES = "{}, Noto Sans, Libertinus Serif, serif"
DASHED = "3 1.5"
CHAIN = "9 1.4 0.9 1.4"
DOTS = "0 0.75"
DOT_SIZE = 0.28
DOTS_BELOW = 0.3
"""How far below the baseline the dots of a figure run, in sizes."""
SCALLOP = 4.2
BULGE = 0.62
TRIANGLE = 6.4
"""Side of the triangle of a finding, in millimetres."""
_ROOT_3 = 1.7320508


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle, in millimetres from the sheet's upper left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    @property
    def middle(self) -> float:
        """Half its height, from the sheet's top."""
        return self.y + self.height / 2

    def grown(self, by: float) -> "Box":
        """The same box with every side moved out (in, if negative)."""
        return Box(self.x - by, self.y - by, self.width + 2 * by, self.height + 2 * by)


@dataclass(frozen=True, slots=True)
class Word:
    """One run of text in one hand, placed by its baseline; `full` is what was meant if it was cut."""

    text: str
    hand: Hand
    anchor: Anchor = "start"
    figure_id: str = ""
    full: str = ""

    @property
    def width(self) -> float:
        """How wide it comes out, in millimetres."""
        return self.hand.width(self.text)

    def box(self, x: float, baseline: float) -> Box:
        """The room it takes when anchored at x."""
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        top = baseline - self.hand.capital
        return Box(left, top, self.width, self.hand.capital + DESCENT * self.hand.size)


@dataclass(slots=True)
class Canvas:
    """Collects the elements of one sheet in the order they are drawn."""

    look: Look
    elements: list[Element] = field(default_factory=list)

    def path(self, data: str, weight: Weight, ink: Ink = "ink", **more: Attribute) -> None:
        """A stroked path; `more` are attributes with underscores for hyphens (fill, stroke_dasharray, data_part)."""
        attributes: dict[str, Attribute] = {
            "d": data,
            "fill": "none",
            "stroke": self.look.colour(ink),
            "stroke-width": self.look.width(weight),
        }
        attributes.update({name.replace("_", "-"): value for name, value in more.items()})
        self.elements.append(element("path", attributes))

    def line(self, points: tuple[float, float, float, float], weight: Weight, ink: Ink = "ink", **more: Attribute) -> None:
        """A straight line from (x, y) to (x, y)."""
        start, end = points[:2], points[2:]
        self.path(f"M{_at(*start)}L{_at(*end)}", weight, ink, **more)

    def rectangle(self, box: Box, weight: Weight, ink: Ink = "ink", **more: Attribute) -> None:
        """An outlined box."""
        data = f"M{_at(box.x, box.y)}H{number(box.right)}V{number(box.bottom)}H{number(box.x)}Z"
        self.path(data, weight, ink, **more)

    def fill(self, box: Box, ink: Ink, part: str = "") -> None:
        """A box filled with a colour, without an outline."""
        shape = {"x": box.x, "y": box.y, "width": box.width, "height": box.height}
        self.elements.append(element("rect", {**shape, "fill": self.look.colour(ink), "data-part": part}))

    def word(self, word: Word, x: float, baseline: float) -> None:
        """Lettering; a figure gets its dots and its id."""
        if not word.text:
            return
        text = self._text(word, x, baseline)
        titled = (element("title", {}, word.full),) if word.full else ()
        if not word.figure_id:
            self.elements.append(element("g", {}, *titled, text) if titled else text)
            return
        box = word.box(x, baseline)
        y = baseline + DOTS_BELOW * word.hand.size
        dots = element(
            "path",
            {
                "d": f"M{_at(box.x + DOT_SIZE / 2, y)}H{number(box.right)}",
                "fill": "none",
                "stroke": self.look.colour(word.hand.ink),
                "stroke-width": DOT_SIZE,
                "stroke-linecap": "round",
                "stroke-dasharray": DOTS,
                "data-part": "dots",
            },
        )
        self.elements.append(element("g", {"data-figure": word.figure_id}, *titled, text, dots))

    def _text(self, word: Word, x: float, baseline: float) -> Element:
        hand = word.hand
        attributes: dict[str, Attribute] = {
            "x": x,
            "y": baseline,
            "font-family": FAMILIES.format(hand.family),
            "font-weight": "" if hand.weight == 400 else str(hand.weight),
            "font-style": "" if hand.style == "normal" else hand.style,
            "font-size": hand.size,
            "letter-spacing": hand.spacing or "",
            "text-anchor": "" if word.anchor == "start" else word.anchor,
            "fill": self.look.colour(hand.ink),
        }
        return element("text", attributes, *(_tightened(word) if hand.monospaced else (word.text,)))

    def cloud(self, box: Box) -> None:
        """A revision cloud in red pencil, its scallops bulging outward from the box."""
        across, down = max(2, round(box.width / SCALLOP)), max(1, round(box.height / SCALLOP))
        data = [f"M{_at(box.x, box.y)}"]
        sides = (
            (across, box.width / across, 0.0),
            (down, 0.0, box.height / down),
            (across, -box.width / across, 0.0),
            (down, 0.0, -box.height / down),
        )
        for count, dx, dy in sides:
            radius = number(BULGE * hypot(dx, dy))
            data.append(f"a{radius} {radius} 0 0 1 {number(dx)} {number(dy)}" * count)
        self.path("".join(data) + "Z", "frame", "pencil", stroke_linejoin="round", data_part="cloud")

    def triangle(self, x: float, middle: float, number_in_it: int) -> None:
        """The numbered triangle of a finding, centred on (x, middle)."""
        height = TRIANGLE * _ROOT_3 / 2
        top, bottom = middle - height / 2, middle + height / 2
        left, right = x - TRIANGLE / 2, x + TRIANGLE / 2
        data = f"M{_at(x, top)}L{_at(right, bottom)}L{_at(left, bottom)}Z"
        self.path(data, "frame", "pencil", stroke_linejoin="round", data_part="triangle")
        text = str(number_in_it)
        size = 3.0 if len(text) == 1 else 2.5 if len(text) == 2 else 1.9
        self.word(Word(text, Hand("National Park", 600, size, "pencil"), "middle"), x, bottom - 1.05)


def _at(x: float, y: float) -> str:
    """A point of a path."""
    return f"{number(x)} {number(y)}"


def _tightened(word: Word) -> tuple[Element | str, ...]:
    """An address with its full stops drawn closer; read as one text."""
    shift = -STOP_TIGHTENING * word.hand.size
    parts = word.text.split(".")
    closer: list[Element | str] = [parts[0]]
    for part in parts[1:]:
        closer.append(element("tspan", {"dx": shift}, "."))
        closer.append(element("tspan", {"dx": shift}, part))
    return tuple(closer)
