"""Reads the ten answers of a rough price, some of which hold two things, and says which unknowns its range rests on."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from re import ASCII, fullmatch

from scantling.brief.meeting import PLAIN
from scantling.figures.quantities import example, parse
from scantling.figures.spelled import nearest, quoted
from scantling.figures.units import DECIBEL, MBIT_PER_S, MONEY, PER_YEAR, TB_PER_YEAR

MOST_MACHINES = 10_000
UP_SHARE = 5
"""Of a line of which one speed is told, the other is a fifth of it (common practice, no source)."""
TWO_SPEEDS = "200/40 Mbit/s"
"""How a line of two speeds is written."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A kind of place: its noise, whether there is a cabinet, depth and height (common practice, no source)."""

    noise: str
    cabinet: str
    depth: str
    height: str


PLACES: Mapping[str, Standing] = {
    "room": Standing("60 dB", "yes", "1000 mm", "2000 mm"),
    "cupboard": Standing("42 dB", "no", "650 mm", "1200 mm"),
    "office": Standing("38 dB", "no", "700 mm", "1200 mm"),
}


def machines(text: str) -> tuple[int, int]:
    """PCs and laptops of `12 PCs, 5 laptops`, `12 + 5` or `12`. Raises ValueError."""
    found = fullmatch(
        r"\s*(\d{1,5})\s*(?:pcs?)?\s*(?:(?:,|\+|and)\s*(\d{1,5})\s*(?:laptops?)?)?\s*", text.lower(), ASCII
    )
    only = fullmatch(r"\s*(\d{1,5})\s*laptops?\s*", text.lower(), ASCII)
    if only:
        found = None
    if found is None and only is None:
        raise ValueError(f"{quoted(text)} is not understood; write it like 12 PCs, 5 laptops")
    made = (0, int(only[1])) if only else (int(found[1]), int(found[2] or 0)) if found else (0, 0)
    if not 1 <= sum(made) <= MOST_MACHINES:
        raise ValueError(f"{sum(made):,} machines; from 1 to {MOST_MACHINES:,} is accepted")
    return made


def profiles(text: str, known: Sequence[str]) -> list[str]:
    """Service profiles that words with commas name, by profile or in plain words. Raises ValueError with the nearest."""
    by_word = {**{PLAIN[one]: one for one in known if one in PLAIN}, **{one: one for one in known}}
    found = []
    for word in (part.strip() for part in text.split(",")):
        if word.lower() not in by_word:
            close = nearest(word, by_word, 0.5)
            hint = f"; did you mean {close}?" if close else ""
            raise ValueError(f"{quoted(word)} is not one of {', '.join(known)}{hint}")
        found.append(by_word[word.lower()])
    return list(dict.fromkeys(found))


def growth(text: str) -> tuple[str, str]:
    """A share a year, and an amount a year: one of them is empty. Raises ValueError."""
    if "%" in text:
        parse(text, PER_YEAR)
        return text, ""
    try:
        parse(text, TB_PER_YEAR)
    except ValueError as wrong:
        raise ValueError(f"{wrong}; or a share, like 15 %/year") from None
    return "", text


def place(text: str) -> tuple[str, str]:
    """The kind of place, and the noise if it is said: `cupboard, 40 dB`. Raises ValueError with the nearest word."""
    word, _, noise = (part.strip() for part in text.partition(","))
    if word.lower() not in PLACES:
        close = nearest(word, PLACES, 0.5)
        hint = f"; did you mean {close}?" if close else ""
        raise ValueError(f"{quoted(word)} is not one of {', '.join(PLACES)}{hint}")
    if noise or text.rstrip().endswith(","):
        level, _ = parse(noise, DECIBEL)
        if not 10 <= level <= 90:  # noqa: PLR2004 - what the brief takes
            raise ValueError(f"{noise} is out of range; from 10 to 90 dB is accepted")
    return word.lower(), noise


def line(text: str) -> tuple[str, str]:
    """Speed to and from the office: `200/40 Mbit/s`, or one speed, of which the other is a fifth. Raises ValueError."""
    down, slash, up = (part.strip() for part in text.partition("/"))
    if down.endswith(("bit", "B")) and slash:  # the stroke of Mbit/s itself
        down, slash, up = text.strip(), "", ""
    if slash and not (down and up):
        raise ValueError(f"{quoted(text)} lacks one of two speeds; write it like {TWO_SPEEDS}")
    if not slash:
        try:
            speed, unit = parse(down, MBIT_PER_S)
        except ValueError as wrong:
            one = f"write one like {example(MBIT_PER_S)}"
            raise ValueError(str(wrong).replace(one, f"{one}, or both like {TWO_SPEEDS}")) from None
        return down, f"{speed / UP_SHARE:.6g} {unit.symbol}"
    bare = fullmatch(r"[\d.]+", down, ASCII) is not None
    try:
        _, unit = parse(up, MBIT_PER_S)
        down = f"{down} {unit.symbol}" if bare else down
        parse(down, MBIT_PER_S)
    except ValueError as wrong:
        raise ValueError(_with_both(str(wrong), down, up)) from None
    return down, up


def _with_both(says: str, down: str, up: str) -> str:
    """What is wrong with one of two speeds, showing how both are written."""
    digits = fullmatch(r"([\d.]+)\D*", up, ASCII)
    if digits is not None and f"write {digits[1]} " in says:
        return says.replace(f"write {digits[1]} ", f"write {down}/{digits[1]} ")
    return says.replace(f"write one like {example(MBIT_PER_S)}", f"write both like {TWO_SPEEDS}")


def country(text: str, currency: str) -> tuple[str, str]:
    """Two letters of a country, and a budget if there is one: `IE`, `IE, 20000 EUR`. Raises ValueError."""
    word, comma, rest = (part.strip() for part in text.partition(","))
    if not fullmatch("[A-Z]{2}", word):
        raise ValueError(f"{quoted(word)} is not a country; write two letters like IE, and a budget after a comma")
    if comma and rest != currency:
        parse(rest, MONEY, currency)
    return word, "" if rest == currency else rest


@dataclass(frozen=True, slots=True)
class Unknown:
    """Something a rough price does not ask: what, where in the brief, its favourable and its cautious end."""

    what: str
    id: str
    favourable: str
    cautious: str


UNKNOWNS: tuple[Unknown, ...] = (
    Unknown("growth of the staff", "people.roles.*.growth", "0 %/year", "10 %/year"),
    Unknown("how many of them are there together", "people.roles.*.present", "80 %", "100 %"),
    Unknown("how many visitors join the network", "visitors.join", "30 %", "80 %"),
    Unknown("how much of the data changes in a day", "data.sets.*.change", "0.5 %/day", "4 %/day"),
    Unknown("hours of work that may be lost", "services.*.lost", "24 h", "4 h"),
    Unknown("minutes without mains", "power.hold", "5 min", "15 min"),
    Unknown("memory that the maker of your program asks for", "services.application.memory", "4 GiB", "32 GiB"),
)
"""Favourable and cautious ends after the ranges of the house rules where they have one, else common practice, no source."""
COMPOSED: Mapping[str, Callable[[str, str, Sequence[str]], object]] = {
    "rough.machines": lambda text, _, __: machines(text),
    "rough.services": lambda text, _, known: profiles(text, known),
    "rough.growth": lambda text, _, __: growth(text),
    "rough.place": lambda text, _, __: place(text),
    "rough.line": lambda text, _, __: line(text),
    "rough.country": lambda text, currency, _: country(text, currency),
}
"""Readers of answers that hold more than one thing; given the text, the currency and the known profiles."""


def fault(id_: str, typed: str, currency: str, known: Sequence[str]) -> str:
    """What is wrong with one of the ten answers beyond its being words; empty when it is taken."""
    try:
        if id_ in COMPOSED:
            COMPOSED[id_](typed, currency, known)
    except ValueError as wrong:
        return str(wrong)
    return ""
