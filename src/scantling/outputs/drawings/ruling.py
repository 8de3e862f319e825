"""Ruled scales, bars drawn on them, and hatching."""

import math
from collections.abc import Sequence

from scantling.outputs.drawings.lettering import LABEL, Hand
from scantling.outputs.drawings.paper import Box
from scantling.outputs.drawings.pen import Pen
from scantling.outputs.drawings.svg import Element, element, number

SCALE_HAND = Hand(LABEL, 2.8, "quiet")
TICK = 1.4
SHORTEST = 0.3
"""Strokes of a hatching that are shorter than this are left out, in millimetres."""


def step(most: float, count: int, *, doubling: bool = False) -> float:
    """A round step that divides 0..most into at most `count` parts: 1, 2, 5 times ten, or powers of two."""
    raw = max(most, 1e-9) / count
    if doubling:
        return float(2 ** math.ceil(math.log2(raw)))
    power = 10.0 ** math.floor(math.log10(raw))
    return next(each * power for each in (1.0, 2.0, 5.0, 10.0) if each * power >= raw * (1 - 1e-9))


def marks(most: float, each: float) -> tuple[float, ...]:
    """The steps of a scale from nought, up to `most`."""
    return tuple(round(place * each, 9) for place in range(int(most / each + 1e-9) + 1))


def scale(pen: Pen, box: Box, most: float, each: float) -> tuple[Element, ...]:
    """A rule along the top of the box, ticks hanging from it, numbers under every tick that has room."""
    per = box.width / most
    drawn: list[Element] = [pen.line((box.left, box.top), (box.right, box.top), "rule")]
    for mark in marks(most, each):
        x = box.left + mark * per
        drawn.append(pen.line((x, box.top), (x, box.top + TICK), "rule"))
        drawn += pen.words(f"{mark:g}", (x, box.top + TICK + 2.9), SCALE_HAND, 12, "middle")
    return tuple(drawn)


def hatch(pen: Pen, box: Box, pitch: float = 1.3, ink: str = "ink") -> Element | None:
    """Lines at 45 degrees inside the box; nothing where the box is empty."""
    if box.width <= 0 or box.height <= 0:
        return None
    lines = []
    count = int((box.width + box.height) / pitch) + 1
    for index in range(1, count):
        along = index * pitch
        start = (box.left + min(along, box.width), box.top + max(0.0, along - box.width))
        end = (box.left + max(0.0, along - box.height), box.top + min(along, box.height))
        lines.append(f"M{number(start[0])} {number(start[1])} L{number(end[0])} {number(end[1])}")
    return element(
        "path",
        d=" ".join(lines),
        fill="none",
        stroke=pen.colour(ink),
        stroke_width=pen.look.rule,
        data_part="hatch",
    )


def hatch_round(pen: Pen, box: Box, islands: Sequence[Box], pitch: float = 3.2, ink: str = "hairline") -> Element:
    """Lines at 45 degrees over the box, none inside the islands; lines of neighbouring boxes meet."""
    lines = []
    for place in range(math.floor((box.left + box.top) / pitch), math.ceil((box.right + box.bottom) / pitch) + 1):
        total = place * pitch  # on each line, what it is across and down adds up to the same
        spans = [(max(box.left, total - box.bottom), min(box.right, total - box.top))]
        for island in islands:
            hole = (max(island.left, total - island.bottom), min(island.right, total - island.top))
            spans = [part for span in spans for part in _without(span, hole)]
        lines += [
            f"M{number(end)} {number(total - end)} L{number(start)} {number(total - start)}"
            for start, end in spans
            if end - start > SHORTEST
        ]
    return element(
        "path", d=" ".join(lines) or "M0 0", fill="none", stroke=pen.colour(ink), stroke_width=pen.look.rule, data_part="hatch"
    )  # fmt: skip


def _without(span: tuple[float, float], hole: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    """What is left of a span when a hole is taken out of it."""
    if hole[0] >= hole[1] or hole[1] <= span[0] or hole[0] >= span[1]:
        return (span,)
    return (span[0], hole[0]), (hole[1], span[1])


def bar(pen: Pen, box: Box, per: float, amounts: tuple[float, float, float]) -> tuple[Element, ...]:
    """Three amounts from one beginning: the first full of ink, hatched up to the second, open up to the third.

    An amount beyond the third (more wanted than there is) goes on hatched past the bar's end.
    """
    first, second, third = (max(0.0, amount) * per for amount in amounts)
    full = Box(box.left, box.top, box.left + first, box.bottom)
    lined = Box(full.right, box.top, box.left + max(first, second), box.bottom)
    drawn = [pen.fill(full)] if first else []
    lines = hatch(pen, lined)
    if lines:
        drawn += [lines, pen.box(lined, "rule")]
    drawn.append(pen.box(Box(box.left, box.top, box.left + third, box.bottom), "door"))
    return tuple(drawn)
