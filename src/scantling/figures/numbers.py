"""How values are printed: four digits for people, nine for canonical JSON."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from math import isinf
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.rounding import NOISE, whole_up
from scantling.figures.units import AGE, CURRENCY, EXPECTED, HOUR, MINUTE, convert

PEOPLE, CANONICAL = 4, 9
ENDLESS = "without end"
COUNTED_IN_WORDS = frozenset({"day", "week", "month", "year"})


def number(value: Any, digits: int = PEOPLE) -> str:
    """A value without its unit, as people read it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _rounded(value, digits)
    if isinstance(value, Decimal):
        return f"{value:,.2f}"
    if isinstance(value, int):
        return f"{value:,}" if abs(value) >= 10_000 else str(value)  # noqa: PLR2004 - four digits need no comma
    return _worded(value)


def _worded(value: Any) -> str:
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "; ".join(f"{key} {number(item)}" for key, item in value.items()) or "none"
    if isinstance(value, (tuple, frozenset)):
        return ", ".join(map(number, sorted(value, key=str) if isinstance(value, frozenset) else value))
    return str(value)


def _rounded(value: float, digits: int) -> str:
    """Significant digits without exponent for sizes that people meet; whole numbers keep all their digits."""
    if isinf(value):
        return ENDLESS
    if value == int(value) and abs(value) < 1e9:  # noqa: PLR2004 - a whole number below a thousand million
        return number(int(value))
    if abs(value) >= 10**digits:
        return number(round(value))
    if abs(value) < 1e-4:  # noqa: PLR2004 - an exponent would follow, which people don't read
        return f"{Decimal(f'{value:.2g}'):f}"
    return f"{value:.{digits}g}"


def text(figure: Figure[Any]) -> str:
    """Value and unit for people: an expected number as whole things, an age in tenths of a year, reckoned minutes as minutes.

    What somebody wrote in hours stays in hours.
    """
    value, unit = figure.value, figure.unit
    if unit is EXPECTED:
        return expected(value) if isinstance(value, float) else value.said(expected)
    if unit is HOUR and figure.inputs and isinstance(value, float) and 0 < value < 1:
        return with_unit(convert(value, HOUR, MINUTE), MINUTE.symbol)
    return with_unit(round(value, 1) if unit is AGE else value, unit.symbol)


def exact(figure: Figure[Any]) -> str:
    """Value and unit to four digits, as a working goes on from it."""
    return with_unit(figure.value, figure.unit.symbol)


def expected(value: float) -> str:
    """A mean number of people or things: a whole one as it is, any other rounded up, so that there is room for it."""
    whole = whole_up(value)
    return number(whole) if whole == round(value, NOISE) else f"about {number(whole)}"


def counted(many: int, one: str, more: str = "") -> str:
    """A count with what is counted: 1 intent, 3 intents; `more` where the word for several is not the one with an s."""
    return f"{number(many)} {one if many == 1 else more or f'{one}s'}"


def with_unit(value: Any, symbol: str) -> str:
    """A value and a unit's symbol; a share is written without a space only where the trade does so (never here)."""
    plural = "s" if symbol in COUNTED_IN_WORDS and value != 1 else ""
    return f"{number(value)} {symbol}{plural}".rstrip()


def plain(value: Any) -> Any:
    """A value for canonical JSON: nine significant digits, no float noise, money as text with its cents."""
    if isinstance(value, (bool, int, str)) and not isinstance(value, Enum):
        return value
    if isinstance(value, float):
        return _short(value)
    if isinstance(value, Decimal):
        return f"{value:.2f}" if value == value.quantize(Decimal("0.01")) else f"{value.normalize():f}"
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, frozenset)):
        return [plain(item) for item in (sorted(value, key=str) if isinstance(value, frozenset) else value)]
    return value.as_plain() if hasattr(value, "as_plain") else number(value)


def _short(value: float) -> float | int | str:
    """Nine digits; whole where it is whole; words where JSON has no number."""
    if isinf(value):
        return ENDLESS
    short = float(f"{value:.{CANONICAL}g}")
    return int(short) if short == int(short) and abs(short) < 1e15 else short  # noqa: PLR2004 - exact as a whole number


def in_currency(words: str, currency: str) -> str:
    """The same words with the plan's currency where the sign stands."""
    return words.replace(CURRENCY, currency)
