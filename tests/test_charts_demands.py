"""What each demand costs: the values of the weighing, drawn; what is free is named; nothing is drawn before it was weighed."""

from functools import cache

import pytest

from offices import example, planned
from scantling import api
from scantling.api import charting
from scantling.figures.numbers import with_unit
from scantling.outputs.drawings.charts.model import ChartSheet
from scantling.plan.weighing import Weighed


@cache
def weighed() -> Weighed:
    return api.weigh(example("fold"))


def notes(sheet: ChartSheet) -> str:
    return " ".join("".join(part.text for part in note) for note in sheet.notes)


def test_every_demand_that_costs_anything_has_its_steps() -> None:
    sheet = charting.chart_of_weighing(example("fold"), weighed())
    (one,) = sheet.charts
    dear = [price for price in weighed().prices if price.dropped > 0]
    assert [said.partition(":")[0] for said in one.across.said] == [price.demand.label for price in dear]
    easier, without, harder = one.series
    assert without.values == tuple(float(price.dropped) for price in dear)
    assert easier.values == tuple(float(-price.easier.moves) if price.easier else 0.0 for price in dear)
    assert not harder.drawn
    assert one.up.unit == example("fold").currency == "EUR"
    assert all(first <= second for first, second in zip(easier.values, without.values, strict=True))


def test_the_words_of_a_row_are_the_weighings() -> None:
    (one,) = charting.chart_of_weighing(example("fold"), weighed()).charts
    for row, price in zip(one.table, weighed().prices, strict=False):
        assert price.easier is not None
        unit = price.demand.what.unit.symbol
        assert row[1] == f"at {with_unit(price.easier.value, unit)}: {with_unit(-price.easier.moves, 'EUR')}"
        assert row[2] == with_unit(price.dropped, "EUR")


def test_what_costs_nothing_is_named_beside() -> None:
    sheet = charting.chart_of_weighing(example("fold"), weighed())
    free = [price for price in weighed().prices if not price.dropped]
    assert free
    for price in free:
        assert price.demand.label.lower() in notes(sheet)


def test_before_it_was_weighed_nothing_is_invented() -> None:
    sheet = charting.chart_of_weighing(example("fold"), None)
    assert sheet.charts == ()
    assert sheet.lacking[0].startswith("Not yet weighed.")
    for price in weighed().prices:
        assert price.demand.label.lower() in sheet.lacking[1]
    assert charting.CHARTS["demands"](example("fold"), "").lacking == sheet.lacking


def test_a_weighing_of_another_plan_is_provisional() -> None:
    sheet = charting.chart_of_weighing(example("fold"), weighed(), stale=True)
    assert "Provisional: weighed for the plan as it was before the last change." in notes(sheet)
    assert "Provisional" not in notes(charting.chart_of_weighing(example("fold"), weighed()))


def test_where_no_demand_costs_anything_the_sheet_says_so() -> None:
    nothing = Weighed((), (), (), None)
    sheet = charting.chart_of_weighing(example("fold"), nothing)
    assert sheet.charts == ()
    assert "No demand costs anything" in sheet.lacking[0]


@pytest.mark.parametrize("slug", list(charting.SUBJECTS))
def test_every_sheet_of_an_empty_office_says_what_is_missing(slug: str) -> None:
    plan = planned("office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n")
    sheet = charting.CHARTS[slug](plan, "X-1")
    assert sheet.charts == ()
    assert all(sheet.lacking)
    assert sheet.block.sheet == "X-1"
