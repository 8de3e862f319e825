"""Reads catalogue and house rules from their written files, with every mistake at once."""

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from scantling.catalogue import Article, Catalogue, House, Practice, RuleLine
from scantling.catalogue.columns import HEAD, KINDS
from scantling.catalogue.compiled import stored
from scantling.catalogue.naming import placed_mistakes
from scantling.catalogue.shelf import CURRENCY, Shelf, head_marks, near, put
from scantling.figures import Attribute
from scantling.figures.composing import placed
from scantling.figures.placed import Mistake, Node, Text, WrittenError
from scantling.figures.quantities import parse

DATA = Path(__file__).parent / "data"
HOUSE = "house"
FIELDS = ("value", "range", "reason", "source")
Columns = Mapping[str, tuple[Attribute[Any], ...]]
T = TypeVar("T")


class CatalogueFileError(WrittenError):
    """All mistakes of the catalogue's and the house rules' files at once."""


def all_columns(more: Columns) -> Columns:
    """The shared kinds and those that trades declare for themselves."""
    return {**KINDS, **more}


def read(
    folder: Path = DATA,
    more: Columns | None = None,
    practices: Iterable[Practice[Any]] = (),
    assumed: Iterable[str] = (),
) -> tuple[Catalogue, House]:
    """Catalogue and house rules of a folder, from their compiled form where that is fresh.

    `more` are kinds that trades declare, `practices` the house rules they rely on, `assumed` the keys that the
    brief's fields fall back on; with these given, a house rule that nobody uses is a mistake too. Raises
    CatalogueFileError with file:line:column of everything that is wrong.
    """
    columns, wanted, keys = all_columns(more or {}), tuple(practices), frozenset(assumed)
    kept = stored(folder, columns)
    mistakes: list[Mistake] = []
    if kept.rows is not None:
        catalogue = Catalogue(kept.rows, CURRENCY)
    else:
        catalogue = _build(_trees(folder, mistakes), columns, mistakes)
        mistakes += _empty_kinds(catalogue, mistakes)
    house = _quiet(kept.lines, wanted, keys) or _rules(_trees(folder / HOUSE, mistakes), wanted, keys, mistakes)
    if mistakes:
        raise CatalogueFileError(mistakes)
    return catalogue, house


def written_lines(folder: Path) -> Mapping[str, RuleLine]:
    """Every house rule of a folder as written. Raises CatalogueFileError."""
    return _checked(lambda mistakes: _rules(_trees(folder / HOUSE, mistakes), (), frozenset(), mistakes)).lines


def read_trees(folder: Path) -> dict[str, Node]:
    """Every written file of a folder by its name, as placed text. Raises CatalogueFileError."""
    return _checked(lambda mistakes: _trees(folder, mistakes))


def build(trees: Mapping[str, Node], columns: Columns) -> Catalogue:
    """Rows typed by their kind's columns. Raises CatalogueFileError naming row and column."""
    return _checked(lambda mistakes: _build(trees, columns, mistakes))


def rules(trees: Mapping[str, Node], practices: Iterable[Practice[Any]], assumed: Iterable[str] = ()) -> House:
    """House rules typed by what the trades rely on. Raises CatalogueFileError for any mistake."""
    return _checked(lambda mistakes: _rules(trees, tuple(practices), frozenset(assumed), mistakes))


def _checked(make: Callable[[list[Mistake]], T]) -> T:
    mistakes: list[Mistake] = []
    made = make(mistakes)
    if mistakes:
        raise CatalogueFileError(mistakes)
    return made


def _trees(folder: Path, mistakes: list[Mistake]) -> dict[str, Node]:
    trees = {}
    paths = sorted(folder.glob("*.yaml"))
    if not paths:
        mistakes.append(Mistake(folder.name, 1, 1, "", f"no written files (*.yaml) in the folder {folder}"))
    for path in paths:
        try:
            trees[path.name] = placed(path.read_text(encoding="utf-8"), path.name)
        except WrittenError as wrong:
            mistakes += wrong.mistakes
        except UnicodeDecodeError:
            mistakes.append(Mistake(path.name, 1, 1, "", "not written in UTF-8; save it so"))
        except OSError as wrong:
            mistakes.append(Mistake(path.name, 1, 1, "", f"can't be read: {wrong.strerror or wrong}"))
    return trees


def _build(trees: Mapping[str, Node], columns: Columns, mistakes: list[Mistake]) -> Catalogue:
    zones = frozenset(slug for tree in trees.values() for slug in (tree.get("zone_kind") or ()))
    rows: dict[str, dict[str, Article]] = {}
    names: dict[str, dict[str, str]] = {}
    for tree in trees.values():
        head = head_marks(tree, mistakes)
        for kind, table in [(kind, table) for kind, table in tree.items() if kind != HEAD]:
            at = tree.keys_at[kind]
            if kind not in columns:
                mistakes.append(Mistake(tree.file, *at, kind, near(kind, columns, "no such kind of row")))
            elif not isinstance(table, Node):
                mistakes.append(Mistake(tree.file, *at, kind, "rows are wanted here, each with its name"))
            else:
                named = {column.name: column for column in columns[kind]}
                shelf = Shelf(kind, table, named, zones, mistakes, names.setdefault(kind, {}), head)
                put(shelf, rows.setdefault(kind, {}))
    mistakes += placed_mistakes(trees, rows, columns)
    return Catalogue({kind: found for kind, found in rows.items() if found}, CURRENCY)


def _empty_kinds(catalogue: Catalogue, mistakes: list[Mistake]) -> list[Mistake]:
    """A catalogue without one row of a shared kind; said only when the files can be read at all."""
    lacking = [] if mistakes else [kind for kind in KINDS if kind not in catalogue.rows]
    return [Mistake("catalogue", 1, 1, kind, "at least one row of this kind is wanted") for kind in lacking]


def _quiet(
    lines: Mapping[str, RuleLine] | None, practices: tuple[Practice[Any], ...], assumed: frozenset[str]
) -> House | None:
    """House rules from their compiled form; None sends the reader to the written files, which know each place."""
    if lines is None or _unmatched(lines, practices, assumed):
        return None
    try:
        values = {p.key: tuple(parse(text, p.unit, CURRENCY) for text in lines[p.key].texts) for p in practices}
    except ValueError:  # the written files are read instead, and the mistake is told with its place
        return None
    return House(lines, values)


def _unmatched(
    lines: Iterable[str], practices: tuple[Practice[Any], ...], assumed: frozenset[str]
) -> list[tuple[str, str]]:
    """House rules wanted and not there, or there and wanted by nobody (told only when all users are known)."""
    known, there = {practice.key for practice in practices} | assumed, frozenset(lines)
    wrong = [(key, "this house rule is missing") for key in sorted(known - there)]
    if assumed:
        lost = sorted(known - there)
        wrong += [(key, near(key, lost, "nobody asks for this house rule")) for key in sorted(there - known)]
    return wrong


def _rules(
    trees: Mapping[str, Node], practices: tuple[Practice[Any], ...], assumed: frozenset[str], mistakes: list[Mistake]
) -> House:
    lines: dict[str, RuleLine] = {}
    nodes: dict[str, tuple[Node, Node]] = {}
    for tree in trees.values():
        for key, node in tree.items():
            at = tree.keys_at[key]
            if key in lines:
                mistakes.append(Mistake(tree.file, *at, key, f"this house rule stands in {lines[key].place} too"))
            elif (line := _line(tree, key, node, mistakes)) is not None:
                lines[key], nodes[key] = line, (tree, node)
    if not mistakes:
        for key, says in _unmatched(lines, practices, assumed):
            file, at = (nodes[key][0].file, nodes[key][0].keys_at[key]) if key in nodes else ("house rules", (1, 1))
            mistakes.append(Mistake(file, *at, key, says))
    wanted = [practice for practice in practices if practice.key in lines]
    return House(lines, {practice.key: _typed(practice, *nodes[practice.key], mistakes) for practice in wanted})


def _typed(practice: Practice[Any], tree: Node, node: Node, mistakes: list[Mistake]) -> tuple[tuple[Any, Any], ...]:
    written = node["value"]
    found = []
    for text in written if isinstance(written, list) else [written]:
        try:
            found.append(parse(str(text), practice.unit, CURRENCY))
        except ValueError as wrong:
            mistakes.append(Mistake(tree.file, text.line, text.column, f"{practice.key}.value", str(wrong)))
    return tuple(found)


def _line(tree: Node, key: str, node: Any, mistakes: list[Mistake]) -> RuleLine | None:
    """One house rule as written, None where it is not whole."""
    at = tree.keys_at[key]
    if not isinstance(node, Node):
        mistakes.append(Mistake(tree.file, *at, key, f"a house rule has exactly: {', '.join(FIELDS)}"))
        return None
    before = len(mistakes)
    for name in FIELDS:
        written = node.get(name)
        many = written if name == "value" and isinstance(written, list) and written else [written]
        if name not in node:
            mistakes.append(Mistake(tree.file, *at, f"{key}.{name}", "this is missing"))
        elif not all(isinstance(one, Text) and one.strip() for one in many):
            mistakes.append(Mistake(tree.file, *node.keys_at[name], f"{key}.{name}", "a text is wanted here"))
    for name in [name for name in node if name not in FIELDS]:
        says = near(name, FIELDS, "a house rule has no such field")
        mistakes.append(Mistake(tree.file, *node.keys_at[name], f"{key}.{name}", says))
    if len(mistakes) > before:
        return None
    value = node["value"]
    texts = tuple(map(str, value)) if isinstance(value, list) else (str(value),)
    return RuleLine(texts, str(node["range"]), str(node["reason"]), str(node["source"]), f"{tree.file}:{at[0]}")
