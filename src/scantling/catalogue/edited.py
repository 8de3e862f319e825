"""Changes single values in a written file: every other character stays, comments too, and the result is read back."""

from collections.abc import Iterator, Mapping, Sequence
from io import StringIO
from json import dumps
from re import fullmatch
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.nodes import CollectionNode, MappingNode, Node

from scantling.figures.composing import placed
from scantling.figures.placed import Mistake, WrittenError

Wanted = Mapping[str, "str | Wanted | None"]
"""Values by key, deeper ones in their group; None takes a key away."""
Splice = tuple[int, int, str]
PLAIN = r"[A-Za-z0-9](?:[A-Za-z0-9 ._/%-]*[A-Za-z0-9%])?"
DEEPER = "  "


def with_values(text: str, file: str, wanted: Wanted) -> str:
    """The same text with these values changed, added or taken away, and nothing else touched.

    Raises WrittenError for a text that can't be read, or can't be changed without touching more.
    """
    if not text.strip() or all(line.lstrip().startswith("#") or not line.strip() for line in text.splitlines()):
        return _ended(text) + _block(wanted, "", "\n")
    before = placed(text, file)
    node = YAML(pure=True).compose(StringIO(text, newline=""))
    assert isinstance(node, MappingNode)
    changed = text
    for start, end, new in sorted(_splices(node, wanted, text), reverse=True):
        changed = changed[:start] + new + changed[end:]
    if _read_back(changed, file) != _laid(_plain(before), wanted):
        says = "this file is written in a way that can't be changed line by line; put each row on a line of its own"
        raise WrittenError([Mistake(file, 1, 1, "", says)])
    return changed


def _read_back(changed: str, file: str) -> Any:
    try:
        return _plain(placed(changed, file))
    except WrittenError:  # what came out is no such file any more: the caller tells what to do
        return None


def _splices(node: MappingNode, wanted: Wanted, text: str) -> Iterator[Splice]:
    """What to put in the place of what, for one mapping and all below it."""
    pairs = {key.value: (key, value) for key, value in node.value}
    gone = [key for key, value in wanted.items() if value is None and key in pairs]
    yield from _without(node, gone, text)
    added = {}
    for key, value in wanted.items():
        if value is None:
            continue
        if key not in pairs:
            added[key] = value
        elif isinstance(value, Mapping) and isinstance(pairs[key][1], MappingNode):
            yield from _splices(pairs[key][1], value, text)
        elif isinstance(value, Mapping):
            yield _group(*pairs[key], value, text)
        elif (there := pairs[key][1]).value != value:
            yield there.start_mark.index, there.end_mark.index, spelled(value)
    if added:
        yield _addition(node, added, text, emptied=len(gone) == len(pairs))


def _group(key: Node, value: Node, wanted: Wanted, text: str) -> Splice:
    """A key with nothing under it gets its group."""
    newline, end = _newline(text), value.end_mark.index
    line_end = _line_end(text, key.end_mark.index)
    inner = _block(wanted, " " * (key.start_mark.column + len(DEEPER)), newline)
    return (line_end, line_end, newline + inner.removesuffix(newline)) if end <= line_end else (end, end, inner)


def _without(node: MappingNode, gone: Sequence[str], text: str) -> Iterator[Splice]:
    """Keys taken away: in braces with their commas, elsewhere with their lines."""
    if not gone:
        return
    if not node.flow_style:
        for key, value in node.value:
            if key.value in gone:
                yield text.rfind("\n", 0, key.start_mark.index) + 1, _line_end(text, _deep_end(key, value)) + 1, ""
        return
    start = kept_end = None
    for key, value in node.value:
        if key.value in gone:
            start = key.start_mark.index if start is None else start
            last = value.end_mark.index
        else:
            if start is not None:
                yield start, key.start_mark.index, ""
            start, kept_end = None, value.end_mark.index
    if start is not None:
        yield (start if kept_end is None else kept_end), last, ""


def _addition(node: MappingNode, added: Wanted, text: str, *, emptied: bool) -> Splice:
    """New keys after the last that stands."""
    if node.flow_style:
        body = _flow(added)[1:-1]
        end = node.value[-1][1].end_mark.index if node.value else node.start_mark.index + 1
        return end, end, body if emptied else f", {body}"
    newline = _newline(text)
    last = _line_end(text, max(_deep_end(key, value) for key, value in node.value))
    block = _block(added, " " * node.value[0][0].start_mark.column, newline)
    return (len(text), len(text), newline + block) if last == len(text) else (last + 1, last + 1, block)


def _deep_end(key: Node, value: Node) -> int:
    """Where a pair's last character stands: comments and empty lines after it are not its own."""
    if isinstance(value, CollectionNode) and not value.flow_style:
        parts = value.value if isinstance(value, MappingNode) else [(item, item) for item in value.value]
        return max((_deep_end(inner, part) for inner, part in parts), default=int(key.end_mark.index))
    return int(value.end_mark.index if value.value else key.end_mark.index)


def _block(wanted: Wanted, indent: str, newline: str) -> str:
    """Lines of new keys; a group of plain values stands in braces on one line below the first level."""
    lines = []
    for key, value in wanted.items():
        if isinstance(value, Mapping) and (not indent or any(isinstance(v, Mapping) for v in value.values())):
            lines += [f"{indent}{spelled(key)}:{newline}", _block(value, indent + DEEPER, newline)]
        elif value is not None:
            lines.append(
                f"{indent}{spelled(key)}: {_flow(value) if isinstance(value, Mapping) else spelled(value)}{newline}"
            )
    return "".join(lines)


def _flow(wanted: Wanted) -> str:
    pairs = [
        f"{spelled(key)}: {_flow(value) if isinstance(value, Mapping) else spelled(value)}"
        for key, value in wanted.items() if value is not None
    ]  # fmt: skip
    return "{" + ", ".join(pairs) + "}"


def spelled(value: str) -> str:
    """A text as the file holds it: plain where nothing can be mistaken, else in double quotes."""
    return value if fullmatch(PLAIN, value) else dumps(value, ensure_ascii=False)


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _line_end(text: str, index: int) -> int:
    """Where the line break of that line stands, the text's end where there is none."""
    found = text.find("\n", index)
    return len(text) if found < 0 else found


def _ended(text: str) -> str:
    return text if not text or text.endswith("\n") else text + "\n"


def _plain(node: Any) -> Any:
    """A written tree without its places."""
    if isinstance(node, Mapping):
        return {str(key): _plain(value) for key, value in node.items()}
    return [_plain(item) for item in node] if isinstance(node, list) else str(node)


def _laid(tree: Any, wanted: Wanted) -> Any:
    """What the tree should be afterwards."""
    made = dict(tree) if isinstance(tree, Mapping) else {}
    for key, value in wanted.items():
        if value is None:
            made.pop(key, None)
        else:
            made[key] = _laid(made.get(key), value) if isinstance(value, Mapping) else value
    return made
