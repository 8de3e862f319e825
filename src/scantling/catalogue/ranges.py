"""The range that a house rule names in words, as the two amounts it ends at."""

from re import ASCII, fullmatch
from typing import Any

from scantling.figures.quantities import parse
from scantling.figures.units import Unit, convert

RANGE = r"(?:(up to) |(-?[\d.]+) ?(\D*?) to )?(-?[\d.]+) ?(\D*)"


def ends(written: str, unit: Unit[Any], currency: str = "") -> tuple[Any, Any] | None:
    """`15 to 25 %` as its least and its most in that unit; None where the range is told in words only."""
    match = fullmatch(RANGE, written, ASCII)
    if match is None or not unit.numeric:
        return None
    up_to, first, its_unit, last, symbol = match.groups()
    most = f"{last} {symbol}".rstrip()
    least = f"{0 if up_to else first or last} {its_unit or symbol}".rstrip()
    try:
        both = [convert(*parse(end, unit, currency), unit) for end in (least, most)]
    except ValueError:  # words that only look like numbers: nothing can be held to them
        return None
    return min(both), max(both)
