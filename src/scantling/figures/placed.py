"""A written file as mappings, lists and texts, every scalar a text that knows its line and column."""

from dataclasses import dataclass
from typing import Any

MOST_BYTES, MOST_LINES = 1_000_000, 5_000


@dataclass(frozen=True, order=True, slots=True)
class Mistake:
    """Something wrong in a written file: where, what was found, what would be accepted."""

    file: str
    line: int
    column: int
    path: str
    says: str

    def __str__(self) -> str:
        path = f"{self.path}: " if self.path else ""
        return f"{self.file}:{self.line}:{self.column}: {path}{self.says}"


class WrittenError(ValueError):
    """All mistakes of a file at once, in the order of their places."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        self.mistakes = tuple(sorted(set(mistakes)))
        super().__init__("\n".join(map(str, self.mistakes)))


class Text(str):
    """A scalar and its place."""

    __slots__ = ("column", "file", "line", "path")
    file: str
    line: int
    column: int
    path: str

    @property
    def place(self) -> str:
        """`brief.yaml:12`."""
        return f"{self.file}:{self.line}"


class Node(dict[str, Any]):
    """A mapping, the place of each key, its own place and path."""

    file: str
    path: str
    at: tuple[int, int]
    keys_at: dict[str, tuple[int, int]]
