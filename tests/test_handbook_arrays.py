"""Arrays by second roads: linear algebra, exact fractions, simulation with a fixed seed, scipy and pint."""

from fractions import Fraction
from itertools import count
from math import expm1, isclose, log1p
from typing import Any

import numpy as np
import numpy_financial
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import expm
from scipy.stats import binom

from scantling.figures import Attribute, Figure, Origin
from scantling.figures.units import TB, TIB, convert
from scantling.handbook import arrays
from scantling.handbook.arrays import Level

PINT: Any = pint.UnitRegistry()
HOURS_A_YEAR = 8766
SAFE = (Level.MIRROR, Level.PAIRS, Level.SINGLE_PARITY, Level.DOUBLE_PARITY)
SHAPES = [(level, disks) for level in SAFE for disks in arrays.COUNTS[level]]
HAZARDS, REPAIRS = st.floats(1e-8, 1e-4), st.floats(1 / 500, 1)
Matrix = np.ndarray[Any, np.dtype[np.float64]]


def rates(level: Level, disks: int, hazard: float) -> list[float]:
    """Failures an hour that lead on, by disks out; of a pair with one disk out only its partner leads on."""
    if level in (Level.MIRROR, Level.PAIRS):
        return [disks * hazard, hazard]
    out = 3 if level is Level.DOUBLE_PARITY else 2
    return [(disks - failed) * hazard for failed in range(out)]


def generator(up: list[float], repair: float) -> Matrix:
    """Rates between the states of the chain; the last one is loss and keeps what comes."""
    size = len(up) + 1
    matrix = np.zeros((size, size))
    for state, rate in enumerate(up):
        matrix[state, state + 1] = rate
        if state:
            matrix[state, state - 1] = repair
        matrix[state, state] = -matrix[state].sum()
    return matrix


@pytest.mark.parametrize(("level", "disks"), SHAPES)
@given(hazard=st.floats(1e-5, 1e-3), repair=st.floats(1 / 500, 0.2))
def test_mean_time_to_loss_agrees_with_linear_algebra(level: Level, disks: int, hazard: float, repair: float) -> None:
    """Mean first passage: the solution of Q t = -1 over the states that are not loss, where floats can solve it."""
    chain = generator(rates(level, disks, hazard), repair)[:-1, :-1]
    wanted = float(np.linalg.solve(chain, -np.ones(len(chain)))[0])
    assert isclose(arrays.mean_time_to_loss(level, disks, hazard, repair), wanted, rel_tol=1e-6)


def solved(matrix: list[list[Fraction]], right: list[Fraction]) -> list[Fraction]:
    """The same by Gauss's elimination in exact fractions, since rare failures leave floats no digits."""
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for pivot, row in enumerate(rows):
        row[:] = [value / row[pivot] for value in row]
        for other in rows:
            if other is not row:
                other[:] = [a - other[pivot] * b for a, b in zip(other, row, strict=True)]
    return [row[-1] for row in rows]


@pytest.mark.parametrize(("level", "disks"), SHAPES)
@given(hazard=HAZARDS, repair=REPAIRS)
def test_mean_time_to_loss_agrees_with_exact_fractions(
    level: Level, disks: int, hazard: float, repair: float
) -> None:
    fails, mends = [Fraction(rate) for rate in rates(level, disks, hazard)], Fraction(repair)
    size = len(fails)
    chain = [[Fraction(0)] * size for _ in fails]
    for state, rate in enumerate(fails):
        chain[state][state] = -rate - (mends if state else 0)
        if state:
            chain[state][state - 1] = mends
        if state + 1 < size:
            chain[state][state + 1] = rate
    wanted = solved(chain, [Fraction(-1)] * size)[0]
    assert isclose(arrays.mean_time_to_loss(level, disks, hazard, repair), float(wanted), rel_tol=1e-12)


@pytest.mark.parametrize("disks", arrays.COUNTS[Level.SINGLE_PARITY])
@given(hazard=HAZARDS, repair=REPAIRS)
def test_single_parity_agrees_with_the_closed_form_in_fractions(disks: int, hazard: float, repair: float) -> None:
    """((2n - 1) l + m) / (n (n - 1) l^2), in exact numbers (reliability textbooks, from memory)."""
    fails, mends = Fraction(hazard), Fraction(repair)
    wanted = ((2 * disks - 1) * fails + mends) / (disks * (disks - 1) * fails**2)
    assert isclose(arrays.mean_time_to_loss(Level.SINGLE_PARITY, disks, hazard, repair), float(wanted), rel_tol=1e-12)


@pytest.mark.parametrize(("level", "disks"), SHAPES)
@pytest.mark.parametrize("failures", [0.008, 0.02, 0.15])
def test_chance_of_loss_agrees_with_the_chain_over_time(level: Level, disks: int, failures: float) -> None:
    """The matrix exponential over five years: the mean time alone is good to the share a rebuild is of the years."""
    years, rebuild = 5, 48
    hazard = -log1p(-failures) / HOURS_A_YEAR
    states = expm(generator(rates(level, disks, hazard), 1 / rebuild) * years * HOURS_A_YEAR)
    found = arrays.array_loss(level, disks, failures, rebuild, years)
    assert found == pytest.approx(100 * float(states[0, -1]), rel=0.005, abs=1e-9)


def pairs(disks: int, hazard: float, repair: float) -> Matrix:
    """All pairs in one chain: any number of them may have a disk out at once, and each is rebuilt by itself."""
    whole = disks // 2
    matrix = np.zeros((whole + 1, whole + 1))
    for out in range(whole + 1):
        if out < whole:
            matrix[out, out + 1] = 2 * (whole - out) * hazard
        if out:
            matrix[out, out - 1] = out * repair
        matrix[out, out] = -matrix[out].sum() - out * hazard
    return matrix


@pytest.mark.parametrize("disks", arrays.COUNTS[Level.PAIRS])
def test_pairs_agree_with_the_chain_of_all_pairs(disks: int) -> None:
    """Counting one weak pair at a time changes a thousandth where disks fail seldom and rebuilds take a day."""
    hazard, repair = 0.02 / HOURS_A_YEAR, 1 / 24
    chain = pairs(disks, hazard, repair)
    wanted = float(np.linalg.solve(chain, -np.ones(len(chain)))[0])
    assert arrays.mean_time_to_loss(Level.PAIRS, disks, hazard, repair) == pytest.approx(wanted, rel=1e-3)


def lost_in(draw: np.random.Generator, level: Level, disks: int, times: tuple[float, float, float]) -> bool:
    """One life of an array, disk by disk: lives and rebuilds drawn from their laws, one rebuild at a time.

    `times`: mean life of a disk, mean rebuild, length of the story, all in hours.
    """
    life, rebuild, end = times
    fails = list(draw.exponential(life, disks))
    waiting: list[int] = []
    done = float("inf")
    while True:
        first = int(np.argmin(fails))
        now = min(fails[first], done)
        if now > end:
            return False
        if done <= fails[first]:
            fails[waiting.pop(0)] = now + draw.exponential(life)
        else:
            fails[first] = float("inf")
            if is_lost(level, waiting, first):
                return True
            waiting.append(first)
            done = float("inf") if len(waiting) == 1 else done
        if not waiting:
            done = float("inf")
        elif now == done or done == float("inf"):
            done = now + draw.exponential(rebuild)


def is_lost(level: Level, out: list[int], failing: int) -> bool:
    """Whether one more disk out is one too many; disks 2k and 2k + 1 are a pair."""
    if level in (Level.MIRROR, Level.PAIRS):
        return failing ^ 1 in out
    return len(out) == (2 if level is Level.DOUBLE_PARITY else 1)


@pytest.mark.parametrize(
    ("level", "disks"),
    [(Level.MIRROR, 2), (Level.PAIRS, 6), (Level.SINGLE_PARITY, 4), (Level.DOUBLE_PARITY, 6), (Level.DOUBLE_PARITY, 12)],
)  # fmt: skip
def test_chance_of_loss_agrees_with_a_simulation(level: Level, disks: int) -> None:
    """Disks that fail far too often, so that losses are many: within four standard errors, seed fixed."""
    failures, rebuild, years, lives = 0.5, 200.0, 3, 4000
    draw = np.random.default_rng(2024)
    life = HOURS_A_YEAR / -log1p(-failures)
    times = (life, rebuild, years * float(HOURS_A_YEAR))
    lost = sum(lost_in(draw, level, disks, times) for _ in range(lives)) / lives
    found = arrays.array_loss(level, disks, failures, rebuild, years) / 100
    assert 0.02 < lost < 0.98, "too few or too many losses to judge by"
    assert abs(found - lost) < 4 * (found * (1 - found) / lives) ** 0.5


@given(st.floats(0.001, 0.5), st.floats(0.1, 30))
def test_a_single_disk_is_lost_as_often_as_it_fails(failures: float, years: float) -> None:
    found = arrays.array_loss(Level.SINGLE_DISK, 1, failures, 24, years)
    assert found == pytest.approx(-100 * expm1(years * log1p(-failures)), rel=1e-9)


@given(st.floats(0.01, 40), st.floats(1e-17, 1e-13))
def test_unreadable_sectors_agree_with_the_binomial(read: float, errors: float) -> None:
    """Bits drawn one by one: scipy's chance that at least one of them can't be read."""
    wanted = float(binom.sf(0, round(read * 8e12), errors))
    assert isclose(arrays.read_error(read, errors), wanted, rel_tol=1e-6, abs_tol=1e-12)


@pytest.mark.parametrize(
    ("level", "disks", "read"), [(Level.SINGLE_PARITY, 5, 32.0), (Level.MIRROR, 2, 8.0), (Level.PAIRS, 8, 8.0)]
)
def test_files_lost_agree_with_rebuilds_drawn_one_by_one(level: Level, disks: int, read: float) -> None:
    """20,000 stories of five years with a fixed seed: failures drawn, each rebuild read whole or not."""
    failures, errors, years, stories = 0.1, 1e-15, 5, 20_000
    draw = np.random.default_rng(7)
    rebuilds = draw.poisson(disks * -log1p(-failures) * years, stories)
    spoiled = draw.binomial(rebuilds, float(binom.sf(0, round(read * 8e12), errors)))
    wanted = float(np.mean(spoiled > 0))
    found = arrays.files_lost(level, disks, 8, failures, errors, years) / 100
    assert abs(found - wanted) < 4 * (found * (1 - found) / stories) ** 0.5


@pytest.mark.parametrize(
    ("disks", "kept", "size", "tebibytes"), [(4, 1, 12, 32.7418), (8, 0, 20, 145.5192), (8, 4, 20, 72.7596)]
)
def test_room_in_both_kinds_of_terabyte(disks: int, kept: int, size: int, tebibytes: float) -> None:
    """IEC 80000-13: a terabyte is 0.9095 tebibytes; pint agrees."""
    room = arrays.array_capacity(disks, kept, size)
    assert convert(room, TB, TIB) == pytest.approx(tebibytes, abs=1e-4)
    assert convert(room, TB, TIB) == pytest.approx((room * PINT.terabyte).to("tebibyte").magnitude, rel=1e-12)


@given(st.floats(0.1, 30), st.floats(10, 500), st.floats(0.05, 1))
def test_rebuild_time_agrees_with_pint(size: float, rate: float, share: float) -> None:
    wanted = (size * PINT.terabyte / (rate * share * PINT.megabyte / PINT.second)).to("hour").magnitude
    assert arrays.rebuild_time(size, rate, share) == pytest.approx(wanted, rel=1e-9)


@given(st.integers(1, 12), st.floats(50, 1e5), st.floats(0, 1), st.sampled_from(list(Level)))
def test_work_behind_an_array_is_conserved(disks: int, speed: float, writes: float, level: Level) -> None:
    """Reads cost one operation, writes the penalty; together they are all that the disks can do."""
    given_ = arrays.array_speed(disks, speed, writes, arrays.PENALTY(level))
    behind = given_ * (1 - writes) + given_ * writes * arrays.PENALTY(level)
    assert behind == pytest.approx(disks * speed, rel=1e-9)


@given(st.floats(0.5, 50), st.floats(0.02, 0.9), st.floats(1.01, 8))
def test_month_when_full_agrees_with_another_library(size: float, growth: float, times: float) -> None:
    """numpy-financial's number of periods of a growing amount."""
    with np.errstate(divide="ignore"):  # the library tries a form for payments first
        months = 12 * float(numpy_financial.nper(growth, 0, -size, size * times))
    found = arrays.full_in_month(size, growth, 0, size * times)
    assert found == 120 if months > 120 else abs(found - months) <= 1 + 1e-6 and found >= months - 1e-6


@given(st.floats(0, 50), st.floats(0, 0.9), st.floats(0, 10), st.floats(0, 100))
def test_month_when_full_is_the_first(size: float, growth: float, adds: float, room: float) -> None:
    """Counted up by hand, month by month."""
    full = (
        month for month in count() if size * (1 + growth) ** (month / 12) + adds * month / 12 > room or month == 120
    )
    assert arrays.full_in_month(size, growth, adds, room) == next(full)


class Disk:
    """A disk of the shelf."""

    slug = "disk"

    def get(self, attribute: Attribute[Any]) -> Any:
        """Nothing is asked of it here."""
        return attribute.name

    def figure(self, attribute: Attribute[Any]) -> Figure[Any]:
        """The same as a figure."""
        return Figure(attribute.name, attribute.unit, Origin("catalogue", "a test"))


def test_layouts_are_all_that_the_levels_allow() -> None:
    """Single parity from three disks, double from four, pairs even from four (SNIA DDF, as restated by its users)."""
    most = 8
    made = {
        (option.own[arrays.LEVEL], option.own[arrays.DISKS]) for option in arrays.layouts([Disk()], list(SAFE), most)
    }
    wanted = {(Level.MIRROR, 2)} | {(Level.PAIRS, n) for n in range(4, most + 1, 2)}
    wanted |= {(Level.SINGLE_PARITY, n) for n in range(3, most + 1)} | {
        (Level.DOUBLE_PARITY, n) for n in range(4, most + 1)
    }
    assert made == wanted


@pytest.mark.parametrize(("level", "disks"), [*SHAPES, (Level.SINGLE_DISK, 1)])
def test_room_parity_disks_pays_for_what_is_survived(level: Level, disks: int) -> None:
    """No code survives more whole disks than it spends (Singleton's bound), and every array keeps some room."""
    spent = arrays.parity_disks(level, disks)
    assert arrays.SURVIVES(level) <= spent < disks
    assert arrays.array_option(Disk(), level, disks).own[arrays.KEPT] == spent
