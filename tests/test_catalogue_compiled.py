"""The compiled form of the catalogue: fresh, equal to the written files, quick, never believed when stale."""

import json
from decimal import Decimal
from pathlib import Path
from shutil import copytree
from time import process_time

import pytest

import compile_catalogue
from scantling.catalogue import Article, Catalogue
from scantling.catalogue.columns import KINDS
from scantling.catalogue.compiled import NAME, compiled, fingerprint, stored
from scantling.catalogue.reading import DATA, CatalogueFileError, all_columns, build, read, read_trees, rules
from scantling.figures import Attribute
from scantling.figures.units import DATE
from scantling.plan.spine import columns, practices, trades

MODULES = trades()
MORE, PRACTICES = columns(MODULES), practices(MODULES)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A firm's own copy of the data, freshly compiled."""
    made = Path(copytree(DATA, tmp_path / "data"))
    (made / NAME).write_text(compile_catalogue.made(made), encoding="utf-8")
    return made


def test_the_committed_form_is_fresh() -> None:
    committed = (DATA / NAME).read_text(encoding="utf-8")
    assert committed == compile_catalogue.made(), "run python tools/compile_catalogue.py"


def test_a_fresh_form_equals_the_written_files(folder: Path) -> None:
    held = stored(folder, all_columns(MORE))
    assert held.rows is not None
    assert held.lines is not None
    catalogue, house = read(folder, more=MORE, practices=PRACTICES)
    written = build(read_trees(DATA), all_columns(MORE))
    assert catalogue.rows == written.rows
    assert [list(rows) for rows in catalogue.rows.values()] == [list(rows) for rows in written.rows.values()]
    assert house == rules(read_trees(DATA / "house"), PRACTICES)
    for kind, rows in catalogue.rows.items():
        for slug, row in rows.items():
            other = written.rows[kind][slug].values
            assert {name: type(value) for name, value in row.values.items()} == {n: type(v) for n, v in other.items()}


def test_reading_the_compiled_form_is_quick(folder: Path) -> None:
    """Best of several, against the written files in the same run: at least ten times as quick."""

    def best(times: int, of: Path) -> float:
        took = []
        for _ in range(times):
            start = process_time()
            read(of, more=MORE, practices=PRACTICES)
            took.append(process_time() - start)
        return min(took)

    start = process_time()
    build(read_trees(DATA), all_columns(MORE))
    rules(read_trees(DATA / "house"), PRACTICES)
    assert best(5, folder) < (process_time() - start) / 10


def test_a_changed_row_is_read_from_the_written_file(folder: Path) -> None:
    path = folder / "labour.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("85.00 EUR/h", "99.00 EUR/h"), encoding="utf-8")
    assert stored(folder, KINDS).rows is None
    assert stored(folder, KINDS).lines is not None
    catalogue, _ = read(folder)
    assert catalogue.rows["labour"]["consultant"].values["hourly"] == Decimal("99.00")


def test_a_changed_house_rule_is_read_from_the_written_file(folder: Path) -> None:
    path = folder / "house/office.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("value: 230 V", "value: 120 V"), encoding="utf-8")
    assert stored(folder, KINDS).lines is None
    assert read(folder)[1].lines["office.mains"].texts == ("120 V",)


def test_a_new_file_or_a_new_name_makes_it_stale(folder: Path) -> None:
    before = fingerprint(folder)
    (folder / "labour.yaml").rename(folder / "work.yaml")
    renamed = fingerprint(folder)
    (folder / "more.yaml").write_text("labour:\n  smith: {name: smith, hourly: 60.00 EUR/h}\n", encoding="utf-8")
    assert len({before, renamed, fingerprint(folder)}) == 3
    assert "smith" in read(folder)[0].rows["labour"]


def test_another_column_makes_it_stale(folder: Path) -> None:
    more = {"labour": (*KINDS["labour"], Attribute("boots", KINDS["host"][3].unit))}
    assert stored(folder, all_columns(MORE)).rows is not None
    assert stored(folder, all_columns(more)).rows is None
    with pytest.raises(CatalogueFileError, match=r"labour\.consultant\.boots: this column is missing"):
        read(folder, more=more)


@pytest.mark.parametrize("damage", ["", "{", "[]", "{}", '{"rows": 3, "house": {}}', "\N{SNOWMAN}"])
def test_a_damaged_form_is_not_believed(folder: Path, damage: str) -> None:
    (folder / NAME).write_text(damage, encoding="utf-8")
    assert read(folder, more=MORE)[0].rows == read(more=MORE)[0].rows


def test_a_form_of_the_right_hash_with_too_few_cells_is_not_believed(folder: Path) -> None:
    held = json.loads((folder / NAME).read_text(encoding="utf-8"))
    held["rows"]["kinds"]["labour"]["consultant"].pop()
    (folder / NAME).write_text(json.dumps(held), encoding="utf-8")
    assert stored(folder, all_columns(MORE)).rows is None


def test_a_bad_house_rule_is_told_with_its_place_though_compiled(folder: Path) -> None:
    with pytest.raises(CatalogueFileError, match=r"^house rules:1:1: tea\.cups: this house rule is missing"):
        read(folder, practices=[type(PRACTICES[0])("tea.cups", KINDS["host"][4].unit)])


def test_a_value_that_the_form_cannot_hold_is_refused(folder: Path) -> None:
    born = Attribute("born", DATE)
    row = Article("tool", "saw", {"born": "2026-01-01"}, "tools.yaml:2")
    with pytest.raises(TypeError, match="column born: the compiled form can't hold a date"):
        compiled(folder, Catalogue({"tool": {"saw": row}}), {}, {"tool": (born,)})
