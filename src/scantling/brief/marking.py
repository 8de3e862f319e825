"""Where every word and answer of a text begins and ends, read anew only in the piece that an edit touches."""

from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from io import StringIO
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.nodes import MappingNode

from scantling.figures.pieces import Piece, pieces


@dataclass(frozen=True, slots=True)
class At:
    """A place in a text, counted in letters."""

    index: int


def marked(body: str, word: str) -> MappingNode:
    """The body's own group with the marks where everything begins and ends.

    Below a word other than the one given, marks may be those within its own piece. The body must be readable.
    """
    parts = pieces(body)
    found = [_piece(part.text) for part in parts]
    whole = [(part, node) for part, node in zip(parts, found, strict=True) if node is not None]
    if not whole or len(whole) < len(parts):
        return _whole(body)
    root = copy(whole[0][1])
    root.start_mark = At(parts[0].start)
    root.value = [pair for part, node in whole for pair in _pairs(part, node, word)]
    return root


def _pairs(part: Piece, node: MappingNode, word: str) -> list[tuple[Any, Any]]:
    """The words of one piece and their answers, moved to where they stand."""
    return [
        (_moved(key, part.start), _moved(value, part.start) if key.value == word else value)
        for key, value in node.value
    ]


def _moved(node: Any, start: int) -> Any:
    """A copy of a node and all below it, so many letters further down."""
    made = copy(node)
    made.start_mark, made.end_mark = At(node.start_mark.index + start), At(node.end_mark.index + start)
    if isinstance(node, MappingNode):
        made.value = [(_moved(key, start), _moved(value, start)) for key, value in node.value]
    elif isinstance(node.value, list):
        made.value = [_moved(below, start) for below in node.value]
    return made


@lru_cache(256)  # an edit changes one piece; the others were read before
def _piece(text: str) -> MappingNode | None:
    """None where a piece can't be read alone."""
    try:
        return _whole(text)
    except YAMLError:
        return None


def _whole(body: str) -> MappingNode:
    root = YAML(typ="safe", pure=True).compose(StringIO(body))
    assert isinstance(root, MappingNode), "the editor has seen a mapping"
    return root
