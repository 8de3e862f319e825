"""The ground floor: values that explain themselves, units, rules on three kinds of arguments, choices, pins."""

import operator
import pickle
from decimal import Decimal
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.figures import (
    Attribute, Candidate, Chosen, Choosing, Demand, Desk, Figure, Ledger, Levels, Most, Of, Option, Origin, Pin, PinError, Series, Source,
    Sum, Table, cell, cells, count_of, largest, method, missing, number, peak, rule, smallest, text, total,
)  # fmt: skip
from scantling.figures.choosing import choose
from scantling.figures.numbers import exact, plain, with_unit
from scantling.figures.quantities import parse
from scantling.figures.units import (
    AGE, BTU_PER_H, COUNT, EXPECTED, GB, GIB, HOUR, MB_PER_S, MBIT_PER_S, MINUTE, MM, MONEY, MONEY_AN_HOUR, RATIO, SHARE, TB, VA, WATT,
    WORD, YEAR, Count, DimensionError, Hours, Quantity, Ratio, Terabytes, Unit, convert,
)  # fmt: skip
from scantling.handbook import sizing
from scantling.handbook.arrays import PENALTY, Level, array_capacity
from scantling.handbook.money import labour_price

HERE = Source("for this test", "own derivation")
NOWHERE = Origin("brief", "nowhere")


def figure(value: Any, unit: Unit[Any], id_: str = "") -> Figure[Any]:
    """A leaf."""
    return Figure(value, unit, NOWHERE, None, id_, id_)


REGISTRY: Any = pint.UnitRegistry()
PAIRS = [
    (TB, GIB, "terabyte", "gibibyte"), (GB, TB, "gigabyte", "terabyte"), (MBIT_PER_S, MB_PER_S, "megabit/second", "megabyte/second"),
    (HOUR, MINUTE, "hour", "minute"), (WATT, BTU_PER_H, "watt", "Btu_it/hour"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("have", "want", "theirs", "wanted"), PAIRS, ids=[f"{p[0].symbol} to {p[1].symbol}" for p in PAIRS]
)
def test_conversions_agree_with_another_library(have: Unit[Any], want: Unit[Any], theirs: str, wanted: str) -> None:
    """Against pint."""
    expected = (7.5 * REGISTRY(theirs)).to(wanted).magnitude
    assert convert(7.5, have, want) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("have", "want"),
    [(TB, HOUR), (WATT, VA), (HOUR, COUNT), (MONEY, RATIO), (SHARE, COUNT), (WORD, RATIO), (RATIO, WORD)],
)
def test_another_dimension_is_refused(have: Unit[Any], want: Unit[Any]) -> None:
    """Watts are not volt-amperes, a share is no count, money never leaves money."""
    with pytest.raises(DimensionError):
        convert(have.kind(), have, want)


def test_numbers_may_enter_money_but_money_stays() -> None:
    """Hours and a rate give an amount; the other way round is refused."""
    paid = labour_price.of(hours=figure(210.0, MINUTE), rate=figure(Decimal("85.00"), MONEY_AN_HOUR))
    assert (paid.value, paid.unit) == (Decimal("297.50"), MONEY)
    with pytest.raises(DimensionError, match=r"times\(each\)|times\(count\)"):
        sizing.times.of(count=figure(Decimal(2), MONEY), each=figure(2.0, HOUR))


def test_a_rule_speaks_three_ways() -> None:
    """On numbers, on figures, on what is still to be chosen, with one result."""
    disks, parity, size = Attribute("disks", COUNT), Attribute("parity", COUNT), Attribute("size", TB)
    option = Option("six", (), {disks: 6, parity: 2, size: 12.0})
    tree = array_capacity.over(disks=Of("a", disks), parity=Of("a", parity), size=Of("a", size))
    demand = Demand("x.room", "Room", tree, figure(1.0, TB))
    chosen = Chosen({"a": option}, {"x.room": demand}, {"a": Choosing("for a test")}, {"a": "Array"})
    on_figures = array_capacity.of(disks=figure(6, COUNT), parity=figure(2, COUNT), size=figure(12000.0, GB))
    assert array_capacity(6, 2, 12.0) == on_figures.value == chosen.met("x.room").value == 48.0
    assert on_figures.how.working(on_figures) == (
        "(disks - parity) × size = (6 - 2) × 12 TB = 48 TB [size 12,000 GB = 12 TB] "
        "(SNIA Common RAID Disk Data Format 2.0, levels and layouts; capacity as restated by its users)"
    )


def test_a_rule_names_the_wrong_argument() -> None:
    """Missing, foreign, of another dimension."""
    with pytest.raises(TypeError, match="array_capacity lacks 'size'"):
        array_capacity.of(disks=figure(6, COUNT), parity=figure(2, COUNT))  # type: ignore[call-arg]
    with pytest.raises(DimensionError, match=r"array_capacity\(size\): h where TB is due"):
        array_capacity.of(disks=figure(6, COUNT), parity=figure(2, COUNT), size=figure(1.0, HOUR))
    with pytest.raises(TypeError, match="does not take more"):
        array_capacity.of(  # type: ignore[call-arg]
            disks=figure(6, COUNT), parity=figure(2, COUNT), size=figure(1.0, TB), more=figure(1, COUNT)
        )


def test_a_figure_has_no_arithmetic_and_no_truth() -> None:
    """Lineage cannot be lost quietly, nor a decision taken past the desk."""
    one = figure(1, COUNT)
    acts: tuple[Any, ...] = (operator.add, operator.mul, operator.lt)
    for act in acts:
        with pytest.raises(TypeError):
            act(one, one)
    with pytest.raises(TypeError, match="decides nothing by itself"):
        bool(one)


def test_a_rule_for_any_unit_keeps_the_first_ones_unit() -> None:
    """And converts the others into it."""
    both = sizing.added.of(one=figure(1.0, TB), other=figure(500.0, GB))
    assert (both.value, both.unit) == (1.5, TB)


def test_rules_pickle_by_name() -> None:
    """The same object comes back."""
    assert pickle.loads(pickle.dumps(array_capacity)) is array_capacity  # noqa: S301 - our own bytes


def test_gatherings() -> None:
    """Total, largest, smallest, count; of none it is nought."""
    many = {"a": figure(1.0, TB), "b": figure(2000.0, GB)}
    assert (total(many, TB).value, largest(many, TB).value, smallest(many, TB).value, count_of(many).value) == (
        3.0,
        2.0,
        1.0,
        2,
    )
    assert total((), TB).value == 0.0
    assert "a 1 TB + b 2000 GB" in total(many, TB).how.working(total(many, TB))


def test_sound_levels_add_as_the_books_say() -> None:
    """Two equal levels make 3.01 dB more, ten make 10 dB more (ISO 80000-8; any acoustics textbook, from memory)."""
    assert Levels.fold([40.0, 40.0], 0.0) == pytest.approx(43.0103, abs=1e-4)
    assert Levels.fold([30.0] * 10, 0.0) == pytest.approx(40.0, abs=1e-9)
    assert Levels.fold([], 0.0) == 0.0
    assert Most.fold([3, 7, 5], 0) == 7
    assert Sum.fold([3, 7, 5], 0) == 15


def test_a_choice_keeps_its_runners_up() -> None:
    """The best that fits; without a fit the best of the unfit, and the reason says so."""
    yes, no = figure(value=True, unit=Unit("", bool)), figure(value=False, unit=Unit("", bool))
    steps = [Candidate(hours, figure(hours, HOUR), yes if hours <= 4 else no) for hours in (1.0, 2.0, 4.0, 8.0)]
    picked = choose(steps, "most", "the longest that fits", HOUR)
    assert picked.value == 4.0
    assert picked.how.working(picked) == "4 h: the longest that fits. Next: 2 (2 h); 1 (1 h)"
    none = choose([Candidate(8.0, figure(8.0, HOUR), no)], "most", "the longest that fits", HOUR)
    assert "none fits" in none.how.working(none)
    with pytest.raises(ValueError, match="nothing to choose from"):
        choose([], "most", "anything", HOUR)


def test_the_desk_names_figures_and_lays_pins() -> None:
    """In place, once; the pinned figure shows both values and the reason."""
    pin = Pin("6", "the client insists", "brief.yaml:9", lambda words, unit: parse(words, unit)[0])
    ledger = Ledger({"trade.two": pin, "trade.four": Pin("many", "why not", "brief.yaml:10", pin.read)})
    desk = Desk("trade", ledger)
    one = desk.figure("one", figure(5, COUNT))
    assert ledger.figures["trade.one"] is one
    pinned = desk.figure("two", figure(5, COUNT), "Two")
    assert pinned.value == 6
    assert pinned.how.working(pinned) == "pinned to 6 (the client insists; brief.yaml:9); computed 5"
    alias = desk.figure("three", one, "Three")
    assert (alias.id, one.id) == ("trade.three", "trade.one")
    with pytest.raises(ValueError, match=r"two figures called trade\.one"):
        desk.figure("one", figure(1, COUNT))
    with pytest.raises(PinError, match=r"brief\.yaml:10: pin trade\.four"):
        desk.figure("four", figure(1, COUNT))
    with pytest.raises(TypeError, match="not h"):
        desk.kept("one", HOUR)


def test_series_registers_and_tables() -> None:
    """One figure each, made by a method or looked up."""
    day = figure(Series("midnight", 1.0, HOUR, (1.0, 5.0, 2.0)), COUNT)
    assert peak(day).value == 5.0
    assert text(day) == "1 to 5, highest 1 h after midnight"
    register = figure({"a": 1, "b": 2}, Unit("", dict))
    assert cells(register)["b"] == cell(register, "b", COUNT).value == 2
    looked = PENALTY.of(figure(Level.DOUBLE_PARITY, WORD))
    assert looked.value == 6
    assert "double parity → 6" in looked.how.working(looked)
    assert missing(None, "support.who").value is True
    assert Table(HERE, "t", COUNT, {1: 2})(1) == 2


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (0.1 + 0.2, "0.3"), (1234.5678, "1235"), (123456.7, "123,457"), (12.0, "12"), (0.000015, "0.000015"), (True, "yes"),
        (Decimal("1234.5"), "1,234.50"), (1_500_000, "1,500,000"), (41.6667, "41.67"), (float("inf"), "without end"),
    ],
)  # fmt: skip
def test_people_see_four_digits(value: Any, says: str) -> None:
    """No float noise, no exponents, thousands told apart."""
    assert number(value) == says


@pytest.mark.parametrize(
    ("value", "unit", "reads", "works_on"),
    [
        (472.4, EXPECTED, "about 473", "472.4"), (326.7, EXPECTED, "about 327", "326.7"),
        (297.0, EXPECTED, "297", "297"), (250.8, RATIO, "250.8", "250.8"), (12_345.2, EXPECTED, "about 12,346", "12,345"),
        (9.777, AGE, "9.8 years", "9.777 years"), (1.04, AGE, "1 year", "1.04 years"), (2.25, YEAR, "2.25 years", "2.25 years"),
        (0.5, HOUR, "0.5 h", "0.5 h"),
    ],
)  # fmt: skip
def test_what_people_read_is_stepped_and_worked_on_in_full(
    value: float, unit: Unit[float], reads: str, works_on: str
) -> None:
    """Room is kept for whole people; nobody says how many thousandths of a year old a thing is (common practice, no source)."""
    one = figure(value, unit)
    assert text(one) == reads
    assert exact(one) == works_on
    gathered = total({"a": one}, unit)
    assert gathered.how.working(gathered) == f"total of a {works_on} = {works_on}"
    assert pickle.loads(pickle.dumps(unit)) is unit  # noqa: S301 - our own bytes


@pytest.mark.parametrize(("hours", "reads"), [(0.2296, "13.78 min"), (1.0, "1 h"), (0.0, "0 h"), (19.01, "19.01 h")])
def test_a_reckoned_time_under_an_hour_is_read_in_minutes(hours: float, reads: str) -> None:
    """As people say it (common practice, no source); what somebody wrote in hours stays in hours, as above."""
    reckoned = total({"a": figure(hours, HOUR)}, HOUR)
    assert text(reckoned) == reads
    assert exact(reckoned) == f"{hours:g} h"


def test_a_day_of_expected_numbers_is_read_in_whole_ones() -> None:
    day = figure(Series("midnight", 6, HOUR, (0.0, 3.2, 472.4, 20.0)), EXPECTED)
    assert text(day) == "0 to about 473, highest 12 h after midnight"
    assert exact(day) == "0 to 472.4, highest 12 h after midnight"


def test_units_are_written_after_the_number() -> None:
    """In the singular for one."""
    assert (with_unit(1.0, YEAR.symbol), with_unit(5.0, YEAR.symbol), with_unit(5.0, MM.symbol)) == (
        "1 year",
        "5 years",
        "5 mm",
    )


@given(st.floats(min_value=-1e12, max_value=1e12))
def test_canonical_numbers_keep_nine_digits(value: float) -> None:
    """And read back within them."""
    assert float(plain(value)) == pytest.approx(value, rel=1e-8, abs=1e-300)


@rule(HERE)
def _branch(count: Count, size: Terabytes, share: Ratio) -> Terabytes:
    """A rule with a branch."""
    return size * share if count > 2 else size


@method(HERE, says="whichever is longer")
def _longer(one: Hours, other: Quantity) -> Hours:
    """A method."""
    return max(one, other)


def test_a_branch_prints_both_in_letters_and_one_in_numbers() -> None:
    """So that a reader sees what would have been."""
    taken = _branch.of(count=figure(3, COUNT), size=figure(2.0, TB), share=figure(50.0, SHARE))
    assert taken.how.working(taken).startswith("(size × share where count > 2, otherwise size) = 2 TB × 50 % = 1 TB")


def test_a_method_says_its_sentence() -> None:
    """With its inputs."""
    made = _longer.of(one=figure(3.0, HOUR), other=figure(90.0, MINUTE))
    assert made.how.working(made).startswith("whichever is longer; one 3 h, other 90 min: ")
