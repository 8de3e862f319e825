"""Marks that any row may bear, and names of rows in rows: read, defaulted from a file's head, positioned when wrong."""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from shutil import copytree

import pytest

import compile_catalogue
from scantling.catalogue import Article, Catalogue
from scantling.catalogue.columns import APPROVED, CONFIRMED_ON, KINDS, MARKS, PRICED_ON, SOLD, VALID_UNTIL
from scantling.catalogue.compiled import NAME, stored
from scantling.catalogue.reading import DATA, CatalogueFileError, all_columns, build, read, read_trees
from scantling.figures import Attribute, Origin
from scantling.figures.composing import placed
from scantling.figures.units import DATE, TRUTH, WORD
from scantling.plan.spine import columns, trades

MORE = columns(trades())
HEAD = "prices: {priced_on: 2026-11-01, valid_until: 2026-12-31}\n"
TWO = """\
labour:
  plain: {name: plain, hourly: 50.00 EUR/h}
  marked: {name: marked, hourly: 60.00 EUR/h, sold: no, approved: yes, confirmed_on: 2026-11-10, valid_until: 2026-11-30}
"""


def _rows(text: str, more: Mapping[str, tuple[Attribute[object], ...]] | None = None) -> Catalogue:
    return build({"work.yaml": placed(text, "work.yaml")}, all_columns(more or {}))


def _told(text: str, more: Mapping[str, tuple[Attribute[object], ...]] | None = None) -> list[str]:
    with pytest.raises(CatalogueFileError) as caught:
        _rows(text, more)
    return str(caught.value).splitlines()


def test_a_row_says_what_it_says_and_the_head_says_the_rest() -> None:
    rows = _rows(HEAD + TWO).rows["labour"]
    assert rows["plain"].marks == {"priced_on": date(2026, 11, 1), "valid_until": date(2026, 12, 31)}
    assert [rows["marked"].mark(mark.name) for mark in MARKS] == [
        False, True, date(2026, 11, 10), date(2026, 11, 1), date(2026, 11, 30),
    ]  # fmt: skip


def test_without_marks_a_row_is_sold_and_says_nothing_else() -> None:
    plain = _rows(TWO).rows["labour"]["plain"]
    assert [plain.mark(mark.name) for mark in MARKS] == [True, None, None, None, None]
    assert plain.get(PRICED_ON) is None
    assert plain.get(SOLD) is None
    assert plain.mark_figure("priced_on", DATE) is None


def test_a_mark_is_a_figure_of_its_row() -> None:
    row = _rows(HEAD + TWO).rows["labour"]["marked"]
    for figure in (row.mark_figure("confirmed_on", DATE), row.figure(CONFIRMED_ON)):
        assert figure is not None
        assert (figure.value, figure.id) == (date(2026, 11, 10), "catalogue.labour.marked.confirmed_on")
        assert isinstance(figure.how, Origin)
        assert (figure.how.kind, figure.how.place) == ("catalogue", "work.yaml:4")
    sold = row.mark_figure("sold", TRUTH)
    assert sold is not None
    assert sold.value is False


def test_the_head_is_no_kind_of_row() -> None:
    assert set(_rows(HEAD + TWO).rows) == {"labour"}


PLANTED = [
    ("sold: no", "sold: perhaps", "perhaps", "labour.marked.sold", "write yes or no"),
    ("approved: yes", "aproved: yes", "aproved", "labour.marked.aproved", "no such column; did you mean approved?"),
    ("confirmed_on: 2026-11-10", "confirmed_on: 10.11.2026", "10.11", "labour.marked.confirmed_on", "2026-11-25"),
    ("confirmed_on: 2026-11-10", "confirmed_on: 2026-02-30", "2026-02-30", "labour.marked.confirmed_on", "day of the calendar"),
    ("confirmed_on: 2026-11-10", "confirmed_on: [2026-11-10]", "confirmed_on", "labour.marked.confirmed_on", "one value is wanted"),
    ("valid_until: 2026-11-30}", "valid_until: 2026-10-31}", "2026-10-31", "labour.marked.valid_until",
     "the price ends (2026-10-31) before the day it is of (2026-11-01)"),
    ("valid_until: 2026-11-30}", "priced_on: 2027-01-01}", "2027-01-01", "labour.marked.priced_on",
     "the price ends (2026-12-31) before the day it is of (2027-01-01)"),
    ("until: 2026-12-31}", "until: 2026-10-01}", "2026-10-01", "prices.valid_until", "the price ends (2026-10-01) before"),
    ("priced_on: 2026-11-01,", "priced_at: 2026-11-01,", "priced_at", "prices.priced_at", "did you mean priced_on?"),
    ("priced_on: 2026-11-01,", "sold: no,", "sold", "prices.sold", "the head of a file has no such mark"),
    ("priced_on: 2026-11-01,", "priced_on: yesterday,", "yesterday", "prices.priced_on", "is not a date"),
    ("{priced_on: 2026-11-01, valid_until: 2026-12-31}", "2026-11-01", "prices", "prices", "the head of a file is a mapping"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "planted", "word", "path", "says"), PLANTED)
def test_a_planted_mistake_is_told_at_its_place(written: str, planted: str, word: str, path: str, says: str) -> None:
    """`word` stands where the mistake is: its line and column are counted here."""
    text = HEAD + TWO
    assert written in text
    text = text.replace(written, planted, 1)
    at = text.index(word)
    place = f"work.yaml:{text.count(chr(10), 0, at) + 1}:{at - text.rfind(chr(10), 0, at)}: {path}: "
    told = _told(text)
    assert any(line.startswith(place) and says in line for line in told), (place, told)


def test_a_price_that_ends_on_its_own_day_is_taken() -> None:
    rows = _rows(TWO.replace("sold: no", "priced_on: 2026-11-30")).rows["labour"]
    assert rows["marked"].mark("priced_on") == rows["marked"].mark("valid_until")


PARTS = {"chest": (Attribute("name", WORD),), "lid": (Attribute("name", WORD), Attribute("chest", WORD))}


def test_a_name_of_a_row_that_is_not_there_is_told_at_its_place() -> None:
    good = "chest:\n  oak: {name: oak}\n  elm: {name: elm}\nlid:\n  flat: {name: flat, chest: oak}\n"
    assert _rows(good, PARTS).rows["lid"]["flat"].values["chest"] == "oak"
    told = _told(good.replace("chest: oak", "chest: oka"), PARTS)
    assert told == ["work.yaml:5:29: lid.flat.chest: there is no chest called oka; did you mean oak?"]
    none = _told("lid:\n  flat: {name: flat, chest: oak}\n", PARTS)
    assert none == ["work.yaml:2:29: lid.flat.chest: there is no chest called oak"]


def test_a_build_of_an_unknown_article_is_told_with_its_place(tmp_path: Path) -> None:
    folder = Path(copytree(DATA, tmp_path / "data"))
    path = folder / "builds.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("processor: small-8,", "processor: smal-8,", 1), encoding="utf-8")
    line = next(n for n, written in enumerate(text.splitlines(), 1) if "processor: small-8," in written)
    with pytest.raises(
        CatalogueFileError,
        match=rf"^builds\.yaml:{line}:\d+: build\.[\w-]+\.processor: there is no processor called smal-8; did",
    ):
        read(folder, more=MORE)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Our own data, freshly compiled."""
    made = Path(copytree(DATA, tmp_path / "data"))
    (made / NAME).write_text(compile_catalogue.made(made), encoding="utf-8")
    return made


def test_the_compiled_form_carries_the_marks(folder: Path) -> None:
    held = stored(folder, all_columns(MORE)).rows
    assert held is not None
    written = build(read_trees(folder), all_columns(MORE)).rows
    marks = {(kind, slug): row.marks for kind, rows in held.items() for slug, row in rows.items()}
    assert marks == {(kind, slug): row.marks for kind, rows in written.items() for slug, row in rows.items()}
    assert sum(map(bool, marks.values())) > 100
    assert {type(mark) for row in marks.values() for mark in row.values()} == {date, bool}


def test_a_changed_mark_makes_the_compiled_form_stale(folder: Path) -> None:
    path = folder / "hosts.yaml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("priced_on: 2026-11-01", "priced_on: 2026-11-02", 1),
        encoding="utf-8",
    )
    assert stored(folder, all_columns(MORE)).rows is None
    assert read(folder, more=MORE)[0].rows["host"]["tower-small"].mark("priced_on") == date(2026, 11, 2)


def test_a_compiled_form_of_other_marks_is_not_believed(folder: Path) -> None:
    held = json.loads((folder / NAME).read_text(encoding="utf-8"))
    held["rows"]["columns"]["every row"].pop()
    (folder / NAME).write_text(json.dumps(held), encoding="utf-8")
    assert stored(folder, all_columns(MORE)).rows is None


OURS = read(more=MORE)[0]
PRICED = [
    row
    for kind, rows in OURS.rows.items()
    if "price" in {c.name for c in KINDS.get(kind, ())}
    for row in rows.values()
]


@pytest.mark.parametrize(
    "kind", ["host", "processor", "module", "disk", "boot_disk", "ups", "cabinet", "backup", "build"]
)
def test_every_priced_row_of_ours_is_dated(kind: str) -> None:
    for row in OURS.every(kind):
        assert row.get(PRICED_ON) <= row.get(VALID_UNTIL), row.slug


def test_many_rows_are_confirmed_and_not_all() -> None:
    confirmed = [row for row in PRICED if row.get(CONFIRMED_ON) is not None]
    assert len(PRICED) / 3 < len(confirmed) < len(PRICED)
    assert all(row.mark("sold") for row in confirmed)


def test_a_few_rows_are_no_longer_sold() -> None:
    gone = {(row.kind, row.slug) for row in PRICED if row.get(SOLD) is False}
    assert {("host", "tower-old-4"), ("ups", "unit-old-1000")} <= gone
    assert len(gone) < 10


def test_some_builds_are_approved() -> None:
    assert {row.get(APPROVED) for row in OURS.every("build")} == {True, False}


def test_a_mark_is_never_a_column() -> None:
    names = {mark.name for mark in MARKS}
    assert not [kind for kind, many in all_columns(MORE).items() if names & {column.name for column in many}]
    assert Article("disk", "odd", {}, "disks.yaml:3").marks == {}
