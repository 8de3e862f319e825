"""How old a price is, how long it still holds, what one set costs beside another."""

from collections.abc import Mapping

from scantling.figures import Source, method, rule
from scantling.figures.units import Date, Days, Money, Word

CALENDAR = Source("Gregorian calendar, ISO 8601")
ARITHMETIC = Source("arithmetic", "common practice")


@method(
    CALENDAR, says="days of the calendar from the first day to the second; below nought where the second is earlier"
)
def days_between(first: Date, second: Date) -> Days:
    """Days of the calendar from one day to another."""
    return float((second - first).days)


@method(ARITHMETIC, says="each amount held against the limit; the names of those beyond it, in order")
def named_beyond(amounts: Mapping[str, Days], limit: Days) -> Word:
    """The names of those that are longer than the limit; "none" where there are none."""
    return ", ".join(sorted(name for name, amount in amounts.items() if amount > limit)) or "none"


@method(ARITHMETIC, says="each amount held against the limit; the names of those short of it, in order")
def named_below(amounts: Mapping[str, Days], limit: Days) -> Word:
    """The names of those that are shorter than the limit; "none" where there are none."""
    return ", ".join(sorted(name for name, amount in amounts.items() if amount < limit)) or "none"


@rule(ARITHMETIC, rises="one", falls="other")
def dearer_by(one: Money, other: Money) -> Money:
    """What the one costs more than the other; below nought where it is cheaper."""
    return one - other
