"""Judges an assembly of raw catalogue articles from their plain numbers, written apart from rules, demands and search.

It knows the trade's words (socket, bays, watts) and nothing of how the purchase works: an article is a mapping of
column names to numbers in the units of the catalogue's columns.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

Row = Mapping[str, Any]
PARITY = {"single parity": 1, "double parity": 2}


@dataclass(frozen=True)
class Wish:
    """What the office needs, as plain numbers."""

    cores: int
    memory: float
    data: float
    minutes: float
    depth: float
    noise: float
    other_watts: float


@dataclass(frozen=True)
class Set_:  # noqa: N801 - a set of articles; the builtin has the name
    """One assembly: host, processors, modules, disks and their level, battery."""

    host: Row
    chip: Row
    chips: int
    module: Row
    modules: int
    disk: Row
    disks: int
    level: str
    unit: Row

    @property
    def price(self) -> int:
        """In hundredths."""
        parts = (
            (self.host, 1),
            (self.chip, self.chips),
            (self.module, self.modules),
            (self.disk, self.disks),
            (self.unit, 1),
        )
        return round(sum(float(row["price"]) * count for row, count in parts) * 100)


def usable(one: Set_) -> float:
    """Terabytes left for data."""
    if one.level == "mirror":
        return float(one.disk["size"])
    if one.level == "mirrored pairs":
        return one.disks / 2 * float(one.disk["size"])
    return (one.disks - PARITY[one.level]) * float(one.disk["size"])


def good(one: Set_, wish: Wish) -> bool:
    """Whether everything goes together and is enough."""
    if one.host["socket"] != one.chip["socket"] or one.chips > one.host["sockets"]:
        return False
    if one.modules > one.host["slots"] or one.modules % one.chips:
        return False
    watts = (
        one.host["watts"]
        + one.chips * one.chip["watts"]
        + one.modules * one.module["watts"]
        + one.disks * one.disk["watts"]
    )
    enough = one.chips * one.chip["cores"] >= wish.cores and one.modules * one.module["capacity"] >= wish.memory
    fits = one.disks <= one.host["bays"] and watts <= one.host["supply_watts"] * 0.8
    lasts = one.unit["energy"] / (watts + wish.other_watts) * 60 >= wish.minutes
    space = max(one.host["depth"], one.unit["depth"]) <= wish.depth and one.host["noise"] <= wish.noise
    return bool(enough and fits and lasts and space and usable(one) >= wish.data)


def every(
    rows: Mapping[str, Sequence[Row]], layouts: Sequence[tuple[str, int]], counts: Mapping[str, Sequence[int]]
) -> Iterator[Set_]:
    """All assemblies there are."""
    for host, chip, chips, module, modules, disk, (level, disks), unit in product(
        rows["host"],
        rows["chip"],
        counts["chip"],
        rows["module"],
        counts["module"],
        rows["disk"],
        layouts,
        rows["unit"],
    ):
        yield Set_(host, chip, chips, module, modules, disk, disks, level, unit)
