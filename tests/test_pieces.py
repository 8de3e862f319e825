"""A text read piece by piece says the same as the text read in one go, whatever stands in it; and so are edits placed."""

from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offices import BRIEFS, ROOT, fold, millrace
from scantling import api
from scantling.brief import marking
from scantling.brief.editing import with_values
from scantling.figures import composing
from scantling.figures.composing import composed
from scantling.figures.pieces import pieces
from scantling.figures.placed import Node, Text, WrittenError

WRITTEN = [*ROOT.glob("examples/*/*.yaml"), *(ROOT / "src/scantling/catalogue/data").rglob("*.yaml")]
LINES = (
    "a: 1", "b:", "  c: 2", "  d: {e: 3, f: [4, 5]}", "c: 'one", "  two'", 'e: "three', '  four"', 'b: "five"', "six", "  - seven",
    "- eight", "g: |", "g: >-", "   nine", "", "  ", "# ten", "  # eleven", "h: {i: 1,", "  j: 2}", "]", "}", "? k", ": l", "...",
    "---", "%YAML 1.2", "m: &n 1", "o: *n", "p: !q r", "\tq: 1", "r: a\tb", "s: t # u", "t : 1", "u:1", "v: w: x", "'w': 1", "x: y\u2028z",
    "y: \x85", "é: 1", "a.b: 1", "<<: 1", "zz: |+", "A-b_1: #", "aa: -", "bb: ''", "cc: [", "  dd, ee]", "ff: gg", " hh: 1",
)  # fmt: skip


def told(found: Any) -> Any:
    """All that a tree says, with every place."""
    if isinstance(found, Node):
        below = [(key, told(one)) for key, one in found.items()]
        return (found.file, found.path, found.at, list(found.keys_at.items()), below)
    if isinstance(found, list):
        return list(map(told, found))
    assert isinstance(found, Text)
    return (str(found), found.file, found.path, found.line, found.column)


def read(text: str, *, whole: bool) -> Any:
    """What a text says, or its mistakes."""
    try:
        tree, mistakes = composing._whole(text, "f") if whole else composed(text, "f")
    except WrittenError as wrong:
        return wrong.mistakes
    return told(tree), mistakes


@pytest.mark.parametrize("path", WRITTEN, ids=lambda path: path.name)
def test_every_written_file_of_ours_reads_the_same(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert read(text, whole=False) == read(text, whole=True)


@pytest.mark.parametrize("scenario", list(BRIEFS))
def test_briefs_are_cut_and_the_pieces_are_the_whole(scenario: str) -> None:
    text = BRIEFS[scenario].read_text(encoding="utf-8")
    parts = pieces(text)
    assert len(parts) > 10
    assert text.endswith("".join(part.text for part in parts))
    assert all(text.count("\n", 0, part.start) == part.lines for part in parts)


@given(st.lists(st.sampled_from(LINES), max_size=9).map("\n".join), st.sampled_from(["", "\n"]))
def test_lines_of_every_kind_in_any_order_read_the_same(lines: str, end: str) -> None:
    """What can't be cut for certain is read as a whole: the same tree, the same mistakes at the same places."""
    text = lines + end
    if composing.NAKED.search(text):
        return  # refused before it is read
    assert read(text, whole=False) == read(text, whole=True)


def test_a_second_reading_reads_only_the_piece_that_changed(monkeypatch: pytest.MonkeyPatch) -> None:
    composed(millrace(), "f")
    seen = []
    first = composing._whole

    def counted(text: str, file: str) -> Any:
        seen.append(text)
        return first(text, file)

    monkeypatch.setattr(composing, "_whole", counted)
    composed("# one more line\n" + millrace().replace("heads: 12", "heads: 13"), "f")
    assert [text.split(":")[0] for text in seen] == ["people"]


def test_what_is_read_may_be_changed_without_harm_to_the_next_reader() -> None:
    """A reader fills in what is assumed; the next one finds the text as it is written."""
    one, _ = composed(fold(), "f")
    one["office"].clear()
    one["people"].keys_at.clear()
    assert told(composed(fold(), "f")[0]) == told(composing._whole(fold(), "f")[0])


def test_an_edit_is_placed_where_the_whole_text_has_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Setting, adding and taking out in random places gives the same text with marks of the whole."""
    luck = Random(3)
    edits: list[dict[str, str | None]] = [
        {"people.roles.office.heads": "7"}, {"services.files.users": "9"}, {"premises.noise": None}, {"budget.once": "1 EUR"},
        {"power.hold": "11 min"}, {"pins.host.cores.needed.value": "9"}, {"office.horizon": "4 year"}, {"backup.daily": None},
        {"lasting.array-levels.by": "Nobody"}, {"lines.fibre.up": "9 Mbit/s", "lines.fibre.down": "9 Mbit/s"},
    ]  # fmt: skip
    for scenario in BRIEFS:
        text = BRIEFS[scenario].read_text(encoding="utf-8")
        for edit in luck.sample(edits, len(edits)):
            results = [
                edited_by(road, text, edit, monkeypatch)
                for road in (marking.marked, lambda body, _: marking._whole(body))
            ]
            assert results[0] == results[1]
            text = results[0] if ":\n" in results[0] else text


def edited_by(road: Any, text: str, edit: dict[str, str | None], monkeypatch: pytest.MonkeyPatch) -> str:
    """The text that an edit makes with marks read by one road, or why it is refused."""
    monkeypatch.setattr("scantling.brief.editing.marked", road)
    try:
        return with_values(text, edit, api.known_sections())
    except ValueError as wrong:
        return str(wrong)
