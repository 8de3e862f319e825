"""The sheets of a rehearsal: what stands on them is counted again from what the rehearsal found, and drawn to scale."""

import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as ET

import pytest

from drawing_plans import parts, words
from drawing_reading import SVG, pairs, said
from drawing_rehearsals import DAYS, TRIES, tries
from drawing_offices import SMALL_ROOMS
from hostile import EVERYTHING
from offices import example
from rehearsal_samples import BARE, DRILL, LARGE, SMALL, WRONG, hostile
from scantling import api
from scantling.api.rehearsal_sheets import rehearsal_sheets
from scantling.figures import Address, Address6, Machine, Zone
from scantling.outputs.drawings.busiest import days_sheet, full, plots
from scantling.outputs.drawings.paper import DAY
from scantling.outputs.drawings.sheet_set import pencilled
from scantling.outputs.drawings.tries import tries_sheet
from scantling.trials.rehearsal.results import Cell, Mismatch, Rehearsed

FOUND = {"small": SMALL, "wrong": WRONG}


@cache
def sheets(name: str) -> dict[str, str]:
    """The sheets of an invented rehearsal of the smallest office."""
    return api.rehearsal_drawings(example("fold"), FOUND[name])


def tried(svg: str) -> list[list[str]]:
    """The words of every pair that was tried."""
    return [words(group) for group in parts(svg, "try") if words(group)]


# --------------------------------------------------------------------------------------------------------- who tried whom


@pytest.mark.parametrize("name", [name for name in TRIES if name != "crowded"])
def test_each_field_bears_its_counts(name: str) -> None:
    """Let through first; kept out behind it, or alone where nothing was let through; triangles behind those."""
    model = TRIES[name]
    found = tried(tries_sheet(model, DAY))
    wanted = []
    for goal in model.goals:
        for place in model.places:
            one = next((one for one in model.tries if (one.who, one.whom) == (place.slug, goal.slug)), None)
            if one is not None:
                counts = (
                    [f"{one.through:,}", f"{one.kept_out:,}"] if one.through or one.wrong else [f"{one.kept_out:,}"]
                )
                wanted.append(counts)
    assert [each[: len(counts)] for each, counts in zip(found, wanted, strict=True)] == wanted


def test_a_field_is_hatched_unless_something_was_let_through_or_went_otherwise() -> None:
    model = tries(SMALL_ROOMS, 3, wrong=True)
    svg = tries_sheet(model, DAY)
    doors = [
        group for group in parts(svg, "try")
        if any(each.get("stroke-width") == str(DAY.door) for each in group if each.tag == f"{SVG}rect")
    ]  # fmt: skip
    assert len(doors) == sum(bool(one.through or one.wrong) for one in model.tries)
    clouds = [group for group in parts(svg, "try") if any(each.get("data-part") == "cloud" for each in group)]
    assert len(clouds) == sum(bool(one.wrong) for one in model.tries) == 3


def test_a_mismatch_is_marked_where_it_is_and_told_beside() -> None:
    """Numbered on from the findings; the packet's words say which field it is."""
    made = example("fold")
    server = next(one for one in made.records(Address) if one.holder == "files")
    sixth = next(one for one in made.records(Address6) if one.holder == "files")
    packets = {
        f"10.71.30.50 tcp {server.address}:445 at fri 21:00 v4": ("staff", "servers/files"),
        f"[fdbd:2bb:aac9:30::50] tcp [{sixth.address}]:445 at fri 21:00 v6": ("staff", "servers/files"),
        "198.51.100.7 tcp firewall:443 at fri 21:00 v4": ("outside", "firewall"),
        f"{server.address} tcp 203.0.113.9:25 at fri 21:00 v4": ("servers", "outside"),
        "10.9.9.9@staff udp 10.71.20.1:53 at fri 21:00 v4": ("staff", "firewall"),
    }
    for packet, (who, whom) in packets.items():
        cells = (Cell(who, whom, "", 9, 1, 8, 1), Cell("staff", "servers", "", 9, 1, 8, 1))
        found = replace(
            SMALL, cells=cells, mismatches=(Mismatch("It went astray.", "x", "brief.yaml:7", "r-1", packet),)
        )
        sheet = rehearsal_sheets(made, found).tries
        assert sheet is not None
        first = len(pencilled(made).notes) + 1
        assert [(one.who, one.whom) for one in sheet.tries if one.differs == (first,)] == [(who, whom)], packet
        svg = api.rehearsal_drawings(made, found)["T-1"]
        (group,) = (
            each for each in parts(svg, "try") if any(one.get("data-part") == "triangle" for one in each.iter())
        )
        assert str(first) in words(group)
        for told in ("It went astray.", "brief.yaml:7", "r-1", "scantling prove --packet"):
            assert told in said(svg), told


def test_a_mismatch_without_a_packet_is_told_beside_alone() -> None:
    svg = sheets("wrong")["T-1"]
    assert "tickets.millrace.example leads to 203.0.113.46" in said(svg)
    assert said(svg).count("rehearsal") >= 2


@pytest.mark.parametrize("name", FOUND)
def test_rooms_and_their_machines_stand_in_order(name: str) -> None:
    made, svg = example("fold"), sheets(name)["T-1"]
    sheet = rehearsal_sheets(made, FOUND[name]).tries
    assert sheet is not None
    assert [goal.slug for goal in sheet.goals][:2] == ["servers", "servers/files"]
    assert [goal.slug for goal in sheet.goals][-2:] == ["outside", "firewall"]
    known = {zone.slug: zone.name for zone in made.records(Zone)}
    assert all(goal.name == known[goal.slug] for goal in sheet.goals if goal.slug in known)
    total = sum(one.passed for one in FOUND[name].cells)
    assert f"{total} let through" in said(svg)
    assert "not the box that will be installed" in said(svg)


def test_what_is_not_known_to_the_plan_still_has_its_row() -> None:
    """A machine or a zone that the plan lacks (a record of another day) is not lost."""
    found = replace(SMALL, cells=(Cell("staff", "nowhere", "", 5, 2, 3, 0), Cell("staff", "files", "", 5, 2, 3, 0)))
    assert "files" in {one.slug for one in example("fold").records(Machine)}
    assert {"nowhere", "files"} <= set(said(api.rehearsal_drawings(example("fold"), found)["T-1"]).split())


# -------------------------------------------------------------------------------------------------------------- the drill


def test_every_fault_has_its_line() -> None:
    svg = sheets("wrong")["T-2"]
    lines = [words(group) for group in parts(svg, "fault")]
    assert [line[1] for line in lines] == [one.what for one in WRONG.drill]
    assert ["not noticed" in line for line in lines] == [False, True, False]
    assert ["no" in line for line in lines] == [False, False, True]
    assert [len(list(parts(svg, part))) for part in ("found", "lost")] == [1, 2]
    assert "1 of 3 faults found where they were put; after 2 of them all was well again." in said(svg)
    marked = [
        group for group in parts(svg, "fault") if any(one.get("data-part") == "triangle" for one in group.iter())
    ]
    assert len(marked) == 2


def test_a_drill_in_which_all_is_found_has_no_red() -> None:
    svg = api.rehearsal_drawings(example("fold"), replace(SMALL, drill=DRILL))["T-2"]
    assert DAY.pencil not in svg
    assert len(list(parts(svg, "found"))) == len(DRILL)
    assert "22 of 22 faults found where they were put" in said(svg)


# -------------------------------------------------------------------------------------------------------- the busiest day


def curve_of(group: ET.Element, part: str) -> list[tuple[float, float]]:
    """The points of a line of one plot."""
    (one,) = (each for each in group.iter() if each.get("data-part") == part)
    if one.tag == f"{SVG}line":
        return [(float(one.get(f"x{n}", "")), float(one.get(f"y{n}", ""))) for n in (1, 2)]
    return pairs(one.get("d", ""))


@pytest.mark.parametrize("name", ["small", "large", "falling"])
def test_curves_are_to_scale(name: str) -> None:
    """Each count stands as high over the ground as its share of the pool's line; both plots have one scale."""
    model = DAYS[name]
    groups = list(parts(days_sheet(model, DAY), "day"))
    assert len(groups) == len(model.curves)
    for group, one, plot in zip(groups, model.curves, plots(model), strict=True):
        (_, pool), _ = curve_of(group, "pool")
        for (x, y), (hour, held) in zip(curve_of(group, "curve")[::2], one.held, strict=True):
            assert (plot.box.bottom - y) / (plot.box.bottom - pool) == pytest.approx(held / one.pool, abs=0.002)
            share = (hour - one.held[0][0]) / (one.held[-1][0] - one.held[0][0])
            assert (x - plot.box.left) / plot.box.width == pytest.approx(share, abs=0.002)


def test_hours_in_which_none_is_left_are_hatched() -> None:
    model = DAYS["large"]
    first, second = parts(days_sheet(model, DAY), "day")
    assert not any(each.get("data-part") == "hatch" for each in first.iter())
    assert any(each.get("data-part") == "hatch" for each in second.iter())
    assert full(model.curves[0]) == []
    (start, end) = full(model.curves[1])[0]
    held = dict(model.curves[1].held)
    assert held[start] == model.curves[1].pool
    assert end == model.curves[1].held[-1][0]


def test_both_leases_are_told_with_what_came_of_them() -> None:
    svg = sheets("wrong")["T-3"]
    one, two = (" ".join(words(group)) for group in parts(svg, "day"))
    assert "Lent for 2 h" in one
    assert "Lent for 8 h" in two
    assert "Turned away by the real server: 215." in two
    assert "Foreseen by counting: 214; by the loss formula: 35.9% of those who come." in two
    assert "none left: 215 turned away" in two
    assert "none left" not in one


# ---------------------------------------------------------------------------------------------------------------- the set


def test_only_sheets_with_something_to_show_are_drawn() -> None:
    assert list(sheets("small")) == ["T-1"]
    assert list(sheets("wrong")) == ["T-1", "T-2", "T-3"]
    assert api.rehearsal_drawings(example("fold"), BARE) == {}
    assert "1 of 1" in said(sheets("small")["T-1"])
    assert "3 of 3" in said(sheets("wrong")["T-3"])


@pytest.mark.parametrize(("name", "says"), [("small", "as meant"), ("wrong", "6 otherwise")])
def test_the_title_block_says_how_it_went(name: str, says: str) -> None:
    for svg in sheets(name).values():
        (block,) = parts(svg, "title-block")
        assert says in words(block)
        assert "Fold & Fell Surveyors" in words(block)


@pytest.mark.parametrize("found", [SMALL, WRONG, LARGE], ids=["small", "wrong", "large"])
def test_the_same_rehearsal_draws_the_same_bytes(found: Rehearsed) -> None:
    made = example("fold")
    for look in ("day", "night"):
        assert api.rehearsal_drawings(made, found, look) == api.rehearsal_drawings(made, found, look)


@pytest.mark.parametrize("text", EVERYTHING, ids=range(len(EVERYTHING)))
def test_hostile_text_stays_text(text: str) -> None:
    """Through the whole road from the rehearsal to the drawing, read back by the standard XML parser."""
    for svg in api.rehearsal_drawings(example("fold"), hostile(text)).values():
        tags = {each.tag.removeprefix(SVG) for each in ET.fromstring(svg).iter()}
        assert tags <= {"svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path"}
        assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f]", svg)
