"""Where everything of a cabinet's front stands on its sheet: scales, the two views, heights of units."""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

from scantling.outputs.drawings.cabinet_model import CabinetSheet, Front
from scantling.outputs.drawings.paper import Box, field_box

UNIT, FACE = 44.45, 482.6
"""Millimetres: one height unit, the width of a front (EIA-310, IEC 60297)."""
WIDE, STRIP = 600.0, 9.0
"""Millimetres of width drawn for a cabinet (the usual one) and for a space, whose width is not known; millimetres of paper
that a space has beside its parts at least, for the marks."""
SCALES = {"A3": (5, 10, 20, 50, 100, 200), "tabloid": (6, 12, 24, 48, 96, 192)}
"""Of ISO 5455, and for the inch paper those of a foot and its halves and doubles."""
LEFT, BELOW, ABOVE = 38.0, 44.0, 22.0
"""Millimetres of paper kept for the height's dimension, for what stands under the floor, for the name above."""
SIDE_WIDE, SIDE_HIGH = 56.0, 112.0


@dataclass(frozen=True, slots=True)
class Elevation:
    """The front view and the side view as boxes on paper, and how many millimetres one of theirs is."""

    front: Box
    side: Box
    front_scale: int
    side_scale: int
    foot: float
    """Level of the foot of the lowest unit in the front view."""
    crown: float
    """Level of the top of all that is drawn there."""

    def level(self, unit: float) -> float:
        """Level of the foot of a unit in the front view."""
        return self.foot - (unit - 1) * UNIT / self.front_scale

    def face(self, lowest: int, height: int) -> Box:
        """The face between the rails over some units."""
        middle = (self.front.left + self.front.right) / 2
        half = FACE / self.front_scale / 2
        return Box(middle - half, self.level(lowest + height), middle + half, self.level(lowest))

    def profile(self, one: Front) -> Box:
        """A part in the side view, its front at the left."""
        per = 1 / self.side_scale
        foot = self.side.bottom - (self.front.bottom - self.foot) * self.front_scale * per
        bottom = foot - (one.lowest - 1) * UNIT * per
        return Box(self.side.left, bottom - one.height * UNIT * per, self.side.left + one.depth * per, bottom)


def arranged(model: CabinetSheet) -> Elevation:
    """Both views on one floor, the front as large as an even scale lets it be, the whole in the middle of the field."""
    field = field_box(model.block.paper)
    tall = max(model.height.value, model.units * UNIT, _top(model) * UNIT, 1.0)
    room = field.height - ABOVE - BELOW
    scales = SCALES[model.block.paper]
    scale = next((s for s in scales if tall / s <= room and (s > scales[0] or not model.cabinet)), scales[-1])
    deep = max(model.depth.value, model.deepest.value, 1.0)
    small = next((s for s in scales[2:] if deep / s <= SIDE_WIDE and tall / s <= SIDE_HIGH), scales[-1])
    floor = field.bottom - BELOW - max(0.0, room - tall / scale) / 2
    left, right = field.left + LEFT, field.right - 12.0
    height = max(model.height.value, model.units * UNIT)
    wide = WIDE if model.cabinet else max(WIDE, FACE + 2 * STRIP * scale)
    front = Box(left, floor - height / scale, left + wide / scale, floor)
    side = Box(right - deep / small, floor - height / small, right - (deep - model.depth.value) / small, floor)
    plinth = max(0.0, height - model.units * UNIT) / 2 / scale if model.cabinet else 0.0
    crown = min(front.top, floor - plinth - _top(model) * UNIT / scale)
    return Elevation(front, side, scale, small, floor - plinth, crown)


def _top(model: CabinetSheet) -> int:
    """The highest unit that anything fills."""
    return max((one.lowest + one.height - 1 for part in model.parts for one in part.fronts), default=0)


def spread(middles: list[float], heights: list[float], top: float, bottom: float) -> list[float]:
    """Tops of rows centred on their middles, from above down, pushed up, then down, until none meet and all stay inside."""
    tops: list[float] = []
    edge = top
    for middle, height in zip(middles, heights, strict=True):
        tops.append(max(edge, middle - height / 2))
        edge = tops[-1] + height
    edge = bottom
    for place in range(len(tops) - 1, -1, -1):
        tops[place] = min(tops[place], edge - heights[place])
        edge = tops[place]
    return tops


def free(model: CabinetSheet) -> list[tuple[int, int]]:
    """Runs of units that nothing fills, each as its lowest and highest."""
    filled = _filled(model)
    return _runs([unit for unit in range(1, model.units + 1) if unit not in filled])


def filled_twice(model: CabinetSheet) -> list[tuple[int, int]]:
    """Runs of units that more than one thing fills."""
    return _runs(sorted(unit for unit, many in _filled(model).items() if many > 1))


def _filled(model: CabinetSheet) -> Counter[int]:
    """How many things fill each unit."""
    fronts_ = [one for part in model.parts for one in part.fronts]
    return Counter(unit for one in fronts_ for unit in range(one.lowest, one.lowest + one.height))


def _runs(units: list[int]) -> list[tuple[int, int]]:
    """Neighbours gathered, each run as its lowest and highest."""
    breaks = [0, *(place for place, (one, other) in enumerate(pairwise(units), 1) if other != one + 1), len(units)]
    return [(units[low], units[high - 1]) for low, high in pairwise(breaks) if low < high]
