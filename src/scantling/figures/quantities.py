"""Reads what a person writes: a number with its unit, money, and all else; exact, and refusing to guess."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from re import ASCII, fullmatch
from typing import Any, TypeVar

from scantling.figures.spelled import nearest, quoted, shown, spelled
from scantling.figures.units import (
    AMPERE, CELSIUS, COUNT, CURRENCY, DAY, DECIBEL, GB_PER_YEAR, GBIT_PER_S, HEIGHT_UNIT, HOUR, HOURLY, IOPS, KBIT_PER_S, KILOGRAM,
    KILOWATT, MB_PER_S, MBIT_PER_S, METRE, MINUTE, MONTH, PB, PER_DAY, PER_SECOND, PER_YEAR, RATIO, SHARE, TB_PER_YEAR, VA, VOLT,
    WEEK, WH, WRITTEN, YEAR, Dimension, Unit,
)  # fmt: skip

T = TypeVar("T")
NUMBER = r"\d{1,15}(?:\.\d{1,18})?"
PLURALS: Mapping[str, Unit[Any]] = {
    "minutes": MINUTE, "hour": HOUR, "hours": HOUR, "days": DAY, "weeks": WEEK, "months": MONTH, "years": YEAR,
}  # fmt: skip
"""Spellings that leave nothing to guess and are therefore taken too."""
SHORT: Mapping[str, str] = {
    "T": "TB or TiB", "G": "GB or GiB or Gbit/s", "M": "MB or MiB or Mbit/s", "K": "kB or KiB or kbit/s",
    "k": "kB or kbit/s", "Ti": "TiB", "Gi": "GiB", "Mi": "MiB", "Tb": "TB", "Gb": "GB or Gbit/s", "Mb": "MB or Mbit/s",
    "Kb": "kB or kbit/s", "kb": "kB or kbit/s", "KB": "kB or KiB", "Gbps": "Gbit/s", "Mbps": "Mbit/s",
    "kbps": "kbit/s", "Gb/s": "Gbit/s or MB/s", "Mb/s": "Mbit/s or MB/s", "mb/s": "Mbit/s or MB/s", "MBps": "MB/s",
    "Gbit": "Gbit/s", "Mbit": "Mbit/s", "kbit": "kbit/s", "kW/h": "kW", "m": "min or month", "hr": "h", "hrs": "h",
    "mins": "min", "minute": "min", "sec": "s", "y": "year", "yr": "year", "a": "year", "d": "day", "dBA": "dB",
    "dB(A)": "dB", "db": "dB", "%/a": "%/year", "%/y": "%/year", "% a year": "%/year", "%": "%/year or %/day",
    "/year": "%/year", "C": "°C", "amp": "A", "amps": "A", "Amp": "A", "watts": "W", "volts": "V", "HE": "U",
    "iops": "op/s", "IOPS": "op/s",
}  # fmt: skip
"""What people write and could mean: only those that measure what is asked are offered."""
GROUP = 3  # digits between commas that part thousands
HUGE = ("EB", "ZB", "YB", "PiB", "EiB", "ZiB", "YiB")


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact number and the unit it is written in."""

    exact: Fraction
    unit: Unit[Any]

    def written(self, currency: str = "") -> str:
        """As a person writes it."""
        whole = self.exact.denominator == 1
        digits = f"{self.exact.numerator:,}" if whole else f"{float(self.exact):.12g}"
        return f"{digits} {symbol_of(self.unit, currency)}".rstrip()

    @property
    def base(self) -> Fraction:
        """In base units, to compare."""
        return self.exact * self.unit.scale


@dataclass(frozen=True, slots=True)
class Limits:
    """The smallest and the largest amount that is taken."""

    least: Amount
    most: Amount

    def says(self, currency: str = "") -> str:
        """`1 to 100,000`, `1 min to 24 h`; nothing is nothing in any unit: `0 to 1,440 min`."""
        least, most = self.least.written(currency), self.most.written(currency)
        if not self.least.exact:
            return f"0 to {most}"
        alike = self.least.unit is self.most.unit
        return f"{least.removesuffix(symbol_of(self.least.unit, currency)).rstrip() if alike else least} to {most}"

    def check(self, given: Amount, currency: str = "") -> None:
        """Raises ValueError, naming the range, when the amount lies outside."""
        if not self.least.base <= given.base <= self.most.base:
            size = "little" if given.base < self.least.base else "much"
            raise ValueError(f"{given.written(currency)} is too {size}; from {self.says(currency)} is accepted")


def _limits(least: int, most: int, unit: Unit[Any]) -> Limits:
    return Limits(Amount(Fraction(least), unit), Amount(Fraction(most), unit))


BY_UNIT: Mapping[Unit[Any], Limits] = {
    COUNT: _limits(0, 10_000_000, COUNT), RATIO: _limits(0, 10_000_000, RATIO), SHARE: _limits(0, 1000, SHARE),
    PER_YEAR: _limits(0, 1000, PER_YEAR), PER_DAY: _limits(0, 100, PER_DAY),
    TB_PER_YEAR: _limits(0, 10_000, TB_PER_YEAR), GB_PER_YEAR: _limits(0, 10_000, TB_PER_YEAR),
}  # fmt: skip
BY_DIMENSION: Mapping[Dimension, Limits] = {
    limits.most.unit.dimension: limits
    for limits in (
        _limits(0, 10, PB), _limits(0, 1000, GBIT_PER_S), _limits(0, 100, YEAR), _limits(0, 1000, KILOWATT),
        _limits(0, 10_000_000, VA), _limits(0, 10_000_000, WH), _limits(0, 1000, VOLT), _limits(0, 1000, AMPERE),
        _limits(0, 1000, METRE), _limits(0, 100_000, KILOGRAM), _limits(0, 150, DECIBEL), _limits(-40, 100, CELSIUS),
        _limits(0, 100_000_000, IOPS),
    )
}  # fmt: skip
"""What is sane for each kind of amount, so that a slip of the finger does not get in (common practice, no source)."""
KIN: tuple[tuple[Unit[Any], ...], ...] = (
    (PER_YEAR, PER_DAY), (HOURLY, PER_SECOND, IOPS), (KBIT_PER_S, MBIT_PER_S, GBIT_PER_S, MB_PER_S),
    (TB_PER_YEAR, GB_PER_YEAR),
)  # fmt: skip
"""Units of one dimension that people would not take for each other: growth is not a rate of events."""


def limits_of(unit: Unit[Any]) -> Limits:
    """The range of amounts that is taken where nothing narrower is said."""
    if unit in BY_UNIT:
        return BY_UNIT[unit]
    if unit is HEIGHT_UNIT or CURRENCY in unit.symbol:
        return _limits(0, 100 if unit is HEIGHT_UNIT else 10_000_000, unit)
    return BY_DIMENSION.get(unit.dimension) or _limits(0, 10**12, unit)


def symbol_of(unit: Unit[Any], currency: str = "") -> str:
    """The unit's symbol with the office's currency in place of the sign."""
    return unit.symbol.replace(CURRENCY, currency or CURRENCY)


def spellings(unit: Unit[Any]) -> tuple[str, ...]:
    """Every unit symbol that may be written where this unit is due; empty for bare numbers and money."""
    if CURRENCY in unit.symbol or unit is COUNT:
        return ()
    kin = next((group for group in KIN if unit in group), tuple(WRITTEN.values()))
    fits = [one for one in kin if one.dimension == unit.dimension and (unit.kind is not int or one.kind is int)]
    symbols = [one.symbol for one in fits] if unit.symbol or unit.dimension else ["%"]
    return tuple(dict.fromkeys([unit.symbol, *symbols] if unit.symbol in WRITTEN else symbols))


def parse(text: str, unit: Unit[T], currency: str = "", limits: Limits | None = None) -> tuple[T, Unit[T]]:
    """The value and the unit it is written in; numbers within `limits` (those of the unit if none are given).

    Raises ValueError in a person's words.
    """
    if not text.strip():
        message = "value missing"
        raise ValueError(message)
    if not unit.numeric:
        value: Any = spelled(text, unit.kind)
        return value, unit
    given = amount(text, unit, currency)
    (limits or limits_of(unit)).check(given, currency)
    exact: Any = given.exact
    if unit.kind is Decimal:
        return _money(exact, unit), given.unit
    return (int(exact) if unit.kind is int else float(exact)), given.unit  # type: ignore[return-value]


def _money(exact: Fraction, unit: Unit[Any]) -> Any:
    value = Decimal(exact.numerator) / Decimal(exact.denominator)
    if CURRENCY in unit.symbol and value != value.quantize(Decimal("0.01")):
        message = "money has at most two places after the point"
        raise ValueError(message)
    return value


def amount(text: str, unit: Unit[Any], currency: str = "") -> Amount:
    """The exact number and the unit as written, whatever its size. Raises ValueError in a person's words."""
    match = fullmatch(rf"(-?{NUMBER}) ?(\D*)", text, ASCII)
    if match is None or text != " ".join(text.split()) or _runs_on(match[2]):
        raise ValueError(_not_a_number(text, unit, currency))
    digits, symbol = match[1], match[2]
    have = _unit(digits, symbol, unit, currency)
    exact = Fraction(digits)
    if unit.kind is int and exact.denominator != 1:
        raise ValueError(f"{digits} is not a whole number; write one like {round(exact)}")
    return Amount(exact, have)


def _runs_on(symbol: str) -> bool:
    """Whether what follows the digits is more of a number, in whatever script, and no unit."""
    return symbol[:1] in tuple("_.,+-'") or any(map(str.isnumeric, symbol))


def _unit(digits: str, symbol: str, unit: Unit[Any], currency: str) -> Unit[Any]:
    """The unit that the symbol names, if it measures the same thing."""
    if symbol == symbol_of(unit, currency):
        return unit
    if CURRENCY in unit.symbol:
        if not currency and fullmatch(unit.symbol.replace(CURRENCY, "[A-Z]{3}"), symbol):
            return unit  # the office's currency is itself a mistake, told at its own place
        raise ValueError(_wrong_money(digits, symbol, symbol_of(unit, currency)))
    fitting = spellings(unit)
    have = WRITTEN.get(symbol) or PLURALS.get(symbol)
    if have is not None and have.symbol in fitting:
        return have
    raise ValueError(_wrong_unit(digits, symbol, unit, fitting))


def _wrong_money(digits: str, symbol: str, wanted: str) -> str:
    if not symbol:
        return f"the currency is missing; write {digits} {wanted}"
    if symbol[:3] != wanted[:3] and fullmatch(r"[A-Z]{3}.*", symbol):
        return f"this office pays in {wanted[:3]}, not {shown(symbol)}; write the amount in {wanted}"
    return f"{quoted(symbol)} is not taken here; write {digits} {wanted}"


def _wrong_unit(digits: str, symbol: str, unit: Unit[Any], fitting: tuple[str, ...]) -> str:
    if not fitting or (symbol and unit is RATIO):
        return f"a bare number is wanted, like {digits}, without {quoted(symbol)}"
    if not symbol:
        share = unit is SHARE and 0 < Fraction(digits) < 1
        meant = Amount(Fraction(digits) * 100, SHARE).written() if share else f"{digits} {unit.symbol}"
        return f"the unit is missing; write {meant}"
    if symbol in HUGE and "TB" in fitting:
        return f"{digits} {symbol} is too much; from {limits_of(unit).says()} is accepted"
    if offers := [part for part in SHORT.get(symbol, "").split(" or ") if part in fitting]:
        says = "could mean several things" if len(SHORT[symbol].split(" or ")) > 1 else "is not taken"
        return f"{quoted(symbol)} {says}; write {' or '.join(f'{digits} {part}' for part in offers)}"
    if symbol in WRITTEN:
        return f"{digits} {symbol} does not measure this; write one like {example(unit)}"
    near = nearest(symbol, fitting, 0.4) or unit.symbol or fitting[0]
    return f"{quoted(symbol)} is not a unit known here; write {digits} {near}"


def _not_a_number(text: str, unit: Unit[Any], currency: str) -> str:
    """What stands there instead, and how to write it: the first explanation that fits."""
    kind = "a whole number" if unit.kind is int else "a number"
    found = _spaced(text) or _parted(text, unit) or _sum_or_range(text) or _currency_first(text, unit, currency)
    if not found and fullmatch(r"-?\d{16,}.*", text, ASCII):
        found = f"has too many digits; from {limits_of(unit).says(currency)} is accepted"
    return f"{quoted(text)} {found or f'is not {kind}; write one like {example(unit, currency)}'}"


def _spaced(text: str) -> str:
    plain = " ".join(text.split())
    return "" if plain == text else f"holds a space too many or of a special kind; write {shown(plain)}"


def _parted(text: str, unit: Unit[Any]) -> str:
    """Commas, and gaps between groups of digits."""
    if match := fullmatch(r"(\d{1,9}),(\d{1,9})(\.\d+)? ?(\D*)", text, ASCII):
        tail = f" {match[4]}" if match[4] else ""
        thousands = f"{match[1]}{match[2]}{match[3] or ''}" if len(match[2]) == GROUP else ""
        point = "" if match[3] or (thousands and unit.kind is int) else f"{match[1]}.{match[2]}"
        return f"holds a comma; write {' or '.join(f'{one}{tail}' for one in (point, thousands) if one)}"
    if match := fullmatch(r"(\d+(?:[ _']\d{3})+)(\D*)", text, ASCII):
        digits = "".join(letter for letter in match[1] if letter.isdigit())
        return f"is a number with gaps; write {digits}{match[2]}"
    return ""


def _sum_or_range(text: str) -> str:
    if match := fullmatch(r"(\d{1,3}) ?h ?(\d{1,2}) ?(?:min|m)?", text, ASCII):
        return f"is two amounts; one number and one unit are wanted: {int(match[1]) * 60 + int(match[2])} min"
    if fullmatch(rf"\+{NUMBER}.*", text, ASCII):
        return f"has a sign; write {shown(text[1:])}"
    if fullmatch(rf"{NUMBER} ?(-|to) ?{NUMBER}.*", text, ASCII):
        return "is a range; one number is wanted: write the larger"
    if match := fullmatch(rf"({NUMBER}) ?/ ?({NUMBER}).*", text, ASCII):
        return f"is two numbers; one is wanted here: {match[1]} or {match[2]}"
    return ""


def _currency_first(text: str, unit: Unit[Any], currency: str) -> str:
    match = fullmatch(rf"\D{{1,4}}({NUMBER})", text) if CURRENCY in unit.symbol else None
    return f"is not taken here; write {match[1]} {symbol_of(unit, currency)}" if match else ""


def example(unit: Unit[Any], currency: str = "") -> str:
    """An amount of that unit as a person writes it."""
    digits = {
        "%": "20",
        "%/year": "5",
        "V": "230",
        "dB": "45",
        "mm": "600",
        "GiB": "64",
        "Mbit/s": "100",
        CURRENCY: "1200",
    }
    return f"{digits.get(unit.symbol, '14' if unit.kind is int else '12')} {symbol_of(unit, currency)}".rstrip()
