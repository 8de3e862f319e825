"""Reads the rows of one kind from one file: cells by their columns, marks, and every mistake at its place."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from scantling.catalogue import Article
from scantling.catalogue.columns import HEAD, HEAD_MARKS, MARKS
from scantling.catalogue.sense import nonsense, out_of_date_order
from scantling.figures import Attribute
from scantling.figures.placed import Mistake, Node, Text
from scantling.figures.quantities import parse
from scantling.figures.units import convert

CURRENCY = "EUR"


def near(word: str, known: Iterable[str], says: str) -> str:
    """What is wrong with a word, and the nearest that would be taken."""
    many = list(known)
    if found := get_close_matches(word, many, 1, 0.5):
        return f"{says}; did you mean {found[0]}?"
    return f"{says}; known here: {', '.join(many)}" if many else says


@dataclass
class Shelf:
    """Rows of one kind in one file, while they are read."""

    kind: str
    table: Node
    columns: Mapping[str, Attribute[Any]]
    zones: frozenset[str]
    mistakes: list[Mistake]
    names: dict[str, str] = field(default_factory=dict)
    head: Mapping[str, Any] = field(default_factory=dict)

    def note(self, at: tuple[int, int], path: str, says: str) -> None:
        """A mistake in this file."""
        self.mistakes.append(Mistake(self.table.file, *at, f"{self.kind}.{path}".lstrip("."), says))

    def marks(self, slug: str, row: Node, known: Iterable[Attribute[Any]] = MARKS) -> dict[str, Any]:
        """What the row says beside its columns, and what the head of its file says for all."""
        read = {mark.name: self.value(slug, row, mark) for mark in known if mark.name in row}
        own = {name: value for name, value in read.items() if value is not None}
        found = {**self.head, **own}
        dates = [mark.name for mark in HEAD_MARKS if mark.name in own]
        if dates and (says := out_of_date_order(found)):
            blamed = row[dates[-1]]
            self.note((blamed.line, blamed.column), f"{slug}.{dates[-1]}", says)
        return found

    def article(self, slug: str) -> Article | None:
        """The row, None where it can't be read."""
        row, at = self.table[slug], self.table.keys_at[slug]
        if not isinstance(row, Node):
            self.note(at, slug, "a row is a mapping of columns to values")
            return None
        known = (*self.columns, *(mark.name for mark in MARKS))
        for name in [name for name in row if name not in known]:
            self.note(row.keys_at[name], f"{slug}.{name}", near(name, known, "no such column"))
        before = len(self.mistakes)
        values = {name: self.value(slug, row, column) for name, column in self.columns.items()}
        if len(self.mistakes) == before:
            self.judged(slug, row, values)
        return Article(self.kind, slug, values, f"{self.table.file}:{at[0]}", self.marks(slug, row))

    def value(self, slug: str, row: Node, column: Attribute[Any]) -> Any:
        """One cell in its column's unit."""
        written, path = row.get(column.name), f"{slug}.{column.name}"
        if written is None:
            self.note(self.table.keys_at[slug], path, "this column is missing")
        elif not isinstance(written, Text):
            self.note(row.keys_at[column.name], path, "one value is wanted here")
        else:
            try:
                value, unit = parse(str(written), column.unit, CURRENCY)
                return convert(value, unit, column.unit)
            except (ValueError, TypeError) as wrong:
                self.note((written.line, written.column), path, str(wrong))
        return None

    def judged(self, slug: str, row: Node, values: Mapping[str, Any]) -> None:
        """Whether a whole row makes sense, beside the others of its kind."""
        for column, says in nonsense(self.kind, values):
            self.note((row[column].line, row[column].column), f"{slug}.{column}", says)
        if (name := values.get("name")) is not None:
            if name in self.names:
                at = (row["name"].line, row["name"].column)
                self.note(at, f"{slug}.name", f"{self.names[name]} has this name too")
            self.names.setdefault(name, slug)
        if self.kind == "profile" and self.zones and values["zone"] not in self.zones:
            at = (row["zone"].line, row["zone"].column)
            self.note(at, f"{slug}.zone", near(values["zone"], sorted(self.zones), "no such zone"))


def head_marks(tree: Node, mistakes: list[Mistake]) -> dict[str, Any]:
    """The marks that a file gives to all its rows."""
    if HEAD not in tree:
        return {}
    written, known = tree[HEAD], [mark.name for mark in HEAD_MARKS]
    if not isinstance(written, Node):
        says = f"the head of a file is a mapping: {', '.join(known)}"
        mistakes.append(Mistake(tree.file, *tree.keys_at[HEAD], HEAD, says))
        return {}
    for name in [name for name in written if name not in known]:
        says = near(name, known, "the head of a file has no such mark")
        mistakes.append(Mistake(tree.file, *written.keys_at[name], f"{HEAD}.{name}", says))
    return Shelf("", tree, {}, frozenset(), mistakes).marks(HEAD, written, HEAD_MARKS)


def put(shelf: Shelf, rows: dict[str, Article]) -> None:
    """Every row of a shelf beside those that stand already."""
    for slug in shelf.table:
        if slug in rows:
            shelf.note(shelf.table.keys_at[slug], slug, f"this row stands in {rows[slug].place} too")
        elif (article := shelf.article(slug)) is not None:
            rows[slug] = article
