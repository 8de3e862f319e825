"""Doors and schedules of whole plans, from five people to a hundred and twenty: nothing overlaps, every number is the plan's."""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from types import SimpleNamespace

import pytest

import test_drawings_sheets as must_hold
from drawing_plans import (
    HOUSEKEEPING, OFFICES, accepted, block_of, hung, in_runs, network_sheets, numbers, parts, picture, plan_of, rule_numbers, said,
    sheets_of, words,
)  # fmt: skip
from drawing_networks import DOORED
from drawing_reading import SVG, drawn, labels, overlap, pairs
from scantling.figures import (
    FIREWALL, OUTSIDE, Asking, Flow, Line, RuleSet, Server, Verdict, Zone,
)  # fmt: skip
from scantling.handbook.hours import written_hours
from scantling.outputs.drawings.balloon import RADIUS
from scantling.outputs.drawings.door_schedule import SHEET_LINES, cut, paged
from scantling.outputs.drawings.from_traffic import doors, traffic
from scantling.outputs.drawings.paper import Box
from scantling.plan.make import Plan

every = pytest.mark.parametrize("office", OFFICES)
SIZES = ("5", "24", "48", "120", "5 letter", "120 letter", "millrace", "brackwater", "fold")
CHECKS: tuple[Callable[[must_hold.Sheet], None], ...] = (
    must_hold.test_every_label_stays_in_the_box_it_belongs_to, must_hold.test_nothing_is_drawn_outside_the_field,
    must_hold.test_no_two_labels_overlap, must_hold.test_labels_keep_clear_of_walls_and_centring_marks,
    must_hold.test_triangles_keep_clear_of_words_and_of_each_other, must_hold.test_only_plain_svg_is_used,
)  # fmt: skip


@pytest.mark.parametrize("office", SIZES)
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_what_must_hold_on_every_sheet_holds_for_whole_plans(office: str, check: Callable[..., None]) -> None:
    for sheet in network_sheets(office):
        check((sheets_of(office)[sheet], block_of(office, sheet)))


@every
def test_nothing_is_cut_on_the_plan_the_schedules_and_the_paths(office: str) -> None:
    """No word of theirs ends in dots; the one exception is a triangle too many."""
    for sheet in network_sheets(office):
        if sheet not in {"N-3", "N-4"}:
            dotted = [
                word
                for word in picture(sheets_of(office)[sheet]).split(" ")
                if word.endswith("\u2026") and word != "\u2026"
            ]
            assert not dotted, (sheet, dotted)


@every
def test_a_room_has_a_door_exactly_where_it_may_be_called_on(office: str) -> None:
    """Counted from the intents: one door a room, numbered as the room, and hatching where there is none."""
    plan, svg = plan_of(office), sheets_of(office)["N-1"]
    called = {flow.target.zone for flow in accepted(plan)}
    zones = {zone.slug: str(int(zone.number.value)) for zone in plan.records(Zone)}
    (into_rooms,), (street,) = list(parts(svg, "doors")), list(parts(svg, "street-doors"))
    balloons = [words(each)[0] for each in into_rooms.iter() if each.get("data-part") == "balloon"]
    assert Counter(balloons) == Counter(zones[slug] for slug in zones if slug in called)
    hatched = {
        group.get("data-room")
        for group in parts(svg, "room")
        if any(each.get("data-part") == "hatch" for each in group)
    }
    assert hatched == zones.keys() - called
    ways = [flow.target.zone == OUTSIDE for flow in accepted(plan) if OUTSIDE in {flow.source.zone, flow.target.zone}]
    assert len([each for each in street.iter() if each.get("data-part") == "door"]) == len(set(ways))


@every
def test_doors_swing_into_their_rooms_and_the_way_out_opens_outward(office: str) -> None:
    """Each leaf lies on the room's side of the corridor's wall, its swing inside the room; the way out lies in the street."""
    svg = sheets_of(office)["N-1"]
    (into_rooms,) = parts(svg, "doors")
    boxes = [tuple(map(float, group.get("data-box", "").split())) for group in parts(svg, "room")]
    (corridor,) = (tuple(map(float, group.get("data-box", "").split())) for group in parts(svg, "corridor"))
    leaves = [each for each in into_rooms.iter() if each.get("data-part") == "leaf"]
    assert leaves
    for leaf in leaves:
        x1, y1, y2 = (float(leaf.get(side, "")) for side in ("x1", "y1", "y2"))
        assert y1 in {corridor[1], corridor[3]}
        assert any(
            left < x1 < right and top <= min(y1, y2) and max(y1, y2) <= bottom for left, top, right, bottom in boxes
        )
        assert not corridor[1] < y2 < corridor[3]
    (street,) = parts(svg, "street-doors")
    tips = [float(each.get("x2", "")) for each in street.iter() if each.get("data-part") == "leaf"]
    out = [tip for tip in tips if tip < corridor[0]]
    assert len(out) == any(door.kind == "out" for door in hung(plan_of(office)))
    assert all(tip > corridor[0] for tip in tips if tip not in out)


@every
def test_the_corridor_is_closed_and_every_line_ends_at_its_wall(office: str) -> None:
    """The outer wall goes all round, doors apart; one drawn line for each line to the outside, standby dashed with its last stub full."""
    plan, svg = plan_of(office), sheets_of(office)["N-1"]
    (corridor,) = (tuple(map(float, group.get("data-box", "").split())) for group in parts(svg, "corridor"))
    lines = list(parts(svg, "line"))
    assert len(lines) == len(plan.records(Line))
    for line, record in zip(lines, plan.records(Line), strict=True):
        x, y = pairs(line.get("d", ""))[-1]
        assert corridor[0] - 1.6 < x < corridor[0]
        assert corridor[1] < y < corridor[3]
        assert (line.get("stroke-dasharray") is not None) == record.standby
    if any(record.standby for record in plan.records(Line)):
        assert "all still goes out" in said(svg)
    wall = next(each for each in parts(svg, "outer-wall") if each.tag == f"{SVG}path").get("d", "")
    assert wall.count("Z") == 2


def told_callers(plan: Plan) -> set[str]:
    """Labels of everybody who may begin something, counted from the intents."""
    return {flow.source.label for flow in accepted(plan)} | {
        flow.source.label for flow in plan.records(Flow) if flow.verdict is not Verdict.ACCEPT
    }


@every
def test_every_caller_stands_in_the_schedule(office: str) -> None:
    """Each label of an intent's source stands there, or is told as one of every room; so are hours, and what for."""
    plan, svg = plan_of(office), sheets_of(office)["N-1"]
    (listed,) = parts(svg, "door-list")
    told = " ".join(words(listed)).lower()
    for flow in accepted(plan):
        for word in flow.name.lower().split():
            assert word in told, flow.slug
        if flow.window is not None:
            assert written_hours(flow.window) in told
    for label in told_callers(plan):
        whole = label in {zone.name for zone in plan.records(Zone)}
        assert all(word in told for word in label.lower().split()) or (whole and "every room" in told), label


@every
def test_the_schedule_is_laid_evenly_over_as_few_sheets_as_it_needs(office: str) -> None:
    """No sheet is much emptier than the others: none has less than half the rows of the fullest."""
    hung_ = doors(plan_of(office)) or ()
    pages, fullest_first = paged(hung_), cut(hung_, SHEET_LINES)
    assert len(pages) == len(fullest_first)
    rows = [sum(len(door.passages) for door in page) for page in pages]
    assert sum(rows) == sum(len(door.passages) for door in hung_)
    assert min(rows) * 2 >= max(rows), rows


@every
def test_the_technicians_schedule_has_every_port_and_rule(office: str) -> None:
    """Line by line: the ports of the intents between the two labels, and the numbers of the rules that are made of them."""
    plan = plan_of(office)
    for door in hung(plan):
        for line in door.passages if door.kind != "always" else ():
            mine = [
                flow
                for flow in plan.records(Flow)
                if (flow.source.label, flow.target.label) == (line.who, line.whom)
                and (flow.verdict is Verdict.ACCEPT) == (door.kind != "never")
                and flow.group != HOUSEKEEPING
                and (written_hours(flow.window) if flow.window else "") == line.hours
            ]
            assert in_runs(line.rules) == rule_numbers(plan, mine), (door.name, line)
            ends = {
                end
                for flow in mine
                for one in flow.carried
                for end in (one.first, one.last)
                if str(one) != one.protocol
            }
            assert {int(number) for number in numbers(line.carried)} - {6} <= ends
            assert {one.protocol for flow in mine for one in flow.carried} == {
                part.split()[0] for part in line.carried.split("; ")
            }
    drawn = " ".join(
        picture(svg) for sheet, svg in sheets_of(office).items() if sheet.startswith("N-") and int(sheet[2:]) >= 6
    )
    for door in hung(plan):
        for line in door.passages:
            assert numbers(line.rules) | numbers(line.carried) <= numbers(drawn)


@every
def test_every_number_of_the_schedules_and_the_paths_is_the_plans(office: str) -> None:
    """No number stands there that is not one of a room, a port, a rule, an hour, an address or a speed of the plan."""
    plan = plan_of(office)
    (rules,) = plan.records(RuleSet)
    known = {str(int(zone.number.value)) for zone in plan.records(Zone)} | {door.number for door in hung(plan)}
    flows = plan.records(Flow)
    spoken = [str(one) for flow in flows for one in flow.carried] + [written_hours(flow.window) for flow in flows]
    spoken += [word for flow in flows for word in (flow.name, flow.source.label, flow.target.label)]
    spoken += [rule.slug.removeprefix("r-") for rule in rules.rules]
    spoken += [
        str(word)
        for one in plan.records(Asking)
        for word in (*one.resolvers, *one.time_sources, one.when_down, one.domain)
    ]
    spoken += [word for one in plan.records(Server) for word in (*one.upstream, one.holder)]
    made = Counter(flow.group for flow in flows)[HOUSEKEEPING]
    known |= numbers(" ".join(spoken)) | {str(many) for many in range(1, 8 * made)}
    for sheet in network_sheets(office):
        if sheet == "N-5" or int(sheet[2:]) >= 6:
            assert numbers(picture(sheets_of(office)[sheet])) <= known, sheet


@every
def test_numbers_of_doors_stay_when_a_room_goes(office: str) -> None:
    """Doors bear the numbers of their rooms, so that a new room changes none of the others."""
    plan = plan_of(office)
    before = {door.room: door.number for door in hung(plan) if door.room}
    for zone in plan.records(Zone):
        rest = tuple(entry for entry in plan.entries[Zone] if entry[1].slug != zone.slug)
        after = {
            door.room: door.number for door in hung(replace(plan, entries={**plan.entries, Zone: rest})) if door.room
        }
        assert after.items() <= before.items()
        assert before.keys() - after.keys() <= {zone.slug}


def test_the_street_doors_have_the_first_numbers_that_no_room_has() -> None:
    told = traffic(plan_of("5"))
    numbered = [replace(zone, number=SimpleNamespace(value=place)) for place, zone in enumerate(told.zones, 2)]  # type: ignore[arg-type]
    assert replace(told, zones=tuple(numbered)).street == ("1", str(len(numbered) + 2))


def test_the_firewall_and_the_outside_are_no_rooms() -> None:
    assert not {FIREWALL, OUTSIDE} & {door.room for door in hung(plan_of("millrace")) if door.kind == "room"}


def balloons_of(svg: str) -> list[Box]:
    """Boxes round the numbered balloons of the plan."""
    found = []
    for group in (each for name in ("doors", "street-doors") for part in parts(svg, name) for each in part):
        if group.get("data-part") == "balloon":
            x, top = pairs(group[0].get("d", ""))[0]
            run = float(re.findall(r"l([\d.]+) 0", group[0].get("d", ""))[0])
            found.append(Box(x - RADIUS, top, x + run + RADIUS, top + 2 * RADIUS))
    return found


def swings_of(svg: str) -> list[Box]:
    """Squares in which doors swing."""
    leaves = [each for name in ("doors", "street-doors") for part in parts(svg, name) for each in part.iter()]
    ends = [
        [float(each.get(side, "")) for side in ("x1", "y1", "x2", "y2")]
        for each in leaves
        if each.get("data-part") == "leaf"
    ]
    squares = []
    for x1, y1, x2, y2 in ends:
        if x1 == x2:  # a room's door: its opening lies left of the hinge
            squares.append(Box(x1 - abs(y2 - y1), min(y1, y2), x1, max(y1, y2)))
        else:
            squares.append(Box(min(x1, x2), y1, max(x1, x2), y1 + abs(x2 - x1)))
    return squares


PLANS = {
    **{name: drawn(f"N-1 {name}", "day") for name in DOORED},
    **{f"plan {office}": "" for office in SIZES},
}


@pytest.mark.parametrize("name", PLANS)
def test_doors_and_their_numbers_keep_clear_of_each_other(name: str) -> None:
    svg = PLANS[name] or sheets_of(name.removeprefix("plan "))["N-1"]
    things = [*balloons_of(svg), *swings_of(svg)]
    assert things or "none" in name
    for one, other in combinations(things, 2):
        assert not overlap(one, other), (one, other)
    for label in labels(svg):
        if "balloon" not in label.parts:
            assert not any(overlap(box, label.box) for box in things), label


@pytest.mark.parametrize("name", PLANS)
def test_hatching_leaves_clear_islands_for_words(name: str) -> None:
    """No stroke of a hatching comes nearer to words than half a millimetre."""
    svg = PLANS[name] or sheets_of(name.removeprefix("plan "))["N-1"]
    hatched = list(parts(svg, "hatch"))
    words_ = [label.box for label in labels(svg) if "room" in label.parts]
    for each in hatched:
        strokes = re.findall(r"M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+)", each.get("d", ""))
        assert strokes
        for x1, y1, x2, y2 in (map(float, stroke) for stroke in strokes):
            assert x1 + y1 == pytest.approx(x2 + y2, abs=0.01)
            for box in (box.inset(-0.5) for box in words_):
                low, high = max(x2, box.left, x1 + y1 - box.bottom), min(x1, box.right, x1 + y1 - box.top)
                assert low >= high - 0.01, (box, (x1, y1, x2, y2))
