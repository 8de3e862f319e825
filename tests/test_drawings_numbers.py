"""Every number, figure and finding of a model is on its sheets, and rooms keep their places."""

import dataclasses
import re
from collections.abc import Callable, Iterator

import pytest

from drawing_offices import LARGE_ROOMS
from drawing_reading import CABINET_SHEETS, ROOM_SHEETS, SECTION_SHEETS, SVG, root, said, walk
from generated_offices import brief
from offices import fold, millrace, planned
from scantling.figures import Place
from scantling.outputs.drawings import cabinet, elevation, floorplan, rooms, schedule, section
from scantling.outputs.drawings.drawn import drawings
from scantling.outputs.drawings.model import RoomsSheet
from scantling.outputs.drawings.paper import DAY
from scantling.outputs.drawings.pen import STANDBY
from scantling.plan.telling import everything

SIZES = ("small", "large")
UNPRINTED = {"figure", "slug", "paper", "kind"}
"""Fields of a model that are not words."""


def strings(value: object) -> Iterator[str]:
    """Every text of a view model."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        yield from (text for each in value for text in strings(each))
    elif dataclasses.is_dataclass(value):
        names = [field.name for field in dataclasses.fields(value) if field.name not in UNPRINTED]
        yield from (text for name in names for text in strings(getattr(value, name)))


def numbers(text: str) -> set[str]:
    """Every number in a text."""
    return set(re.findall(r"\d+(?:\.\d+)*", text))


def figures(value: object) -> set[str]:
    """Every figure's id of a view model."""
    if isinstance(value, tuple):
        return set().union(*map(figures, value))
    if dataclasses.is_dataclass(value):
        own = {getattr(value, "figure", "")} - {""}
        return own.union(*(figures(getattr(value, field.name)) for field in dataclasses.fields(value)))
    return set()


def room_sheets(model: RoomsSheet) -> tuple[str, str]:
    """Both sheets of one model by day."""
    return rooms.owners_sheet(model, DAY), schedule.technicians_sheet(model, DAY)


@pytest.mark.parametrize("size", SIZES)
def test_every_number_of_the_rooms_is_on_the_sheets(size: str) -> None:
    model = ROOM_SHEETS[size]
    seen = numbers(" ".join(map(said, room_sheets(model))))
    wanted = {number for text in strings(model) for number in numbers(text)}
    assert len(wanted) > 20
    assert wanted <= seen, wanted - seen
    assert {str(room.number) for room in model.rooms} <= seen


@pytest.mark.parametrize("size", SIZES)
def test_every_number_of_the_section_is_on_the_sheet(size: str) -> None:
    model = SECTION_SHEETS[size]
    seen = numbers(said(section.section_sheet(model, DAY)))
    wanted = {number for text in strings(model) for number in numbers(text)}
    assert len(wanted) > 20
    assert wanted <= seen, wanted - seen


@pytest.mark.parametrize("size", SIZES)
def test_every_number_of_the_cabinet_is_on_the_sheet(size: str) -> None:
    model = CABINET_SHEETS[size]
    seen = numbers(said(cabinet.cabinet_sheet(model, DAY)))
    wanted = {number for text in strings(model) for number in numbers(text)}
    assert len(wanted) > 15
    assert wanted <= seen, wanted - seen


TEXTS: dict[str, Callable[[], str]] = {
    "millrace": millrace,
    "fold": fold,
    "5": lambda: brief(5),
    "120": lambda: brief(120),
}


@pytest.mark.parametrize("office", TEXTS)
def test_the_cabinet_tells_what_the_plan_says(office: str) -> None:
    """Every part with its units and weight, the sum of the weights, what stands elsewhere; every figure is the plan's own."""
    plan = planned(TEXTS[office]())
    svg = drawings(plan)["P-1"]
    told, total = said(svg), 0.0
    marked = {each.get("data-figure", "") for each in root(svg).iter()} - {""}
    assert marked <= everything(plan).keys()
    runs = [(int(low), int(high or low)) for low, high in re.findall(r"units? (\d+)(?: to (\d+))?", told)]
    for place in plan.records(Place):
        assert place.name in told
        if place.lowest is not None:
            low = int(place.lowest.value)
            assert any(a <= low and low + int(place.height.value) - 1 <= b for a, b in runs), place.slug
            assert place.set_aside or f"{place.weight.value:.4g} kg" in told, place.slug
            total += float(place.weight.value)
    assert plan.figures["places.weight"].value == pytest.approx(total)
    assert f"{total:.4g} kg" in told


def test_fronts_are_drawn_to_scale_in_their_units() -> None:
    """A part of five units is five times as high as one of one; its foot is where its unit begins."""
    model = CABINET_SHEETS["large"]
    at = elevation.arranged(model)
    unit = 44.45 / at.front_scale
    outlines = [
        each
        for front in root(cabinet.cabinet_sheet(model, DAY)).iter()
        if front.get("data-part") == "front" and front.get("data-kind") in ("battery", "rack", "switch", "other")
        for each in front
        if each.get("data-part") == "outline"
    ]
    fronts = [
        one for part in model.parts for one in part.fronts if one.kind in ("battery", "rack", "switch", "other")
    ]
    assert len(outlines) == len(fronts) == 8
    for one, outline in zip(fronts, outlines, strict=True):
        assert float(outline.get("height", "")) == pytest.approx(one.height * unit, abs=0.002)
        assert float(outline.get("width", "")) == pytest.approx(482.6 / at.front_scale, abs=0.002)
        foot = float(outline.get("y", "")) + float(outline.get("height", ""))
        assert at.foot - foot == pytest.approx((one.lowest - 1) * unit, abs=0.002)
    assert at.front.height == pytest.approx(model.height.value / at.front_scale)
    assert at.side.width == pytest.approx(model.depth.value / at.side_scale)


def test_ports_and_bays_are_counted_as_they_are() -> None:
    """A square for every port, full where it feeds; a place for every disk, with its grip where one is."""
    model = CABINET_SHEETS["large"]
    parts = [each.get("data-part") for each in root(cabinet.cabinet_sheet(model, DAY)).iter()]
    fronts = [one for part in model.parts for one in part.fronts]
    assert parts.count("port") == sum(one.ports for one in fronts) == 192
    assert parts.count("fed") == sum(one.fed for one in fronts)
    assert parts.count("uplink") == sum(one.uplinks for one in fronts)
    assert parts.count("bay") == sum(one.bays for one in fronts)
    assert parts.count("disk") == sum(one.filled for one in fronts)


@pytest.mark.parametrize("size", SIZES)
def test_every_figure_is_underlined_and_carries_its_id(size: str) -> None:
    for model, sheets in (
        (ROOM_SHEETS[size], room_sheets(ROOM_SHEETS[size])),
        (SECTION_SHEETS[size], (section.section_sheet(SECTION_SHEETS[size], DAY),)),
        (CABINET_SHEETS[size], (cabinet.cabinet_sheet(CABINET_SHEETS[size], DAY),)),
    ):
        marked = [each for svg in sheets for each in root(svg).iter() if each.get("data-figure")]
        assert {each.get("data-figure") for each in marked} == figures(model)
        assert all([child.tag for child in each] == [f"{SVG}text", f"{SVG}line"] for each in marked)


def test_each_finding_has_its_triangle_at_the_thing_and_in_the_list() -> None:
    rooms_model, server, stack = ROOM_SHEETS["large"], SECTION_SHEETS["large"], CABINET_SHEETS["large"]
    for svg, pencil in (
        (cabinet.cabinet_sheet(stack, DAY), stack.pencil),
        (rooms.owners_sheet(rooms_model, DAY), rooms_model.pencil),
        (section.section_sheet(server, DAY), server.pencil),
    ):
        places: dict[str, set[str]] = {}
        for element, _, parts in walk(svg):
            if element.get("data-part") == "triangle":
                places.setdefault(element.get("data-finding", ""), set()).add(parts[0])
        assert places == {str(note.number): {"picture", "margin"} for note in pencil}
        for note in pencil:
            assert note.weight in said(svg)


def test_what_is_not_planned_is_said() -> None:
    for name in ("small", "large", "no rooms", "long names", "inch paper"):
        model = ROOM_SHEETS[name]
        owner, technician = room_sheets(model)
        assert "doors: not yet planned" in said(owner)
        assert "Not to scale" in said(owner)
        assert "not proved" in said(owner)
        assert "not proved" in said(technician)


def test_one_line_for_each_line_to_the_outside_and_standby_is_dashed() -> None:
    svg = rooms.owners_sheet(LARGE_ROOMS, DAY)
    dashes = [element.get("stroke-dasharray") for element in root(svg).iter() if element.get("data-part") == "line"]
    assert dashes == [None, STANDBY]


def test_a_new_room_moves_no_other_across_the_corridor() -> None:
    for left_out in LARGE_ROOMS.rooms:
        rest = tuple(room for room in LARGE_ROOMS.rooms if room is not left_out)
        before, after = floorplan.sides(rest), floorplan.sides(LARGE_ROOMS.rooms)
        for was, now in zip(before, after, strict=True):
            assert was == tuple(room for room in now if room is not left_out)


def test_widths_of_rooms_are_in_three_steps() -> None:
    plan, _ = rooms.arrange(LARGE_ROOMS)
    unit = next(placed.box.width for placed in plan.rooms if placed.room.size == 1)
    for placed in plan.rooms:
        assert placed.box.width == pytest.approx(unit * floorplan.SHARES[placed.room.size])


def test_memory_is_drawn_to_scale() -> None:
    """The full part of a bar against its open part is the floor against the ceiling."""
    model = SECTION_SHEETS["large"]
    groups = [each for each in root(section.section_sheet(model, DAY)).iter() if each.get("data-part") == "floor"]
    for floor, group in zip(model.floors, groups, strict=True):
        rects = [each for each in group if each.tag == f"{SVG}rect"]
        full, lengths = rects[0], [float(each.get("width", "")) for each in rects]
        assert full.get("fill") == DAY.ink
        wanted = floor.memory_floor.value / floor.memory_ceiling.value
        assert lengths[0] / lengths[-1] == pytest.approx(wanted, abs=0.01)
        posts = [each for each in group if each.get("data-part") == "post"]
        assert len(posts) == floor.cores.value
