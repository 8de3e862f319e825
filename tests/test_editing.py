"""One-line edits: the answer reads back exactly as given, one line differs, every remark and every other letter stays."""

import re
from collections.abc import Iterator, Mapping
from difflib import unified_diff
from io import StringIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from conftest import costly
from hostile import EVERYTHING
from offices import ROOT, fold, millrace
from scantling import api
from scantling.brief import Office
from scantling.brief.editing import EditError, with_value, with_values, without
from scantling.figures.composing import composed
from scantling.figures.spelled import EMPTY_MARKS, unfit

EXAMPLES = sorted(ROOT.glob("examples/*/brief.yaml"))
SECTIONS = api.known_sections()
ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)


def read(text: str) -> Any:
    """What another reader of YAML 1.2 makes of a text: every scalar as text."""
    return YAML(typ="safe", pure=True).load(StringIO(text.removeprefix("\ufeff")))


def moved(old: str, new: str) -> list[str]:
    """The lines that differ, each with its sign."""
    told = unified_diff(old.splitlines(keepends=True), new.splitlines(keepends=True), n=0)
    return [line for line in told if line[:1] in "+-" and line[:3] not in ("+++", "---")]


def answers(tree: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every scalar with its way."""
    for key, below in tree.items():
        if isinstance(below, Mapping):
            yield from answers(below, (*path, key))
        else:
            yield (*path, key), str(below)


def at(text: str, *path: str) -> str:
    """One answer as the brief's own reader has it."""
    tree: Any = composed(text, "brief.yaml")[0]
    for step in path:
        tree = tree[step]
    return str(tree)


@pytest.mark.parametrize("brief", EXAMPLES, ids=lambda path: path.parent.name)
def test_every_answer_of_the_examples_can_be_changed_in_one_line(brief: Any, scale: Any) -> None:
    """Each scalar in turn: only it reads differently, and only its line."""
    text = brief.read_text(encoding="utf-8")
    many = list(answers(composed(text, "brief.yaml")[0]))
    assert len(many) > 60
    for path, old in many[:: scale(short=9, full=2)]:
        new = with_value(text, ".".join(path), f"{old} too")
        assert dict(answers(composed(new, "b")[0])) == {**dict(many), path: f"{old} too"}
        assert [line[0] for line in moved(text, new)] == ["-", "+"]


def test_every_number_of_the_examples_can_take_another(scale: Any) -> None:
    """Another valid value: the loader takes the new text, one line differs, and the old value brings the old text back."""
    for brief in EXAMPLES:
        text = brief.read_text(encoding="utf-8")
        numbers = [
            (path, old) for path, old in answers(composed(text, "b")[0]) if old[0].isdigit() and ":" not in old
        ]
        for path, old in numbers[:: scale(short=9, full=2)]:
            value = re.sub(r"\d+", lambda found: str(max(int(found[0]) - 1, 1)), old, count=1)
            new = with_value(text, ".".join(path), value, SECTIONS)
            assert len(moved(text, new)) == (2 if value != old else 0)
            if path[0] not in ("office", "network", "lasting"):  # a year of the past, a block that is none
                api.inputs(new, "brief.yaml", api.stock())
            assert with_value(new, ".".join(path), old, SECTIONS) == text


def test_the_same_value_changes_nothing() -> None:
    same = {".".join(path): old for path, old in answers(composed(millrace(), "b")[0])}
    assert with_values(millrace(), same, SECTIONS) == millrace()


@given(value=ANY_TEXT)
@pytest.mark.parametrize("line", ["a: x", "a: 'x'", 'a: "x"', "b: {c: 1, a: x, d: 2}", "b: {c: '1', a: 'x'}", "a:"])
def test_any_text_reads_back_exactly(line: str, value: str) -> None:
    """Both readers agree; quotation marks, colons, remarks, line breaks, spaces, letters of any script."""
    path = ("b", "a") if line.startswith("b") else ("a",)
    text = f"# above\n{line} # beside\nz: end\n"
    new = with_value(text, ".".join(path), value)
    tree = read(new)
    for step in path:
        tree = tree[step]
    assert at(new, *path) == value
    assert value == "" or str(tree) == value or not isinstance(tree, str)  # a number or truth to the other reader
    assert new.count("\n") == 3
    assert "# beside" in new
    assert len(moved(text, new)) in (0, 2)


@costly
@given(value=st.text(max_size=200).filter(lambda text: text.strip() and not any(map(unfit, text))))
def test_any_answer_in_words_is_loaded_exactly_as_set(value: str) -> None:
    """Through the brief's own loader: what was set is what the plan says the client is called."""
    if value in EMPTY_MARKS:
        return
    read_ = api.inputs(with_value(fold(), "office.name", value, SECTIONS), "brief.yaml", api.stock())
    office = read_.sections[Office]
    assert isinstance(office, Office)
    assert office.name.value == value


@pytest.mark.parametrize("value", EVERYTHING)
def test_hostile_text_reads_back_exactly(value: str) -> None:
    for text, id_ in ((millrace(), "office.name"), (millrace(), "people.roles.volunteers.name")):
        new = with_value(text, id_, value)
        assert at(new, *id_.split(".")) == value
        assert len(moved(text, new)) == 2


@costly
@given(value=ANY_TEXT, line_end=st.sampled_from(["\n", "\r\n"]), mark=st.sampled_from(["", "\ufeff"]),
       last=st.booleans())  # fmt: skip
def test_line_ends_order_mark_and_last_line_stay(value: str, line_end: str, mark: str, *, last: bool) -> None:
    text = mark + fold().rstrip("\n").replace("\n", line_end) + (line_end if last else "")
    for id_ in ("office.name", "budget.tax", "lines.fibre.up"):
        new = with_value(text, id_, value)
        assert at(new, *id_.split(".")) == value
        assert new.startswith(mark + text.removeprefix(mark)[:20])
        assert (new.count("\r"), new.count("\n")) == (text.count("\r"), text.count("\n"))
        assert new.endswith(line_end) == last


ADDED = [
    # what stands there, the id, the value, what is written
    ("a:\n  x: 1 # r\n\nb: 2\n", "a.y", "3", "a:\n  x: 1 # r\n  y: 3\n\nb: 2\n"),
    ("a: {x: 1} # r\nb: 2\n", "a.y", "3 %", "a: {x: 1, y: 3 %} # r\nb: 2\n"),
    ("a: {x: 1,\n    z: 2, }\n", "a.y", "a, b", 'a: {x: 1,\n    z: 2, y: "a, b", }\n'),
    ("a: {}\n", "a.y", "3", "a: {y: 3}\n"),
    ("a: { x: 1 }\n", "a.y", "3", "a: { x: 1, y: 3 }\n"),
    ("a:\n", "a.y", "3", "a:\n  y: 3\n"),
    ("a: # r\nb: 2\n", "a.y", "3", "a: # r\n  y: 3\nb: 2\n"),
    ("a: {x: , z: 1}\n", "a.x", "3", "a: {x: 3, z: 1}\n"),
    ("a: {x, z: 1}\n", "a.x", "3", "a: {x: 3, z: 1}\n"),
    ("a: {x, z: 1}\n", "a.x.y", "3", "a: {x: {y: 3}, z: 1}\n"),
    ("a: 1\n", "b.y", "3", "a: 1\n\nb:\n  y: 3\n"),
    ("a: 1", "b.y", "3", "a: 1\n\nb:\n  y: 3"),
    ("a: 1\n\n", "b.y.z", "3", "a: 1\n\nb:\n  y: {z: 3}\n"),
    ("a: 1\r\n", "b.y", "3", "a: 1\r\n\r\nb:\r\n  y: 3\r\n"),
    ("a:\n    x:\n        k: {n: 1}\n", "a.x.l.n", "2", "a:\n    x:\n        k: {n: 1}\n        l: {n: 2}\n"),
    ("a:\n  x:\n    k: 1\n    # of k\n\n# of b\nb: 2\n", "a.y", "3",
     "a:\n  x:\n    k: 1\n  y: 3\n    # of k\n\n# of b\nb: 2\n"),
    ("a: 1\n", "pins.purchase.host.value", "rack-8", "a: 1\n\npins:\n  purchase.host: {value: rack-8}\n"),
    ("a: 1\n\npins:\n  purchase.host: {value: rack-8}\n", "pins.purchase.host.because", "he said: yes",
     'a: 1\n\npins:\n  purchase.host: {value: rack-8, because: "he said: yes"}\n'),
    ("{a: 1}\n", "b", "2", "{a: 1, b: 2}\n"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "id_", "value", "new"), ADDED)
def test_what_is_missing_is_added_in_its_place(text: str, id_: str, value: str, new: str) -> None:
    assert with_value(text, id_, value) == new


ONE_SCALAR = [
    ("a: |-\n  two\n  lines\n# r\nb: 1\n", "a: new\n# r\nb: 1\n"),
    ("a: >- # r\n  two\n  lines\n\nb: 1\n", "a: new # r\n\nb: 1\n"),
    ("a: 'one\n  more' # r\n", "a: 'new' # r\n"),
    ("a: one\n  more # r\n", "a: new # r\n"),
    ("'a' : 1\n", "'a' : new\n"),
    ("? a\n: 1\n", "? a\n: new\n"),
]


@pytest.mark.parametrize(("text", "new"), ONE_SCALAR)
def test_every_way_of_writing_an_answer(text: str, new: str) -> None:
    assert with_value(text, "a", "new") == new


TAKEN_OUT = [
    ("a: 1\nb: 2 # r\nc: 3\n", "b", "a: 1\nc: 3\n"),
    ("a: {x: 1, y: 2, z: 3} # r\n", "a.x", "a: {y: 2, z: 3} # r\n"),
    ("a: {x: 1, y: 2, z: 3} # r\n", "a.y", "a: {x: 1, z: 3} # r\n"),
    ("a: {x: 1, y: 2, z: 3} # r\n", "a.z", "a: {x: 1, y: 2} # r\n"),
    ("a: {x: 1, # of x\n    y: 2, # of y\n    z: 3}\n", "a.z", "a: {x: 1, # of x\n    y: 2, # of y\n    }\n"),
    ("b: 1\na: {\n  x: 1,\n  y: 2,\n}\n", "a.x", "b: 1\na: {\n  y: 2,\n}\n"),
    ("b: 1\n\n# of a\na:\n  x: {k: 1}\n", "a.x.k", "b: 1\n\n# of a\n"),
    ("b: 1\n\npins:\n  purchase.host: {value: r, because: s}\n", "pins.purchase.host", "b: 1\n"),
    ("b: 1\n\npins:\n  purchase.host: {value: r, because: s}\n", "pins.purchase.host.because",
     "b: 1\n\npins:\n  purchase.host: {value: r}\n"),
    ("a: 1\nb: 2", "b", "a: 1"),
    ("a: 1\r\nb: 2\r\n", "a", "b: 2\r\n"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "id_", "new"), TAKEN_OUT)
def test_what_is_taken_out_leaves_the_rest(text: str, id_: str, new: str) -> None:
    assert without(text, id_) == new


def test_what_was_added_can_be_taken_out_again() -> None:
    for id_ in ("pins.purchase.host.value", "office.mains", "lines.second.down", "new.group.deep.down"):
        text = without(millrace(), id_) if id_ == "office.mains" else millrace()
        assert without(with_value(text, id_, "230 V"), id_) == text


@costly
@given(st.data())
def test_taking_out_any_answer_leaves_all_others(data: st.DataObject) -> None:
    path, _ = data.draw(st.sampled_from(list(answers(composed(millrace(), "b")[0]))))
    left = dict(answers(composed(without(millrace(), ".".join(path)), "b")[0]))
    assert left == {other: value for other, value in answers(composed(millrace(), "b")[0]) if other != path}


def test_several_edits_at_once() -> None:
    edits = {
        "people.roles.volunteers.heads": "30", "pins.purchase.host.value": "rack-8",
        "pins.purchase.host.because": "the owner's wish", "office.horizon": None,
    }  # fmt: skip
    new = with_values(millrace(), edits, SECTIONS)
    assert at(new, "people", "roles", "volunteers", "heads") == "30"
    assert at(new, "pins", "purchase.host", "because") == "the owner's wish"
    assert "horizon" not in composed(new, "b")[0]["office"]
    assert len(moved(millrace(), new)) == 2 + 1 + 3


def test_an_answer_stands_in_the_order_in_which_it_is_declared() -> None:
    new = with_value(without(millrace(), "office.mains"), "office.mains", "230 V", SECTIONS)
    assert new == millrace()


REFUSED = [
    ("people.roles.volunteers.haeds", "3", "did you mean people.roles.volunteers.heads?"),
    ("peple.roles.volunteers.heads", "3", "did you mean people.roles.volunteers.heads?"),
    ("people.roles.voluntears.heads", "3", "people.roles has no voluntears; did you mean volunteers?"),
    ("office.nmae", "x", "did you mean office.name?"),
    ("devices.cameraz.count", "3", "devices has no cameraz; did you mean cameras?"),
    ("devices.doors.count", "3", "a new one needs kind"),
    ("heads", "3", "did you mean"),
    ("office", "x", "office is a group of answers; name one of them: office.name"),
    ("people.roles", "x", "is a group of answers; name one of them: people.roles.programme"),
    ("services.files", "x", "services.files is a group of answers; name one of them: services.files"),
    ("office.name.first", "x", "there is no answer called office.name.first"),
    ("", "x", "there is no answer called"),
    ("office..name", "x", "there is no answer called office..name"),
    ("pins.host.cores.needed.value", "3", "because"),
]


@pytest.mark.parametrize(("id_", "value", "says"), REFUSED)
def test_an_unknown_id_is_told_with_the_nearest_right_one(id_: str, value: str, says: str) -> None:
    with pytest.raises(EditError) as told:
        with_value(millrace(), id_, value, SECTIONS)
    assert says in str(told.value), told.value


@pytest.mark.parametrize("id_", ["office.phone", "office.paper.size", "lines.third", "nothing"])
def test_what_does_not_stand_there_cannot_be_taken_out(id_: str) -> None:
    for sections in ((), SECTIONS):
        with pytest.raises(EditError):
            without(millrace(), id_, sections)


ODD = ["a: [1", "a: 1\na: 2\n", "a: &x 1\n", "- 1\n", "", "a: *x\n", "a: !t 1\n", "a: 1\n--- \nb: 2\n"]


@pytest.mark.parametrize("text", ODD)
def test_a_text_that_cannot_be_read_is_refused_with_its_place(text: str) -> None:
    with pytest.raises(EditError, match=r"^mine\.yaml:\d+:\d+: "):
        with_value(text, "a", "1", file="mine.yaml")


@pytest.mark.parametrize("id_", ["office.na me", "office.name: x", "a\nb.c", "office.{x}"])
def test_an_id_cannot_smuggle_anything_in(id_: str) -> None:
    for sections in ((), SECTIONS):
        with pytest.raises(EditError):
            with_value(millrace(), id_, "x", sections)


def test_a_group_is_told_with_its_place() -> None:
    with pytest.raises(EditError, match=r"^brief\.yaml:\d+:\d+: office is a group"):
        with_value(millrace(), "office", "x")
