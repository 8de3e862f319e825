"""A written text cut at its words in the first column, each with what belongs to it, so that an edit reads one piece anew."""

import re
from dataclasses import dataclass
from typing import Any

from scantling.figures.placed import Node, Text

HEAD = re.compile(r"^[A-Za-z][A-Za-z0-9_-]*:(?=[ \n]|\Z)", re.MULTILINE)
"""A plain word in the first column with its colon: where a group of the file's own mapping begins."""
ODD = re.compile("[\r\x85\u2028\u2029]|^(?:---|\\.\\.\\.|%)", re.MULTILINE)
"""Other ends of lines than the usual one, and marks between documents: such a text is read as a whole."""
QUIET = re.compile(r"(?:[ ]*(?:#[^\n]*)?\n)*")
"""Blank lines and remarks."""


LONGEST, MOST_PIECES = 64_000, 200
"""Of a longer text nothing is kept: no brief comes near it, and one that is odd would be read twice."""


@dataclass(frozen=True, slots=True)
class Piece:
    """From one word in the first column up to the next: its text, where that begins, and how many lines are before it."""

    text: str
    start: int
    lines: int


def pieces(text: str) -> tuple[Piece, ...]:
    """The pieces of a text; none where it can't be cut so for certain.

    A piece that can be read to its end alone says the same within the whole: brackets and quotation marks that it opens are
    closed in it, and what follows begins in the first column with a word of its own. One that can't be is for the reader of
    the whole.
    """
    starts = [] if len(text) > LONGEST else [found.start() for found in HEAD.finditer(text)]
    if not 0 < len(starts) <= MOST_PIECES or ODD.search(text) or not QUIET.fullmatch(text, 0, starts[0]):
        return ()
    cut, lines = [], text.count("\n", 0, starts[0])
    for start, end in zip(starts, [*starts[1:], len(text)], strict=True):
        cut.append(Piece(text[start:end], start, lines))
        lines += text.count("\n", start, end)
    return tuple(cut)


def moved(found: Any, lines: int) -> Any:
    """A copy of a tree, so many lines further down."""
    if isinstance(found, Node):
        node = Node({key: moved(below, lines) for key, below in found.items()})
        node.file, node.path, node.at = found.file, found.path, (found.at[0] + lines, found.at[1])
        node.keys_at = {key: (line + lines, column) for key, (line, column) in found.keys_at.items()}
        return node
    if isinstance(found, list):
        return [moved(below, lines) for below in found]
    text = Text(found)
    text.file, text.path, text.line, text.column = found.file, found.path, found.line + lines, found.column
    return text
