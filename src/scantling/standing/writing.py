"""Adds entries to the text of a standing file: one line each, every remark and every hand-written part left as it is."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import groupby
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, ScalarNode

from scantling.brief import splicing
from scantling.brief.ids import EditError
from scantling.brief.splicing import Entry, entries, written
from scantling.figures.composing import composed
from scantling.figures.placed import Node, WrittenError

INDENT = "  "
BREAK = re.compile(r"\r\n|\n|\r")
OPENING = "# What stands here: found by a survey, bought, issued. Written and read by hand and by `scantling keep`.\n"
Answers = str | Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Line:
    """One entry to write: its path, and its answer or its group of answers."""

    path: tuple[str, ...]
    answers: Answers


def with_lines(text: str, lines: Sequence[Line], file: str) -> str:
    """The text with all entries added. Raises EditError when it is written in a way that can't be added to."""
    new = text if text.strip() else OPENING
    for parent, many in groupby(lines, key=lambda line: line.path[:-1]):
        new = _added(new, parent, list(many))
    _must_read(new, _merged(_plain_tree(text, file), lines), file)
    return new


def with_answers(text: str, answers: Mapping[tuple[str, ...], str], file: str) -> str:
    """The text with answers that stand there written anew. Raises EditError."""
    new, wanted = text, _plain_tree(text, file)
    for path, value in answers.items():
        root = _root(new)
        assert root is not None, "an answer that stands there has a group around it"
        new = splicing.put(new, root, path, value, lambda _: ())
        below = wanted
        for step in path[:-1]:
            below = below[step]
        below[path[-1]] = value
    _must_read(new, wanted, file)
    return new


def _root(text: str) -> MappingNode | None:
    """The group that a text is, None where nothing is written. Raises EditError for a text that is none."""
    root = YAML(typ="safe", pure=True).compose(StringIO(text))
    if root is not None and not isinstance(root, MappingNode) and root.value:
        raise EditError("a standing file holds words, each followed by a colon and what belongs to it")
    return root if isinstance(root, MappingNode) else None


def _added(text: str, parent: tuple[str, ...], lines: Sequence[Line]) -> str:
    """The text with entries of one parent: below it where it stands, else with it."""
    group = _root(text)
    if group is None:
        return _ended(text) + _block(parent, lines, "", _newline(text)) + _newline(text)
    for depth, step in enumerate(parent):
        entry = entries(group).get(step)
        if entry is None:
            return _inserted(text, group, parent[depth:], lines)
        if not isinstance(entry.value, MappingNode) or (not entry.value.value and not group.flow_style):
            return _opened(text, group, entry, (parent[depth + 1 :], lines))
        group = entry.value
    return _inserted(text, group, (), lines)


def _inserted(text: str, group: MappingNode, rest: Sequence[str], lines: Sequence[Line]) -> str:
    """The text with new words at the end of a group."""
    there = list(entries(group).values())
    if group.flow_style:
        at = _end(text, there[-1]) if there else group.start_mark.index + 1
        return text[:at] + (", " if there else "") + _flow(rest, lines) + text[at:]
    lead = " " * (there[0].start - _line_start(text, there[0].start))
    at, newline = _line_end(text, _end(text, there[-1]))
    blank = newline if not lead else ""
    return text[:at] + newline + blank + _block(rest, lines, lead, newline) + text[at:]


def _opened(text: str, group: MappingNode, entry: Entry, rest: tuple[Sequence[str], Sequence[Line]]) -> str:
    """The text with the first entries below a word that stands alone, or before empty brackets."""
    value = entry.value
    if not (isinstance(value, MappingNode) or (isinstance(value, ScalarNode) and not value.value)):
        raise EditError(f"{entry.key.value} is an answer itself; nothing can stand below it")
    if group.flow_style:
        end = _end(text, entry)
        return text[:end] + " {" + _flow(*rest) + "}" + text[end:]
    if isinstance(value, MappingNode):
        text = text[: value.start_mark.index].rstrip(" ") + text[value.end_mark.index :]
    at, newline = _line_end(text, entry.start)
    lead = " " * (entry.start - _line_start(text, entry.start)) + INDENT
    return text[:at] + newline + _block(*rest, lead, newline) + text[at:]


def _flow(rest: Sequence[str], lines: Sequence[Line]) -> str:
    words = ", ".join(f"{line.path[-1]}: {_answered(line.answers)}" for line in lines)
    for step in reversed(rest):
        words = f"{step}: {{{words}}}"
    return words


def _block(rest: Sequence[str], lines: Sequence[Line], lead: str, newline: str) -> str:
    """The words above, one a line, and one line for every entry."""
    heads = [f"{lead}{INDENT * depth}{step}:" for depth, step in enumerate(rest)]
    inner = lead + INDENT * len(rest)
    return newline.join([*heads, *(f"{inner}{line.path[-1]}: {_answered(line.answers)}" for line in lines)])


def _answered(answers: Answers) -> str:
    if isinstance(answers, str):
        return written(answers, None)
    return "{" + ", ".join(f"{word}: {written(answer, None)}" for word, answer in answers.items()) + "}"


def _end(text: str, entry: Entry) -> int:
    """Where the last letter of an entry ends; remarks after it are not part of it."""
    node: Any = entry.value
    if isinstance(node, ScalarNode) and node.start_mark.index == node.end_mark.index:
        return text.index(":", entry.key.end_mark.index) + 1
    if isinstance(node, ScalarNode):
        return int(node.start_mark.index) + len(text[node.start_mark.index : node.end_mark.index].rstrip())
    if node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(text, Entry(*last) if isinstance(node, MappingNode) else Entry(node, last))


def _line_start(text: str, at: int) -> int:
    return max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1


def _line_end(text: str, at: int) -> tuple[int, str]:
    """Where the line of a place ends, and how lines end there."""
    found = BREAK.search(text, at)
    return (found.start(), found[0]) if found else (len(text), _newline(text))


def _newline(text: str) -> str:
    usual = BREAK.search(text)
    return usual[0] if usual else "\n"


def _ended(text: str) -> str:
    return text if not text or text[-1] in "\r\n" else text + _newline(text)


def tree_of(text: str, file: str) -> Node | None:
    """The words and answers of a standing file's text, None where it holds none. Raises WrittenError."""
    return composed(text, file)[0] if _root(text) is not None else None


def _plain_tree(text: str, file: str) -> dict[str, Any]:
    tree = tree_of(text, file)
    return plain_answers(tree) if tree is not None else {}


def plain_answers(node: Node) -> dict[str, Any]:
    """A file's words and answers as plain texts, without their places."""
    return {word: plain_answers(below) if isinstance(below, Node) else _plain(below) for word, below in node.items()}


def _plain(below: Any) -> Any:
    return (
        [plain_answers(one) if isinstance(one, Node) else _plain(one) for one in below]
        if isinstance(below, list)
        else str(below)
    )


def _merged(tree: dict[str, Any], lines: Iterable[Line]) -> dict[str, Any]:
    for line in lines:
        below = tree
        for step in line.path[:-1]:
            below[step] = below.get(step) or {}
            below = below[step]
        below[line.path[-1]] = line.answers if isinstance(line.answers, str) else dict(line.answers)
    return tree


def _must_read(text: str, wanted: dict[str, Any], file: str) -> None:
    """The new text must read as what was asked for, and nothing else may have moved. Raises EditError."""
    try:
        tree, mistakes = composed(text, file)
    except WrittenError as wrong:
        tree, mistakes = Node(), list(wrong.mistakes)
    if mistakes or plain_answers(tree) != wanted:
        first = f": {mistakes[0].says}" if mistakes else ""
        raise EditError(
            f"{file} is written in a way that can't be added to{first}; write its groups one below the other"
        )
