"""Day and week profiles: who is at work by the hour, who comes on the busiest day, what stays taken after them."""

from collections.abc import Mapping
from math import ceil, floor
from typing import Annotated

from scantling.figures import Series, Source, method, rule
from scantling.figures.calendar import HOURS_A_WEEK, MINUTES_A_DAY, MINUTES_AN_HOUR, ClockSpan, ClockTime, WeekdaySet
from scantling.figures.rounding import whole_up
from scantling.figures.units import EXPECTED, HOUR, Count, Expected, Hours, Minutes, Ratio

COUNTING = Source("counting by hours of the week", "own derivation")
CONVOLUTION = Source("infinite-server queue with arrivals that change over the day (Eick, Massey and Whitt 1993)")
RENEWAL = Source("RFC 2131 section 4.4.5")
ARITHMETIC = Source("arithmetic", "common practice")
DAYS_A_WEEK, HOURS_A_DAY = 7, 24
STEPS_A_DAY, STEP_MINUTES = 96, 15
EXACT = 9  # digits kept, so that sums of quarters do not end in 0.000000001 too much

ByTime = Annotated[Series, EXPECTED]
"""Numbers of people or devices over time; a mean over a step need not be whole."""


def _overlap(low: float, high: float, start: float, end: float) -> float:
    return max(0.0, min(high, end) - max(low, start))


@method(
    COUNTING,
    says="heads at work on each of these days, a part of an hour counted as a part, past midnight into the next day",
)
def presence(heads: Count, present: Ratio, days: WeekdaySet, hours: ClockSpan) -> ByTime:
    """Heads at work by hour of the week."""
    week = [0.0] * HOURS_A_WEEK
    for day in days.days:
        start = day * MINUTES_A_DAY + hours.start
        end = start + hours.minutes
        for hour in range(start // MINUTES_AN_HOUR, -(-end // MINUTES_AN_HOUR)):
            part = _overlap(hour * MINUTES_AN_HOUR, (hour + 1) * MINUTES_AN_HOUR, start, end) / MINUTES_AN_HOUR
            week[hour % HOURS_A_WEEK] += heads * present * part
    return Series("Monday midnight", 1, HOUR, tuple(round(value, EXACT) for value in week))


@method(ARITHMETIC, says="hour by hour, all of them added")
def together(crowds: Mapping[str, ByTime]) -> ByTime:
    """All at work by hour of the week."""
    week = [sum(series.values[hour] for series in crowds.values()) for hour in range(HOURS_A_WEEK)]
    return Series("Monday midnight", 1, HOUR, tuple(round(value, EXACT) for value in week))


@rule(ARITHMETIC, rises="amount")
def whole(amount: Ratio) -> Count:
    """Rounded up to whole ones."""
    return whole_up(amount)


@rule(ARITHMETIC, rises="people join each")
def joining(people: Count, join: Ratio, each: Ratio) -> Expected:
    """Devices that join the network: people, the share of them who do, devices each."""
    return people * join * each


@method(ARITHMETIC, says="the devices of every event that takes place on that day, added")
def joining_on(day: WeekdaySet, devices: Mapping[str, Ratio], days: Mapping[str, WeekdaySet]) -> Expected:
    """Devices that join on one day of the week."""
    return sum((devices[event] for event, held in days.items() if set(day.days) & set(held.days)), 0.0)


@method(
    COUNTING,
    says="the devices of each event of that day, evenly from the doors' opening for as long as people arrive",
)
def arrivals(
    day: WeekdaySet,
    devices: Mapping[str, Ratio],
    days: Mapping[str, WeekdaySet],
    doors: Mapping[str, ClockTime],
    arrive: Mapping[str, Minutes],
) -> ByTime:
    """Devices that join in each quarter of an hour of one day; past midnight counted to its morning."""
    quarters = [0.0] * STEPS_A_DAY
    for event, held in days.items():
        if set(day.days) & set(held.days):
            _spread(quarters, devices[event], doors[event].minute, max(arrive[event], 1))
    return Series("midnight", STEP_MINUTES / MINUTES_AN_HOUR, HOUR, tuple(round(value, EXACT) for value in quarters))


def _spread(quarters: list[float], devices: float, start: int, length: float) -> None:
    """Add the devices evenly between start and start + length, in minutes after midnight."""
    end = start + min(length, MINUTES_A_DAY)
    for step in range(start // STEP_MINUTES, ceil(end / STEP_MINUTES)):
        part = _overlap(step * STEP_MINUTES, (step + 1) * STEP_MINUTES, start, end)
        quarters[step % STEPS_A_DAY] += devices * part / (end - start)


@rule(RENEWAL, rises="stay")
def bound_for(stay: Hours, lease: Hours, *, renewal: float = 0.5) -> Hours:
    """How long an address stays taken: renewed at every half lease while its holder stays, then a whole lease."""
    return floor(stay / (lease * renewal)) * lease * renewal + lease


@method(
    CONVOLUTION, says="at the end of each step, all who came within the holding time before it, the day repeating",
    rises="hold",
)  # fmt: skip
def held(arrivals: ByTime, hold: Hours) -> ByTime:
    """How many are there, or hold an address, through a day that repeats itself.

    The holding time is rounded up to whole steps, so that the peak is never too small.
    """
    values = arrivals.values
    step = arrivals.step * float(arrivals.step_unit.scale / HOUR.scale)
    days, rest = divmod(max(0, ceil(round(hold / step, EXACT))), len(values))
    doubled = values + values
    ends = range(len(values) + 1, 2 * len(values) + 1)
    present = tuple(round(days * sum(values) + sum(doubled[end - rest : end]), EXACT) for end in ends)
    return Series(arrivals.start, arrivals.step, arrivals.step_unit, present)
