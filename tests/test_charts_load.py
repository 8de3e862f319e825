"""Load by hour: a day made by hand, the plan's own figures, and the rules of cores and lines asked again."""

import pytest

from chart_offices import at, hand_made, level, load, series
from generated_offices import brief
from offices import example, fold, millrace, planned
from varied_offices import varied
from scantling.api import charting
from scantling.api.charting_days import DAYS, busiest, days_of, hours, ordinary
from scantling.api.charting_load import left_out
from scantling.figures import Device, Hosts
from scantling.outputs.drawings.charts.model import ChartSheet
from scantling.plan.make import Plan

OFFICES = ("fold", "millrace", "brackwater", "120")


def plan_of(name: str) -> Plan:
    return planned(brief(int(name))) if name.isdigit() else example(name)


def test_people_of_a_day_made_by_hand() -> None:
    """Friday: 10 from 8 to 16; 80 visitors, 20 each quarter from 19 to 20, gone after two hours; 2 from 20:30 till 2 on Saturday.

    Of the hour from 20 half is worked, so the plan has one of the two there for all of it: by the hour, not finer.
    """
    people = load(hand_made(), "people")
    friday = "Friday, busiest"
    told = {
        7.75: 0,
        8.0: 10,
        15.75: 10,
        16.0: 0,
        18.75: 0,
        19.0: 20,
        19.25: 40,
        19.75: 80,
        20.0: 81,
        20.75: 81,
        21.0: 62,
    }
    assert {place: at(people, friday, place) for place in told} == told


def test_the_part_of_an_hour_is_a_part_as_the_plan_has_it() -> None:
    """20:30 is the middle of its hour: the plan counts two people for half of it as one for all of it."""
    people = load(hand_made(), "people")
    assert at(people, "of them", 20.0) == at(people, "of them", 20.75) == 1.0
    assert at(people, "of them", 21.0) == 2.0
    assert at(people, "of them", 0.0) == 0.0


def test_the_ordinary_day_is_the_middle_one() -> None:
    """Hours spent there: Sunday 4, Saturday 4 + 7, Monday to Thursday 80, Friday 80 + 7 + 160: of seven the fourth is Tuesday."""
    days = days_of(hand_made())
    assert [day.name for day in days if any(day.people)] == list(DAYS)
    assert [hours(day.people) for day in days] == [80, 80, 80, 80, 247, 11, 4]
    assert busiest(days).name == "Friday"
    assert ordinary(days).name == "Tuesday"
    assert max(series(load(hand_made(), "people"), "Tuesday, ordinary").values) == 10


@pytest.mark.parametrize("name", OFFICES)
def test_no_day_of_the_week_has_more_people_at_once_than_the_busiest(name: str) -> None:
    days = days_of(plan_of(name))
    assert max(busiest(days).people) == max(max(day.people) for day in days)


@pytest.mark.parametrize("name", OFFICES)
def test_people_at_work_are_the_plans_own_week(name: str) -> None:
    plan = plan_of(name)
    week = plan.figures["people.present"].value.values
    for day in days_of(plan):
        assert day.staff[::4] == week[day.place * 24 : day.place * 24 + 24]
        assert day.staff[3::4] == day.staff[::4]


@pytest.mark.parametrize("name", OFFICES)
def test_devices_are_those_of_the_plan_and_visitors_on_top(name: str) -> None:
    plan = plan_of(name)
    own = sum(one.count.value for one in plan.records(Device))
    devices = load(plan, "devices")
    assert [band.high for band in devices.bands] == [own]
    assert min(devices.series[0].values) >= own
    day = next(
        day for day in days_of(plan) if day.name in devices.series[0].name or "every" in devices.series[0].name
    )
    if any(day.joined) and day.place in plan.figures["people.visitors.day"].value.days:
        assert max(devices.series[0].values) - own == max(plan.figures["people.visitors.by-time"].value.values)


@pytest.mark.parametrize("name", OFFICES)
def test_cores_are_littles_law_with_those_at_work(name: str) -> None:
    """Requests of everybody in a busy hour, less those who are not there: never more than the plan's busy hour."""
    plan = plan_of(name)
    cores = load(plan, "cores")
    busy, heads, most = (plan.figures[id_].value for id_ in ("host.cores.busy", "people.horizon", "people.present"))
    assert max(cores.series[0].values) == pytest.approx(busy * max(most.values) / heads, rel=1e-9)
    assert max(cores.series[0].values) <= busy
    assert level(cores, "bought").value == plan.purchase.chosen.met("host.cores.bought").value
    assert level(cores, "needed").value == plan.figures["host.cores.needed"].value


@pytest.mark.parametrize("name", OFFICES)
def test_memory_is_a_level_and_says_so(name: str) -> None:
    plan = plan_of(name)
    memory = load(plan, "memory")
    expected, host = plan.figures["host.memory.expected"].value, plan.figures["host.memory.host"].value
    assert memory.series[0].values == pytest.approx([expected + host] * len(memory.across.at))
    assert "only as a level, not by the hour" in memory.said
    assert level(memory, "bought").value == plan.purchase.chosen.met("host.memory.bought").value
    assert level(memory, "at cold start").value == plan.figures["host.memory.start"].value


@pytest.mark.parametrize("way", ["down", "up"])
@pytest.mark.parametrize("name", OFFICES)
def test_no_hour_of_the_line_passes_the_plans_busiest_one(name: str, way: str) -> None:
    """The plan takes people and visitors at their most together; hour by hour they seldom are."""
    plan = plan_of(name)
    line = load(plan, f"line-{way}")
    known = level(line, "the plan's busiest hour").value
    assert max(line.series[0].values) <= known + 1e-9
    assert level(line, "lines in use").value == plan.figures[f"line.{way}"].value


def test_without_visitors_the_busiest_hour_is_the_plans() -> None:
    plan = example("fold")
    for way in ("down", "up"):
        assert max(load(plan, f"line-{way}").series[0].values) == pytest.approx(
            plan.figures[f"line.{way}-needed"].value
        )


def test_the_line_of_a_day_made_by_hand() -> None:
    """House rules: 5 Mbit/s to a person at work and 2 to a visitor's device; half of 40 devices are in use from 19:45 on."""
    plan, line = hand_made(), load(hand_made(), "line-down")
    needed = plan.figures["line.down-needed"]
    person, visitor = (float(needed.inputs[name].value) for name in ("person", "visitor"))
    assert at(line, "Friday", 12.0) == 10 * person
    assert at(line, "Friday", 19.0) == 5 * visitor
    assert at(line, "Friday", 20.0) == 1 * person + 20 * visitor
    assert at(line, "Friday", 4.0) == 0


def test_a_day_like_all_others_is_drawn_once() -> None:
    assert [one.name for one in load(example("fold"), "people").series] == ["every working day"]
    assert [one.name for one in load(example("brackwater"), "people").series] == [
        "Monday, busiest, and an ordinary day"
    ]
    assert any("Most visitors come on a Saturday" in one for one in left_out(example("brackwater")))


def test_what_is_left_out_is_named() -> None:
    plan = example("millrace")
    told = " ".join(left_out(plan))
    assert "no service time is known: firewall, controller, monitor, copies, recorder." in told


def test_a_speed_set_by_hand_has_no_chart_and_says_so() -> None:
    plan = planned(fold() + "\npins:\n  line.down-needed: {value: 44 Mbit/s, because: measured}\n")
    sheet = charting.chart_of_load(plan)
    assert {one.slug for one in sheet.charts} >= {"line-up"}
    assert "line-down" not in {one.slug for one in sheet.charts}
    assert any("to the office was set by hand" in said(sheet, place) for place in range(len(sheet.notes)))


def said(sheet: ChartSheet, place: int) -> str:
    return "".join(part.text for part in sheet.notes[place])


def test_an_office_of_nobody_says_what_is_missing() -> None:
    text = "office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n"
    sheet = charting.chart_of_load(planned(text))
    assert sheet.charts == ()
    assert "Nobody works here" in sheet.lacking[0]


def test_the_table_has_the_very_values_of_the_lines() -> None:
    people = load(hand_made(), "people")
    row = people.table[people.across.at.index(19.75)]
    assert row == ("19:45 to 20:00", "80", "0", "0")
    assert people.heads == ("hour of the day", "Friday, busiest", "of them at work", "Tuesday, ordinary")
    assert len(people.table) == len(people.stands) == 96


def test_growth_is_counted_to_the_horizon() -> None:
    plan = hand_made("heads: 10, growth: 0 %/year", "heads: 10, growth: 10 %/year")
    assert max(series(load(plan, "people"), "of them").values) == 17


def test_of_two_servers_the_one_that_carries_more_is_drawn() -> None:
    """The same office on two servers: what one has is held against what the busier one carries."""
    plan = planned(f"{millrace()}\nbuild: {{hosts: 2}}\n")
    (pair,) = plan.records(Hosts)
    cores, memory = load(plan, "cores"), load(plan, "memory")
    assert "the server that carries more" in cores.title
    assert level(cores, "bought").value == plan.purchase.chosen.met("host.cores.bought").value
    assert max(cores.series[0].values) <= float(pair.busy.value) + 1e-9
    assert memory.series[0].values[0] == pytest.approx(pair.expected.value + plan.figures["host.memory.host"].value)


@pytest.mark.parametrize("seed", range(3))
def test_offices_of_any_shape_have_their_charts(seed: int) -> None:
    """Every place has its row, every row its values, whatever the office; no line of load passes what it is held to be."""
    plan = planned(varied(seed))
    for make in charting.CHARTS.values():
        sheet = make(plan, "")
        assert bool(sheet.charts) != bool(sheet.lacking)
        for one in sheet.charts:
            assert {len(row) for row in one.table} == {len(one.heads)}
            assert len(one.table) == len(one.across.at) == len(one.stands)
            assert all(len(each.values) == len(one.across.at) for each in one.series)
