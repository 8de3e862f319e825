"""The count of checks from outside: wrong kinds, missing sources and thin subjects are refused."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from checks import ROOT, main, outside, read, table, thin_subjects, wrong_rows


def row(kind: str, **more: Any) -> Mapping[str, Any]:
    """One check."""
    return {"rule": "arrays.array_loss", "kind": kind, "source": "a book"} | more


OURS, THEIRS = row("own derivation"), row("published")


@pytest.mark.parametrize(("theirs", "ours", "thin"), [(1, 1, False), (2, 3, True), (0, 1, True), (3, 2, False)])
def test_at_least_half_comes_from_outside(theirs: int, ours: int, thin: bool) -> None:  # noqa: FBT001 - a table's column
    rows = [THEIRS] * theirs + [OURS] * ours
    assert outside(rows) == theirs
    assert bool(list(thin_subjects({"arrays": rows}))) is thin


def test_rows_need_rule_source_and_a_known_kind() -> None:
    rows = [row("hearsay"), row("published", source=""), {"kind": "published", "source": "a book"}, THEIRS]
    told = list(wrong_rows({"arrays": rows}))
    assert [said.split(": ")[1].split(" ")[0] for said in told] == ["kind", "no", "no"]


def test_the_table_counts_by_kind_and_subject() -> None:
    told = table({"arrays": [THEIRS, OURS, row("common practice")], "money": [row("independent library")]})
    assert "4 checks: 1 published, 1 independent library, 1 common practice, 1 own derivation" in told
    assert "arrays" in told
    assert "2 of    3" in told


@pytest.mark.parametrize("text", ["{a: 1}", "[1, 2]", "[1, 2"])
def test_a_file_that_is_no_list_of_checks_is_named(tmp_path: Path, text: str) -> None:
    (tmp_path / "arrays.yaml").write_text(text)
    with pytest.raises(ValueError, match=r"arrays\.yaml"):
        read(tmp_path)


def test_the_house_has_enough_from_outside() -> None:
    assert read(ROOT / "tests/check")
    assert main() == 0
