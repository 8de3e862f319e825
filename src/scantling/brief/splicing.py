"""Where in a text an answer stands, and how it is cut out, put in or written anew; the rest of the text stays."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from ruamel.yaml.nodes import MappingNode, Node, ScalarNode

from scantling.brief.ids import EditError
from scantling.figures.composing import MARK, NAKED
from scantling.figures.spelled import unfit

Order = Callable[[Sequence[str]], Sequence[str]]
INDENT = "  "
PLAIN = re.compile(r"[^\W_](?:[^:#,{}\[\]\"\\\t]*[^\s:#,{}\[\]\"\\])?")
"""What needs no quotation marks anywhere: begins with a letter or digit, holds nothing that could end it."""
HEADER = re.compile(r"[|>][-+0-9]*([ \t]+#[^\r\n]*)?")
COMMA = re.compile(r"[ \t]*,[ \t]*")
ONE_BREAK = r"(?:\r\n|\n|\r(?!\n))"
BREAK = re.compile(ONE_BREAK)
BLANK_AT_END = re.compile(rf"(^|{ONE_BREAK})(?:[ \t]*{ONE_BREAK})+\Z")


@dataclass(frozen=True, slots=True)
class Entry:
    """One word of a group and its answer, as nodes with their marks."""

    key: Node
    value: Node

    @property
    def start(self) -> int:
        """Where the word begins."""
        return int(self.key.start_mark.index)


def entries(group: MappingNode) -> dict[str, Entry]:
    """A group's words in the order they stand."""
    return {str(key.value): Entry(key, value) for key, value in group.value}


def written(value: str, style: str | None) -> str:
    """A value as a scalar on one line that reads back exactly, in the style given where that can be."""
    escaped = any(map(_hidden, value))
    if style == "'" and not escaped:
        return "'" + value.replace("'", "''") + "'"
    if style != '"' and not escaped and PLAIN.fullmatch(value):
        return value
    return '"' + "".join(map(_escape, value)) + '"'


def _hidden(letter: str) -> bool:
    """Whether a letter must be written by its number."""
    odd_space = letter != " " and unicodedata.category(letter) in ("Zs", "Zl", "Zp")
    return bool(unfit(letter)) or bool(NAKED.match(letter)) or letter == MARK or odd_space


def _escape(letter: str) -> str:
    if letter in '"\\':
        return f"\\{letter}"
    if not _hidden(letter):
        return letter
    number = ord(letter)
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"  # noqa: PLR2004


def put(text: str, root: MappingNode, steps: Sequence[str], value: str, order: Order) -> str:
    """The text with the answer written: anew where it stands, else added to its group. Raises EditError."""
    group = root
    for depth, step in enumerate(steps):
        entry = entries(group).get(step)
        if entry is None:
            return _added(text, group, steps[depth:], value, order(steps[:depth]) if depth else None)
        if depth == len(steps) - 1:
            return _rewritten(text, entry, value)
        if not isinstance(entry.value, MappingNode):
            return _opened(text, group, entry, (steps[depth + 1 :], value))
        group = entry.value
    raise EditError("an id has at least one word")


def _rewritten(text: str, entry: Entry, value: str) -> str:
    node = entry.value
    assert isinstance(node, ScalarNode), "groups are refused before"
    start, end = node.start_mark.index, node.end_mark.index
    if start == end:
        return _answered(text, entry, written(value, None))
    if node.style in ("|", ">"):
        end = start + len(text[start:end].rstrip())
        header = HEADER.match(text, start)
        remark = header[1] or "" if header else ""
        return text[:start] + written(value, None) + remark + text[end:]
    return text[:start] + written(value, node.style) + text[end:]


def _answered(text: str, entry: Entry, words: str) -> str:
    """The text with words after a word that has no answer yet."""
    colon = re.compile(r"[ \t]*:").match(text, entry.key.end_mark.index)
    at = colon.end() if colon else entry.key.end_mark.index
    rest = text[at:].lstrip(" ") if COMMA.match(text, at) else text[at:]
    return text[:at] + (" " if colon else ": ") + words + rest


def _opened(text: str, group: MappingNode, entry: Entry, rest: tuple[Sequence[str], str]) -> str:
    """The text with the first answer below a word that stands there alone."""
    steps, value = rest
    if group.flow_style:
        return _answered(text, entry, "{" + _flow(steps, value) + "}")
    line_end, newline = _line_end(text, _end(text, entry))
    lead = " " * _column(text, entry.start) + INDENT
    return text[:line_end] + newline + _block(steps, value, lead, newline) + text[line_end:]


def _added(text: str, group: MappingNode, rest: Sequence[str], value: str, order: Sequence[str] | None) -> str:
    """The text with a new word in a group: after those declared before it, else at the end."""
    there = entries(group)
    if group.flow_style:
        return _added_flow(text, group, _flow(rest, value), _before(there, rest[0], order or ()))
    if order is None:
        return _appended(text, group, rest, value)
    first = next(iter(there.values()))
    lead = " " * _column(text, first.start)
    line_end, newline = _line_end(text, _end(text, _before(there, rest[0], order) or first))
    return text[:line_end] + newline + _block(rest, value, lead, newline) + text[line_end:]


def _appended(text: str, root: MappingNode, rest: Sequence[str], value: str) -> str:
    """The text with a new section at its end, a blank line before it; a last line without an end stays so."""
    lead = " " * _column(text, next(iter(entries(root).values())).start)
    _, newline = _line_end(text, 0)
    block = _block(rest, value, lead, newline)
    if not BREAK.search(text[-1:]):
        return text + newline * 2 + block
    blank = "" if BLANK_AT_END.search(text) else newline
    return text + blank + block + newline


def _added_flow(text: str, group: MappingNode, words: str, before: Entry | None) -> str:
    if before is None:
        at = group.start_mark.index + 1
        return text[:at] + words + text[at:]
    at = _end(text, before)
    return text[:at] + ", " + words + text[at:]


def _before(there: dict[str, Entry], word: str, order: Sequence[str]) -> Entry | None:
    """The entry that a new word goes after; None in an empty group."""
    place = order.index(word) if word in order else len(order)
    earlier = [entry for known, entry in there.items() if known in order and order.index(known) < place]
    late = earlier if word in order and earlier else list(there.values())
    return max(late, key=lambda entry: entry.start, default=None)


def _flow(steps: Sequence[str], value: str) -> str:
    """`a: {b: 1}`."""
    words = f"{steps[-1]}: {written(value, None)}"
    for step in reversed(steps[:-1]):
        words = f"{step}: {{{words}}}"
    return words


def _block(steps: Sequence[str], value: str, lead: str, newline: str) -> str:
    """New words, one a line; the last group stands in brackets on one line, unless it is a section of its own."""
    own_line = len(steps) - 1 if len(steps) < 3 and not lead else max(len(steps) - 2, 0)  # noqa: PLR2004
    heads = [f"{lead}{INDENT * depth}{step}:" for depth, step in enumerate(steps[:own_line])]
    return newline.join([*heads, f"{lead}{INDENT * own_line}{_flow(steps[own_line:], value)}"])


def _end(text: str, entry: Entry) -> int:
    """Where the last letter of an entry ends; remarks after it are not part of it."""
    node: Any = entry.value
    if isinstance(node, ScalarNode) and node.start_mark.index == node.end_mark.index:
        colon = re.compile(r"[ \t]*:").match(text, entry.key.end_mark.index)
        return colon.end() if colon else int(entry.key.end_mark.index)
    if isinstance(node, ScalarNode) and node.style in ("|", ">"):
        return int(node.start_mark.index) + len(text[node.start_mark.index : node.end_mark.index].rstrip())
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        return _end(text, Entry(*node.value[-1]))
    if node.value and not isinstance(node, ScalarNode) and not node.flow_style:
        return _end(text, Entry(node, node.value[-1]))
    return int(node.end_mark.index)


def _column(text: str, at: int) -> int:
    return at - _line_start(text, at)


def _line_start(text: str, at: int) -> int:
    return max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1


def _line_end(text: str, at: int) -> tuple[int, str]:
    """Where the line of a place ends, and how lines end there."""
    found = BREAK.search(text, at)
    if found:
        return found.start(), found[0]
    usual = BREAK.search(text)
    return len(text), usual[0] if usual else "\n"


def cut(text: str, root: MappingNode, steps: Sequence[str]) -> str:
    """The text without an answer or a group; a group that loses its last answer goes whole. Raises EditError."""
    trail: list[MappingNode] = [root]
    for step in steps[:-1]:
        below = entries(trail[-1])[step].value
        assert isinstance(below, MappingNode), "the way was walked before"
        trail.append(below)
    depth = len(steps) - 1
    while depth and len(trail[depth].value) == 1:
        depth -= 1
    group, entry = trail[depth], entries(trail[depth])[steps[depth]]
    if len(group.value) == 1:
        raise EditError(f"{steps[0]} is all that stands there; a file needs at least one word")
    return _cut_flow(text, group, entry) if group.flow_style else _cut_lines(text, entry)


def _cut_lines(text: str, entry: Entry) -> str:
    start = _line_start(text, entry.start)
    line_end, newline = _line_end(text, _end(text, entry))
    if line_end < len(text):
        return _without_gap(text[:start], text[line_end + len(newline) :])
    last = BREAK.search(
        text[max(start - 2, 0) : start]
    )  # the file's last line has no end: the one before loses its own
    return text[: start - len(last[0])] if last else text[:start]


def _without_gap(before: str, after: str) -> str:
    """What is left; a blank line that only led to the end of the file goes too."""
    if after:
        return before + after
    return BLANK_AT_END.sub(r"\1", before)


def _cut_flow(text: str, group: MappingNode, entry: Entry) -> str:
    start, end = entry.start, _end(text, entry)
    there = list(entries(group).values())
    place = next(i for i, one in enumerate(there) if one.start == start)
    if (comma := COMMA.match(text, end)) is not None and place < len(there) - 1:
        return _tidied(text, start, comma.end())
    before = _end(text, there[place - 1])
    if COMMA.fullmatch(text, before, start):
        return text[:before] + text[end:]
    return _tidied(text, start, comma.end() if comma else end)


def _tidied(text: str, start: int, end: int) -> str:
    """The text without a piece, and without its line where nothing else stood there."""
    line, (line_end, newline) = _line_start(text, start), _line_end(text, end)
    if not text[line:start].strip() and not text[end:line_end].strip() and line_end < len(text):
        return text[:line] + text[line_end + len(newline) :]
    return text[:start] + text[end:]
