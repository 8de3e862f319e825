"""Amounts as people write them: exact, converted as pint and bitmath convert, and refused with the right spelling."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import bitmath
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.figures.quantities import PLURALS, SHORT, Amount, Limits, amount, limits_of, parse, spellings
from scantling.figures.spelled import shown, unfit
from scantling.figures.units import (
    AMPERE, CELSIUS, COUNT, DATE, DECIBEL, GB, GIB, HEIGHT_UNIT, HOUR, MB_PER_S, MBIT_PER_S, MINUTE, MM, MONEY, MONEY_AN_HOUR,
    MONTH, NETWORK,
    PER_DAY, PER_YEAR, RATIO, SHARE, TB, TB_PER_YEAR, VA, VOLT, WATT, WORD, WRITTEN, YEAR, Unit, convert,
)  # fmt: skip

PINT = {  # what each symbol means to pint, which shares no table with this project
    "%": "percent", "kB": "kilobyte", "MB": "megabyte", "GB": "gigabyte", "TB": "terabyte", "PB": "petabyte", "KiB": "kibibyte",
    "MiB": "mebibyte", "GiB": "gibibyte", "TiB": "tebibyte", "kbit/s": "kilobit/second", "Mbit/s": "megabit/second",
    "Gbit/s": "gigabit/second", "MB/s": "megabyte/second", "TB/year": "terabyte/year", "GB/year": "gigabyte/year", "ms": "millisecond",
    "s": "second", "min": "minute", "h": "hour", "day": "day", "week": "week", "month": "month", "year": "year",
    "%/year": "percent/year", "%/day": "percent/day", "/h": "1/hour", "/s": "1/second", "op/s": "1/second", "W": "watt", "kW": "kilowatt",
    "VA": "volt_ampere", "Wh": "watt_hour", "V": "volt", "A": "ampere", "mm": "millimeter", "cm": "centimeter", "m": "meter",
    "U": "1.75 * inch", "kg": "kilogram",
}  # fmt: skip
NO_SCALE = {"dB", "°C"}  # levels and temperatures are not converted here
BITMATH = {
    "kB": bitmath.kB, "MB": bitmath.MB, "GB": bitmath.GB, "TB": bitmath.TB, "PB": bitmath.PB, "KiB": bitmath.KiB, "MiB": bitmath.MiB,
    "GiB": bitmath.GiB, "TiB": bitmath.TiB,
}  # fmt: skip
UNITS: Any = pint.UnitRegistry()
SCALED = [unit for unit in WRITTEN.values() if unit.symbol not in NO_SCALE]
PAIRS = [(a, b) for a in SCALED for b in SCALED if a.dimension == b.dimension and a.kind is b.kind]
DIGITS = st.from_regex(r"(0|[1-9][0-9]{0,5})(\.[0-9]{1,6})?", fullmatch=True)


def said(text: str, unit: Unit[Any], currency: str = "EUR") -> str:
    """What is said when a text is refused."""
    with pytest.raises(ValueError, match=r".") as caught:
        parse(text, unit, currency)
    return str(caught.value)


# ------------------------------------------------------------------------------------------------------- the tables


def test_every_unit_that_may_be_written_is_known_to_the_referee() -> None:
    assert set(PINT) | NO_SCALE == set(WRITTEN)


@given(st.sampled_from(PAIRS), DIGITS)
def test_conversions_are_those_of_pint(pair: tuple[Unit[Any], Unit[Any]], digits: str) -> None:
    have, want = pair
    theirs = UNITS.Quantity(float(digits), PINT[have.symbol]).to(PINT[want.symbol]).magnitude
    ours = convert(float(digits), have, want)
    assert ours == pytest.approx(theirs, rel=1e-9)


@given(st.sampled_from(sorted(BITMATH)), st.sampled_from(sorted(BITMATH)), DIGITS)
def test_sizes_are_those_of_bitmath(have: str, want: str, digits: str) -> None:
    theirs = BITMATH[want].from_other(BITMATH[have](float(digits))).value
    assert float(Amount(Fraction(digits), WRITTEN[have]).base / WRITTEN[want].scale) == pytest.approx(
        theirs, rel=1e-12
    )


@pytest.mark.parametrize("plural", PLURALS)
def test_plurals_mean_what_they_mean_to_pint(plural: str) -> None:
    assert float(PLURALS[plural].scale) == pytest.approx(UNITS.Quantity(1, plural).to("second").magnitude, rel=1e-12)


# ---------------------------------------------------------------------------------------------------------- exactness


@given(st.sampled_from(SCALED), DIGITS, st.sampled_from(["", " "]))
def test_what_is_written_is_read_exactly_in_its_own_unit(unit: Unit[Any], digits: str, gap: str) -> None:
    given_ = f"{digits}{gap}{unit.symbol}"
    if unit.kind is int and Fraction(digits).denominator != 1:
        assert "is not a whole number" in said(given_, unit)
        return
    assert amount(given_, unit) == Amount(Fraction(digits), unit)


@given(st.decimals(0, 10_000_000, places=2))
def test_money_keeps_its_cents(value: Decimal) -> None:
    assert parse(f"{value:.2f} EUR", MONEY, "EUR") == (value, MONEY)


@given(st.sampled_from(PAIRS), DIGITS)
def test_a_bound_is_exact_in_any_unit(pair: tuple[Unit[Any], Unit[Any]], digits: str) -> None:
    have, want = pair
    limits = limits_of(want)
    inside = limits.least.base <= Fraction(digits) * have.scale <= limits.most.base
    if have.symbol not in spellings(want) or (have.kind is int and "." in digits):
        return
    try:
        parse(f"{digits} {have.symbol}", want)
        read = True
    except ValueError:
        read = False
    assert read == inside


@given(st.text(max_size=30), st.sampled_from([*SCALED, COUNT, RATIO, MONEY, WORD, DATE, NETWORK]))
def test_no_text_brings_anything_but_a_sentence(text: str, unit: Unit[Any]) -> None:
    told = ""
    try:
        parse(text, unit, "EUR")
    except ValueError as wrong:
        told = str(wrong)
    assert not any(map(unfit, told))


# ---------------------------------------------------------------------------------------------------- the right spelling

SPELLINGS = [
    ("1,5 TB", TB, "write 1.5 TB"),
    ("1,000 TB", TB, "write 1.000 TB or 1000 TB"),
    ("1,000.5 TB", TB, "write 1000.5 TB"),
    ("1 000 TB", TB, "write 1000 TB"),
    ("1_000 TB", TB, "write 1000 TB"),
    ("10 Mb", TB, "write 10 MB"),
    ("10 Mb", MBIT_PER_S, "write 10 Mbit/s"),
    ("10 Mb/s", MBIT_PER_S, "write 10 Mbit/s or 10 MB/s"),
    ("64 G", GIB, "write 64 GB or 64 GiB"),
    ("12 T", TB, "write 12 TB or 12 TiB"),
    ("64 K", TB, "write 64 kB or 64 KiB"),
    ("12 tb", TB, "write 12 TB"),
    ("12", TB, "the unit is missing; write 12 TB"),
    ("12\u00a0TB", TB, "write 12 TB"),
    ("12  TB", TB, "write 12 TB"),
    ("12 TB ", TB, "write 12 TB"),
    ("12 W", TB, "12 W does not measure this"),
    ("5 VA", WATT, "VA does not measure this"),
    ("5 W", VA, "W does not measure this"),
    ("5 op/s", PER_YEAR, "op/s does not measure this"),
    ("3 TB/year", MBIT_PER_S, "TB/year does not measure this"),
    ("15 %", PER_YEAR, "write 15 %/year"),
    ("3 %", PER_DAY, "write 3 %/year or 3 %/day"),
    ("0.85", SHARE, "write 85 %"),
    ("85", SHARE, "write 85 %"),
    ("4 h 30 min", HOUR, "270 min"),
    ("4h30", HOUR, "270 min"),
    ("4 m", HOUR, "write 4 min or 4 month"),
    ("5 y", YEAR, "write 5 year"),
    ("38 dBA", DECIBEL, "write 38 dB"),
    ("230", VOLT, "write 230 V"),
    ("16 Amp", AMPERE, "write 16 A"),
    ("4.5", COUNT, "is not a whole number"),
    ("4 people", COUNT, 'a bare number is wanted, like 4, without "people"'),
    ("4 %", COUNT, "a bare number is wanted"),
    ("+4", COUNT, "write 4"),
    ("5-10", COUNT, "one number is wanted"),
    ("100/20 Mbit/s", MBIT_PER_S, "is two numbers; one is wanted here: 100 or 20"),
    ("2.5 U", HEIGHT_UNIT, "is not a whole number"),
    ("2 mm", HEIGHT_UNIT, "mm does not measure this"),
    ("1200", MONEY, "write 1200 EUR"),
    ("1200 USD", MONEY, "this office pays in EUR, not USD"),
    ("1200 eur", MONEY, "write 1200 EUR"),
    ("€1200", MONEY, "write 1200 EUR"),
    ("EUR 1200", MONEY, "write 1200 EUR"),
    ("1200.005 EUR", MONEY, "at most two places"),
    ("85 EUR", MONEY_AN_HOUR, "write 85 EUR/h"),
]


@pytest.mark.parametrize(("text", "unit", "says"), SPELLINGS)
def test_a_slip_is_refused_with_the_right_spelling(text: str, unit: Unit[Any], says: str) -> None:
    assert says in said(text, unit)


@pytest.mark.parametrize(("text", "unit", "says"), [case for case in SPELLINGS if "write " in case[2]])
def test_the_spelling_offered_is_taken(text: str, unit: Unit[Any], says: str) -> None:
    assert text
    for offered in says.split("write ", 1)[1].split(" or "):
        parse(offered, unit, "EUR")


@pytest.mark.parametrize("unit", [COUNT, RATIO, TB, MONEY, SHARE], ids=lambda unit: unit.symbol or unit.kind.__name__)
@pytest.mark.parametrize(
    "text",
    [
        "1e3",
        "inf",
        "nan",
        "-inf",
        "0x10",
        "1_000",
        "\uff11\uff12",
        "\u0661\u0662",
        "1\u0660",
        "½",
        "1½",
        "1.",
        ".5",
        "1.5.2",
        "--1",
        "1/2",
        "lots",
        "∞",
    ],
)
def test_numbers_that_only_a_machine_would_take_are_refused(text: str, unit: Unit[Any]) -> None:
    symbol = {MONEY: "EUR"}.get(unit, unit.symbol)
    assert said(f"{text} {symbol}".rstrip(), unit)


RANGES = [
    ("-1", COUNT, "from 0 to 10,000,000 is accepted"),
    ("1000000000", COUNT, "from 0 to 10,000,000 is accepted"),
    ("99999999999999999999", COUNT, "from 0 to 10,000,000 is accepted"),
    ("1 ZB", TB, "from 0 to 10 PB is accepted"),
    ("1 EiB", TB, "from 0 to 10 PB is accepted"),
    ("10.000001 PB", TB, "from 0 to 10 PB is accepted"),
    ("-5 EUR", MONEY, "from 0 to 10,000,000 EUR is accepted"),
    ("10000000.01 EUR", MONEY, "from 0 to 10,000,000 EUR is accepted"),
    ("101 year", HOUR, "from 0 to 100 year is accepted"),
    ("-5 %/year", PER_YEAR, "from 0 to 1,000 %/year is accepted"),
    ("1001 m", MM, "from 0 to 1,000 m is accepted"),
    ("-41 °C", CELSIUS, "from -40 to 100 °C is accepted"),
]


@pytest.mark.parametrize(("text", "unit", "says"), RANGES)
def test_what_nobody_can_mean_is_refused_with_the_range(text: str, unit: Unit[Any], says: str) -> None:
    assert says in said(text, unit)


def test_a_range_from_nothing_on_needs_no_unit_for_it() -> None:
    most = Amount(Fraction(1440), MINUTE)
    assert Limits(Amount(Fraction(0), YEAR), most).says() == "0 to 1,440 min"
    assert Limits(Amount(Fraction(1), HOUR), most).says() == "1 h to 1,440 min"
    assert Limits(Amount(Fraction(1), MINUTE), most).says() == "1 to 1,440 min"


def test_a_range_is_closed_at_both_ends() -> None:
    assert parse("10 PB", TB)[0] == 10.0
    assert parse("0 TB", TB)[0] == 0.0
    assert parse("-40 °C", CELSIUS)[0] == -40.0
    assert parse("100 year", MINUTE) == (100.0, YEAR)


def test_memory_in_thousands_is_kept_apart_from_powers_of_two() -> None:
    value, unit = parse("64 GB", GIB)
    assert (value, unit) == (64.0, GB)
    assert convert(value, unit, GIB) == pytest.approx(59.6046, abs=1e-4)  # 64·10⁹ ÷ 2³⁰, IEC 80000-13


def test_kin_units_are_taken_for_each_other() -> None:
    assert parse("50 MB/s", MBIT_PER_S) == (50.0, MB_PER_S)
    assert parse("2 years", MONTH) == (2.0, YEAR)
    assert parse("120 %", RATIO) == (120.0, SHARE)
    assert parse("600 GB/year", TB_PER_YEAR)[0] == 600.0


def test_every_spelling_offered_for_a_shorthand_is_a_unit() -> None:
    offered = {part for offers in SHORT.values() for part in offers.split(" or ")}
    assert offered <= set(WRITTEN)
    assert not set(SHORT) & set(PLURALS)


def test_what_is_shown_of_a_hostile_text_is_short_and_printable() -> None:
    told = shown("\x1b[31m" + "x" * 500 + "\u202e")
    assert len(told) < 60
    assert told.startswith("<U+001B>[31m")
    assert not any(map(unfit, told))
