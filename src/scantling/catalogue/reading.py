"""Reads catalogue and house rules from their written files, with every mistake at once."""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from hashlib import sha256
from pathlib import Path
from typing import Any

from scantling.catalogue import Article, Catalogue, House, Practice, RuleLine
from scantling.catalogue.columns import KINDS
from scantling.figures import Attribute
from scantling.figures.placed import Mistake, Node, Text, WrittenError, placed
from scantling.figures.quantities import parse
from scantling.figures.units import Unit, convert

DATA = Path(__file__).parent / "data"
CURRENCY = "EUR"
Columns = Mapping[str, tuple[Attribute[Any], ...]]


class CatalogueFileError(WrittenError):
    """All mistakes of the catalogue's or the house rules' files at once."""


def read_trees(folder: Path) -> dict[str, Node]:
    """Every written file of a folder by its name, as placed text. Raises CatalogueFileError."""
    mistakes: list[Mistake] = []
    trees = {}
    for path in sorted(folder.glob("*.yaml")):
        try:
            trees[path.name] = placed(path.read_text(encoding="utf-8"), path.name)
        except WrittenError as wrong:
            mistakes += wrong.mistakes
        except (OSError, UnicodeDecodeError) as wrong:
            mistakes.append(Mistake(path.name, 1, 1, "", f"can't be read: {wrong}"))
    if mistakes:
        raise CatalogueFileError(mistakes)
    return trees


def fingerprint(folder: Path) -> str:
    """A hash over the names and bytes of every written file below a folder."""
    hashed = sha256()
    for path in sorted(folder.rglob("*.yaml")):
        hashed.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return hashed.hexdigest()


def build(trees: Mapping[str, Node], columns: Columns) -> Catalogue:
    """Rows typed by their kind's columns. Raises CatalogueFileError naming row and column."""
    mistakes: list[Mistake] = []
    rows: dict[str, dict[str, Article]] = {}
    for tree in trees.values():
        for kind, articles in tree.items():
            if kind not in columns:
                near = get_close_matches(kind, columns, 1, 0.5)
                says = f"no kind of row called {kind}" + (f"; did you mean {near[0]}?" if near else "")
                mistakes.append(Mistake(tree.file, *tree.keys_at[kind], kind, says))
                continue
            if not isinstance(articles, Node):
                mistakes.append(Mistake(tree.file, *tree.keys_at[kind], kind, "rows are wanted here, each with its name"))
                continue
            for slug, row in articles.items():
                if slug in rows.get(kind, {}):
                    mistakes.append(Mistake(tree.file, *articles.keys_at[slug], f"{kind}.{slug}", "this row stands in another file too"))
                elif (article := _article(kind, slug, row, articles, columns[kind], mistakes)) is not None:
                    rows.setdefault(kind, {})[slug] = article
    if mistakes:
        raise CatalogueFileError(mistakes)
    return Catalogue(rows, CURRENCY)


def _article(  # noqa: PLR0913 - a row, where it stands, and what it must hold
    kind: str, slug: str, row: Any, table: Node, columns: tuple[Attribute[Any], ...], mistakes: list[Mistake]
) -> Article | None:
    at = table.keys_at[slug]
    path = f"{kind}.{slug}"
    if not isinstance(row, Node):
        mistakes.append(Mistake(table.file, *at, path, "a row is a mapping of columns to values"))
        return None
    names = {column.name: column for column in columns}
    values: dict[str, Any] = {}
    units: dict[str, Unit[Any]] = {}
    for name in [name for name in row if name not in names]:
        near = get_close_matches(name, names, 1, 0.5)
        says = "no such column" + (f"; did you mean {near[0]}?" if near else "")
        mistakes.append(Mistake(table.file, *row.keys_at[name], f"{path}.{name}", says))
    for name, column in names.items():
        written = row.get(name)
        if not isinstance(written, Text):
            says = "this column is missing" if written is None else "one value is wanted here"
            mistakes.append(Mistake(table.file, *at, f"{path}.{name}", says))
            continue
        try:
            value, unit = parse(str(written), column.unit, CURRENCY)
            values[name], units[name] = convert(value, unit, column.unit), column.unit
        except (ValueError, TypeError) as wrong:
            mistakes.append(Mistake(table.file, written.line, written.column, f"{path}.{name}", str(wrong)))
    return Article(kind, slug, values, units, f"{table.file}:{at[0]}")


FIELDS = ("value", "range", "reason", "source")


def rules(trees: Mapping[str, Node], practices: Iterable[Practice[Any]]) -> House:
    """House rules typed by what the trades rely on. Raises CatalogueFileError for one missing, doubled or mistyped."""
    mistakes: list[Mistake] = []
    lines: dict[str, RuleLine] = {}
    places: dict[str, tuple[str, int, int]] = {}
    for tree in trees.values():
        for key, node in tree.items():
            at = tree.keys_at[key]
            if key in lines:
                mistakes.append(Mistake(tree.file, *at, key, f"stands in {places[key][0]} too"))
            elif (line := _line(tree, key, node, mistakes)) is not None:
                lines[key], places[key] = line, (tree.file, *at)
    values: dict[str, tuple[tuple[Any, Unit[Any]], ...]] = {}
    for practice in practices:
        if practice.key not in lines:
            mistakes.append(Mistake("house rules", 1, 1, practice.key, "this house rule is missing"))
            continue
        try:
            values[practice.key] = tuple(parse(text, practice.unit, CURRENCY) for text in lines[practice.key].texts)
        except ValueError as wrong:
            mistakes.append(Mistake(*places[practice.key], practice.key, str(wrong)))
    if mistakes:
        raise CatalogueFileError(mistakes)
    return House(lines, values)


def _line(tree: Node, key: str, node: Any, mistakes: list[Mistake]) -> RuleLine | None:
    at = tree.keys_at[key]
    if not isinstance(node, Node) or set(node) != set(FIELDS):
        mistakes.append(Mistake(tree.file, *at, key, f"a house rule has exactly: {', '.join(FIELDS)}"))
        return None
    written = node["value"]
    texts = tuple(map(str, written)) if isinstance(written, list) else (str(written),)
    return RuleLine(texts, str(node["range"]), str(node["reason"]), str(node["source"]), f"{tree.file}:{at[0]}")


def all_columns(more: Columns) -> Columns:
    """The shared kinds and those that trades declare for themselves."""
    return {**KINDS, **more}
