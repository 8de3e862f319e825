"""The workings as they are told: each figure by itself, the columns of one catalogue row together."""

from collections.abc import Sequence
from dataclasses import dataclass

from scantling.outputs.documents.volume import Working


@dataclass(frozen=True)
class Column:
    """One column of a row: the figure's id, the column's name, the value."""

    id: str
    name: str
    value: str


@dataclass(frozen=True)
class Row:
    """A row of the catalogue, where it stands, and those of its columns that the plan used."""

    id: str
    where: str
    columns: Sequence[Column]


def alone(entries: Sequence[Working]) -> list[Working]:
    """The entries with a working of their own."""
    return [entry for entry in entries if entry.label]


def rows(entries: Sequence[Working]) -> list[Row]:
    """The others, by row, in the order in which the rows first come."""
    found: dict[tuple[str, str], list[Column]] = {}
    for entry in entries:
        if not entry.label:
            id_, _, name = entry.id.rpartition(".")
            column = Column(entry.id, name.replace("_", " "), entry.value)
            found.setdefault((id_, entry.working), []).append(column)
    return [Row(id_, where, columns) for (id_, where), columns in found.items()]
