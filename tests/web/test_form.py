"""The brief's form against the brief's own reader: every answer has a field, every field an answer, at its own place."""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

import pytest

from brief_samples import DEFAULTS, SECTIONS
from generated_offices import STEPS, brief
from offices import BRIEFS
from scantling import api
from scantling.brief.editing import with_value
from scantling.brief.splicing import written
from scantling.figures import Origin
from scantling.figures.composing import composed
from scantling.web.form import asked_of, form, spot_of, wrong_with
from scantling.web.form_filling import Asked, sections_of, tree_of
from scantling.web.form_kinds import Field, Named, SectionForm, handle

EVERY = sorted(BRIEFS)


@cache
def asked() -> Asked:
    """What forms are made from, of our own stock."""
    return asked_of(api.stock())


@cache
def text_of(name: str) -> str:
    """A scenario's brief."""
    return BRIEFS[name].read_text(encoding="utf-8")


def fields(sections: tuple[SectionForm, ...]) -> Iterator[Field]:
    """Every field that counts: of sections that stand there, or hold without."""
    for section in sections:
        if section.there or section.counts:
            yield from section.fields


def flat(tree: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, str, int, int]]:
    """Every scalar of a tree with its id and place."""
    for key, below in tree.items():
        id_ = f"{path}.{key}".lstrip(".")
        if isinstance(below, dict):
            yield from flat(below, id_)
        else:
            yield id_, str(below), below.line, below.column


@pytest.mark.parametrize("name", EVERY)
def test_every_answer_has_a_field_and_every_field_an_answer(name: str) -> None:
    """The other road is the loader: its figures, by id, with what was written or assumed."""
    told = {
        id_.removeprefix("brief."): figure
        for id_, figure in api.answers(api.inputs(text_of(name), "b", api.stock())).items()
    }
    made = {one.id: one for one in fields(form(text_of(name), asked()))}
    assert set(told) == {id_ for id_, one in made.items() if one.value is not None or one.assumed is not None}
    for id_, figure in told.items():
        one = made[id_]
        said = one.value if one.value is not None else one.assumed.text if one.assumed else ""
        assert isinstance(figure.how, Origin)
        assert figure.how.where.split(": ", 1)[1].startswith(said), id_
        assert figure.how.assumed == (made[id_].value is None), id_


@pytest.mark.parametrize("name", EVERY)
def test_places_are_those_of_the_whole_text(name: str) -> None:
    """Sections are read apart; lines and columns are those of a reader of the whole."""
    there = {id_: (value, line, column) for id_, value, line, column in flat(composed(text_of(name), "b")[0])}
    made = {
        one.id: (one.value, one.place[0] + section.begins, one.place[1])
        for section in form(text_of(name), asked())
        for one in section.fields
        if one.value is not None and one.place is not None
    }
    assert made == there


@pytest.mark.parametrize("text", [*map(text_of, EVERY), *map(brief, STEPS[::6])])
def test_pieces_hold_what_the_whole_holds(text: str) -> None:
    """Also with the line ends of other systems, and a mark at the beginning."""
    for kind in (text, text.replace("\n", "\r\n"), "\ufeff" + text):
        whole = composed(kind, "b")[0]
        pieces = sections_of(kind)
        assert {key: tree_of(piece.text)[key] for key, piece in pieces.items()} == dict(whole)
        assert len({piece.begins for piece in pieces.values()}) == len(pieces)


@pytest.mark.parametrize(
    "text",
    [
        "office: {name: A,\n\ncountry: IE}\nsupport: {reach: 2 h}\n",  # brackets over several lines, one at the margin
        'office:\n  name: "two\n\n  lines"\nsupport: {reach: 2 h}\n',
        "{office: {name: A}, support: {reach: 2 h}}\n",
        "---\noffice: {name: A}\nsupport: {reach: 2 h}\n",
        '"office": {name: A}\nsupport: {reach: 2 h}\n',
    ],
)  # fmt: skip
def test_odd_layouts_are_read_as_they_are_read_whole(text: str) -> None:
    whole = tree_of(text)
    assert whole
    assert {key: tree_of(piece.text)[key] for key, piece in sections_of(text).items()} == dict(whole)


def test_a_text_that_cannot_be_read_gives_an_empty_form() -> None:
    made = form("office: {name: A\n", asked())
    assert not any(section.there for section in made)
    assert {section.key for section in made} == {section.key for section in api.known_sections()}


@pytest.mark.parametrize("name", EVERY)
def test_every_field_can_be_written_by_its_id_and_one_line_differs(name: str, scale: Any) -> None:
    """What is written is written anew, what is silent is written in; remarks and every other line stay."""
    text = text_of(name)
    lines = text.splitlines()
    many = [one for one in fields(form(text, asked())) if one.value is not None or one.assumed is not None]
    assert len(many) > 60
    for one in many[:: scale(short=7, full=1)]:
        value = one.value + "0" if one.value is not None else one.assumed.text if one.assumed else ""
        new = with_value(text, one.id, value, api.known_sections()).splitlines()
        gone = [line for line in lines if line not in new]
        come = [line for line in new if line not in lines]
        head = 0 if any(s.key == one.id.split(".")[0] and s.there for s in form(text, asked())) else 1
        assert len(gone) <= 1, one.id
        assert len(come) <= 1 + head, one.id
        assert written(value, None) in come[-1] or written(value, '"') in come[-1], one.id
        assert [line for line in new if "#" in line] == [line for line in lines if "#" in line]


def test_every_known_place_of_the_brief_has_a_field_or_a_column() -> None:
    """Also where the brief is silent: each pattern stands among the answers or as what a new thing is asked."""
    from scantling.brief.spots import every  # noqa: PLC0415 - the other road

    made = form("office: {name: A}\n", asked())
    patterns = {
        one.pattern
        for section in made
        for part in section.parts
        for one in (part.new if isinstance(part, Named) else [part])
    }
    lists = {part.id for section in made for part in section.tables}
    by_key = {section.key: section for section in api.known_sections()}
    assert patterns == {at.pattern for at in every(by_key) if not at.things}
    assert lists == {at.pattern for at in every(by_key) if at.things}


def test_sections_of_any_shape_become_forms() -> None:
    """Groups inside sections, named groups, and named answers (sections invented for tests)."""
    text = (
        "kitchen: {price: 5 EUR, corner: {rest: 1 h}, tables: {left: {warm: no, rest: 2 h}}, others: {aunt: 10.1.0.0/16}}\n"
        "kettles: {big: {kind: copper, holds: 1 TB, heads: 3}}\n"
    )
    own = Asked({section.key: section for section in SECTIONS}, DEFAULTS, {"kettle kind": ["copper"]}, "EUR")
    made = {one.id: one for section in form(text, own) for one in section.fields}
    assert made["kitchen.corner.rest"].value == "1 h"
    assert made["kitchen.corner.rest"].group == "corner"
    assert made["kitchen.tables.left.rest"].value == "2 h"
    assert made["kitchen.tables.left.warm"].choices == ("yes", "no")
    assert made["kitchen.others.aunt"].value == "10.1.0.0/16"
    assert made["kettles.big.kind"].choices == ("copper",)
    assert made["kitchen.growth"].assumed is not None
    assert made["kitchen.price"].accepted == "0 to 10,000,000 EUR"


def test_a_mistake_stands_at_its_field_or_at_its_section() -> None:
    text = (
        text_of("millrace")
        .replace("heads: 12", "heads: twelve")
        .replace("  mains: 230 V", "  mains: 230 V\n  colour: red")
    )
    place = next(
        (line, column)
        for id_, _, line, column in flat(composed(text, "b")[0])
        if id_ == "people.roles.programme.heads"
    )
    odd = next(n for n, line in enumerate(text.splitlines(), 1) if "colour" in line)
    made = {
        s.key: s for s in form(text, asked(), ((*place, "no number"), (odd, 3, "not known"), (1, 1, "elsewhere")))
    }
    wrong = {one.id: one.fault for one in made["people"].fields if one.fault}
    assert wrong == {"people.roles.programme.heads": "no number"}
    assert made["people"].faults == ()
    assert made["office"].faults == ("not known",)


def test_answers_are_checked_in_the_readers_words() -> None:
    assert wrong_with("people.roles.programme.heads", "12", asked()) == ""
    assert "whole number" in wrong_with("people.roles.programme.heads", "1.5", asked())
    assert wrong_with("lines.fibre.down", "500 Mbps", asked()) != ""
    assert wrong_with("people.roles.programme.heads", "", asked()) == "this answer can't be left out"
    assert wrong_with("people.roles.programme.growth", "", asked()) == ""
    assert wrong_with("pins.machines.files.cores.value", "8", asked()) == ""
    assert "no such answer" in wrong_with("people.roles.programme.height", "8", asked())
    assert "no such answer" in wrong_with("", "", asked())


def test_an_id_finds_what_declares_it() -> None:
    for section in form(text_of("millrace"), asked()):
        for one in section.fields:
            at = spot_of(one.id, asked())
            assert at is not None
            assert at.pattern == one.pattern


def test_handles_tell_ids_apart_and_hold_nothing_odd() -> None:
    ids = ["a.b", "a-b", "a_b", "a_2e_b", "a.b ", "<script>", "ä", "a\"b'c"]
    assert len({handle(id_) for id_ in ids}) == len(ids)
    assert all(set(handle(id_)) <= set("abcdefghijklmnopqrstuvwxyz0123456789_-") for id_ in ids)


def test_a_section_that_says_the_same_is_the_same_form() -> None:
    """So that an edit draws one section anew: the others compare equal, though their lines moved."""
    old = text_of("millrace")
    new = old.replace("office:\n", "# a remark more\noffice:\n", 1).replace("heads: 12", "heads: 13")
    before, after = form(old, asked()), form(new, asked())
    assert [one.key for one, other in zip(before, after, strict=True) if one != other] == ["people"]


def test_columns_keep_what_a_thing_must_have() -> None:
    for section in form(text_of("millrace"), asked()):
        for table in section.tables:
            needed = {one.pattern for one in table.new if one.required}
            shown = {one.pattern for one in table.columns}
            assert needed <= shown
            for row in table.rows:
                assert {one.id for one in (*row.within(table.columns), *row.beside(table.columns))} == {
                    one.id for one in row.fields
                }
