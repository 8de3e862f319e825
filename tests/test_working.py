"""How powers and rounding are printed in a working: brackets where they are needed, words for functions."""

from math import pow  # noqa: A004 - the rules' grammar has pow

import pytest

from scantling.figures import Figure, Origin, Source, rule
from scantling.figures.rounding import whole_up
from scantling.figures.units import COUNT, RATIO, Count, Ratio, Unit
from scantling.handbook.sizing import grown_heads, with_spare

HERE = Source("arithmetic", "common practice")
ADDRESS_BITS = 32


@rule(HERE)
def widest(prefix: Count) -> Ratio:
    """A power whose exponent is compound."""
    return pow(2, ADDRESS_BITS - prefix)


@rule(HERE)
def tower(base: Ratio, more: Ratio) -> Ratio:
    """A power whose both parts are compound."""
    return 2 * pow(base + 1, more / 2)


@rule(HERE)
def simple(base: Ratio, times: Ratio) -> Ratio:
    """A power of two names."""
    return pow(base, times)


def leaf(value: float, unit: Unit[float] | Unit[int]) -> Figure[float]:
    """A figure as if read from a brief."""
    return Figure(value, unit, Origin("brief", "a test"))


def test_a_compound_exponent_stands_in_brackets() -> None:
    figure = widest.of(prefix=leaf(23, COUNT))  # type: ignore[arg-type]
    assert figure.how.working(figure) == "2 ^ (address bits - prefix) = 2 ^ (32 - 23) = 512 (arithmetic)"


def test_both_parts_of_a_power_stand_in_brackets() -> None:
    figure = tower.of(base=leaf(3.0, RATIO), more=leaf(4.0, RATIO))
    assert figure.how.working(figure) == "2 × (base + 1) ^ (more ÷ 2) = 2 × (3 + 1) ^ (4 ÷ 2) = 32 (arithmetic)"


def test_a_single_exponent_needs_no_brackets() -> None:
    figure = simple.of(base=leaf(3.0, RATIO), times=leaf(2.0, RATIO))
    assert figure.how.working(figure) == "(base) ^ times = (3) ^ 2 = 9 (arithmetic)"


def test_rounding_up_is_said_in_words() -> None:
    figure = with_spare.of(count=leaf(100, COUNT), spare=leaf(0.1, RATIO))  # type: ignore[arg-type]
    assert figure.how.working(figure).startswith(
        "rounded up (count × (1 + spare)) = rounded up (100 × (1 + 0.1)) = 110"
    )


@pytest.mark.parametrize(
    ("amount", "whole"), [(0.0, 0), (0.2, 1), (1.0, 1), (1.000001, 2), (50 * 0.14, 7), (0.3 * 10, 3), (-0.5, 0)]
)
def test_rounding_up_is_deaf_to_binary_noise(amount: float, whole: int) -> None:
    assert whole_up(amount) == whole


@pytest.mark.parametrize("share", range(0, 101, 5))
def test_whole_people_agree_with_whole_numbers(share: int) -> None:
    """The referee counts in hundredths, in integers alone."""
    for heads in range(1, 121):
        people = -(-heads * (100 + share) // 100)
        assert (with_spare(heads, share / 100), grown_heads(heads, share / 100, 1)) == (people, people)
