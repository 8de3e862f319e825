"""Charts as drawn: axes and units named, lines to scale, every name in its plot and clear of the others, hostile text as text."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import ceil
from xml.etree import ElementTree as ET

import pytest

from chart_offices import chart, hand_made
from drawing_reading import SVG, Label, holds, labels, overlap, pairs, root, said
from generated_offices import brief
from hostile import EVERYTHING
from offices import changed, example, planned
from scantling import api
from scantling.api import charting
from scantling.outputs.drawings.charts.field import counted
from scantling.outputs.drawings.charts.model import Chart, ChartSheet
from scantling.outputs.drawings.lettering import BOOK, shown
from scantling.outputs.drawings.paper import DAY, NIGHT, Box, frame_box
from scantling.plan.make import Plan
from scantling.plan.telling import find

OFFICES = ("fold", "millrace", "brackwater", "120", "120 letter")
SLUGS = ("load", "filling", "pools", "demands")
SHEETS = [(office, slug) for office in OFFICES for slug in SLUGS]
EACH = pytest.mark.parametrize(("office", "slug"), SHEETS, ids=[f"{office} {slug}" for office, slug in SHEETS])


@cache
def plan_of(office: str) -> Plan:
    heads, _, paper = office.partition(" ")
    if not heads.isdigit():
        return example(heads)
    text = brief(int(heads))
    return planned(changed(text, "currency: EUR,", f"currency: EUR, paper: {paper},") if paper else text)


@cache
def sheet_of(office: str, slug: str) -> ChartSheet:
    """A sheet of an office; demands only where they are quickly weighed, else as before the weighing."""
    plan = plan_of(office)
    if slug == "demands" and office == "fold":
        return charting.chart_of_weighing(plan, api.weigh(plan))
    return charting.CHARTS[slug](plan, f"{charting.SUBJECTS[slug].letter}-9")


@cache
def drawn(office: str, slug: str, look: str = "day") -> str:
    return charting.drawn(sheet_of(office, slug), look)


def groups(svg: str) -> Iterator[tuple[str, ET.Element]]:
    """Every plot of a sheet by its name."""
    yield from ((one.get("data-chart", ""), one) for one in root(svg).iter() if one.get("data-part") == "chart")


def written(svg: str) -> list[Label]:
    """The words of the plots."""
    return [label for label in labels(svg) if "chart" in label.parts]


@EACH
def test_every_plot_names_its_axes_and_units(office: str, slug: str) -> None:
    sheet, found = sheet_of(office, slug), dict(groups(drawn(office, slug)))
    assert list(found) == [one.slug for one in sheet.charts]
    for one in sheet.charts:
        words = ["".join(text.itertext()).replace("\u00a0", " ") for text in found[one.slug].iter(f"{SVG}text")]
        assert counted(one) in words
        assert one.title in words or any(one.title.startswith(word.rstrip("\u2026")) for word in words)
        if not one.rows:
            assert one.across.axis.label in words


@EACH
def test_names_lie_on_the_sheet_and_on_nothing_else_that_is_written(office: str, slug: str) -> None:
    words = written(drawn(office, slug))
    frame = frame_box(sheet_of(office, slug).block.paper)
    assert all(holds(frame, label.box) for label in words)
    clashes = [
        (one.text, other.text)
        for place, one in enumerate(words)
        for other in words[place + 1 :]
        if overlap(one.box, other.box)
    ]
    assert clashes == []


@EACH
def test_every_line_is_drawn_to_scale(office: str, slug: str) -> None:
    """Heights are measured from the drawing, and come out as the values; levels and lines on one scale."""
    sheet, found = sheet_of(office, slug), dict(groups(drawn(office, slug)))
    for one in [one for one in sheet.charts if not one.rows]:
        box, per = scale(one, found[one.slug])
        paths = [each for each in found[one.slug].iter(f"{SVG}path") if each.get("data-part") == "series"]
        assert len(paths) == len(one.series)
        for series, path in zip(reversed(one.series), paths, strict=True):
            heights = {(box.bottom - y) / per for _, y in pairs(path.get("d", ""))}
            assert near(heights, set(series.values), 0.002 / per)
        levels = [each for each in found[one.slug].iter(f"{SVG}line") if each.get("data-part") == "level"]
        for level, line in zip(one.levels, levels, strict=True):
            assert (box.bottom - float(line.get("y1", ""))) / per == pytest.approx(level.value, abs=0.002 / per)


def near(found: set[float], wanted: set[float], slack: float) -> bool:
    """Whether each is near one of the other's."""
    return all(min(abs(one - other) for other in wanted) <= slack for one in found) and all(
        min(abs(one - other) for other in found) <= slack for one in wanted
    )


def scale(one: Chart, group: ET.Element) -> tuple[Box, float]:
    """The plot's box, and millimetres for one of what it counts."""
    (reading,) = (each for each in group if each.get("data-part") == "reading")
    left, top, width, height = (float(reading.get(name, "")) for name in ("x", "y", "width", "height"))
    end, headroom = float(reading.get("data-top", "")), float(reading.get("data-headroom", ""))
    assert end == pytest.approx(one.most or 1.0)
    return Box(left, top, left + width, top + height), (height - headroom) / end


def test_steps_of_demands_are_drawn_to_scale() -> None:
    """The longest is the dearest, and all others are as long as they cost."""
    (one,) = sheet_of("fold", "demands").charts
    rows = [each for each in root(drawn("fold", "demands")).iter() if each.get("data-part") == "row"]
    assert len(rows) == len(one.across.at)
    lengths, amounts = [], []
    for place, row in enumerate(rows):
        steps = [each for each in row.iter(f"{SVG}rect") if each.get("data-part") == "step"]
        lengths += [float(each.get("width", "")) for each in steps]
        amounts += [
            amount for series in one.series if series.drawn for amount in [series.values[place]] if amount > 0
        ]
    per = max(lengths) / max(amounts)
    assert lengths == pytest.approx([amount * per for amount in amounts], abs=0.002)


@EACH
def test_each_line_bears_its_name_and_its_highest_value(office: str, slug: str) -> None:
    sheet, words = sheet_of(office, slug), said(drawn(office, slug))
    for one in [one for one in sheet.charts if not one.rows]:
        for series in one.series:
            assert f"{series.name}: {one.amount(max(series.values))}" in words, (one.slug, series.name)
        for level in one.levels:
            assert f"{level.name} {one.amount(level.value)}" in words, (one.slug, level.name)


@pytest.mark.parametrize(("office", "slug"), [("millrace", "load"), ("brackwater", "filling")])
def test_findings_stand_in_red_pencil_on_the_plot_whose_figures_they_tell_of(office: str, slug: str) -> None:
    """The triangles bear the book's numbers, and each stands in the margin too; counted here from the findings themselves."""
    plan, svg = plan_of(office), drawn(office, slug)
    advice, wanted = [told.finding for told in plan.findings], {}
    rests = [{one.id for one in (*found.shown.values(), *found.when.parents())} for found in advice]
    for name, group in groups(svg):
        told = {one.get("data-figure") for one in group.iter() if one.get("data-figure")} & plan.figures.keys()
        wanted[name] = {number for number, ids in enumerate(rests, 1) if ids & told}
        marks = [one for one in group.iter() if one.get("data-part") == "triangle"]
        assert {int(one.get("data-finding", "")) for one in marks} == wanted[name], name
    listed = {int(one.get("data-finding", "")) for one in root(svg).iter() if one.get("data-part") == "pencil-note"}
    assert listed == set().union(*wanted.values()) != set()


@pytest.mark.parametrize("office", ["fold", "millrace", "brackwater", "120"])
def test_a_name_is_read_as_that_of_its_own_line(office: str) -> None:
    """It stands nearer to it than to any other line or limit, on the average, or a stroke leads from the one to the other.

    On the sheet, and on the page, where each plot is drawn alone.
    """
    sheet = sheet_of(office, "filling")
    on_the_sheet = [(one, drawn(office, "filling")) for one in sheet.charts]
    alone = charting.pictures(sheet)
    for one, svg in [*on_the_sheet, *((one, alone[one.slug]) for one in sheet.charts)]:
        group = dict(groups(svg))[one.slug]
        parts = {
            part: [each for each in group.iter() if each.get("data-part") == part]
            for part in ("series", "level", "leader")
        }
        courses = [pairs(path.get("d", "")) for path in reversed(parts["series"])]
        limits = [[(float(each.get("x1", "")), float(each.get("y1", ""))), (float(each.get("x2", "")), float(each.get("y2", "")))]
                  for each in parts["level"]]  # fmt: skip
        strokes = [tuple(float(each.get(end, "")) for end in ("x1", "y1", "x2", "y2")) for each in parts["leader"]]
        for place, series in enumerate(one.series):
            name = whole_name(inside(svg, group), series.name)
            away = [apart(course, name) for course in (*courses, *limits)]
            led = any(
                name.left <= x <= name.right and min(abs(y - name.top), abs(y - name.bottom)) < 1.5
                and height(courses[place], x) == pytest.approx(end, abs=0.01) for x, y, _, end in strokes
            )  # fmt: skip
            assert led or away[place] == min(away), (one.slug, series.name)


def whole_name(words: list[Label], name: str) -> Box:
    """The box of a line's name with its amount and what stands behind it: pieces of one row, each near the one before."""
    (first,) = (label.box for label in words if label.text.startswith(f"{name}:"))
    right = first.right
    for label in sorted(words, key=lambda one: one.box.left):
        same = abs(label.box.bottom - first.bottom) < 1 and label.box.left > first.left
        right = max(right, label.box.right) if same and label.box.left - right < 2 else right
    return Box(first.left, first.top, right, first.bottom)


def inside(svg: str, group: ET.Element) -> list[Label]:
    """The words of one plot."""
    cell = Box(*map(float, group.get("data-box", "").split()))
    return [label for label in written(svg) if holds(cell, label.box)]


def height(course: list[tuple[float, float]], x: float) -> float:
    """How high a line runs at a place, straight between its points."""
    (x1, y1), (x2, y2) = next(two for two in pairwise(course) if two[0][0] <= x <= two[1][0] + 1e-6)
    return y1 + (y2 - y1) * (x - x1) / (x2 - x1)


def apart(course: list[tuple[float, float]], name: Box) -> float:
    """How far a line runs from a name, on the average of eleven places."""
    heights = [height(course, name.left + (name.right - name.left) * step / 10) for step in range(11)]
    return sum(max(0.0, name.top - y, y - name.bottom) for y in heights) / len(heights)


@pytest.mark.parametrize("office", ["fold", "millrace", "brackwater", "120"])
def test_every_figure_that_a_chart_names_is_the_plans_and_says_its_value(office: str) -> None:
    """What is underlined with dots leads to a figure of the plan, whose printed value it is, or one of a series."""
    plan = plan_of(office)
    for slug in ("load", "filling", "pools"):
        for group in root(drawn(office, slug)).iter(f"{SVG}g"):
            id_ = group.get("data-figure")
            if id_ is None:
                continue
            figure = find(plan, id_)
            words = "".join(group.itertext()).strip().replace("\u00a0", " ")
            values = getattr(figure.value, "values", (figure.value,))
            about = words.startswith("about ")
            number = float(words.removeprefix("about ").split(" ")[0].replace(",", ""))
            share = id_.endswith(".refused")
            values = tuple(ceil(one) for one in values) if about else values
            assert any(float(value) * (100 if share else 1) == pytest.approx(number, rel=1e-3) for value in values), (
                id_,
                words,
            )


def test_night_has_the_same_words_in_other_inks() -> None:
    assert said(drawn("millrace", "load", "day")) == said(drawn("millrace", "load", "night"))
    assert DAY.paper in drawn("millrace", "load")
    assert NIGHT.paper in drawn("millrace", "load", "night")


@pytest.mark.parametrize("text", EVERYTHING, ids=range(len(EVERYTHING)))
def test_hostile_names_stay_text(text: str) -> None:
    """In every place of a chart that a client's words reach."""
    sheet = charting.chart_of_filling(hand_made())
    one = sheet.charts[0]
    strange = replace(
        one, title=text, series=tuple(replace(each, name=text) for each in one.series),
        levels=tuple(replace(each, name=text) for each in one.levels),
    )  # fmt: skip
    hostile = replace(sheet, charts=(strange,), block=replace(sheet.block, client=text), lacking=(text,))
    for made in (charting.drawn(hostile), *charting.pictures(hostile, "night").values()):
        top = root(made)
        assert {element.tag for element in top.iter()} <= {
            SVG + name for name in ("svg", "title", "desc", "g", "text", "tspan", "line", "rect", "path")
        }
        assert not any(name.startswith("on") for element in top.iter() for name in element.attrib)
    assert shown(text, BOOK).strip() in (root(charting.drawn(hostile))[0].text or "")


@EACH
def test_a_plot_alone_has_no_frame_and_its_names_are_clear(office: str, slug: str) -> None:
    sheet = sheet_of(office, slug)
    made = charting.pictures(sheet)
    assert list(made) == [one.slug for one in sheet.charts]
    for svg in made.values():
        parts = [each.get("data-part") for each in root(svg).iter()]
        assert parts.count("chart") == parts.count("reading") == 1
        assert not {"frame", "title-block", "margin"} & set(parts)
        view = Box(0, 0, *map(float, root(svg).get("viewBox", "").split()[2:]))
        words = written(svg)
        assert all(holds(view, label.box) for label in words)
        assert not [
            one.text for place, one in enumerate(words) for other in words[place + 1 :] if overlap(one.box, other.box)
        ]


def test_an_empty_sheet_says_on_paper_what_is_missing() -> None:
    plan = planned("office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n")
    for slug in SLUGS:
        sheet = charting.CHARTS[slug](plan, "S-9")
        assert sheet.lacking[0] in said(charting.drawn(sheet))


def test_a_chart_of_nothing_but_noughts_is_drawn() -> None:
    one = chart(charting.chart_of_load(hand_made()), "people")
    flat = replace(one, series=tuple(replace(each, values=(0.0,) * len(each.values)) for each in one.series))
    sheet = replace(charting.chart_of_load(hand_made()), charts=(flat,))
    assert "busiest: 0" in said(charting.drawn(sheet))
