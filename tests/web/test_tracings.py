"""The sheet of tracings: started, reckoned beside the plan, changed, compared, laid anew, taken up and undone."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hostile import HOSTILE
from office_client import Read, Tab, served

from scantling import api
from scantling.api import tracing as traced
from scantling.api.dependents import web_of
from scantling.web.tracing_room import room_of

HEADS = "people.roles.programme.heads"
PATIENCE = 120.0


@pytest.fixture
def tab(tmp_path: Path) -> Iterator[Tab]:
    """The Millrace, with the sheet of tracings shown."""
    with served(tmp_path) as made:
        yield made


def sheet(tab: Tab) -> Read:
    return Read(tab.get("sheet/tracings", page=True).text)


def reckoned(tab: Tab) -> Read:
    """The sheet once every plan is there, and the office's own search is done."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        page = sheet(tab)
        (section,) = page.of("section", id="tracings")
        if "being reckoned" not in section.text and "the search goes on" not in section.text:
            return page
        time.sleep(0.1)
    raise AssertionError("the tracings were never reckoned")


def row(page: Read, label: str) -> list[str]:
    """The cells of the row with this head."""
    head = next(
        one for one in page.elements if one.tag == "th" and one.attributes.get("scope") == "row" and one.text == label
    )
    return [" ".join(one.text.split()) for one in page.of("td") if one.within is head.within]


def said(html: str) -> tuple[str, str]:
    """The line that tells what was done, and how."""
    (line,) = Read(html).of("p", id="said")
    return line.attributes["role"], line.text


def test_more_people_beside_the_plan(tab: Tab) -> None:
    """Heads by 25 %; the plan's own figures, and those of a plan of that text, made apart."""
    answer = tab.post("tracing/new", kind="people", percent="25 %", name="Bigger")
    assert said(answer.text) == (
        "status",
        "A tracing called Bigger is laid over the brief.",
    )
    assert "being reckoned" in answer.text
    page = reckoned(tab)
    apart = api.planned(tab.desk.brief, written=traced.tracing(tab.desk.brief, "bigger").text).plan
    plan = tab.desk.state.plan
    assert plan is not None
    before, after = (f"{one.figures['money.total'].value:,.2f} EUR" for one in (plan, apart))
    assert row(page, "Rough price once, tax included") == [before, f"{before} → {after}"]
    assert row(page, HEADS) == ["12", f"12 → 15 take it back: {HEADS}"]
    heads = [plan.figures["people.heads"].value, sum(int(one[1].split(" → ")[1].split()[0]) for one in _heads(page))]
    assert heads == [64, 80]
    told = api.compare_planned(
        api.planned(tab.desk.brief),
        api.planned(tab.desk.brief, written=traced.tracing(tab.desk.brief, "bigger").text),
    )
    assert row(page, "Against the plan")[1].startswith(f"{len(told.moved)} figures moved")


def _heads(page: Read) -> Iterator[list[str]]:
    for head in page.of("th", scope="row", class_="mono"):
        if head.text.startswith("people."):
            yield row(page, head.text)


def test_every_starting_point_makes_a_tracing(tab: Tab) -> None:
    page = sheet(tab)
    options = [one.attributes["value"] for one in page.of("option") if one.within and one.within.tag == "optgroup"]
    assert options[0].startswith("host ")
    ways = [
        one.attributes["value"]
        for one in page.of("option")
        if one.within and one.within.attributes.get("name") == "way"
    ]
    assert ways == ["firewall-box", "no-server", "two-hosts"]
    tab.post("tracing/new", kind="cheaper", option=options[0])
    tab.post("tracing/new", kind="line", down="50 Mbit/s", up="10 Mbit/s", monthly="30.00 EUR")
    tab.post("tracing/new", kind="way", way="firewall-box")
    tab.post("tracing/new", kind="bare")
    made = traced.tracings(tab.desk.brief)
    assert {one.name for one in made} == {
        "As it is",
        f"Cheaper: {options[0].split()[1]}",
        "Firewall in a box",
        "A second line",
    }
    page = reckoned(tab)
    assert "Take it up" in page.text
    assert "4 tracings lie over the brief" in page.text
    kind, words = said(tab.post("tracing/new", kind="bare", name="One more").text)
    assert (kind, "discard one first" in words) == ("alert", True)


def test_taken_up_and_undone_to_the_byte(tab: Tab) -> None:
    before = tab.desk.brief.read_bytes()
    tab.post("tracing/new", kind="people", percent="10", name="Bigger")
    answer = tab.post("tracing/take-up", slug="bigger")
    assert said(answer.text)[0] == "status"
    after = tab.desk.brief.read_bytes()
    assert after == traced.tracing(tab.desk.brief, "bigger").text.encode() != before
    assert "It says what the brief says." in answer.text
    plan = tab.desk.state.plan
    assert plan is not None
    assert plan.figures["people.heads"].value == 70
    tab.post("undo")
    assert tab.desk.brief.read_bytes() == before
    tab.post("redo")
    assert tab.desk.brief.read_bytes() == after


def test_a_brief_that_moved_on_is_told_and_laid_anew(tab: Tab) -> None:
    tab.post("tracing/new", kind="people", percent="10", name="Bigger")
    tab.desk.set({HEADS: "14", "office.horizon": "6 year"})
    page = sheet(tab)
    assert "The brief has changed since it was laid over it." in page.text
    assert "Take it up" not in page.text
    kind, words = said(tab.post("tracing/take-up", slug="bigger").text)
    assert (kind, "lay it on today's brief first" in words) == ("alert", True)
    kind, words = said(tab.post("tracing/lay", slug="bigger").text)
    assert kind == "status"
    assert words.splitlines()[0] == "Bigger lies over today's brief."
    assert f"Both had changed {HEADS}: the brief to 14, the tracing keeps 13." in words
    assert "horizon: 6 year" in traced.to_take_up(tab.desk.brief, "bigger")


def test_changed_checked_and_taken_back(tab: Tab) -> None:
    tab.post("tracing/new", kind="bare", name="Try")
    seen = traced.tracing(tab.desk.brief, "try").seen
    wrong = Read(tab.post("tracing/check", slug="try", id="premises.noise", value="loud").text)
    (line,) = wrong.of("p", id="tracing-told-try")
    assert line.attributes["class"] == "pencil"
    asked = Read(tab.post("tracing/check", slug="try", id="premises.noise", value="").text)
    assert "In the brief: 60 dB" in asked.text
    assert (
        said(tab.post("tracing/change", slug="try", id="premises.noise", value="loud", seen=seen).text)[0] == "alert"
    )
    assert (
        said(tab.post("tracing/change", slug="try", id="premises.noize", value="50 dB", seen=seen).text)[0] == "alert"
    )
    assert said(tab.post("tracing/change", slug="try", id="premises.noise", value="50 dB", seen=seen).text) == (
        "status", "Try: premises.noise is 50 dB.",
    )  # fmt: skip
    assert (
        said(tab.post("tracing/change", slug="try", id="premises.noise", value="40 dB", seen=seen).text)[0] == "alert"
    )
    assert "noise: 60 dB" in tab.desk.brief.read_text()
    assert row(sheet(tab), "premises.noise") == ["60 dB", "60 dB → 50 dB take it back: premises.noise"]
    tab.post("tracing/back", slug="try", id="premises.noise")
    assert traced.tracing(tab.desk.brief, "try").says(tab.desk.state.text)
    assert said(tab.post("tracing/rename", slug="try", name="Tried").text) == (
        "status",
        "The tracing is called Tried now.",
    )
    assert said(tab.post("tracing/discard", slug="try").text) == ("status", "The tracing Tried is discarded.")
    assert "No tracing lies over the brief yet." in sheet(tab).text


def test_what_can_not_be_planned_says_so(tab: Tab) -> None:
    """A pin on nothing reads well and can't be planned."""
    tab.post("tracing/new", kind="bare", name="Odd")
    traced.change(tab.desk.brief, "odd", {"pins.no.such.value": "1", "pins.no.such.because": "to see"})
    page = reckoned(tab)
    assert "There is no plan of it:" in page.text
    assert "this plan has no figure of that name" in page.text


def test_a_reckoning_that_was_ended_can_be_asked_for_again(tab: Tab) -> None:
    """The process is killed from outside: that is told, and one button asks anew."""
    tab.post("tracing/new", kind="people", percent="25", name="Bigger")
    room = room_of(tab.desk)
    child = room._worker._child
    assert child is not None
    child.kill()
    page = reckoned(tab)
    assert "the reckoning ended before it was done" in page.text
    tab.post("tracing/again", slug="bigger")
    assert "There is no plan of it" not in reckoned(tab).text
    assert room.known(traced.tracing(tab.desk.brief, "bigger")).planned is not None


def test_a_figure_of_a_tracing_opens_its_own_working(tab: Tab) -> None:
    tab.post("tracing/new", kind="people", percent="25", name="Bigger")
    page = reckoned(tab)
    link = next(one for one in page.of("a", data_of="bigger") if one.attributes["data-figure"] == "people.horizon")
    working = Read(tab.get(link.attributes["href"].removeprefix("../")).text)
    assert "On the tracing Bigger" in working.text
    (moved,) = working.of("p", class_="moved")
    assert " ".join(moved.text.split()).startswith("72 → ")
    assert not working.of("form")
    plan = tab.desk.state.plan
    assert plan is not None
    assert "people.horizon" in web_of(plan).nodes
    gone = Read(tab.get("working/people.horizon?of=gone").text)
    assert "there is no tracing called gone" in gone.text


def test_what_stands_changed_and_the_tracing_is_reckoned_anew(tab: Tab) -> None:
    tab.post("tracing/new", kind="people", percent="25", name="Bigger")
    reckoned(tab)
    room, one = room_of(tab.desk), traced.tracing(tab.desk.brief, "bigger")
    first = room.known(one).planned
    assert first is not None
    standing = tab.desk.folder / "standing.yaml"
    standing.write_text(standing.read_text() + "\n# looked at again\n")
    assert room.known(one).waiting
    tab.desk.look_again()
    reckoned(tab)
    second = room.known(one).planned
    assert second is not None
    assert second is not first


@pytest.mark.parametrize("text", [*HOSTILE[:9], "{{ 7 * 7 }}"])
def test_hostile_names_and_answers_stay_text(tab: Tab, text: str) -> None:
    tab.post("tracing/new", kind="bare", name=text[:60])
    for one in traced.tracings(tab.desk.brief):
        traced.change(tab.desk.brief, one.slug, {"office.name": text})
        page = sheet(tab)
        (section,) = page.of("section", id="tracings")
        assert " ".join(text.split()) in " ".join(section.text.split())
        assert one.name in [head.text for head in page.of("th", scope="col")]
    assert {one.attributes.get("src", "").split("/")[1] for one in sheet(tab).of("script")} <= {"..", "static"}
    assert not [1 for one in sheet(tab).elements for name in one.attributes if name.startswith("on")]


def test_without_scripts_forms_lead_back_to_the_sheet(tab: Tab) -> None:
    answer = tab.post("tracing/new", page=True, kind="bare", name="Plain")
    assert (answer.status_code, answer.headers["location"]) == (303, "../sheet/tracings")
