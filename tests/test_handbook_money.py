"""Money against whole cents, decimal and numpy-financial; amounts of copies, power and machines against pint and bitmath."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

import bitmath
import numpy as np
import numpy_financial
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from offices import fold, millrace, planned

from scantling.figures.units import GIB, MONEY, MONEY_A_YEAR, TB, TIB, convert
from scantling.handbook import copies, electrics, lines, money, sharing, sizing

PINT: Any = pint.UnitRegistry()
CENT = Decimal("0.01")
CENTS = st.integers(0, 50_000_000)
FLOATS = st.floats(0.01, 1000)


def of_cents(cents: int) -> Decimal:
    """An amount from whole cents."""
    return Decimal(cents) / 100


def half_up(exact: Fraction) -> int:
    """Whole cents, by whole numbers alone: halves go up (commercial rounding)."""
    return int((2 * exact + 1) // 2)


def left_to_grow(rate: float, years: int, now: float = 0, yearly: float = 0) -> float:
    """What an amount and yearly additions come to (numpy-financial)."""
    with np.errstate(invalid="ignore"):  # without growth the library tries the other form first
        return float(numpy_financial.fv(rate, years, -yearly, -now))


@given(CENTS, st.integers(0, 1000))
def test_a_share_agrees_with_whole_cents(cents: int, tenths: int) -> None:
    """A tax or reserve in tenths of a percent."""
    wanted = half_up(Fraction(cents * tenths, 1000))
    assert money.share_of_price(of_cents(cents), Decimal(tenths) / 10) == of_cents(wanted)


@given(st.integers(0, 10_000), CENTS)
def test_work_agrees_with_whole_cents(quarters: int, rate: int) -> None:
    """Hours by the quarter."""
    wanted = half_up(Fraction(quarters * rate, 4))
    assert money.labour_price(Decimal(quarters) / 4, of_cents(rate)) == of_cents(wanted)


@given(st.integers(0, 1000), CENTS)
def test_so_many_of_a_price_are_exact(number: int, cents: int) -> None:
    assert money.price_of(number, of_cents(cents)) == of_cents(number * cents)


@given(CENTS, CENTS, st.integers(0, 100_000))
def test_fees_of_copies_elsewhere_agree_with_whole_cents(base: int, each: int, gigabytes: int) -> None:
    """Twelve months of a base and so much a terabyte."""
    wanted = half_up(12 * (base + Fraction(each * gigabytes, 1000)))
    found = copies.vault_fee(of_cents(base), of_cents(each), Decimal(gigabytes) / 1000)
    assert found == of_cents(wanted)


@given(CENTS, st.integers(0, 250))
def test_fees_over_years_agree_with_whole_cents(yearly: int, tenths: int) -> None:
    assert copies.over_years(of_cents(yearly), Decimal(tenths) / 10) == of_cents(
        half_up(Fraction(yearly * tenths, 10))
    )


@given(CENTS, st.integers(1, 25))
def test_fees_over_whole_years_agree_with_another_library(yearly: int, years: int) -> None:
    """Payments without interest (numpy-financial, fv)."""
    wanted = left_to_grow(0, years, yearly=yearly) / 100
    assert float(copies.over_years(of_cents(yearly), Decimal(years))) == pytest.approx(wanted, rel=1e-12)


@given(st.lists(CENTS, max_size=40))
def test_sums_are_exact_in_any_order(many: list[int]) -> None:
    """Binary floats are not: 0.1 + 0.2."""
    forth = back = Decimal(0)
    for cents in many:
        forth = money.together(forth, of_cents(cents))
    for cents in reversed(many):
        back = money.together(of_cents(cents), back)
    assert forth == back == of_cents(sum(many))


@pytest.mark.parametrize(
    ("amount", "cents"),
    [("2.675", "2.68"), ("2.665", "2.67"), ("0.125", "0.13"), ("2.6749999", "2.67"), ("-2.675", "-2.68")],
)
def test_halves_go_up_where_a_binary_float_would_drop_them(amount: str, cents: str) -> None:
    """Python's own ROUND_HALF_UP; half to even, its default, gives 2.66 for 2.665; round(2.675, 2) gives 2.67."""
    assert money.to_minor_unit(Decimal(amount)) == Decimal(cents) == Decimal(amount).quantize(CENT, ROUND_HALF_UP)


def test_tax_by_the_line_and_on_the_total_differ_by_a_cent() -> None:
    """Three lines of 33.33 at 20 %: 20.01 by the line, 20.00 on the total, which is what a plan uses."""
    line, rate = Decimal("33.33"), Decimal(20)
    assert 3 * money.share_of_price(line, rate) == Decimal("20.01")
    assert money.share_of_price(money.price_of(3, line), rate) == Decimal("20.00")


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_every_price_of_a_plan_is_whole_cents(text: str) -> None:
    prices = {id_: one.value for id_, one in planned(text).figures.items() if one.unit in (MONEY, MONEY_A_YEAR)}
    assert len(prices) > 20
    assert not {id_: price for id_, price in prices.items() if price != price.quantize(CENT)}


@pytest.mark.parametrize("text", [millrace(), fold()], ids=["millrace", "fold"])
def test_the_rough_price_adds_up_to_the_cent(text: str) -> None:
    """Parts, work and allowances, then the reserve, then the tax; added here in whole cents."""
    figures = planned(text).figures
    cents = {id_: int(one.value * 100) for id_, one in figures.items() if one.unit is MONEY}
    parts = [value for id_, value in cents.items() if id_.startswith("money.parts.")]
    work = [value for id_, value in cents.items() if id_.startswith("money.labour.") and id_.endswith(".price")]
    assert len(parts) >= 5
    assert len(work) >= 3
    assert sum(work) == cents["money.labour.total"]
    assert sum(parts) == cents["money.server"] + cents["money.copies"] + cents["money.other"]
    assert cents["money.sum"] == sum(parts) + sum(work) + cents["money.radio.price"]
    assert cents["money.net"] == cents["money.sum"] + cents["money.contingency"]
    assert cents["money.total"] == cents["money.net"] + cents["money.tax"]


@given(st.floats(0.01, 500), st.floats(0, 0.9), st.integers(0, 25))
def test_growth_agrees_with_another_library(size: float, growth: float, years: int) -> None:
    """A sum left to grow (numpy-financial, fv)."""
    assert sizing.grown_data(size, growth, 0, years) == pytest.approx(left_to_grow(growth, years, now=size), rel=1e-9)
    people = left_to_grow(growth, years, now=10)
    assert people - 1e-6 <= sizing.grown_heads(10, growth, years) < people + 1


# ------------------------------------------------------------------------------------------------ units, by other libraries


@given(FLOATS, FLOATS)
def test_time_to_move_agrees_with_pint(size: float, rate: float) -> None:
    wanted = (size * PINT.terabyte / (rate * PINT.megabyte / PINT.second)).to("hour").magnitude
    assert copies.transfer_time(size, rate) == pytest.approx(wanted, rel=1e-9)
    assert copies.restore_time(2, size, rate) == pytest.approx(2 + wanted, rel=1e-9)


@given(FLOATS)
def test_speed_of_a_line_agrees_with_pint(line: float) -> None:
    """Bits to bytes; 94.92 % of them payload (RFC 6349)."""
    wanted = (line * 0.9492 * PINT.megabit / PINT.second).to("megabyte / second").magnitude
    assert copies.payload(line) == pytest.approx(wanted, rel=1e-9)


@given(st.integers(1, 10_000_000), FLOATS)
def test_time_to_look_at_files_agrees_with_pint(files: int, pace: float) -> None:
    wanted = (files / (pace / PINT.second)).to("hour").magnitude
    assert copies.scan_time(files, pace) == pytest.approx(wanted, rel=1e-9)


@given(FLOATS, FLOATS, st.floats(0, 1))
def test_data_sent_agrees_with_bitmath(speed: float, hours: float, share: float) -> None:
    wanted = bitmath.Mb(speed * share * hours * 3600).to_GB().value
    assert lines.sent_in(speed, hours, share) == pytest.approx(wanted, rel=1e-9)


@given(FLOATS)
def test_memory_and_disk_units_agree_with_bitmath(size: float) -> None:
    assert convert(size, TB, TIB) == pytest.approx(bitmath.TB(size).to_TiB().value, rel=1e-12)
    assert convert(size, GIB, TB) == pytest.approx(bitmath.GiB(size).to_TB().value, rel=1e-12)


@given(st.floats(1, 1e5))
def test_heat_agrees_with_pint(watts: float) -> None:
    """The international-table BTU of 1055.056 J, which is pint's."""
    wanted = (watts * PINT.watt).to("british_thermal_unit / hour").magnitude
    assert electrics.heat(watts) == pytest.approx(wanted, rel=1e-6)


@given(st.floats(1, 63), st.floats(100, 400), st.floats(0, 1))
def test_power_of_a_circuit_agrees_with_pint(rating: float, volts: float, share: float) -> None:
    wanted = (rating * PINT.ampere * volts * PINT.volt * share).to("watt").magnitude
    assert electrics.circuit_power(rating, volts, share) == pytest.approx(wanted, rel=1e-9)


@given(st.floats(1, 10_000), st.floats(0.1, 1))
def test_real_and_apparent_power_undo_each_other(watts: float, factor: float) -> None:
    assert electrics.volt_amperes(watts, factor) * factor == pytest.approx(watts, rel=1e-12)


@given(st.integers(0, 500), st.floats(0, 5000), st.floats(0, 5000))
def test_busy_cores_agree_with_pint(users: int, requests: float, service: float) -> None:
    """Little's law with units: arrivals an hour times milliseconds each."""
    wanted = (users * requests / PINT.hour * service * PINT.millisecond).to("dimensionless").magnitude
    assert sharing.busy_cores(users, requests, service) == pytest.approx(wanted, rel=1e-9, abs=1e-12)
