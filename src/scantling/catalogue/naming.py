"""Rows that name rows of another kind: a word column called like a kind holds a slug of that kind."""

from collections.abc import Iterator, Mapping
from typing import Any

from scantling.catalogue import Article
from scantling.catalogue.shelf import near
from scantling.figures import Attribute
from scantling.figures.placed import Mistake, Node, Text
from scantling.figures.spelled import shown
from scantling.figures.units import WORD

Columns = Mapping[str, tuple[Attribute[Any], ...]]
Rows = Mapping[str, Mapping[str, Article]]


def lost_names(rows: Rows, columns: Columns) -> Iterator[tuple[Article, str, str]]:
    """Row, column and sentence of every name of a row that is not there."""
    naming = {kind: [c.name for c in many if c.unit is WORD and c.name in columns] for kind, many in columns.items()}
    said = ((row, name) for kind, found in rows.items() for row in found.values() for name in naming[kind])
    for row, name in said:
        known, word = rows.get(name, {}), row.values.get(name)
        if word is not None and word not in known:
            says = near(str(word), known, f"there is no {name.replace('_', ' ')} called {shown(str(word))}")
            yield row, name, says


def placed_mistakes(trees: Mapping[str, Node], rows: Rows, columns: Columns) -> Iterator[Mistake]:
    """The same with file, line and column, from the written files."""
    for row, name, says in lost_names(rows, columns):
        tree = trees[row.place.rpartition(":")[0]]
        cell = tree[row.kind][row.slug][name]
        assert isinstance(cell, Text)
        yield Mistake(tree.file, cell.line, cell.column, f"{row.kind}.{row.slug}.{name}", says)
