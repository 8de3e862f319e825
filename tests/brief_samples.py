"""Invented sections for the tests of the brief room, so that these tests stand without any trade."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

import pytest

from scantling.brief import Given, Mapped, Office, Section, asked, assumed, optional
from scantling.brief.loading import BriefError, Default, load
from scantling.figures.calendar import ClockSpan, ClockTime, WeekdaySet
from scantling.figures.units import (
    Count,
    Gibibytes,
    Hours,
    MegabitsPerSecond,
    Money,
    Network,
    Percent,
    PercentPerYear,
    Terabytes,
    Truth,
    Word,
)


class Roast(StrEnum):
    """A closed choice."""

    LIGHT = "light"
    VERY_DARK = "very dark"


class Kettle(Section):
    """A named thing of a section that is a mapping."""

    kind: Given[Word] = asked("What kind of kettle?", among="kettle kind")
    holds: Given[Terabytes] = asked("How much does it hold?")
    memory: Given[Gibibytes] | None = optional("How much does it remember?")
    heads: Given[Count] = asked("How many stand around it?", least="1", most="100000")


class Kettles(Mapped[Kettle]):
    """Kettles by name."""

    key = "kettles"


class Corner(Section):
    """A group inside a section."""

    warm: Given[Truth] = assumed("Is it warm?", "corner.warm")
    rest: Given[Hours] = asked("How long do they rest?", least="5 min", most="24 h")


class Kitchen(Section):
    """Everything a field can be."""

    key = "kitchen"
    roast: Given[Roast] = assumed("Which roast?", "kitchen.roast")
    price: Given[Money] = asked("What may it cost?")
    share: Given[Percent] = assumed("Which share drinks it?", "kitchen.share")
    growth: Given[PercentPerYear] = assumed("How fast does that grow?", "kitchen.growth")
    speed: Given[MegabitsPerSecond] | None = optional("How fast is it poured?")
    days: Given[WeekdaySet] = asked("On which days?")
    hours: Given[ClockSpan] = asked("From when to when?")
    bell: Given[ClockTime] | None = optional("When does the bell ring?")
    block: Given[Network] | None = optional("Which network?")
    corner: Corner = asked("Where do they sit?")
    tables: dict[str, Corner] | None = optional("Which tables are there?")
    others: dict[str, Given[Network]] | None = optional("Whose networks?")


SECTIONS = (Office, Kitchen, Kettles)
DEFAULTS = {
    key: Default(text, "for these tests")
    for key, text in {
        "office.mains": "230 V", "office.paper": "A4", "office.horizon": "5 year", "corner.warm": "yes", "kitchen.roast": "light",
        "kitchen.share": "40 %", "kitchen.growth": "3 %/year",
    }.items()
}  # fmt: skip
WORDS = {"kettle kind": ("whistling", "names and addresses")}
WHOLE = """\
office:
  name: The Test Kitchen
  country: IE
  currency: EUR
  as_of: 2026-11-25
kitchen:
  roast: very dark
  price: 1200.50 EUR
  share: 85 %
  speed: 50 MB/s
  days: fri-mon
  hours: "22:00-06:00"
  bell: "19:30"
  block: 10.44.0.0/16
  corner: {warm: no, rest: 90 min}
  tables:
    by-the-door: {rest: 2 h}
  others:
    landlord: 192.168.1.0/24
kettles:
  big: {kind: whistling, holds: 300 GB, memory: 64 GiB, heads: 14}
"""


def read(text: str) -> Mapping[type[Section], Any]:
    """The sample sections of a text."""
    return load(text, "brief.yaml", SECTIONS, DEFAULTS, WORDS)


def refused(text: str) -> list[str]:
    """What is said about a text, a line each."""
    with pytest.raises(BriefError) as caught:
        read(text)
    return str(caught.value).splitlines()


def changed(old: str, new: str) -> str:
    """The whole sample with one passage changed."""
    assert old in WHOLE
    return WHOLE.replace(old, new, 1)
