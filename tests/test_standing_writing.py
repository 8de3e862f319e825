"""Adding to a standing file: whatever way it is written, old lines stay in their order and it reads as what was asked for."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from hostile import HOSTILE
from scantling.brief.ids import EditError
from scantling.standing.writing import Line, with_answers, with_lines

STAFF = Line(("issued", "zones", "staff"), {"number": "30", "network": "10.44.30.0/24", "gateway": "10.44.30.1"})
GUESTS = Line(("issued", "zones", "guests"), {"number": "60", "network": "10.44.60.0/23", "gateway": "10.44.60.1"})
BLOCK = Line(("issued", "block"), "10.44.0.0/16")
LINES = (BLOCK, STAFF, GUESTS, Line(("bought", "host-a"), {"serves": "host", "article": "a", "built": "a"}))
WRITTEN = {
    "nothing": "",
    "a remark": "# ours\n",
    "a remark without an end": "# ours",
    "a document's mark": "---\n",
    "a section": "kit:\n  a: {do: keep}\n",
    "a section without an end": "kit:\n  a: {do: keep}",
    "a word alone": "issued:\nkit: {}\n",
    "a word alone with a remark": "issued:  # soon\n  # what comes here\nkit: {}\n",
    "empty brackets": "issued: {}  # nothing yet\nbought: {}\n",
    "empty brackets inside": "issued:\n  zones: {}  # none\n",
    "brackets": "issued: {zones: {old: {number: 1, network: 10.44.1.0/24, gateway: 10.44.1.1}}}\n",
    "brackets over lines": "issued: {\n  zones: {  # all\n    old: {number: 1,  # first\n      network: 10.44.1.0/24}\n  }\n}\n",
    "a comma at the end": "issued: {zones: {old: {number: 1},},}\n",
    "wide indents": "issued:\n      zones:\n            old:\n                  number: 1  # first\n",
    "remarks between": "# a\nissued:\n  # b\n  zones:\n    # c\n    old: {number: 1}  # d\n    # e\n\n# f\nkit: {}\n# g\n",
    "long texts": "kit:\n  a: |\n    b\n    c\nissued:\n  zones:\n    old:\n      name: >-\n        d\n        e\n",
    "quotes over lines": 'kit:\n  a: {place: "first\n    floor"}\n',
    "a list": "issued:\n  zones:\n    old:\n    - a\n    - b\n",
    "other line ends": "# ours\r\nissued:\r\n  zones:\r\n    old: {number: 1}\r\nkit: {}\r\n",
    "only carriage returns": "kit: {}\rissued: {}\r",
}


def read(text: str) -> dict[str, Any]:
    """As another reader of YAML has it, every answer a text."""
    found: dict[str, Any] = texts(YAML(typ="base", pure=True).load(text) or {})
    return found


def texts(found: Any) -> Any:
    """The same in plain words; a word alone is an empty answer."""
    if isinstance(found, dict):
        return {str(word): texts(below) for word, below in found.items()}
    return [texts(one) for one in found] if isinstance(found, list) else str(found or "")


def merged(tree: dict[str, Any], lines: tuple[Line, ...]) -> dict[str, Any]:
    """What is to be there afterwards."""
    for line in lines:
        below = tree
        for step in line.path[:-1]:
            below[step] = below.get(step) or {}
            below = below[step]
        below[line.path[-1]] = line.answers if isinstance(line.answers, str) else dict(line.answers)
    return tree


@pytest.mark.parametrize("text", WRITTEN.values(), ids=WRITTEN)
def test_it_reads_as_what_was_asked_for_and_keeps_every_remark(text: str) -> None:
    new = with_lines(text, LINES, "standing.yaml")
    assert read(new) == merged(read(text), LINES)
    assert [remark for remark in remarks(new) if remark in remarks(text)] == remarks(text)
    assert text.count("\r") == 0 or "\n" not in new.replace("\r\n", "\r")


def remarks(text: str) -> list[str]:
    """Everything after a #, in order."""
    return [line.partition("#")[2].strip() for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize("text", [text for name, text in WRITTEN.items() if "brackets" not in name], ids=str)
def test_lines_that_stand_are_not_touched(text: str) -> None:
    """Where a group is written in brackets, its closing line changes; elsewhere lines are only added."""
    if "{}" in text or "{zones" in text:
        text = text.replace("issued: {}", "issued:").replace("zones: {}", "zones:")
    rest = iter(with_lines(text, (STAFF, GUESTS), "standing.yaml").splitlines())
    assert all(line in rest for line in text.splitlines() if "{zones" not in line)


def test_one_entry_is_one_line() -> None:
    new = with_lines("kit: {}\n", LINES, "standing.yaml")
    assert new == (
        "kit: {}\n\nissued:\n  block: 10.44.0.0/16\n  zones:\n"
        "    staff: {number: 30, network: 10.44.30.0/24, gateway: 10.44.30.1}\n"
        "    guests: {number: 60, network: 10.44.60.0/23, gateway: 10.44.60.1}\n\n"
        "bought:\n  host-a: {serves: host, article: a, built: a}\n"
    )


@pytest.mark.parametrize("text", ["issued: soon\n", "issued:\n  zones: none yet\n", "- a\n- b\n", "soon\n"])
def test_an_answer_where_a_group_belongs_is_refused(text: str) -> None:
    with pytest.raises(EditError):
        with_lines(text, LINES, "standing.yaml")


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_words_read_back(words: str) -> None:
    line = Line(("issued", "zones", "staff"), {"name": words, "number": "1"})
    for text in ("", "issued: {zones: {a: {number: 2}}}\n", "issued:\n  zones:\n    a: {number: 2}\n"):
        new = with_lines(text, (line,), "standing.yaml")
        assert read(new)["issued"]["zones"]["staff"] == {"name": words, "number": "1"}


NAMES = st.sampled_from(["a", "b", "c-1", "staff"])
ANSWERS = st.dictionaries(
    st.sampled_from(["number", "name", "first"]),
    st.sampled_from(["1", "10.44.0.1", "two words", "#", ": x", "yes"]),
    min_size=1,
)
Wanted = st.lists(
    st.tuples(st.sampled_from(["zones", "ranges", "addresses"]), NAMES, ANSWERS),
    min_size=1,
    max_size=6,
    unique_by=lambda one: one[:2],
)


@given(Wanted, Wanted)
def test_twice_added_is_as_if_written_at_once(
    first: list[tuple[str, str, dict[str, str]]], second: list[tuple[str, str, dict[str, str]]]
) -> None:
    one = tuple(Line(("issued", kind, name), answers) for kind, name, answers in first)
    paths = {line.path for line in one}
    other = tuple(
        line
        for line in (Line(("issued", kind, name), answers) for kind, name, answers in second)
        if line.path not in paths
    )
    text = with_lines("", one, "standing.yaml")
    again = with_lines(text, other, "standing.yaml") if other else text
    assert read(again) == merged({}, (*one, *other))
    rest = iter(again.splitlines())
    assert all(line in rest for line in text.splitlines())


@pytest.mark.parametrize("text", [text for text in WRITTEN.values() if "number: 1" in text], ids=str)
def test_an_answer_is_written_anew_and_nothing_else(text: str) -> None:
    new = with_answers(text, {("issued", "zones", "old", "number"): "7"}, "standing.yaml")
    assert new == text.replace("number: 1", "number: 7")
