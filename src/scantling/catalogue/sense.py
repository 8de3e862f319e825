"""What a row must hold beyond units: closed words, numbers above nought, columns that agree with each other."""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from math import inf
from typing import Any

from scantling.handbook.switching import DEVICE_WATTS, NO_CLASS

Values = Mapping[str, Any]

WORDS: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("host", "shape"): ("tower", "short rack", "full rack"),
    ("disk", "medium"): ("spinning", "solid state"),
    ("backup", "place"): ("near", "away"),
    ("backup", "kind"): ("box", "disks", "tape", "online"),
    ("box", "kind"): ("gateway", "recorder", "controller"),
    ("device_kind", "powered_class"): (NO_CLASS, *DEVICE_WATTS.rows),
}
"""The words that a column takes, where trades decide by them."""

ABOVE_NOUGHT: Mapping[str, tuple[str, ...]] = {
    "host": ("sockets", "channels", "slots", "memory_limit", "bays", "supplies", "supply_watts", "ports", "depth"),
    "processor": ("cores", "chips", "base_ghz"),
    "module": ("capacity", "modules"),
    "disk": ("size", "bays_taken", "rate", "speed", "failures", "read_errors"),
    "boot_disk": ("size", "boot_taken", "rate", "speed", "failures"),
    "ups": ("va", "ups_watts", "run_100", "battery_years"),
    "backup": ("room", "rate", "read_rate", "media"),
    "cabinet": ("units_high", "usable_depth", "load", "own_height", "own_depth"),
    "switch": ("switches", "switch_ports", "height"),
    "box": ("ports", "depth"),
    "build": ("processors", "modules", "boot_disks"),
    "labour": ("hourly",),
    "profile": ("cores_least", "floor_fixed", "expected_fixed", "ceiling", "disk"),
    "data_kind": ("compression",),
    "zone_kind": ("number",),
}
"""Columns that mean nothing at nought: they are divided by, or nothing could be bought for them."""

FORMS = (25, 35)  # tenths of an inch
Check = tuple[str, Callable[[Values], bool], str]

AGREEMENTS: Mapping[str, tuple[Check, ...]] = {
    "host": (
        ("bay_form", lambda row: row["bay_form"] in FORMS, "a cage takes disks of 25 or 35 tenths of an inch"),
        ("slots", lambda row: row["slots"] >= row["channels"] * row["sockets"], "every memory channel has a slot"),
        ("weight", lambda row: row["weight"] >= row["lift_weight"], "it weighs no less than its heaviest piece"),
        ("server_watts", lambda row: row["server_watts"] <= row["watts"], "they are part of the watts"),
    ),
    "disk": (
        ("form", lambda row: row["form"] in FORMS, "a disk is 25 or 35 tenths of an inch wide"),
        ("failures", lambda row: row["failures"] < 100, "not every disk fails within a year"),  # noqa: PLR2004 - per cent
    ),
    "ups": (
        ("run_25", lambda row: _falls(row, "run_25", "run_50", "run_75", "run_100"),
         "a battery lasts longer at part load"),
        ("ups_watts", lambda row: row["ups_watts"] <= row["va"], "the watts are no more than the volt-amperes"),
    ),
    "cabinet": (
        ("usable_depth", lambda row: row["usable_depth"] <= row["own_depth"], "it is no deeper inside than outside"),
    ),
    "profile": (
        ("floor_fixed", lambda row: _rises(row, "floor_fixed", "expected_fixed", "ceiling"),
         "memory: the floor is no more than the expected, the expected no more than the ceiling"),
        ("service_time", lambda row: (row["requests"] > 0) == (row["service_time"] > 0),
         "requests and service time are known together, or both 0"),
    ),
    "switch": (
        ("powered_ports", lambda row: row["powered_ports"] <= row["switch_ports"], "they are part of its ports"),
        ("power_budget", lambda row: (row["power_budget"] > 0) == (row["powered_ports"] > 0),
         "power and ports that feed are there together, or both 0"),
    ),
    "device_kind": (
        ("watts", lambda row: row["watts"] <= _taken_at_most(row), "the class allows the device less"),
    ),
    "data_kind": (
        ("compression", lambda row: row["compression"] >= 1, "original size by stored size is at least 1"),
    ),
}  # fmt: skip
"""Column to blame, what must hold, and the sentence for the person."""


def nonsense(kind: str, values: Values) -> Iterator[tuple[str, str]]:
    """Column and sentence of everything in a whole, typed row that can't be true."""
    for (of, column), words in WORDS.items():
        if of == kind and values[column] not in words:
            yield column, f'"{values[column]}" is not one of: {", ".join(words)}'
    nought = [column for column in ABOVE_NOUGHT.get(kind, ()) if not values[column] > 0]
    for column in nought:
        yield column, "a number above nought is wanted"
    for column, holds, says in AGREEMENTS.get(kind, ()):
        if column not in nought and not holds(values):
            yield column, says


def out_of_date_order(marks: Values) -> str:
    """What is wrong with the dates of a price; empty where nothing is."""
    first, last = marks.get("priced_on"), marks.get("valid_until")
    if first is None or last is None or first <= last:
        return ""
    return f"the price ends ({last}) before the day it is of ({first})"


def _taken_at_most(row: Values) -> float:
    """What a device of its class may take; a word that is no class is told of elsewhere."""
    return 0.0 if row["powered_class"] == NO_CLASS else DEVICE_WATTS.rows.get(row["powered_class"], inf)


def _rises(row: Values, *columns: str) -> bool:
    values = [row[column] for column in columns]
    return values == sorted(values)


def _falls(row: Values, *columns: str) -> bool:
    values = [row[column] for column in columns]
    return all(more > less for more, less in pairwise(values))
