"""A written file as mappings, lists and texts, every scalar a text that knows its line and column."""

from dataclasses import dataclass
from io import StringIO
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode
from ruamel.yaml.tokens import AliasToken, AnchorToken, DirectiveToken, DocumentStartToken, TagToken

MOST_BYTES, MOST_LINES, MOST_DEPTH, LONGEST = 1_000_000, 5_000, 40, 2_000


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


def placed(text: str, file: str) -> Node:
    """The file's mapping, every scalar a Text. Raises WrittenError for anything that is not plain data."""
    _check_size(text, file)
    try:
        _refuse_tricks(text, file)
        node = YAML(pure=True).compose(StringIO(text))
    except WrittenError:
        raise
    except MarkedYAMLError as wrong:
        raise WrittenError([_syntax(wrong, file)]) from None
    except (YAMLError, ValueError, RecursionError) as wrong:
        says = (
            "nested too deeply"
            if isinstance(wrong, RecursionError)
            else f"can't be read: {str(wrong).splitlines()[0]}"
        )
        raise WrittenError([Mistake(file, 1, 1, "", says)]) from None
    if not isinstance(node, MappingNode):
        says = (
            "the file is empty"
            if node is None
            else "write a mapping here: words followed by a colon and their answers"
        )
        raise WrittenError([Mistake(file, 1, 1, "", says)])
    mistakes: list[Mistake] = []
    made: Node = _place(node, file, "", mistakes)
    if mistakes:
        raise WrittenError(mistakes)
    return made


def _check_size(text: str, file: str) -> None:
    if len(text) > MOST_BYTES:
        raise WrittenError([Mistake(file, 1, 1, "", f"the file is too large: at most {MOST_BYTES:,} bytes")])
    if text.count("\n") > MOST_LINES:
        raise WrittenError([Mistake(file, MOST_LINES, 1, "", f"the file is too long: at most {MOST_LINES:,} lines")])
    depth = deepest = 0
    for line, written in enumerate(text.split("\n"), 1):
        for column, letter in enumerate(written, 1):
            depth += (letter in "[{") - (letter in "]}")
            deepest = max(deepest, depth)
            if deepest > MOST_DEPTH:
                raise WrittenError([Mistake(file, line, column, "", "nested too deeply: too many opening brackets")])
            if (ord(letter) < 32 and letter not in "\t\r") or ord(letter) == 127:  # noqa: PLR2004 - control characters
                says = f"a control character (number {ord(letter)}) stands here; remove it"
                raise WrittenError([Mistake(file, line, column, "", says)])


def _refuse_tricks(text: str, file: str) -> None:
    """Anchors, aliases, tags, directives and second documents have no place in plain data."""
    tricks = {AnchorToken: "anchors (&) are not taken here", AliasToken: "aliases (*) are not taken here; quote the text if it is one",
              TagToken: "tags (!) are not taken here; quote the text if it is one",
              DirectiveToken: "directives (%) are not taken here"}  # fmt: skip
    mistakes, starts = [], 0
    for token in YAML(pure=True).scan(StringIO(text)):
        at = token.start_mark
        starts += isinstance(token, DocumentStartToken)
        says = tricks.get(type(token)) or ("one document a file" if starts > 1 else None)
        if says:
            mistakes.append(Mistake(file, at.line + 1, at.column + 1, "", says))
    if mistakes:
        raise WrittenError(mistakes)


def _syntax(wrong: MarkedYAMLError, file: str) -> Mistake:
    mark = wrong.problem_mark or wrong.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    says = f"can't be read: {wrong.problem or wrong.context}"
    if wrong.context and wrong.context_mark is not None and wrong.context_mark.line + 1 != line:
        says += f" ({wrong.context} that began at line {wrong.context_mark.line + 1})"
    return Mistake(file, line, column, "", says)


def _place(node: Any, file: str, path: str, mistakes: list[Mistake]) -> Any:
    mark = node.start_mark
    if isinstance(node, ScalarNode):
        return _text(str(node.value), file, (mark.line + 1, mark.column + 1), path, mistakes)
    if isinstance(node, SequenceNode):
        return [_place(item, file, f"{path}.{place}", mistakes) for place, item in enumerate(node.value, 1)]
    made = Node()
    made.file, made.path, made.at, made.keys_at = file, path, (mark.line + 1, mark.column + 1), {}
    for key, value in node.value:
        at = (key.start_mark.line + 1, key.start_mark.column + 1)
        if not isinstance(key, ScalarNode):
            mistakes.append(Mistake(file, *at, path, "a plain word is wanted before the colon"))
        elif key.value in made:
            first = made.keys_at[key.value][0]
            mistakes.append(
                Mistake(file, *at, f"{path}.{key.value}".lstrip("."), f"stands here twice; first at line {first}")
            )
        else:
            made.keys_at[key.value] = at
            made[key.value] = _place(value, file, f"{path}.{key.value}".lstrip("."), mistakes)
    return made


def _text(value: str, file: str, at: tuple[int, int], path: str, mistakes: list[Mistake]) -> Text:
    if len(value) > LONGEST:
        mistakes.append(Mistake(file, *at, path, f"too long: at most {LONGEST:,} characters"))
    text = Text(value)
    text.file, (text.line, text.column), text.path = file, at, path
    return text
