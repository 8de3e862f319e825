"""The compiled form of catalogue and house rules: quick to read, used only while it matches the written files."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from hashlib import sha256
from pathlib import Path
from typing import Any

from scantling.catalogue import Article, Catalogue, RuleLine
from scantling.catalogue.columns import MARKS
from scantling.figures import Attribute

NAME = "compiled.json"
HOUSE = "house"
NOTE = "Made by tools/compile_catalogue.py from the written files beside it; do not edit."
PLAIN = (bool, int, float, str)
Columns = Mapping[str, tuple[Attribute[Any], ...]]


@dataclass(frozen=True)
class Stored:
    """What the compiled form holds for the written files as they are now; None where it is missing or stale."""

    rows: Mapping[str, Mapping[str, Article]] | None = None
    lines: Mapping[str, RuleLine] | None = None


def fingerprint(folder: Path) -> str:
    """A hash over the names and bytes of the written files of one folder."""
    hashed = sha256()
    for path in sorted(folder.glob("*.yaml")):
        content = path.read_bytes()
        hashed.update(f"{path.name}\0{len(content)}\0".encode() + content)
    return hashed.hexdigest()


def compiled(folder: Path, catalogue: Catalogue, lines: Mapping[str, RuleLine], columns: Columns) -> str:
    """The compiled form as text, the same for the same files.

    Raises TypeError for a column whose values the compiled form can't hold.
    """
    kinds = {
        kind: {row.slug: _packed(row, columns[kind]) for row in rows.values()}
        for kind, rows in catalogue.rows.items()
    }
    made = {
        "note": NOTE,
        "rows": {"hash": fingerprint(folder), "columns": _shape(columns), "kinds": kinds},
        "house": {"hash": fingerprint(folder / HOUSE), "lines": {key: asdict(line) for key, line in lines.items()}},
    }
    return json.dumps(made, ensure_ascii=False, indent=0) + "\n"


def stored(folder: Path, columns: Columns) -> Stored:
    """The compiled form of a folder, each half only if it was made from these very files and columns."""
    try:
        held = json.loads((folder / NAME).read_text(encoding="utf-8"))
        rows, house = held["rows"], held["house"]
        fresh = rows["hash"] == fingerprint(folder) and rows["columns"] == _shape(columns)
        return Stored(
            _unpacked(rows["kinds"], columns) if fresh else None,
            _lines(house["lines"]) if house["hash"] == fingerprint(folder / HOUSE) else None,
        )
    except (OSError, ValueError, KeyError, TypeError):  # missing or damaged: the written files are the truth
        return Stored()


def _shape(columns: Columns) -> dict[str, list[list[str]]]:
    """Which columns the values were read for, and in which units."""
    many = {**columns, "every row": MARKS}
    return {kind: [[c.name, c.unit.symbol, c.unit.kind.__name__] for c in those] for kind, those in many.items()}


def _packed(row: Article, columns: tuple[Attribute[Any], ...]) -> list[Any]:
    marks = {name: value.isoformat() if isinstance(value, date) else value for name, value in row.marks.items()}
    return [row.place, marks, *(_plain(row.values[column.name], column) for column in columns)]


def _plain(value: Any, column: Attribute[Any]) -> Any:
    if column.unit.kind is Decimal:
        return str(value)
    if column.unit.kind in PLAIN:
        return value
    message = f"column {column.name}: the compiled form can't hold a {column.unit.kind.__name__}"
    raise TypeError(message)


def _unpacked(kinds: Mapping[str, Mapping[str, list[Any]]], columns: Columns) -> dict[str, dict[str, Article]]:
    return {
        kind: {slug: _article(kind, slug, cells, columns[kind]) for slug, cells in rows.items()}
        for kind, rows in kinds.items()
    }


def _article(kind: str, slug: str, cells: list[Any], columns: tuple[Attribute[Any], ...]) -> Article:
    place, marks, *values = cells
    named = {
        column.name: Decimal(value) if column.unit.kind is Decimal else value
        for column, value in zip(columns, values, strict=True)
    }
    dated = {name: date.fromisoformat(mark) if isinstance(mark, str) else mark for name, mark in marks.items()}
    return Article(kind, slug, named, place, dated)


def _lines(held: Mapping[str, Mapping[str, Any]]) -> dict[str, RuleLine]:
    return {key: RuleLine(**{**line, "texts": tuple(line["texts"])}) for key, line in held.items()}
