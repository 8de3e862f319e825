"""Units: a symbol, a dimension and a scale, and the aliases that carry them into signatures."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from typing import Annotated, Any, Generic, TypeVar

N = TypeVar("N")
N_co = TypeVar("N_co", covariant=True)
Dimension = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Unit(Generic[N_co]):
    """One unit: `kind` is the Python type of its numbers, `scale` how many base units it holds.

    Each is made once and told apart by being that one, also after it was sent to another process.
    """

    symbol: str
    kind: type[N_co]
    dimension: Dimension = ()
    scale: Fraction = Fraction(1)
    meaning: str = ""
    """What sets it apart from another unit of the same symbol; it decides how people read the number."""

    @property
    def numeric(self) -> bool:
        """Whether its values are numbers that can be converted."""
        return self.kind in (int, float, Decimal)

    def __reduce__(self) -> tuple[Any, ...]:
        """Unpickled as the very one that this process has."""
        return _the, (self.symbol, self.kind, self.dimension, self.scale, self.meaning)


class DimensionError(TypeError):
    """A figure of another dimension than asked for."""


@cache
def _the(symbol: str, kind: Any, dimension: Dimension, scale: Fraction, meaning: str) -> Unit[Any]:
    return Unit(symbol, kind, dimension, scale, meaning)


def _unit(symbol: str, kind: type[N], scale: Fraction | int | str = 1, meaning: str = "", **powers: int) -> Unit[N]:
    hashable: Any = kind
    return _the(symbol, hashable, tuple(sorted(powers.items())), Fraction(scale), meaning)


def closed(kind: type[N]) -> Unit[N]:
    """The unit of values that are not numbers: a closed choice of words, an address, a date."""
    hashable: Any = kind
    return _the("", hashable, (), Fraction(1), "")


SECONDS_A_YEAR = 31_557_600  # 365.25 days, so that a year is 8766 h; state the year (CHECKS trap 7)
BITS_A_TERABYTE = 8 * 10**12

COUNT = _unit("", int)
RATIO = _unit("", float)
EXPECTED = _unit("", float, meaning="expected")  # a mean number of people or things, which need not be whole
SHARE = _unit("%", float, "1/100")
SAME = _unit("?", float)  # a rule for any unit: all such arguments share it, and so may the result
DECIBEL = _unit("dB", float, level=1)
TRUTH, WORD, DATE = closed(bool), closed(str), closed(date)
NETWORK, ADDRESS = closed(IPv4Network), closed(IPv4Address)
NETWORK6, ADDRESS6 = closed(IPv6Network), closed(IPv6Address)

BIT = _unit("bit", float, 1, data=1)
KB, MB, GB = (_unit(s, float, 8 * 10**p, data=1) for s, p in (("kB", 3), ("MB", 6), ("GB", 9)))
TB, PB = (_unit(s, float, 8 * 10**p, data=1) for s, p in (("TB", 12), ("PB", 15)))
KIB, MIB, GIB, TIB = (
    _unit(s, float, 8 * 2**p, data=1) for s, p in (("KiB", 10), ("MiB", 20), ("GiB", 30), ("TiB", 40))
)
KBIT_PER_S, MBIT_PER_S = (_unit(s, float, 10**p, data=1, time=-1) for s, p in (("kbit/s", 3), ("Mbit/s", 6)))
GBIT_PER_S = _unit("Gbit/s", float, 10**9, data=1, time=-1)
MB_PER_S = _unit("MB/s", float, 8 * 10**6, data=1, time=-1)
TB_PER_YEAR = _unit("TB/year", float, Fraction(BITS_A_TERABYTE, SECONDS_A_YEAR), data=1, time=-1)
GB_PER_YEAR = _unit("GB/year", float, Fraction(BITS_A_TERABYTE, 1000 * SECONDS_A_YEAR), data=1, time=-1)
MILLISECOND = _unit("ms", float, "1/1000", time=1)
SECOND, MINUTE, HOUR = (_unit(s, float, n, time=1) for s, n in (("s", 1), ("min", 60), ("h", 3600)))
DAY, WEEK, YEAR = (
    _unit(s, float, n, time=1) for s, n in (("day", 86400), ("week", 604800), ("year", SECONDS_A_YEAR))
)
MONTH = _unit("month", float, SECONDS_A_YEAR // 12, time=1)
AGE = _unit("year", float, SECONDS_A_YEAR, "age", time=1)
YEARLY = _unit("/year", float, Fraction(1, SECONDS_A_YEAR), time=-1)
PER_YEAR = _unit("%/year", float, Fraction(1, 100 * SECONDS_A_YEAR), time=-1)
DAILY = _unit("/day", float, Fraction(1, 86400), time=-1)
PER_DAY = _unit("%/day", float, Fraction(1, 100 * 86400), time=-1)
PER_SECOND = _unit("/s", float, 1, time=-1)
HOURLY = _unit("/h", float, Fraction(1, 3600), time=-1)
IOPS = _unit("op/s", float, 1, time=-1)
WATT, KILOWATT, BTU_PER_H = (
    _unit("W", float, power=1),
    _unit("kW", float, 1000, power=1),
    _unit("BTU/h", float, Fraction(1055056, 3_600_000), power=1),
)  # the international-table BTU, 1055.056 J (CHECKS trap 18)
VA, WH = _unit("VA", float, apparent=1), _unit("Wh", float, 3600, power=1, time=1)
VOLT, AMPERE = _unit("V", float, potential=1), _unit("A", float, current=1)
MM, CM, METRE = (_unit(s, float, f, length=1) for s, f in (("mm", "1/1000"), ("cm", "1/100"), ("m", "1")))
HEIGHT_UNIT = _unit("U", int, "4445/100000", length=1)  # one rack height unit is 44.45 mm
KILOGRAM = _unit("kg", float, mass=1)
CELSIUS = _unit("°C", float, temperature=1)

CURRENCY = "¤"  # stands for the plan's currency until something is printed
MONEY = _unit(CURRENCY, Decimal, money=1)
MONEY_A_MONTH = _unit(f"{CURRENCY}/month", Decimal, Fraction(12, SECONDS_A_YEAR), money=1, time=-1)
MONEY_A_YEAR = _unit(f"{CURRENCY}/year", Decimal, Fraction(1, SECONDS_A_YEAR), money=1, time=-1)
MONEY_AN_HOUR = _unit(f"{CURRENCY}/h", Decimal, Fraction(1, 3600), money=1, time=-1)
# numbers that have entered money; they print as the plain unit does
PAID_HOUR = _unit("h", Decimal, 3600, time=1)
PAID_YEAR = _unit("year", Decimal, SECONDS_A_YEAR, time=1)
PAID_SHARE = _unit("%", Decimal, "1/100")
PAID_RATIO = _unit("", Decimal)
PAID_TB = _unit("TB", Decimal, BITS_A_TERABYTE, data=1)

Count = Annotated[int, COUNT]
Ratio = Annotated[float, RATIO]
Expected = Annotated[float, EXPECTED]
Quantity = Annotated[float, SAME]
Decibels = Annotated[float, DECIBEL]
Truth = Annotated[bool, TRUTH]
Word = Annotated[str, WORD]
Date = Annotated[date, DATE]
Network = Annotated[IPv4Network, NETWORK]
Address = Annotated[IPv4Address, ADDRESS]
Network6 = Annotated[IPv6Network, NETWORK6]
Address6 = Annotated[IPv6Address, ADDRESS6]
Percent = Annotated[float, SHARE]
Kilobytes = Annotated[float, KB]
Megabytes = Annotated[float, MB]
Gigabytes = Annotated[float, GB]
Terabytes = Annotated[float, TB]
Gibibytes = Annotated[float, GIB]
Tebibytes = Annotated[float, TIB]
KilobitsPerSecond = Annotated[float, KBIT_PER_S]
MegabitsPerSecond = Annotated[float, MBIT_PER_S]
MegabytesPerSecond = Annotated[float, MB_PER_S]
TerabytesPerYear = Annotated[float, TB_PER_YEAR]
Milliseconds = Annotated[float, MILLISECOND]
Seconds = Annotated[float, SECOND]
Minutes = Annotated[float, MINUTE]
Hours = Annotated[float, HOUR]
Days = Annotated[float, DAY]
Months = Annotated[float, MONTH]
Years = Annotated[float, YEAR]
Age = Annotated[float, AGE]
Yearly = Annotated[float, YEARLY]
PercentPerYear = Annotated[float, PER_YEAR]
PercentPerDay = Annotated[float, PER_DAY]
Daily = Annotated[float, DAILY]
PerSecond = Annotated[float, PER_SECOND]
Hourly = Annotated[float, HOURLY]
Iops = Annotated[float, IOPS]
Watts = Annotated[float, WATT]
BtuPerHour = Annotated[float, BTU_PER_H]
VoltAmperes = Annotated[float, VA]
WattHours = Annotated[float, WH]
Volts = Annotated[float, VOLT]
Amperes = Annotated[float, AMPERE]
Millimetres = Annotated[float, MM]
Centimetres = Annotated[float, CM]
Metres = Annotated[float, METRE]
HeightUnits = Annotated[int, HEIGHT_UNIT]
Kilograms = Annotated[float, KILOGRAM]
Celsius = Annotated[float, CELSIUS]
Money = Annotated[Decimal, MONEY]
MoneyAMonth = Annotated[Decimal, MONEY_A_MONTH]
MoneyAYear = Annotated[Decimal, MONEY_A_YEAR]
MoneyAnHour = Annotated[Decimal, MONEY_AN_HOUR]
PaidHours = Annotated[Decimal, PAID_HOUR]
PaidYears = Annotated[Decimal, PAID_YEAR]
PaidShare = Annotated[Decimal, PAID_SHARE]
PaidRatio = Annotated[Decimal, PAID_RATIO]
PaidTerabytes = Annotated[Decimal, PAID_TB]

WRITTEN: Mapping[str, Unit[Any]] = {
    unit.symbol: unit
    for unit in (
        SHARE, DECIBEL, KB, MB, GB, TB, PB, KIB, MIB, GIB, TIB, KBIT_PER_S, MBIT_PER_S, GBIT_PER_S, MB_PER_S, TB_PER_YEAR,
        GB_PER_YEAR, MILLISECOND, SECOND, MINUTE, HOUR, DAY, WEEK, MONTH, YEAR, PER_YEAR, PER_DAY, HOURLY, PER_SECOND, IOPS, WATT, KILOWATT,
        VA, WH, VOLT, AMPERE, MM, CM, METRE, HEIGHT_UNIT, KILOGRAM, CELSIUS,
    )
}  # fmt: skip
"""Every unit that a person may write in a brief or catalogue, by its symbol (money is written with its currency)."""


def convert(value: Any, have: Unit[Any], want: Unit[Any]) -> Any:
    """The same quantity in another unit; numbers may enter money, money never leaves it.

    Raises DimensionError when the dimensions differ, or when a fraction is given where a whole number is due.
    """
    if have is want or (want is WORD and issubclass(have.kind, str)):  # a word of a closed choice is a word
        return value
    if have.dimension != want.dimension or have.numeric != want.numeric or not _enters(have.kind, want.kind):
        raise DimensionError(f"{_called(have)} where {_called(want)} is due")
    factor = have.scale / want.scale
    if want.kind is Decimal:
        number = value if isinstance(value, Decimal) else Decimal(f"{value:.9g}")
        return number if factor == 1 else number * factor.numerator / factor.denominator
    return value if factor == 1 else value * factor.numerator / factor.denominator


def _enters(have: type[Any], want: type[Any]) -> bool:
    if want is int:
        return have is int
    return have is want or (want in (float, Decimal) and have is not Decimal) or want is Decimal


def _called(unit: Unit[Any]) -> str:
    return unit.symbol or unit.kind.__name__
