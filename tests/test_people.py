"""People and visitors: heads, presence, the busiest day; every finding raised from a changed brief."""

from typing import Any

from offices import changed, codes, fold, millrace, planned
from scantling.figures import Crowd, Series, Visitors, Weight
from scantling.plan.make import Plan

MILLRACE, FOLD = millrace(), fold()


def _value(plan: Plan, id_: str) -> Any:
    return plan.figures[id_].value


def test_heads_by_hand() -> None:
    """12 x 1.03^5 = 13.9, 6, 6 x 1.02^5 = 6.6, 40 x 1.02^5 = 44.2; each rounded up."""
    plan = planned(MILLRACE)
    assert [crowd.horizon.value for crowd in plan.records(Crowd)] == [14, 6, 7, 45]
    assert (_value(plan, "people.heads"), _value(plan, "people.horizon")) == (64, 72)


def test_presence_by_hand() -> None:
    """Wednesday at 17: 14 x 85 % + 6 x 60 % + 7 x 75 % + 45 x 30 % = 34.25; nobody on a Monday."""
    week = _value(planned(MILLRACE), "people.present")
    assert isinstance(week, Series)
    assert len(week.values) == 168
    assert not any(week.values[:24])
    assert week.values[2 * 24 + 17] == max(week.values) == 34.25
    assert _value(planned(MILLRACE), "people.peak") == 35


def test_busiest_day_is_the_one_with_two_events() -> None:
    """Saturday: 450 x 55 % x 1.2 = 297 and 380 x 55 % x 1.2 = 250.8."""
    plan = planned(MILLRACE)
    assert str(_value(plan, "people.visitors.day")) == "sat"
    assert _value(plan, "people.visitors.joining") == 547.8
    assert sum(_value(plan, "people.visitors.arrivals").values) == 547.8
    (guests,) = plan.records(Visitors)
    assert (guests.zone, guests.present.value, guests.active.value) == ("guests", 297, 90)


def test_no_visitors_no_figures() -> None:
    """A trade is silent about what the brief does not name."""
    plan = planned(FOLD)
    assert not plan.records(Visitors)
    assert not [id_ for id_ in plan.figures if "visitors" in id_ and not id_.startswith("line.")]


def test_h1_an_office_that_shrinks_is_not_raised_by_growth() -> None:
    """Growth is never below nought, so heads at the horizon are at least those of today."""
    assert "H-1" not in codes(planned(MILLRACE))
    pinned = planned(MILLRACE + "\npins:\n  people.horizon: {value: 40, because: a hall closes next year}\n")
    found = next(told for told in pinned.findings if told.finding.code == "H-1")
    assert found.finding.weight is Weight.NOTE
    assert "40 people" in found.says


def test_more_people_never_fewer_at_work() -> None:
    """The same brief with one more person a role."""
    more = planned(changed(MILLRACE, "heads: 12", "heads: 13"))
    assert _value(more, "people.peak") >= _value(planned(MILLRACE), "people.peak")
