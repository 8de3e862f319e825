"""Storage month by month: compound growth by numpy, the plan's own figures at both ends, the month in which an array is full."""

import numpy as np
import pytest

from chart_offices import HAND_MADE, chart, hand_made, level, series
from generated_offices import brief
from offices import example, planned
from scantling.api import charting
from scantling.api.charting_filling import MOST_NARROW, bodies_on, left_out, months_of
from scantling.api.charting_lineage import amount
from scantling.figures import Array, Copy, Dataset
from scantling.figures.units import TB, convert
from scantling.plan.make import Plan

OFFICES = ("fold", "millrace", "brackwater", "120")


def plan_of(name: str) -> Plan:
    return planned(brief(int(name))) if name.isdigit() else example(name)


def tb(plan: Plan, id_: str) -> float:
    return float(convert(plan.figures[id_].value, plan.figures[id_].unit, TB))


@pytest.mark.parametrize("name", OFFICES)
def test_every_array_begins_and_ends_with_the_plans_figures(name: str) -> None:
    plan = plan_of(name)
    sheet = charting.chart_of_filling(plan)
    arrays = [array for array in plan.records(Array) if array.slug != "boot"]
    drawn = [one for one in sheet.charts if one.slug.startswith("array-")]
    assert sorted(one.slug for one in drawn) == sorted(f"array-{array.slug}" for array in arrays)
    assert [one.wide for one in drawn] == sorted((one.wide for one in drawn), reverse=True), "wide ones first"
    assert all(one.wide for one in drawn if len(one.series) > MOST_NARROW)
    for array in arrays:
        filled = chart(sheet, f"array-{array.slug}").series[0].values
        assert filled[0] == pytest.approx(amount(array.filled_now, TB))
        assert filled[-1] == pytest.approx(amount(array.filled_horizon, TB))
        assert len(filled) == months_of(plan) + 1
        assert level(chart(sheet, f"array-{array.slug}"), "room").value == amount(array.usable, TB)


@pytest.mark.parametrize("name", OFFICES)
def test_every_copy_ends_with_the_plans_figure(name: str) -> None:
    plan = plan_of(name)
    sheet = charting.chart_of_filling(plan)
    for copy in plan.records(Copy):
        room = chart(sheet, f"copy-{copy.slug}")
        assert room.series[0].values[-1] == pytest.approx(amount(copy.needed, TB))
        assert level(room, "room").value == amount(copy.capacity, TB)
        assert list(room.series[0].values) == sorted(room.series[0].values)


def grown(months: int) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """The hand-made office's data by numpy: 2 TB at 20 % a year, 3 TB and 1.2 TB a year more."""
    month = np.arange(months + 1)
    made: np.ndarray[tuple[int], np.dtype[np.float64]] = 2.0 * 1.2 ** (month / 12) + 3.0 + 1.2 * month / 12
    return made


def test_growth_is_numpys_compound_growth() -> None:
    plan = hand_made()
    filled = chart(charting.chart_of_filling(plan), "array-fast")
    systems = series(filled, "4 systems").values
    papers, films = series(filled, "Papers").values, series(filled, "Films").values
    month = np.arange(61)
    assert papers == pytest.approx(list(2.0 * 1.2 ** (month / 12)))
    assert films == pytest.approx(list(3.0 + 1.2 * month / 12))
    assert filled.series[0].values == pytest.approx(list(grown(60) + systems[0]))
    assert len(set(systems)) == 1


def test_the_month_in_which_it_is_full_is_drawn_and_dated() -> None:
    """An array pinned small: full in the first month whose data pass it, counted again by numpy."""
    plan = hand_made()
    room = amount(plan.records(Array)[0].usable, TB)
    small = planned_with_room(7.0)
    filled = chart(charting.chart_of_filling(small), "array-fast")
    systems = series(filled, "4 systems").values[0]
    month = int(np.argmax(grown(120) + systems > 7.0))
    assert 0 < month <= 60 < room * 100
    assert [one.at for one in filled.moments] == [month]
    year, place = divmod(2026 * 12 + 10 + month, 12)
    names = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ]
    assert filled.moments[0].name == f"full in {names[place]} {year}"
    assert f"Full in {names[place]} {year}, month {month}." in filled.said
    values = filled.series[0].values
    assert values[month - 1] <= 7.0 < values[month]


def planned_with_room(terabytes: float) -> Plan:
    """The hand-made office with the room of its fast array set by hand."""
    return planned(f"{HAND_MADE}pins:\n  arrays.fast.usable: {{value: {terabytes} TB, because: an old array}}\n")


def test_an_array_that_is_full_after_the_horizon_says_when() -> None:
    """Millrace's bulk array: 9 TB and 3 TB a year, and three bodies that grow; numpy finds the month."""
    plan, month = example("millrace"), np.arange(121)
    sets = {one.slug: one for one in plan.records(Dataset)}
    assert {"shared", "images", "archive", "recordings"} <= set(sets)
    whole = 1.4 * 1.12 ** (month / 12) + 0.9 * 1.15 ** (month / 12) + 9 + 3 * month / 12 + 4
    full = int(np.argmax(whole > tb(plan, "arrays.bulk.usable")))
    told = chart(charting.chart_of_filling(plan), "array-bulk")
    assert f"month {full}, after the horizon" in told.said
    assert told.moments == ()


def test_a_size_set_by_hand_is_a_straight_line_and_says_so() -> None:
    plan = planned(f"{HAND_MADE}pins:\n  storage.sets.papers.horizon: {{value: 4 TB, because: a promise}}\n")
    lines = [one for each in charting.chart_of_filling(plan).charts for one in each.series if one.name == "Papers"]
    assert [one.values for one in lines] == [pytest.approx(list(np.linspace(2.0, 4.0, 61)))]
    assert any("set by hand, drawn as a straight line: Papers" in one for one in left_out(plan))


def test_many_bodies_are_drawn_as_a_few_and_the_rest() -> None:
    more = "".join(
        f"    more-{place}: {{name: More {place}, kind: documents, size: {place}00 GB, files: 10, growth: 5 %/year, service: files}}\n"
        for place in range(1, 9)
    )
    plan = hand_made("    papers:", f"{more}    papers:")
    filled = chart(charting.chart_of_filling(plan), "array-fast" if not _bulk(plan) else "array-bulk")
    assert len(filled.series) <= 6
    assert sum(one.values[-1] for one in filled.series[1:]) == pytest.approx(filled.series[0].values[-1])


def _bulk(plan: Plan) -> bool:
    return bool(bodies_on(plan, "bulk"))


def test_without_a_server_the_sheet_says_so() -> None:
    text = "office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n"
    sheet = charting.chart_of_filling(planned(text))
    assert sheet.charts == ()
    assert "No server stands here" in sheet.lacking[0]
