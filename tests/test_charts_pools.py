"""Pools on the busiest day: the plan's figures, Erlang's formula by pyqueueing, scipy's Poisson tail, the rehearsal's own count."""

import pytest
from pyqueueing import ErlangB
from scipy.stats import poisson

from chart_offices import chart, hand_made, level, series
from generated_offices import brief
from offices import example, planned
from scantling.api import charting
from scantling.api.charting_pools import day_name, zone_of
from scantling.figures import Pool, Visitors
from scantling.outputs.drawings.charts.model import Chart
from scantling.plan.make import Plan
from scantling.trials.rehearsal.visiting import busy, comers, curve, foreseen

VISITED = ("millrace", "brackwater", "120")


def plan_of(name: str) -> Plan:
    return planned(brief(int(name))) if name.isdigit() else example(name)


def guests(plan: Plan) -> Chart:
    (guest,) = plan.records(Visitors)
    return chart(charting.chart_of_pools(plan), f"pool-{guest.zone}")


@pytest.mark.parametrize("name", VISITED)
def test_the_peak_and_the_size_are_the_plans(name: str) -> None:
    plan = plan_of(name)
    pool = guests(plan)
    assert max(pool.series[0].values) == plan.figures["addresses.visitors.peak"].value
    assert pool.series[0].values == plan.figures["addresses.visitors.taken"].value.values
    assert level(pool, "addresses to lend").value == plan.figures["addresses.guests.lent"].value
    assert max(series(pool, "by the cautious").values) == plan.figures["addresses.visitors.cautious"].value


@pytest.mark.parametrize("name", VISITED)
def test_the_share_turned_away_is_erlangs_by_pyqueueing(name: str) -> None:
    plan = plan_of(name)
    size, peak = plan.figures["addresses.visitors.pool"].value, plan.figures["addresses.visitors.peak"].value
    outside = float(ErlangB(peak, 1.0, size).prob_block())
    assert plan.figures["addresses.visitors.refused"].value == pytest.approx(outside, rel=1e-6)
    shown = f"{100 * outside:.4g} % by the loss formula"
    assert shown in guests(plan).said


def test_who_is_turned_away_is_read_out_hour_by_hour() -> None:
    """A pool fixed too small: at the peak of 40 in erlangs on 20 addresses more than half find none (pyqueueing)."""
    plan = hand_made("backup:", "network: {guest_pool: 20, guest_lease: 1 h}\nbackup:")
    pool = guests(plan)
    taken = plan.figures["addresses.visitors.taken"].value.values
    place = taken.index(max(taken))
    outside = float(ErlangB(taken[place], 1.0, 20).prob_block())
    words = series(pool, "held").words
    assert words[place] == f"{max(taken):.4g}, {100 * outside:.4g} % turned away"
    assert words[taken.index(0.0)] == "0"
    assert pool.table[place][1] == words[place]


@pytest.mark.parametrize("name", VISITED)
def test_the_cautious_measure_is_the_poisson_tail_of_scipy(name: str) -> None:
    """The smallest number that is reached no more often than the house allows."""
    plan = plan_of(name)
    pool = guests(plan)
    refusals = plan.figures["addresses.visitors.cautious"].inputs["refusals"].value
    for taken, cautious in list(zip(pool.series[0].values, pool.series[1].values, strict=True))[::7]:
        if taken > 0:
            assert poisson.sf(cautious - 1, taken) <= refusals < poisson.sf(cautious - 2, taken)


@pytest.mark.parametrize("name", VISITED)
def test_the_rehearsals_own_count_of_the_day_agrees(name: str) -> None:
    """Whole devices taken in one after the other hold as many at each quarter's end, two at most aside, once the day repeats itself."""
    plan = plan_of(name)
    day = busy(plan)
    assert day is not None
    there = comers(day.joining, day.stay)
    held = foreseen(there, day.pool, day.hold(day.lease)).held
    again = [(span.since + shift, span.until + shift) for span in held for shift in (0.0, 24.0)]
    counted = [sum(since <= 24.0 + (place + 1) / 4 < until for since, until in again) for place in range(96)]
    expected = guests(plan).series[0].values
    if day.hold(day.lease) == plan.figures["addresses.visitors.hold"].value:
        assert max(abs(one - other) for one, other in zip(counted, expected, strict=True)) <= 2
    assert max(held_at for _, held_at in curve(held, 0.0, 47.75)) <= day.pool


@pytest.mark.parametrize("name", ["fold", *VISITED])
def test_every_zone_that_lends_has_its_plot(name: str) -> None:
    plan = plan_of(name)
    sheet = charting.chart_of_pools(plan)
    assert {one.slug for one in sheet.charts} == {f"pool-{zone_of(plan, pool)}" for pool in plan.records(Pool)}
    for pool in plan.records(Pool):
        one = chart(sheet, f"pool-{zone_of(plan, pool)}")
        assert max(one.series[0].values) == pytest.approx(pool.peak.value)
        assert level(one, "addresses to lend").value == pool.size.value


def test_without_visitors_it_says_what_is_not_known() -> None:
    sheet = charting.chart_of_pools(example("fold"))
    assert sheet.charts[0].series[0].name == "held, known as one number"
    assert "No visitors are in the brief" in "".join(part.text for part in sheet.notes[0])
    assert day_name(example("fold")) == ""
    assert day_name(example("millrace")) == "Saturday"


def test_an_office_that_lends_nothing_says_so() -> None:
    text = "office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n"
    sheet = charting.chart_of_pools(planned(text))
    assert sheet.charts == ()
    assert sheet.lacking[0] == "No addresses are lent in this office."
