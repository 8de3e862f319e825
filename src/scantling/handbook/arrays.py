"""Disk arrays: capacity, write load, rebuild, loss; and every array that a stock of disks allows."""

from collections.abc import Iterator, Sequence
from enum import StrEnum
from math import exp, expm1, log1p

from typing import Annotated, Any

from scantling.figures import Attribute, Option, Row, Source, Table, method, rule
from scantling.figures.units import (
    COUNT, TRUTH, Count, Hours, Iops, MegabytesPerSecond, Percent, Ratio, Terabytes, TerabytesPerYear, Truth, Word, Yearly,
    Years, closed,
)  # fmt: skip

DDF = Source("SNIA Common RAID Disk Data Format 2.0, levels and layouts; capacity as restated by its users")
SMALL_WRITE = Source("Chen, Lee, Gibson, Katz, Patterson, ACM Computing Surveys 26(2), 1994: small writes")
CHAIN = Source("Chen et al. 1994 and Patterson, Gibson, Katz 1988: chain of states; exact solution")
SECTORS = Source("P = 1 - (1 - b)^bits, manufacturers' unrecoverable read error rate")
DRIVES = Source("drive writes a day, manufacturers' endurance rating")
ARITHMETIC = Source("arithmetic", "common practice")
HABIT = Source("common practice, no source", "common practice")
SPINNING = "spinning"
MEGABYTES_A_TERABYTE, SECONDS_AN_HOUR, HOURS_A_YEAR = 1_000_000, 3600, 8766
BITS_A_TERABYTE, UNLIMITED_TERABYTES = 8_000_000_000_000, 1_000_000


class Level(StrEnum):
    """How an array keeps its data when a disk fails."""

    NONE = "none"
    SINGLE_DISK = "single disk"
    MIRROR = "mirror"
    PAIRS = "mirrored pairs"
    SINGLE_PARITY = "single parity"
    DOUBLE_PARITY = "double parity"


MOST_MONTHS = 120
LEVEL_UNIT = closed(Level)
LevelWord = Annotated[Level, LEVEL_UNIT]
COUNTS: dict[Level, tuple[int, ...]] = {
    Level.SINGLE_DISK: (1,),
    Level.MIRROR: (2,),
    Level.PAIRS: (4, 6, 8, 10, 12),
    Level.SINGLE_PARITY: (3, 4, 5, 6, 7, 8),
    Level.DOUBLE_PARITY: (4, 5, 6, 7, 8, 9, 10, 11, 12),
}
PENALTY = Table(
    SMALL_WRITE, "disk operations that a small write costs", COUNT,
    {Level.NONE: 1, Level.SINGLE_DISK: 1, Level.MIRROR: 2, Level.PAIRS: 2, Level.SINGLE_PARITY: 4, Level.DOUBLE_PARITY: 6},
)  # fmt: skip
SURVIVES = Table(
    DDF, "failed disks that are always survived", COUNT,
    {Level.NONE: 0, Level.SINGLE_DISK: 0, Level.MIRROR: 1, Level.PAIRS: 1, Level.SINGLE_PARITY: 1, Level.DOUBLE_PARITY: 2},
)  # fmt: skip

DISKS, LEVEL = Attribute("disks", COUNT), Attribute("level", LEVEL_UNIT)
KEPT = Attribute("parity", COUNT)
LEFT_OUT = Attribute("left_out", TRUTH)
"""Whether there is no such array, so that another one keeps what would lie on it."""


@method(DDF, says="none, half of the disks (mirrors), one (single parity) or two (double parity)")
def parity_disks(level: LevelWord, disks: Count) -> Count:
    """Disks whose room goes to safety: a property of level and disk count together."""
    if level in (Level.MIRROR, Level.PAIRS):
        return disks // 2
    return {Level.SINGLE_PARITY: 1, Level.DOUBLE_PARITY: 2}.get(level, 0)


@rule(DDF, rises="disks size", falls="parity")
def array_capacity(disks: Count, parity: Count, size: Terabytes) -> Terabytes:
    """Room left for data in an array."""
    return (disks - parity) * size


@rule(SMALL_WRITE, rises="disks speed", falls="writes penalty")
def array_speed(disks: Count, speed: Iops, writes: Ratio, penalty: Count) -> Iops:
    """Operations a second an array gives at this share of writes: back-end work is conserved."""
    return disks * speed / (1 - writes + writes * penalty)


@rule(ARITHMETIC, rises="size", falls="rate share")
def rebuild_time(size: Terabytes, rate: MegabytesPerSecond, share: Ratio) -> Hours:
    """Time to rebuild one disk at the share of its rate that daily work leaves."""
    return size * MEGABYTES_A_TERABYTE / (rate * share) / SECONDS_AN_HOUR


def _leaving(level: Level, disks: int, failed: int, hazard: float) -> float:
    """Rate of the next failure that moves towards loss; of mirrored pairs only the partner's counts."""
    if level in (Level.MIRROR, Level.PAIRS) and failed == 1:
        return hazard
    return (disks - failed) * hazard


def mean_time_to_loss(level: Level, disks: int, hazard: float, repair: float) -> float:
    """Hours until the array is lost, exact for the chain with one repair at a time (birth and death process).

    `hazard` failures an hour of one disk, `repair` repairs an hour. Mean first passage from all well to lost.
    """
    steps = SURVIVES(level) + 1
    up = [_leaving(level, disks, failed, hazard) for failed in range(steps)]
    passage, total = 0.0, 0.0
    for failed in range(steps):
        passage = (1 + (repair * passage if failed else 0.0)) / up[failed]
        total += passage
    return total


@method(
    CHAIN, says="chain of states: all well, one disk out, two out, lost; exponential lives and rebuilds, exact mean time to loss",
    rises="failures rebuild years",
)  # fmt: skip
def array_loss(level: LevelWord, disks: Count, failures: Yearly, rebuild: Hours, years: Years) -> Percent:
    """Chance, in percent, that the whole array is lost over the years.

    `failures` is the annual failure rate of one disk, `rebuild` the mean time to be whole again. An exponential rebuild
    is the careful side: a fixed rebuild time halves the double-parity figure. The chance is 1 - exp(-t / mean time).
    """
    if level is Level.NONE or disks == 0 or years <= 0:
        return 0.0
    hazard = -log1p(-min(failures, 0.999999)) / HOURS_A_YEAR
    mean = mean_time_to_loss(level, disks, max(hazard, 1e-15), 1 / max(rebuild, 1e-6))
    return -100 * expm1(-years * HOURS_A_YEAR / mean)


@rule(SECTORS, rises="read errors")
def read_error(read: Terabytes, errors: Ratio) -> Ratio:
    """Chance of at least one unreadable sector when so much is read."""
    return 1 - exp(-errors * read * BITS_A_TERABYTE)


@method(
    SECTORS, says="a disk fails, and one sector of the disks that must be read for the rebuild can't be read while nothing "
    "else holds it", rises="failures errors years size",
)  # fmt: skip
def files_lost(
    level: LevelWord, disks: Count, size: Terabytes, failures: Yearly, errors: Ratio, years: Years
) -> Percent:
    """Chance, in percent, that some files must come back from a copy after an unreadable sector during a rebuild.

    `errors` is the unrecoverable read error rate a bit. Double parity still corrects such a sector: nought.
    """
    if level in (Level.NONE, Level.DOUBLE_PARITY) or disks == 0:
        return 0.0
    read = size if level in (Level.MIRROR, Level.PAIRS) else (disks - 1) * size
    read = 0.0 if level is Level.SINGLE_DISK else read
    per_rebuild = read_error(read, errors)
    rebuilds = disks * -log1p(-min(failures, 0.999999)) * years
    return -100 * expm1(-rebuilds * per_rebuild)


@method(HABIT, says="the size of a spinning disk under single parity; nought for any other level or medium")
def lone_parity(level: LevelWord, medium: Word, size: Terabytes) -> Terabytes:
    """How large a spinning disk is that only one parity disk keeps safe while it is rebuilt."""
    return size if level is Level.SINGLE_PARITY and medium == SPINNING else 0.0


@rule(DRIVES)
def writes_allowed(disks: Count, parity: Count, size: Terabytes, endurance: Ratio) -> Terabytes:
    """Data that may be written to the array a day over its rated life; spinning disks (rated nought) are not limited."""
    return (disks - parity) * size * endurance if endurance > 0 else UNLIMITED_TERABYTES


@rule(ARITHMETIC, rises="bulk fast alone", falls="system")
def room_for_data(bulk: Terabytes, fast: Terabytes, system: Terabytes, alone: Truth) -> Terabytes:
    """Room for data: the bulk array, or, where there is none, what the machines leave of the fast one."""
    return max(bulk, fast - system if alone else 0)


@method(
    Source("growth (1 + g)^(m / 12) and additions each month, searched month by month", "own derivation"),
    says="first month in which the data no longer fit the room, at most ten years on",
)  # fmt: skip
def full_in_month(size: Terabytes, growth: Yearly, adds: TerabytesPerYear, room: Terabytes) -> Count:
    """Months from now until the room of a body of data is full; 120 when it is not full within ten years."""
    for month in range(MOST_MONTHS):
        if size * (1 + growth) ** (month / 12) + adds * month / 12 > room:
            return month
    return MOST_MONTHS


@rule(ARITHMETIC, rises="bulk fast alone", falls="system")
def work_for_data(bulk: Iops, fast: Iops, system: Iops, alone: Truth) -> Iops:
    """Operations left for data: the bulk array's, or, where there is none, what the machines leave of the fast one."""
    return max(bulk, fast - system if alone else 0)


@rule(ARITHMETIC, rises="size snapshots free")
def room_needed(size: Terabytes, snapshots: Ratio, free: Ratio) -> Terabytes:
    """Room for a body of data with its snapshots, so that the free share stays free."""
    return size * (1 + snapshots) / (1 - free)


def layouts(disks: Sequence[Row], levels: Sequence[Level], largest: int = 12) -> Iterator[Option]:
    """Every array of one kind of disk that the levels allow, up to so many disks."""
    shapes = [(level, count) for level in levels for count in COUNTS[level] if count <= largest]
    for disk in disks:
        for level, count in shapes:
            yield array_option(disk, level, count)


def array_option(disk: Row, level: Level, count: int) -> Option:
    """One array: its disks, and what only their composition knows."""
    own: dict[Attribute[Any], Any] = {
        DISKS: count, LEVEL: level, KEPT: parity_disks(level, count), LEFT_OUT: False,
    }  # fmt: skip
    return Option(f"{count}x-{disk.slug}-{level.value.replace(' ', '-')}", ((disk, count),), own)
