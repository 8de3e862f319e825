"""Reads what a person writes: numbers with units, money, dates, times, words, addresses; exact, and refusing to guess."""

from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from enum import Enum
from fractions import Fraction
from ipaddress import IPv4Address, IPv4Network
from re import ASCII, fullmatch
from typing import Any, TypeVar

from scantling.figures.calendar import DAY_NAMES, Clock, Span, Weekdays
from scantling.figures.units import (
    CURRENCY, DECIBEL, HEIGHT_UNIT, RATIO, SHARE, WRITTEN, DimensionError, Unit, convert,
)  # fmt: skip

T = TypeVar("T")
NUMBER = r"([+-]?\d{1,15}(?:\.\d{1,18})?)"
SHORT = {"T": "TB or Tbit/s", "G": "GB or GiB", "M": "MB or Mbit/s", "K": "kB", "k": "kB", "Gb": "GB or Gbit/s", "Mb": "MB or Mbit/s",
         "Tb": "TB", "Kb": "kB", "KB": "kB", "Gbps": "Gbit/s", "Mbps": "Mbit/s", "Gb/s": "Gbit/s", "Mb/s": "Mbit/s", "kW/h": "kW",
         "m": "min or month", "hour": "h", "hours": "h", "hr": "h", "years": "year", "days": "day", "months": "month", "mins": "min",
         "minutes": "min", "minute": "min", "w": "W", "va": "VA", "Gi": "GiB", "dBA": "dB", "dB(A)": "dB", "%/a": "%/year"}  # fmt: skip
MOST: Mapping[str, Fraction] = {
    "data": Fraction(8 * 10**16), "time": Fraction(31_557_600 * 200), "power": Fraction(10**7), "length": Fraction(10**5),
    "money": Fraction(10**8), "mass": Fraction(10**5),
}  # fmt: skip
MOST_COUNT = 10_000_000


def parse(text: str, unit: Unit[T], currency: str = "") -> tuple[T, Unit[T]]:
    """The value and the unit it is written in. Raises ValueError in a person's words."""
    if text == "":
        message = "value missing"
        raise ValueError(message)
    if unit.numeric:
        return _number(text, unit, currency)
    value: Any = _reader(unit.kind)(text)
    return value, unit


def _number(text: str, unit: Unit[Any], currency: str) -> tuple[Any, Unit[Any]]:
    match = fullmatch(NUMBER + r" ?(.*)", text, ASCII)
    if not match:
        raise ValueError(_not_a_number(text, unit, currency))
    digits, symbol = match[1], match[2]
    have = _unit(digits, symbol, unit, currency)
    exact = Fraction(digits)
    if unit.kind is int and exact.denominator != 1:
        message = f"a whole number is wanted, like {round(exact)}"
        raise ValueError(message)
    _bounded(exact, have)
    if unit.kind is Decimal:
        value = Decimal(digits)
        if unit.symbol.startswith(CURRENCY) and value != value.quantize(Decimal("0.01")):
            message = "money has at most two places after the point"
            raise ValueError(message)
        return value, have
    return (int(exact) if unit.kind is int else float(exact)), have


def _unit(digits: str, symbol: str, unit: Unit[Any], currency: str) -> Unit[Any]:
    """The unit that the symbol names, if it measures the same thing."""
    wanted = unit.symbol.replace(CURRENCY, currency)
    if symbol == wanted:
        return unit
    if CURRENCY in unit.symbol:
        raise ValueError(f"write the amount in {wanted}, like {digits} {wanted}")
    if (have := WRITTEN.get(symbol)) is None:
        raise ValueError(_unknown_unit(digits, symbol, unit))
    try:
        convert(1 if have.kind is int else 1.0, have, unit)
    except DimensionError:
        raise ValueError(f"{symbol} does not measure this; write one like {_example(unit)}") from None
    return have


def _unknown_unit(digits: str, symbol: str, unit: Unit[Any]) -> str:
    if not unit.symbol and not unit.dimension:
        more = "" if unit.kind is int else ", or a share with %"
        return f"a bare number is wanted, like {digits}{more}" if symbol else "a number is wanted"
    known = [name for name, one in WRITTEN.items() if one.dimension == unit.dimension]
    if not symbol:
        return f"the unit is missing; write {digits} {unit.symbol}"
    if symbol in SHORT and any(part in known for part in SHORT[symbol].split(" or ")):
        right = " or ".join(f"{digits} {part}" for part in SHORT[symbol].split(" or ") if part in known)
        return f"unit {symbol!r} could mean several things; write {right}"
    near = get_close_matches(symbol, known, 1, 0.4) or [unit.symbol]
    return f"unit {symbol!r} is not known; write {digits} {near[0]}"


def _not_a_number(text: str, unit: Unit[Any], currency: str) -> str:
    if match := fullmatch(r"(\d{1,12}),(\d{1,6}) ?(.*)", text, ASCII):
        symbol = f" {match[3]}" if match[3] else ""
        return f"a comma is not taken; write {match[1]}.{match[2]}{symbol}, or {match[1]}{match[2]}{symbol} for thousands"
    kind = "a whole number" if unit.kind is int else "a number"
    return f"{text[:40]!r} is not {kind}; write one like {_example(unit, currency)}"


def _example(unit: Unit[Any], currency: str = "") -> str:
    return f"12 {unit.symbol.replace(CURRENCY, currency)}".rstrip()


def _bounded(exact: Fraction, unit: Unit[Any]) -> None:
    if exact < 0 and unit is not DECIBEL and unit.symbol != "°C":
        message = "a number below nought is not taken here"
        raise ValueError(message)
    if unit.dimension == () and unit.kind is int:
        most = Fraction(MOST_COUNT)
    elif unit is HEIGHT_UNIT:
        most = Fraction(100)
    elif unit in (RATIO, SHARE):
        most = Fraction(10**12)
    elif len(unit.dimension) == 1 and unit.dimension[0][1] == 1:
        most = MOST.get(unit.dimension[0][0], Fraction(10**12)) / unit.scale
    else:
        most = Fraction(10**12)
    if exact > most:
        message = f"that is too much to be true; at most {int(most):,} {unit.symbol}".rstrip()
        raise ValueError(message)


def _reader(kind: type[Any]) -> Callable[[str], Any]:
    if issubclass(kind, Enum):
        return lambda text: _closed(text, kind)
    readers: dict[type[Any], Callable[[str], Any]] = {
        bool: _truth, str: str, date: _date, IPv4Network: _network, IPv4Address: _address, Weekdays: _weekdays, Span: _span, Clock: _clock,
    }  # fmt: skip
    return readers[kind]


def _closed(text: str, kind: type[Enum]) -> Enum:
    words = {str(member.value): member for member in kind}
    if text in words:
        return words[text]
    near = get_close_matches(text, words, 1, 0.6)
    hint = f"; did you mean {near[0]}?" if near else ""
    raise ValueError(f"{text[:40]!r} is not one of {', '.join(words)}{hint}")


def _truth(text: str) -> bool:
    if text in ("yes", "no"):
        return text == "yes"
    raise ValueError(f"write yes or no, not {text[:40]!r}")


def _date(text: str) -> date:
    if fullmatch(r"\d{4}-\d{2}-\d{2}", text, ASCII):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise ValueError(f"{text} is not a day of the calendar") from None
    raise ValueError(f"{text[:40]!r} is not a date; write it like 2026-11-25")


def _network(text: str) -> IPv4Network:
    try:
        return IPv4Network(text)
    except ValueError as wrong:
        raise ValueError(f"{text[:40]!r} is not a network; write one like 10.44.0.0/16 ({wrong})") from None


def _address(text: str) -> IPv4Address:
    try:
        return IPv4Address(text)
    except ValueError:
        raise ValueError(f"{text[:40]!r} is not an address; write one like 10.44.0.1") from None


def _weekdays(text: str) -> Weekdays:
    days: list[int] = []
    for part in text.replace(",", " ").split():
        first, dash, last = part.partition("-")
        ends = [first, last] if dash else [first]
        if any(end not in DAY_NAMES for end in ends):
            raise ValueError(f"{text[:40]!r} names no weekdays; write them like mon-fri, or tue thu sat")
        start, end = DAY_NAMES.index(first), DAY_NAMES.index(ends[-1])
        days += range(start, end + 1) if start <= end else (*range(start, 7), *range(end + 1))
    if not days:
        message = "write weekdays like mon-fri"
        raise ValueError(message)
    return Weekdays(tuple(sorted(set(days))))


def _minute(text: str) -> int | None:
    match = fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text, ASCII)
    return int(match[1]) * 60 + int(match[2]) if match else None


def _clock(text: str) -> Clock:
    if (minute := _minute(text)) is None:
        raise ValueError(f'{text[:40]!r} is not a time of day; write it like "19:30"')
    return Clock(minute)


def _span(text: str) -> Span:
    first, _, last = text.partition("-")
    start, end = _minute(first.strip()), _minute(last.strip())
    if start is None or end is None:
        raise ValueError(f'{text[:40]!r} is not a span of the day; write it like "09:30-18:00"')
    return Span(start, end)
