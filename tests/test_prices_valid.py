"""Prices held against the day of the plan: too old, ended, without a date, not confirmed; quiet where all is well."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from offices import changed, codes, fold, millrace, planned

from scantling import api
from scantling.catalogue import Catalogue
from scantling.catalogue.columns import CONFIRMED_ON
from scantling.figures import PRICE, Figure, Page, Ruled
from scantling.figures.numbers import text
from scantling.handbook.prices import days_between, named_below, named_beyond
from scantling.plan.make import Plan

OURS = api.stock()
AS_OF = date(2026, 11, 25)
BOUGHT = ("host", "disk", "ups")


def on(day: date) -> str:
    """Millrace, planned on another day."""
    return changed(millrace(), "as_of: 2026-11-25", f"as_of: {day.isoformat()}")


def stock(marks: Mapping[str, Any], kinds: tuple[str, ...] = ()) -> api.Stock:
    """Our stock with the marks of every row (or of some kinds) changed; None takes a mark away."""
    rows = {
        kind: {slug: replace(row, marks=_with(row.marks, marks)) for slug, row in found.items()}
        if not kinds or kind in kinds
        else found
        for kind, found in OURS.catalogue.rows.items()
    }
    return api.Stock(Catalogue(rows, OURS.catalogue.currency), OURS.house)


def _with(marks: Mapping[str, Any], change: Mapping[str, Any]) -> dict[str, Any]:
    return {name: mark for name, mark in {**marks, **change}.items() if mark is not None}


def told(plan: Plan, code: str) -> list[str]:
    """The sentences of one code."""
    return [told.says for told in plan.findings if told.finding.code == code]


def value(plan: Plan, id_: str) -> Any:
    """A figure's plain value."""
    return plan.figures[id_].value


def articles(plan: Plan) -> set[str]:
    """Slugs of all that has to be bought and costs something."""
    options = plan.purchase.chosen.options.values()
    return {row.slug for option in options for row, _ in option.to_buy if row.get(PRICE)}


def test_our_own_prices_hold_on_the_day_of_both_examples() -> None:
    for written in (millrace(), fold()):
        plan = planned(written)
        assert not {"O-2", "O-4"} & codes(plan)
        looked = [finding for finding in plan.checked if finding.code == "O-2"]
        assert len(looked) == 2
        assert value(plan, "prices.oldest") == 24
        assert value(plan, "prices.left") == 36
        assert value(plan, "prices.old") == value(plan, "prices.ended") == value(plan, "prices.late") == "none"


def test_prices_that_have_ended_are_to_mend() -> None:
    plan = api.plan_text(on(date(2027, 1, 1)))
    (said,) = told(plan, "O-2")
    assert said.startswith("On the day of this plan the price no longer holds for: ")
    assert value(plan, "prices.left") == -1
    assert {t.weight for t in plan.findings if t.finding.code == "O-2"} == {"mend"}
    assert articles(plan) == set(value(plan, "prices.ended").split(", "))


def test_a_price_holds_on_its_last_day() -> None:
    assert "O-2" not in codes(api.plan_text(on(date(2026, 12, 31))))


@pytest.mark.parametrize(("age", "old"), [(90, False), (91, True)])
def test_a_price_older_than_the_house_allows_is_to_mend(age: int, old: bool) -> None:  # noqa: FBT001 - a case
    given = AS_OF - timedelta(days=age)
    plan = api.plan_text(millrace(), kept=stock({"priced_on": given}, BOUGHT))
    said = told(plan, "O-2")
    assert bool(said) == old
    assert value(plan, "prices.oldest") == age
    if old:
        chosen = plan.purchase.chosen
        slugs = sorted({slug for slot in ("host", "fast", "bulk", "ups") for slug, _ in chosen.parts(slot)})
        assert said == [
            f"On the day of this plan the price is older than 90 days for: {', '.join(slugs)}. The oldest is 91 days old."
        ]


def test_both_reasons_are_told_apart() -> None:
    assert len(told(api.plan_text(on(date(2027, 6, 1))), "O-2")) == 2


def test_what_nobody_confirmed_is_noted_by_name() -> None:
    plan = planned(millrace())
    (said,) = told(plan, "O-3")
    unconfirmed = sorted(
        {
            row.slug
            for option in plan.purchase.chosen.options.values()
            for row, _ in option.to_buy
            if row.get(CONFIRMED_ON) is None
        }
    )
    assert said == f"The supplier has not confirmed price and stock for: {', '.join(unconfirmed)}."
    assert value(plan, "prices.unconfirmed") == len(unconfirmed)
    assert {t.weight for t in plan.findings if t.finding.code == "O-3"} == {"note"}


def test_where_all_is_confirmed_nothing_is_noted() -> None:
    plan = api.plan_text(millrace(), kept=stock({"confirmed_on": AS_OF}))
    assert "O-3" not in codes(plan)
    assert len([finding for finding in plan.checked if finding.code == "O-3"]) == 2


@pytest.mark.parametrize(("age", "late"), [(45, False), (46, True)])
def test_a_confirmation_of_long_ago_is_noted(age: int, late: bool) -> None:  # noqa: FBT001 - a case
    kept = stock({"confirmed_on": AS_OF - timedelta(days=age)})
    said = told(api.plan_text(fold(), kept=kept), "O-3")
    assert bool(said) == late
    assert not late or said[0].startswith("The supplier confirmed price and stock more than 45 days ago for: ")


def test_a_price_without_a_date_is_noted_by_name() -> None:
    plan = api.plan_text(fold(), kept=stock({"priced_on": None, "valid_until": None}, ("host",)))
    assert told(plan, "O-4") == ["No date stands at the price of: tower-quiet-4."]
    assert "O-2" not in codes(plan)


def test_a_catalogue_without_any_dates_can_be_planned_with() -> None:
    bare = dict.fromkeys(("priced_on", "valid_until", "confirmed_on"))
    plan = api.plan_text(fold(), kept=stock(bare))
    assert {"O-3", "O-4"} <= codes(plan)
    assert "O-2" not in codes(plan)


def test_the_sheet_tells_each_article_once() -> None:
    plan = planned(millrace())
    (sheet,) = [page for page in plan.records(Page) if page.slug == "prices"]
    table = sheet.blocks[0]
    assert isinstance(table, Ruled)
    cells = [[text(cell) if isinstance(cell, Figure) else cell for cell in row] for row in table.rows]
    assert sorted(row[0] for row in cells) == sorted(articles(plan))
    assert {row[2] for row in cells} == {"2026-11-01"}
    assert "not said" in {row[4] for row in cells}


DAYS = st.dates(min_value=date(2000, 1, 1), max_value=date(2100, 12, 31))


@settings(max_examples=50)
@given(DAYS, DAYS)
def test_days_are_those_of_the_calendar(first: date, second: date) -> None:
    """Julian day numbers by Fliegel and Van Flandern, Communications of the ACM 11 (1968), page 657."""
    assert days_between(first, second) == _julian(second) - _julian(first)


def _julian(day: date) -> int:
    year, month = day.year, day.month
    march = -((14 - month) // 12)
    whole = 1461 * (year + 4800 + march) // 4 + 367 * (month - 2 - march * 12) // 12
    return whole - 3 * ((year + 4900 + march) // 100) // 4 + day.day - 32075


@settings(max_examples=50)
@given(st.dictionaries(st.sampled_from("abcdef"), st.integers(-100, 100), max_size=6), st.integers(-100, 100))
def test_names_beyond_and_below_a_limit_leave_out_the_limit_itself(ages: dict[str, int], limit: int) -> None:
    above, below = named_beyond(ages, limit), named_below(ages, limit)
    seen = [name for told in (above, below) for name in told.split(", ") if told != "none"]
    assert sorted(seen) == sorted(name for name, age in ages.items() if age != limit)
