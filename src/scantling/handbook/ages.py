"""Days and years: how old a thing is, which day comes first, which day ends a span of years."""

from datetime import date, timedelta

from scantling.figures import Source, method, rule
from scantling.figures.units import Age, Date, Truth, Years

CALENDAR = Source("ISO 8601, calendar dates")
JULIAN = Source("IAU style manual: a Julian year is 365.25 days")
DAYS_A_YEAR = 365.25
LEAP_DAY = (2, 29)


@method(JULIAN, says="days from one to the other, 365.25 to a year; nothing before it begins")
def age_on(since: Date, day: Date) -> Age:
    """Age of a thing on a day."""
    return max(0, (day - since).days) / DAYS_A_YEAR


@rule(CALENDAR)
def earlier(one: Date, other: Date) -> Truth:
    """One day comes before another."""
    return one < other


@method(
    CALENDAR, says="the same day of the calendar so many whole years on (29 February becomes the 28th), and what is left of "
    "a year as days",
)  # fmt: skip
def years_on(day: Date, years: Years) -> Date:
    """The day that ends a span of years. Raises ValueError beyond the calendar's last year."""
    whole = int(years)
    leap = (day.month, day.day) == LEAP_DAY
    then = date(day.year + whole, day.month, 28 if leap and not _is_leap(day.year + whole) else day.day)
    return then + timedelta(days=round((years - whole) * DAYS_A_YEAR))


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
