"""The sheets of charts as pages: values as tables equal to the chart's, plots to be read by keys, the file to save, weighing."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree as ET

import pytest
from hostile_briefs import spread
from office_client import Read, Tab, served
from offices import BRIEFS, example, planned

from scantling import api
from scantling.api import charting
from scantling.outputs.drawings.charts.model import Chart
from scantling.plan.telling import identity
from scantling.web.chart_tables import values
from scantling.web.parts import View
from scantling.web.rooms import jobs_of
from scantling.web.sheets import charts

DRAWN = ("load", "filling", "pools")


@pytest.fixture
def tab(tmp_path: Path) -> Iterator[Tab]:
    with served(tmp_path, "fold-and-fell") as made:
        made.sheet = "load"
        yield made


@pytest.mark.parametrize("slug", DRAWN)
def test_the_table_is_the_chart(slug: str) -> None:
    """Read back by the real parser: heads, places and every value, and how high each is drawn."""
    for one in charting.CHARTS[slug](example("millrace"), "").charts:
        is_the_chart(one)


def is_the_chart(one: Chart) -> None:
    """The table of a chart says what the chart says."""
    page = Read(values(one))
    (details,) = page.of("details", data_values=one.slug)
    assert details.text.startswith(one.title)
    assert tuple(head.text for head in page.of("th", scope="col")) == one.heads
    assert tuple(head.text for head in page.of("th", scope="row")) == one.across.said
    cells = [cell.text for cell in page.of("td")]
    assert cells == [cell for row in one.table for cell in row[1:]]
    levels = [float(cell.attributes["data-level"]) for cell in page.of("td") if "data-level" in cell.attributes]
    wanted = [series.values[place] for place in range(len(one.across.at)) for series in one.series if series.drawn]
    assert levels == pytest.approx(wanted, rel=1e-8)
    stands = [float(row.attributes["data-stands"]) for row in page.of("tr") if "data-stands" in row.attributes]
    assert stands == sorted(stands)
    assert all(0 <= each <= 1 for each in stands)


@pytest.mark.parametrize("slug", DRAWN)
def test_every_plot_can_be_read_by_keys(tab: Tab, slug: str) -> None:
    """WAI-ARIA 1.2: a slider has a name, a range, a value and its words; each plot has its table."""
    page = Read(tab.get(f"sheet/{slug}", page=True).text)
    sheet = charting.CHARTS[slug](tab.desk.state.plan, "")  # type: ignore[arg-type]
    sliders = [one for one in page.of("rect", role="slider") if "reading" in one.attributes["class"]]
    assert [one.attributes["data-chart"] for one in sliders] == [one.slug for one in sheet.charts]
    for slider, one in zip(sliders, sheet.charts, strict=True):
        assert slider.attributes["tabindex"] == "0"
        assert slider.attributes["aria-label"].startswith(one.title)
        assert (slider.attributes["aria-valuemin"], slider.attributes["aria-valuemax"]) == (
            "0",
            str(len(one.across.at) - 1),
        )
        assert slider.attributes["aria-valuetext"] == one.across.said[int(slider.attributes["aria-valuenow"])]
    assert [one.attributes["data-values"] for one in page.of("details", class_="values")] == [
        one.slug for one in sheet.charts
    ]
    assert len(page.of("p", class_="read", role="status")) == 1


def test_no_plot_hides_what_can_be_touched(tab: Tab) -> None:
    """What can be touched lies beside the slider, never in it; the picture is a group, so that its parts are heard."""
    page = Read(tab.get("sheet/load", page=True).text)
    for figure in page.of("g", role="link"):
        above = figure.within
        while above is not None:
            assert above.attributes.get("role") not in {"slider", "img"}
            above = above.within
    assert page.of("g", role="link")


def test_the_sheet_is_saved_as_on_paper(tab: Tab) -> None:
    answer = tab.get("chart/load.svg", page=True)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/svg+xml")
    assert answer.headers["content-disposition"] == 'attachment; filename="load.svg"'
    page = Read(tab.get("sheet/load", page=True).text)
    (number,) = [
        one.text for one in page.of("span", class_="place") if one.within is not None and one.within.tag == "h1"
    ]
    assert answer.text == charting.drawn(charting.chart_of_load(tab.desk.state.plan, number))  # type: ignore[arg-type]
    assert ET.fromstring(answer.text).tag.endswith("}svg")


@pytest.mark.parametrize("name", ["nothing.svg", "..%2f..%2fbrief.svg", "load"])
def test_there_is_no_other_file(tab: Tab, name: str) -> None:
    assert tab.get(f"chart/{name}", page=True).status_code == 404


def view(desk: object, text: str) -> View:
    """What a tab looks at, of a plan of this text."""
    state = SimpleNamespace(plan=planned(text), moved={}, initialled=None)
    return View(state, desk)  # type: ignore[arg-type]


@pytest.mark.parametrize("scenario", ["fold", "millrace"])
def test_hostile_words_of_a_brief_stay_text(tab: Tab, scenario: str) -> None:
    """All hostile strings, in every field of a brief: no element and no attribute comes of them, in no table and no picture."""
    plain = BRIEFS[scenario].read_text("utf-8")
    for slug in DRAWN:
        known, page = Read(html(tab, plain, slug)), Read(html(tab, spread(plain), slug))
        assert {element.tag for element in page.elements} <= {element.tag for element in known.elements}
        assert {name for each in page.elements for name in each.attributes} <= {
            name for each in known.elements for name in each.attributes
        }
        assert len(page.of("rect", role="slider")) == len(known.of("rect", role="slider"))


def html(tab: Tab, text: str, slug: str) -> str:
    return "".join(part.html for part in charts._parts(slug)(view(tab.desk, text)))


def test_an_edit_sends_only_the_sheet_that_is_shown(tab: Tab) -> None:
    tab.desk.set({"people.roles.surveyors.heads": "6"})
    told = tab.get("redraw").text
    assert 'id="chart-load"' in told
    assert 'id="chart-filling"' not in told


def test_findings_about_what_is_drawn_stand_in_the_margin_and_can_be_touched(tmp_path: Path) -> None:
    with served(tmp_path, "millrace") as tab:
        page = Read(tab.get("sheet/load", page=True).text)
        plan = tab.desk.state.plan
        assert plan is not None
        (number,) = [place for place, told in enumerate(plan.findings, 1) if told.finding.code == "M-9"]
        (mark,) = page.of("g", data_touch=f"finding/{number}")
        assert mark.attributes["aria-label"].startswith(f"Red pencil {number}, note: If every machine grew")
        assert [one.attributes["id"] for one in page.of("div", class_="note")] == [f"note-{number}"]


def test_a_sheet_that_is_asked_for_again_is_not_made_again() -> None:
    kept, made = charts.Kept(), []
    plan, other = example("fold"), replace(example("fold"))

    def make() -> str:
        made.append("x")
        return f"sheet {len(made)}"

    assert kept.get(plan, ("load",), None, make) == kept.get(plan, ("load",), None, make) == "sheet 1"
    assert kept.get(other, ("load",), None, make) == "sheet 2"
    for place in range(charts.MOST_KEPT):
        kept.get(plan, ("other", place), None, make)
    assert kept.get(plan, ("load",), None, make) == f"sheet {len(made)}" != "sheet 1"


def test_before_it_was_weighed_the_sheet_offers_the_work(tab: Tab) -> None:
    page = Read(tab.get("sheet/demands", page=True).text)
    (form,) = [one for one in page.of("form") if one.attributes.get("action") == "../in-hand/weighing"]
    assert form.text.strip() == "Weigh each demand"
    assert not page.of("rect", role="slider")


def test_a_weighing_is_drawn_and_one_of_another_plan_says_so(tab: Tab) -> None:
    plan = tab.desk.state.plan
    assert plan is not None
    jobs = jobs_of(tab.desk)
    jobs.kept["weighing"], jobs.kept_of["weighing"] = api.weigh(plan), identity(plan)
    fresh = Read(tab.get("sheet/demands", page=True).text)
    assert len(fresh.of("rect", role="slider")) == 1
    assert not [one for one in fresh.of("form") if one.attributes.get("action") == "../in-hand/weighing"]
    assert "Provisional" not in fresh.text
    assert f"Weighed for this plan, fingerprint {identity(plan)[:16]}" in " ".join(fresh.text.split())
    jobs.kept_of["weighing"] = "another"
    stale = Read(tab.get("sheet/demands", page=True).text)
    assert "Provisional: weighed for the plan as it was before the last change." in stale.text
    assert [
        one.text.strip() for one in stale.of("form") if one.attributes.get("action") == "../in-hand/weighing"
    ] == ["Weigh again"]
    assert "of an earlier plan, fingerprint another" in " ".join(stale.text.split())


@pytest.mark.parametrize(
    "text", ["", "no record", '{"form": 1}', "[" * 100000, '{"form": 2, "digest": "", "weighed": {}}', "\u00fc"]
)
def test_a_harmed_record_of_a_weighing_is_told_and_does_no_harm(tab: Tab, text: str) -> None:
    folder = tab.desk.folder / "weighing"
    folder.mkdir()
    (folder / "weighing.json").write_text(text, "utf-8")
    page = Read(tab.get("sheet/demands", page=True).text)
    assert "can\u2019t be used: weighing.json:" in " ".join(page.text.split())
    assert "weigh again" in page.text
    assert [one.text.strip() for one in page.of("form") if one.attributes.get("action") == "../in-hand/weighing"] == [
        "Weigh each demand"
    ]


def test_an_office_of_nothing_says_what_is_missing(tab: Tab) -> None:
    text = "office: {name: Empty, country: IE, currency: EUR, as_of: 2026-11-25}\n"
    for slug, wanted in (
        ("load", "Nobody works here"),
        ("filling", "No server stands here"),
        ("pools", "No addresses are lent"),
    ):
        assert wanted in html(tab, text, slug)
