"""How much of its field a drawing fills, and how large most of its words are set: what its first size on screen rests on."""

import re
from dataclasses import dataclass
from math import ceil, floor

from scantling.outputs.drawings.model import Paper
from scantling.outputs.drawings.paper import field_box

PICTURE = re.compile(r'data-part="picture"[^>]*>(.*?)(?=<g data-part="margin"|\Z)', re.DOTALL)
WORDS = re.compile(r'<text x="[^"]*" y="([^"]*)"[^>]*? font-size="([^"]*)"')
LINES = re.compile(r'<line [^>]*?y1="([^"]*)"[^>]*?y2="([^"]*)"')
RECTANGLES = re.compile(r'<rect [^>]*?y="([^"]*)"[^>]*?height="([^"]*)"')
PATHS = re.compile(r' d="([^"]*)"')
STEPS = re.compile(r"([MLal])([^MLalZ]*)")
ROUND = 5
"""Millimetres to which the extent is rounded outwards: as many classes as the stylesheet has."""
CLEAR = 1.0
"""Millimetres left free above and below: a cloud's bows and a line's weight."""
MOST_ARE_LARGER = 4
"""One word in four may be smaller than the lettering that the first size goes by: numbers of rules, marks, units."""
SMALLEST, LARGEST = 20, 60
"""Tenths of a millimetre: between them the lettering is told."""


@dataclass(frozen=True, slots=True)
class Extent:
    """Millimetres of the sheet, rounded: where the picture begins, how deep it is. The size of its lettering, in tenths of them."""

    skip: int
    deep: int
    lettering: int

    @property
    def classes(self) -> str:
        """The classes by which the stylesheet knows it: the page may bear no styles of its own."""
        return f"skip-{self.skip} deep-{self.deep} lettering-{self.lettering}"


def extent(svg: str, paper: Paper) -> Extent:
    """The extent of a sheet's picture; that of the whole field where nothing is drawn."""
    field = field_box(paper)
    found = PICTURE.search(svg)
    picture = found[1] if found else ""
    heights = _heights(picture)
    top, bottom = (min(heights) - CLEAR, max(heights) + CLEAR) if heights else (field.top, field.bottom)
    skip = floor(max(top, field.top) / ROUND) * ROUND
    deep = ceil((min(bottom, field.bottom) - skip) / ROUND) * ROUND
    return Extent(skip, max(deep, ROUND), _lettering(picture))


def _heights(picture: str) -> list[float]:
    """How far down the marks of a picture stand."""
    found = [float(one) for ends in LINES.findall(picture) for one in ends]
    for base, size in WORDS.findall(picture):
        found += (float(base) - float(size), float(base))
    for top, height in RECTANGLES.findall(picture):
        found += (float(top), float(top) + float(height))
    for path in PATHS.findall(picture):
        found += _down(path)
    return found


def _down(path: str) -> list[float]:
    """How far down the corners of a path stand; the paper's own pen draws with four commands."""
    y, found = 0.0, []
    for command, told in STEPS.findall(path):
        numbers = told.split()
        wide = 7 if command == "a" else 2
        for place in range(wide - 1, len(numbers), wide):
            y = float(numbers[place]) + (y if command.islower() else 0.0)
            found.append(y)
    return found


def _lettering(picture: str) -> int:
    """The size that three quarters of the words have at least, in tenths of a millimetre, rounded down."""
    sizes = sorted(float(size) for _, size in WORDS.findall(picture))
    size = int(sizes[len(sizes) // MOST_ARE_LARGER] * 10 + 1e-9) if sizes else SMALLEST
    return min(max(size, SMALLEST), LARGEST)
