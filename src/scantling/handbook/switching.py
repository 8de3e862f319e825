"""Switches: what a port must be able to feed by class, what that draws from the mains, and the sets of switches on offer."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from scantling.figures import Attribute, Levels, Option, Row, Source, Table, rule
from scantling.figures.units import WATT, Count, Ratio, Watts

FEEDING = Source("IEEE 802.3 clauses 33 and 145: power classes, watts at the switch's port")
TAKING = Source("IEEE 802.3 clauses 33 and 145: power classes, watts at the device")
HABIT = Source("common practice, no source", "common practice")
NO_CLASS = "none"

CLASS_WATTS = Table(
    FEEDING, "watts that a switch sets aside for one device of the class", WATT,
    {"0": 15.4, "1": 4.0, "2": 7.0, "3": 15.4, "4": 30.0, "5": 45.0, "6": 60.0, "7": 75.0, "8": 90.0},
)  # fmt: skip
DEVICE_WATTS = Table(
    TAKING, "watts that one device of the class may take", WATT,
    {"0": 12.95, "1": 3.84, "2": 6.49, "3": 12.95, "4": 25.5, "5": 40.0, "6": 51.0, "7": 62.0, "8": 71.3},
)  # fmt: skip


@rule(HABIT, rises="delivered", falls="efficiency")
def drawn_to_feed(delivered: Watts, efficiency: Ratio) -> Watts:
    """What feeding devices over their cables draws from the mains."""
    return delivered / efficiency


@rule(HABIT, rises="needed", falls="listed")
def still_missing(needed: Count, listed: Count) -> Count:
    """How many are needed beyond those that are there."""
    return max(needed - listed, 0)


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a switch that don't add up over a set of them, and the two by which sets are made."""

    ports: Attribute[int]
    fed: Attribute[int]
    uplinks: Attribute[int]
    every: Attribute[bool]
    """True of a set only where it is true of each."""
    level: Attribute[float]
    """A sound level."""
    most: tuple[Attribute[float], ...]
    """The largest of the set counts."""


SMALL, SOME, MANY_BESIDE, MANY = 2, 4, 6, 10
"""How many of one row a set may hold: of those with less than a third of the most ports, of the others, of plain ones with the
most ports beside some that feed, and of those with the most ports alone."""
THIRD = 3


def sets(rows: Sequence[Row], columns: Columns) -> Iterator[Option]:
    """One kind of switch, or one that feeds beside one that doesn't: an office keeps to two kinds, so that one spare fits."""
    most = max(row.get(columns.ports) for row in rows)

    def upto(row: Row, of_the_largest: int) -> range:
        ports = row.get(columns.ports)
        return range(1, 1 + (of_the_largest if ports == most else SMALL if ports * THIRD < most else SOME))

    for row in rows:
        yield from (switch_set(((row, count),), columns) for count in upto(row, MANY))
    good = [row for row in rows if row.get(columns.every)]
    feeding, plain = ([row for row in good if bool(row.get(columns.fed)) is fed] for fed in (True, False))
    for one, other in product(feeding, plain):
        for n, m in product(upto(one, SOME), upto(other, MANY_BESIDE)):
            yield switch_set(((one, n), (other, m)), columns)


def switch_set(parts: tuple[tuple[Row, int], ...], columns: Columns) -> Option:
    """One set of switches, each but the first hung on the first by a fast port of both."""
    slug = "-and-".join(f"{n}x-{row.slug}" if n > 1 else row.slug for row, n in parts)
    count = sum(n for _, n in parts)
    if count == 1:
        return Option(slug, parts)
    return Option(slug, parts, together(parts, columns, count))


def together(parts: tuple[tuple[Row, int], ...], columns: Columns, count: int) -> Mapping[Attribute[Any], Any]:
    """What is true of the set and of no single switch in it: fast ports left, sound, the largest sizes."""
    own: dict[Attribute[Any], Any] = {
        columns.uplinks: sum(row.get(columns.uplinks) * n for row, n in parts) - 2 * (count - 1),
        columns.every: all(row.get(columns.every) for row, _ in parts),
        columns.level: Levels.fold([row.get(columns.level) for row, n in parts for _ in range(n)], 0.0),
    }
    return own | {column: max(row.get(column) for row, _ in parts) for column in columns.most}
