"""The brief's form through the office's own addresses: hostile text stays text, an edit is one line, nobody's words are lost."""

import json
import re

import pytest
from starlette.testclient import TestClient

from form_tabs import Page, client, desk, sent, told_at
from hostile import HOSTILE
from hostile_briefs import spread
from offices import BRIEFS, fold, millrace
from scantling import UserError, api
from scantling.api.planning import own_stock
from scantling.catalogue.reading import DATA
from scantling.web.desk import Desk
from scantling.web.form import asked_of, form
from scantling.web.form_adding import edits_of
from scantling.web.form_kinds import handle
from scantling.web.sheets.brief import drawn, plainly

__all__ = ["client", "desk"]
KNOWN_ELEMENTS = {
    "a", "button", "caption", "details", "div", "form", "h2", "h3", "input", "label", "option", "p", "section", "select", "span",
    "summary", "table", "tbody", "td", "th", "thead", "tr",
}  # fmt: skip


def drawn_page(text: str) -> tuple[Page, dict[str, str]]:
    """The whole form of a text as a page, and what each field should say."""
    made = form(text, asked_of(own_stock(DATA)))
    shown = {one.id: one.value or "" for section in made if section.there or section.counts for one in section.fields}
    return Page("".join(drawn(section, ()) for section in made)), shown


def test_hostile_text_in_every_field_is_shown_as_text() -> None:
    page, shown = drawn_page(spread(millrace()))
    assert page.lines == shown
    assert set(HOSTILE) <= set(page.lines.values())
    assert page.elements <= KNOWN_ELEMENTS
    assert not [name for name in page.attributes if name.startswith("on") or name == "style"]


@pytest.mark.parametrize("name", sorted(BRIEFS))
def test_the_page_says_what_the_brief_says(name: str) -> None:
    page, shown = drawn_page(BRIEFS[name].read_text(encoding="utf-8"))
    assert page.lines == shown
    assert page.elements <= KNOWN_ELEMENTS


def test_a_list_without_end_is_shown_in_part() -> None:
    """A form of thousands of things helps nobody; the text is there for it."""
    many = "".join(f"  thing-{n}: {{kind: pc, count: 1, zone: staff}}\n" for n in range(1000))
    page, shown = drawn_page(fold().replace("devices:\n", f"devices:\n{many}", 1))
    things = [id_ for id_ in page.lines if id_.startswith("devices.") and id_.endswith(".count")]
    assert 100 < len(things) < 200
    assert set(page.lines) < set(shown)
    assert "more, to be changed" in page.words


def test_hostile_names_of_things_stay_text() -> None:
    """A brief with mistakes may hold any word before a colon."""
    text = (
        fold()
        + "\n"
        + "names:\n  called:\n"
        + "".join(f"    {api_quoted(words)}: x\n" for words in HOSTILE if len(words) < 100)
    )
    page, shown = drawn_page(text)
    assert page.lines == shown
    assert page.elements <= KNOWN_ELEMENTS


def api_quoted(words: str) -> str:
    """A word as YAML quotes it."""
    return "'" + words.replace("'", "''") + "'"


# ----------------------------------------------------------------------------------------------------- through the office


def first_role(text: str) -> str:
    """The id of the heads of the first kind of work."""
    return next(
        one.id for s in form(text, asked_of(own_stock(DATA))) for one in s.fields if one.id.endswith(".heads")
    )


def test_the_sheet_shows_every_section_and_field(client: TestClient, desk: Desk) -> None:
    page = Page(client.get("sheet/brief").text)
    _, shown = drawn_page(desk.state.text)
    assert {id_: value for id_, value in page.lines.items() if id_ in shown} == shown


def test_an_answer_is_checked_as_it_is_typed_and_nothing_is_written(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_bytes()
    id_ = first_role(desk.state.text)
    assert "bare number" in told_at(sent(client, "brief/check", id=id_, value="4 apples"), id_)
    assert told_at(sent(client, "brief/check", id=id_, value="4"), id_) == ""
    assert "&lt;script&gt;" in sent(client, "brief/check", id=id_, value="<script>")
    assert desk.brief.read_bytes() == before


def test_an_answer_is_saved_as_one_line_and_only_its_section_is_sent_again(client: TestClient, desk: Desk) -> None:
    text, id_ = desk.state.text, first_role(desk.state.text)
    page = client.get("sheet/brief").text
    stamps = dict(re.findall(r'id="([^"]+)" data-stamp="([^"]+)"', page))
    assert "section-people" in stamps
    answer = client.post("brief/save", data={"id": id_, "value": "9"}, headers={"X-Had": json.dumps(stamps)}).text
    gone = [line for line in text.splitlines() if line not in desk.brief.read_text().splitlines()]
    assert len(gone) == 1
    assert 'id="section-people"' in answer
    assert 'id="section-office"' not in answer
    assert "Saved." in answer


def test_a_refused_answer_is_told_beside_its_line_and_the_brief_stands(client: TestClient, desk: Desk) -> None:
    before, id_ = desk.brief.read_bytes(), first_role(desk.state.text)
    assert "whole number" in told_at(sent(client, "brief/save", id=id_, value="many"), id_)
    assert "left out" in told_at(sent(client, "brief/save", id=id_, value=" "), id_)
    assert "no such answer" in sent(client, "brief/save", id="office.colour", value="red")
    assert desk.brief.read_bytes() == before


def test_an_answer_that_somebody_else_changed_is_not_overwritten_unseen(client: TestClient, desk: Desk) -> None:
    id_ = first_role(desk.state.text)
    was = next(
        one.value for s in form(desk.state.text, asked_of(own_stock(DATA))) for one in s.fields if one.id == id_
    )
    api.set_value(desk.brief, id_, "7")
    says = told_at(sent(client, "brief/save", id=id_, value="8", was=was or ""), id_)
    assert "7" in says
    assert "Enter once more" in says
    assert ": 7" in desk.brief.read_text()
    sent(client, "brief/save", id=id_, value="8", was="7")
    assert "heads: 8" in desk.brief.read_text()


def test_an_answer_left_empty_is_taken_out_and_assumed_again(client: TestClient, desk: Desk) -> None:
    sent(client, "brief/save", id="data.boot_disks", value="2")
    assert "boot_disks: 2" in desk.brief.read_text()
    sent(client, "brief/save", id="data.boot_disks", value="")
    assert "boot_disks" not in desk.brief.read_text()


def test_a_thing_is_added_in_one_edit_and_taken_out_again(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_text()
    new = {"+devices": "Wall clocks <b>", "devices.*.kind": "pc", "devices.*.count": "2", "devices.*.zone": "staff"}
    assert "count: " in sent(client, "brief/add", id="devices", **{**new, "devices.*.count": "two"})
    assert "name: this can" in sent(client, "brief/add", id="devices", **{**new, "+devices": " "})
    assert desk.brief.read_text() == before
    answer = sent(client, "brief/add", id="devices", **new)
    assert "devices.wall-clocks-b" in answer
    assert "<b>" not in answer.replace("<b>stop</b>", "").partition("section-devices")[2].partition("</section>")[0]
    assert len(desk.brief.read_text().splitlines()) == len(before.splitlines()) + 1
    desk.undo()
    assert desk.brief.read_text() == before
    desk.redo()
    sent(client, "brief/take-out", id="devices.wall-clocks-b")
    assert desk.brief.read_text() == before


def test_an_answer_that_no_plan_can_be_made_with_is_refused(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_bytes()
    set_ = next(
        one.id
        for s in form(desk.state.text, asked_of(own_stock(DATA)))
        for one in s.fields
        if one.pattern == "data.sets.*.service"
    )
    says = told_at(sent(client, "brief/save", id=set_, value="nowhere"), set_)
    assert "nowhere" in says
    assert ".yaml:" not in says
    assert desk.brief.read_bytes() == before


def test_taking_out_what_others_need_is_refused(client: TestClient, desk: Desk) -> None:
    before = desk.brief.read_text()
    needed = next(
        one.value
        for s in form(before, asked_of(own_stock(DATA)))
        for one in s.fields
        if one.pattern == "data.sets.*.service"
    )
    answer = sent(client, "brief/take-out", id=f"services.{needed}")
    assert f'id="wrong-out-{handle(f"services.{needed}")}"' in answer
    assert desk.brief.read_text() == before


def test_a_section_that_the_brief_leaves_out_is_added_whole(client: TestClient, desk: Desk) -> None:
    assert "visitors:" not in desk.brief.read_text()
    new = {
        "+visitors.events": "Open day", "visitors.events.*.people": "30", "visitors.events.*.days": "sat",
        "visitors.events.*.doors": "10:00",
    }  # fmt: skip
    sent(client, "brief/add", id="visitors", **new)
    assert 'open-day: {name: Open day, people: 30, days: sat, doors: "10:00"}' in desk.brief.read_text()


def test_what_a_form_adds_is_named_by_what_it_is() -> None:
    made, own = form(fold(), asked_of(own_stock(DATA))), asked_of(own_stock(DATA))
    assert edits_of({"+network.others": "Aunt Mary", "network.others.*": "10.1.0.0/16"}, made, own) == {
        "network.others.aunt-mary": "10.1.0.0/16"
    }
    pin = {"+pins": "machines.files.cores", "pins.*.value": "8", "pins.*.because": "its maker asks for it"}
    assert edits_of(pin, made, own) == {
        "pins.machines.files.cores.value": "8",
        "pins.machines.files.cores.because": "its maker asks for it",
    }
    with pytest.raises(UserError, match="left out"):
        edits_of({"+pins": "machines.files.cores", "pins.*.value": "8", "pins.*.because": ""}, made, own)


def test_a_refusal_is_told_without_its_place() -> None:
    wrong = UserError(
        "brief.yaml was left as it is; changed like this it would have a mistake:\nbrief.yaml:3:5: office.name: too long"
    )
    assert plainly(wrong) == "office.name: too long"
