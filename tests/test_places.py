"""Which units parts fill: nothing twice, heavy low, what a survey found where it was found."""

from collections.abc import Mapping

import pytest
from generated_offices import brief
from hypothesis import given, settings
from hypothesis import strategies as st
from offices import codes, fold, millrace, planned

from scantling import api
from scantling.catalogue.columns import BATTERY_YEARS, HEIGHT, SWITCH_PORTS, WEIGHT
from scantling.figures import Place
from scantling.handbook.space import hung, stacked, wrongly_filled
from scantling.plan.make import Plan

NAMES = ("a", "b", "c", "d", "e")
HEIGHTS = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 6), max_size=5)


def filled(place: Place) -> range:
    """The units that a part fills."""
    assert place.lowest is not None
    return range(int(place.lowest.value), int(place.lowest.value) + int(place.height.value))


def here(plan: Plan) -> list[Place]:
    """What stands where the server stands, from below."""
    return sorted((p for p in plan.records(Place) if p.lowest is not None), key=lambda place: filled(place).start)


@pytest.mark.parametrize("office", [millrace, fold, *(lambda h=h: brief(h) for h in (3, 5, 16, 40, 80, 120))])
def test_no_unit_is_filled_twice_and_all_are_there(office: object) -> None:
    assert callable(office)
    plan = planned(office())
    units = [unit for place in here(plan) for unit in filled(place)]
    assert units
    assert len(units) == len(set(units))
    assert min(units) >= 1
    assert max(units) <= plan.figures["places.units"].value
    assert plan.figures["places.taken"].value == len(units)
    assert not {"C-5", "C-6", "C-7"} & codes(plan)


@pytest.mark.parametrize("office", [millrace, fold, *(lambda h=h: brief(h) for h in (5, 40, 120))])
def test_batteries_are_lowest_then_the_heavy_and_switches_highest(office: object) -> None:
    """Heaviest at the bottom: common practice, no source (CHECKS, facts of the trade)."""
    assert callable(office)
    plan = planned(office())
    stack = [place for place in here(plan) if not place.set_aside]
    options = plan.purchase.chosen.options
    assert options[stack[0].slot].get(BATTERY_YEARS) is not None
    assert options[stack[-1].slot].get(SWITCH_PORTS) is not None
    middle = [float(p.weight.value) for p in stack[1:] if options[p.slot].get(SWITCH_PORTS) is None]
    assert middle == sorted(middle, reverse=True)


def test_every_bought_part_with_a_height_has_a_place_and_what_has_none_stands_elsewhere() -> None:
    plan = planned(millrace())
    wanted = sum(
        count
        for option in plan.purchase.chosen.options.values()
        for row, count in option.parts
        if row.get(HEIGHT) is not None
    )
    places = [place for place in plan.records(Place) if not place.set_aside]
    assert len(places) == wanted
    assert {place.slug for place in places if place.lowest is None} == {"away"}
    (away,) = [place for place in places if place.slug == "away"]
    assert away.place == "away from the premises"


def test_disks_weigh_where_they_ride() -> None:
    """The server is as heavy as itself and its disks; all together weigh what the purchase weighs without the copy elsewhere."""
    plan = planned(millrace())
    weights = {place.slug: float(place.weight.value) for place in plan.records(Place)}
    bought = [part for option in plan.purchase.chosen.options.values() for part in option.parts]
    assert sum(weights.values()) == pytest.approx(sum((row.get(WEIGHT) or 0.0) * count for row, count in bought))
    assert weights["host"] > max(row.get(WEIGHT) for row, _ in plan.purchase.chosen.options["host"].parts)


def test_what_a_survey_found_in_a_unit_stays_there() -> None:
    """The switch of the office in unit 20: it is used, it costs nothing, and all else makes room."""
    found = (
        "kit:\n  old: {name: Switch of the office, kind: switch, article: switch-48, serves: switch, count: 1, do: keep, known: seen, "
        "unit: 20}\n"
    )
    plan = api.plan_text(millrace(), stands=found)
    (kept,) = [place for place in here(plan) if filled(place).start == 20]
    assert kept.slot == "switch"
    assert kept.name == "switch, 48 ports"
    assert "C-7" not in codes(plan)


def test_a_survey_that_puts_two_things_into_one_unit_is_told() -> None:
    found = (
        "kit:\n  old: {name: Switch, kind: switch, article: switch-48, serves: switch, count: 1, do: keep, known: seen, unit: 2}\n"
        "  battery: {name: Battery, kind: ups, article: unit-3000, serves: ups, count: 1, do: keep, known: seen, unit: 1}\n"
    )
    plan = api.plan_text(millrace(), stands=found)
    assert plan.purchase.chosen.options["ups"].slug == "unit-3000"
    assert "C-7" in codes(plan)


def test_a_second_server_gets_a_place_of_its_own() -> None:
    """Two servers of one kind: two places, each with half of the disks' weight."""
    plan = planned(millrace() + "\nbuild: {hosts: 2}\n")
    hosts = [place for place in here(plan) if place.slot == "host"]
    assert [place.slug for place in hosts] == ["host-1", "host-2"]
    assert hosts[0].weight.value == hosts[1].weight.value


@settings(max_examples=200, deadline=None)
@given(HEIGHTS, HEIGHTS, st.integers(0, 2), st.integers(1, 60))
def test_stacks_never_meet_and_need_no_more_than_they_must(
    foot: Mapping[str, int], body: Mapping[str, int], gap: int, room: int
) -> None:
    """Below the top wherever they can be at all: without free units they fill from the first unit on without a hole."""
    low = {f"foot {name}": height for name, height in foot.items()}
    weights = {name: float(len(name) + height) for name, height in {**low, **body}.items()}
    lowest = stacked(low, body, weights, {}, gap, room)
    heights = {**low, **body}
    assert lowest.keys() == heights.keys()
    tall = sum(heights.values())
    if tall <= room:
        assert wrongly_filled(lowest, heights, room) == 0
    if tall + gap * (len(heights) - 1) > room:
        assert max((lowest[name] + heights[name] - 1 for name in lowest), default=0) == tall


@settings(max_examples=200, deadline=None)
@given(HEIGHTS, st.integers(1, 40))
def test_what_hangs_fills_from_the_top(head: Mapping[str, int], offered: int) -> None:
    lowest = hung(head, {}, offered)
    assert lowest.keys() == head.keys()
    if sum(head.values()) <= offered:
        assert wrongly_filled(lowest, head, offered) == 0
        assert min(lowest.values(), default=offered + 1) == offered - sum(head.values()) + 1


def test_a_pin_moves_a_part_and_what_rests_on_it_follows() -> None:
    """A part pinned higher: the centre of gravity rises by its share of the moments, and a unit filled twice is a stop."""
    before = planned(millrace())
    near = next(place for place in here(before) if place.slug == "near")
    assert near.lowest is not None
    ups = next(place for place in here(before) if place.slug == "ups")
    higher = int(near.lowest.value) + 5
    pin = "\npins:\n  places.near.lowest: {{value: {}, because: moved by hand}}\n"
    after = planned(millrace() + pin.format(higher))
    weights = sum(float(place.weight.value) for place in here(before))
    rise = 44.45 * 5 * float(near.weight.value) / weights  # moments over weight
    assert float(after.figures["places.centre"].value) - float(
        before.figures["places.centre"].value
    ) == pytest.approx(rise)
    assert after.figures["places.wrong"].value == 0
    clash = planned(millrace() + pin.format(1))
    assert clash.figures["places.wrong"].value == int(ups.height.value)
    assert [told.weight for told in clash.findings if told.finding.code == "C-7"] == ["stop"]
