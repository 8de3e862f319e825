"""Copies: how large the repository grows, how long a run and a restore take, what is lost at worst."""

from collections.abc import Mapping
from typing import Annotated

from scantling.figures import Source, method, rule
from scantling.figures.calendar import MINUTES_A_DAY, ClockSpan, Span
from scantling.figures.rounding import whole_up
from scantling.figures.units import (
    Count, Hours, MegabitsPerSecond, MegabytesPerSecond, Money, MoneyAYear, PaidTerabytes, PaidYears, PerSecond, Ratio,
    Terabytes, Truth, Unit, closed,
)  # fmt: skip
from scantling.handbook.money import to_minor_unit

SPANS: Unit[Mapping[str, Span]] = closed(dict)
NightPlan = Annotated[Mapping[str, Span], SPANS]
FULLS_AND_INCREMENTS = Source("backup sizing guides: nF fulls and nI increments over the compression")
ARITHMETIC = Source("arithmetic", "common practice")
GOODPUT = Source("RFC 6349, table 4.1.2: 949.2 Mbit/s of TCP payload on a 1 Gbit/s link with 1500-byte frames")
MEGABYTES_A_TERABYTE, SECONDS_AN_HOUR, BITS_A_BYTE, MONTHS_A_YEAR = 1_000_000, 3600, 8, 12
MINUTES_AN_HOUR, WEEK_OF_DAYS, MONTH_OF_DAYS = 60, 7, 30


@rule(ARITHMETIC, rises="size", falls="compression")
def stored(size: Terabytes, compression: Ratio) -> Terabytes:
    """Room that data take once compressed."""
    return size / compression


@rule(FULLS_AND_INCREMENTS, rises="full daily days weeks months", falls="compression")
def repository(
    full: Terabytes, daily: Terabytes, days: Count, weeks: Count, months: Count, compression: Ratio
) -> Terabytes:
    """Room for one full copy, daily increments, and weekly and monthly ones of a week's and a month's change.

    Increments are kept against one running full: each of the `days` holds a day's change, each of the `weeks` a week's and each
    of the `months` a month's, never more than the whole body of data.
    """
    return (
        full
        + days * min(daily, full)
        + weeks * min(WEEK_OF_DAYS * daily, full)
        + months * min(MONTH_OF_DAYS * daily, full)
    ) / compression


@rule(ARITHMETIC, rises="one other")
def slower(one: MegabytesPerSecond, other: MegabytesPerSecond) -> MegabytesPerSecond:
    """The slower of two, which sets the pace."""
    return min(one, other)


@rule(GOODPUT, rises="line")
def payload(line: MegabitsPerSecond, *, share: float = 0.9492) -> MegabytesPerSecond:
    """File data that a network link carries."""
    return line * share / BITS_A_BYTE


@rule(ARITHMETIC, rises="size", falls="rate")
def transfer_time(size: Terabytes, rate: MegabytesPerSecond) -> Hours:
    """Time to move so much at a steady rate."""
    return size * MEGABYTES_A_TERABYTE / rate / SECONDS_AN_HOUR


@rule(ARITHMETIC, rises="files", falls="pace")
def scan_time(files: Count, pace: PerSecond) -> Hours:
    """Time to look at every file once for changes."""
    return files / pace / SECONDS_AN_HOUR


@rule(ARITHMETIC, rises="moving looking")
def run_time(moving: Hours, looking: Hours) -> Hours:
    """A nightly run: the files are looked at while the changed ones move; the longer sets the time."""
    return max(moving, looking)


@rule(ARITHMETIC, rises="start size", falls="rate")
def restore_time(start: Hours, size: Terabytes, rate: MegabytesPerSecond) -> Hours:
    """Time until so much is back: finding and mounting the copy, then moving it."""
    return start + size * MEGABYTES_A_TERABYTE / rate / SECONDS_AN_HOUR


@rule(Source("worst case: interval and job time"), rises="interval run")
def worst_loss(interval: Hours, run: Hours) -> Hours:
    """Work lost at worst: all since the last run, and the run itself."""
    return interval + run


@method(ARITHMETIC, says="hours from the first to the second time of the clock")
def window_length(window: ClockSpan) -> Hours:
    """Length of the nightly window."""
    return window.minutes / MINUTES_AN_HOUR


@rule(ARITHMETIC, rises="base each size")
def vault_fee(base: Money, each: Money, size: PaidTerabytes) -> MoneyAYear:
    """A year's fee of a copy kept by others: so much a month, and so much for each terabyte; to the cent."""
    return to_minor_unit((base + each * size) * MONTHS_A_YEAR)


@rule(ARITHMETIC, rises="size")
def counted(size: Terabytes, copied: Truth) -> Terabytes:
    """What of a body of data goes into the backup: all of it, or nothing."""
    return size if copied else 0


@rule(ARITHMETIC, rises="files")
def counted_files(files: Count, copied: Truth) -> Count:
    """Files of a body of data that the backup looks at: all of them, or none."""
    return files if copied else 0


@rule(ARITHMETIC, rises="yearly years")
def over_years(yearly: MoneyAYear, years: PaidYears) -> Money:
    """Fees over the horizon, to the cent."""
    return to_minor_unit(yearly * years)


@rule(ARITHMETIC, rises="size")
def first_back(size: Terabytes, copied: Truth, later: Truth) -> Terabytes:
    """What of a body of data must be back before its service counts as back."""
    return size if copied and not later else 0


@method(
    Source("one job after the other from the start of the window", "own derivation"),
    says="jobs in the order given, each beginning when the one before ends",
)
def night_plan(window: ClockSpan, jobs: Mapping[str, Hours]) -> NightPlan:
    """When each job of the night starts and ends, in minutes of the clock; a job takes at least a minute."""
    at, plan = window.start, {}
    for slug, hours in jobs.items():
        length = max(1, whole_up(hours * MINUTES_AN_HOUR))
        plan[slug] = Span(at % MINUTES_A_DAY, (at + length) % MINUTES_A_DAY)
        at += length
    return plan
