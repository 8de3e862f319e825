"""A written file as mappings, lists and texts: nothing guessed, every scalar with its place, oddities refused.

Built from the parser's events in one pass, without recursion, so that depth cannot exhaust anything.
"""

import re
from dataclasses import dataclass
from functools import lru_cache
from io import StringIO
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    CollectionEndEvent,
    CollectionStartEvent,
    DocumentStartEvent,
    Event,
    MappingStartEvent,
    NodeEvent,
    ScalarEvent,
)  # fmt: skip

from scantling.figures.pieces import moved, pieces
from scantling.figures.placed import MOST_BYTES, MOST_LINES, Mistake, Node, Text, WrittenError
from scantling.figures.spelled import shown, unfit

MOST_DEPTH, LONGEST_TEXT, LONGEST_KEY = 40, 2_000, 100
GROUP = 3  # digits between commas that part thousands
MARK = "\ufeff"
NAKED = re.compile("[^\t\n\r -~\u00a0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What YAML itself may not hold unescaped (YAML 1.2.2, 5.1), and the next-line character, which editors hide."""
PLAIN_WORDS: tuple[tuple[str, str], ...] = (
    ("mapping values are not allowed", "a colon stands inside an answer; put the whole answer in quotes"),
    (r"found character '\t'", "a tab stands here; indent with spaces"),
    ("that cannot start any token", "an answer can't begin with this character; put the answer in quotes"),
    ("could not find expected ':'", "a word and a colon are wanted here"),
    (
        "expected <block end>",
        "this line is indented differently from the lines it belongs to, or a quotation mark stands inside an answer",
    ),
    ("expected ',' or '}'", "a comma or the closing bracket } is missing before this"),
    ("expected ',' or ']'", "a comma or the closing bracket ] is missing before this"),
    ("found unexpected end of stream", "the quotation mark that opens here is never closed"),
    ("expected the node content", "a bracket or comma stands where an answer is wanted"),
    (
        "found unknown escape character",
        "a backslash inside double quotes needs another backslash, or use single quotes",
    ),
    ("found unexpected ':'", "a colon stands where an answer is wanted; put the answer in quotes"),
)


@dataclass(slots=True)
class _Open:
    """A mapping or list still being filled; `key` is the word that waits for its answer."""

    made: Any
    path: str
    key: str | None = None
    at: tuple[int, int] | None = None
    skip: bool = False


def composed(text: str, file: str) -> tuple[Node, list[Mistake]]:
    """The file's mapping and all that is odd in it. Raises WrittenError when it can't be read to its end."""
    text = text.removeprefix(MARK)
    _check_size(text, file)
    pieced = _pieced(text, file)
    return (pieced, []) if pieced is not None else _whole(text, file)


def _pieced(text: str, file: str) -> Node | None:
    """The file's mapping put together from its pieces; None where anything in it is odd, or it can't be cut."""
    root = Node()
    root.file, root.path, root.keys_at = file, "", {}
    for piece in pieces(text):
        found = _piece(piece.text, file)
        if found is None or root.keys() & found.keys():
            return None
        here = moved(found, piece.lines)
        if not root:
            root.at = here.at
        root.update(here)
        root.keys_at.update(here.keys_at)
    return root or None


@lru_cache(512)  # an edit changes one piece; the others were read before
def _piece(text: str, file: str) -> Node | None:
    """The mapping of one piece, None where anything in it is odd: then the whole is read, which says what."""
    try:
        node, mistakes = _whole(text, file)
    except WrittenError:
        return None
    return None if mistakes else node


def forget() -> None:
    """Read every text anew from here on, as a program does that has just begun."""
    _piece.cache_clear()


def _whole(text: str, file: str) -> tuple[Node, list[Mistake]]:
    """As `composed`, in one go."""
    maker = _Maker(file)
    try:
        for event in YAML(pure=True).parse(StringIO(text)):
            maker.take(event)
    except WrittenError:
        raise
    except MarkedYAMLError as wrong:
        raise WrittenError([*maker.mistakes, _syntax(wrong, file, maker.long_quote)]) from None
    except (YAMLError, ValueError, RecursionError) as wrong:
        raise WrittenError(
            [*maker.mistakes, Mistake(file, 1, 1, "", f"can't be read: {shown(str(wrong), 80)}")]
        ) from None
    if not isinstance(maker.root, Node):
        says = (
            "the file is empty"
            if maker.root in (None, "")
            else "write words here, each followed by a colon and its answer"
        )
        raise WrittenError([*maker.mistakes, Mistake(file, 1, 1, "", says)])
    return maker.root, maker.mistakes


def placed(text: str, file: str) -> Node:
    """The file's mapping. Raises WrittenError with everything that is odd in it."""
    node, mistakes = composed(text, file)
    if mistakes:
        raise WrittenError(mistakes)
    return node


def _check_size(text: str, file: str) -> None:
    if len(text) > MOST_BYTES:
        raise WrittenError([Mistake(file, 1, 1, "", f"the file is too large: at most {MOST_BYTES:,} bytes")])
    if text.count("\n") > MOST_LINES:
        raise WrittenError(
            [Mistake(file, MOST_LINES + 1, 1, "", f"the file is too long: at most {MOST_LINES:,} lines")]
        )
    if odd := NAKED.search(text):
        before = text[: odd.start()]
        line, column = before.count("\n") + 1, odd.start() - before.rfind("\n")
        says = f"a character that can't be printed (U+{ord(odd[0]):04X}) stands here; remove it"
        raise WrittenError([Mistake(file, line, column, "", says)])


class _Maker:
    """Puts events together to a tree, one document of plain data."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.root: Any = None
        self.documents = 0
        self.open: list[_Open] = []
        self.mistakes: list[Mistake] = []
        self.long_quote: tuple[tuple[int, int], int] | None = None
        """Where the last quotation over several lines begins, and the line of its end: often one mark is missing."""

    def take(self, event: Event) -> None:
        """One event. Raises WrittenError where going on makes no sense."""
        if isinstance(event, DocumentStartEvent):
            self._document(event)
        elif isinstance(event, NodeEvent):
            self._node(event, _at(event))
        elif isinstance(event, CollectionEndEvent):
            done = self.open.pop()
            if not self.open:
                self.root = done.made

    def _refuse(self, at: tuple[int, int], path: str, says: str) -> None:
        self.mistakes.append(Mistake(self.file, *at, path, says))

    def _document(self, event: DocumentStartEvent) -> None:
        self.documents += 1
        if event.version or event.tags:
            self._refuse((1, 1), "", "directives (lines that begin with %) are not taken here; remove them")
        if self.documents > 1:
            self._refuse(_at(event), "", "a second document begins here (---); write one brief a file")
            raise WrittenError(self.mistakes)

    def _node(self, event: NodeEvent, at: tuple[int, int]) -> None:
        parent = self.open[-1] if self.open else None
        if parent is not None and isinstance(parent.made, Node) and parent.key is None:
            self._key(event, at, parent)
            return
        path = self._path(parent)
        if isinstance(event, CollectionStartEvent):
            self._begin(event, at, path, parent)
        else:
            if isinstance(event, ScalarEvent) and event.style in ("'", '"') and event.end_mark.line + 1 > at[0]:
                self.long_quote = at, event.end_mark.line + 1
            value = str(event.value) if isinstance(event, ScalarEvent) else f"*{event.anchor}"
            if value == "" and parent is not None and event.start_mark.index == event.end_mark.index:
                at = parent.at or at  # nothing is written: the word before the colon is the place
                self._split_number(parent)
            self._put(parent, self._text(value, at, path))
        self._tricks(event, at, path)

    def _path(self, parent: _Open | None) -> str:
        if parent is None:
            return ""
        step = parent.key if isinstance(parent.made, Node) else str(len(parent.made) + 1)
        return f"{parent.path}.{step}".lstrip(".")

    def _begin(self, event: CollectionStartEvent, at: tuple[int, int], path: str, parent: _Open | None) -> None:
        if len(self.open) >= MOST_DEPTH:
            says = f"nested too deeply: at most {MOST_DEPTH} groups or brackets inside each other"
            raise WrittenError([*self.mistakes, Mistake(self.file, *at, "", says)])
        made: Any = []
        if isinstance(event, MappingStartEvent):
            made = Node()
            made.file, made.path, made.at, made.keys_at = self.file, path, at, {}
        self._put(parent, made)
        self.open.append(_Open(made, path))

    def _put(self, parent: _Open | None, value: Any) -> None:
        if parent is None:
            self.root = value
        elif isinstance(parent.made, Node):
            if not parent.skip and parent.key is not None:
                parent.made[parent.key], parent.made.keys_at[parent.key] = value, parent.at or (1, 1)
            parent.key, parent.skip = None, False
        else:
            parent.made.append(value)

    def _split_number(self, parent: _Open) -> None:
        """`{size: 2,2 TB}` is two answers to YAML; tell what happened instead of two mistakes that puzzle."""
        if not isinstance(parent.made, Node) or parent.key is None or not parent.made:
            return
        before = next(reversed(parent.made.values()))
        if isinstance(before, Text) and before.isdigit() and (rest := re.fullmatch(r"(\d+)(.*)", parent.key)):
            tail = shown(rest[2])
            thousands = f", or {before}{rest[1]}{tail} if it parts thousands" if len(rest[1]) == GROUP else ""
            says = f"a comma ends an answer here; write {before}.{rest[1]}{tail}{thousands}"
            self._refuse((before.line, before.column), before.path, says)
            parent.skip = True

    def _key(self, event: NodeEvent, at: tuple[int, int], parent: _Open) -> None:
        """The word before a colon; a doubled one is refused and its second answer dropped."""
        if not isinstance(event, ScalarEvent):
            says = "a plain word is wanted before the colon, not a list, a group or a reference"
            raise WrittenError([*self.mistakes, Mistake(self.file, *at, parent.path, says)])
        word = str(event.value)
        parent.key, parent.at = word, at
        path = shown(f"{parent.path}.{word}".lstrip("."), LONGEST_KEY)
        if word in parent.made:
            parent.skip = True
            self._refuse(at, path, f"stands here twice; first at line {parent.made.keys_at[word][0]}")
        elif len(word) > LONGEST_KEY or any(map(unfit, word)):
            parent.skip = True
            self._refuse(at, path, f"a word before a colon has at most {LONGEST_KEY} letters, on one line")
        elif word == "<<":
            parent.skip = True
            self._refuse(at, path, "merging (<<) is not taken here; write the answers out")
        self._tricks(event, at, path)

    def _tricks(self, event: NodeEvent, at: tuple[int, int], path: str) -> None:
        if isinstance(event, AliasEvent):
            self._refuse(
                at, path, "references (*) are not taken here; quote the text if it is one, or write the answer out"
            )
        elif event.anchor is not None:
            self._refuse(at, path, "anchors (&) are not taken here; quote the text if it is one")
        elif getattr(event, "tag", None) is not None:
            self._refuse(at, path, "tags (!) are not taken here; quote the text if it is one")

    def _text(self, value: str, at: tuple[int, int], path: str) -> Text:
        if len(value) > LONGEST_TEXT:
            self._refuse(at, path, f"too long: {len(value):,} letters, at most {LONGEST_TEXT:,}")
        text = Text(value)
        text.file, (text.line, text.column), text.path = self.file, at, path
        return text


def _at(event: Event) -> tuple[int, int]:
    return event.start_mark.line + 1, event.start_mark.column + 1


def _syntax(wrong: MarkedYAMLError, file: str, long_quote: tuple[tuple[int, int], int] | None) -> Mistake:
    """The parser's complaint in a person's words, at the place that has to be mended."""
    problem = str(wrong.problem or wrong.context or "")
    never_closed = "unexpected end of stream" in problem and wrong.context_mark is not None
    mark = wrong.context_mark if never_closed else wrong.problem_mark or wrong.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    if long_quote is not None and long_quote[1] == line:
        return Mistake(
            file,
            *long_quote[0],
            "",
            f"the quotation mark that opens here is closed only at line {line}; one is missing",
        )
    says = next((plain for theirs, plain in PLAIN_WORDS if theirs in problem), f"can't be read: {shown(problem, 80)}")
    if not never_closed and wrong.context and wrong.context_mark is not None and wrong.context_mark.line + 1 != line:
        says += f" (in what began at line {wrong.context_mark.line + 1})"
    return Mistake(file, line, column, "", says)
