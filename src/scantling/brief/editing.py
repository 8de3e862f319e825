"""Changes one answer of a written input and leaves every other letter as it stands: text in, text out."""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from scantling.brief import splicing
from scantling.brief.ids import EditError, Sections, Steps, at, check, check_new, declared, steps_of
from scantling.brief.marking import marked
from scantling.brief.sections import Section
from scantling.brief.wording import is_section
from scantling.figures.composing import MARK, placed
from scantling.figures.placed import Node, WrittenError
from scantling.figures.spelled import shown

__all__ = ["EditError", "with_value", "with_values", "without"]

FILE = "brief.yaml"


def with_value(text: str, id_: str, value: str, sections: Sequence[type[Section]] = (), file: str = FILE) -> str:
    """The text with one answer set, added where it is not there yet; one line differs.

    `id_` is a path such as people.roles.office.heads. With `sections` only an id that they declare is taken. Raises
    EditError.
    """
    return with_values(text, {id_: value}, sections, file)


def without(text: str, id_: str, sections: Sequence[type[Section]] = (), file: str = FILE) -> str:
    """The text with one answer, or one group of answers, taken out. Raises EditError when it is not there."""
    return with_values(text, {id_: None}, sections, file)


def with_values(
    text: str, edits: Mapping[str, str | None], sections: Sequence[type[Section]] = (), file: str = FILE
) -> str:
    """The text with several answers set, or taken out where the value is None, in the order given.

    Raises EditError, and then nothing was changed.
    """
    by_key = {section.key: section for section in sections}
    mark, body = (MARK, text.removeprefix(MARK)) if text.startswith(MARK) else ("", text)
    before = _tree(body, file)
    after = _plain(before)
    wanted = {}
    for id_, value in edits.items():
        steps = steps_of(id_, after, by_key)
        wanted[steps] = value
        _allowed(id_, steps, value, before, by_key)
        if value is None or at(after, steps) != value:
            _put(after, steps, value)
            body = _edited(body, steps, value, by_key)
    if by_key:
        check_new([steps for steps, value in wanted.items() if value is not None], before, after, by_key)
    if body != text.removeprefix(MARK):
        _same(body, after, file, list(edits))
    return mark + body


@lru_cache(4)  # edits follow each other: what one has read over is what the next begins with
def _tree(body: str, file: str) -> Node:
    try:
        return placed(body, file)
    except WrittenError as wrong:
        raise EditError(str(wrong)) from None


def _plain(tree: Any) -> Any:
    """A copy as plain data."""
    if isinstance(tree, Mapping):
        return {key: _plain(below) for key, below in tree.items()}
    return [_plain(below) for below in tree] if isinstance(tree, list) else str(tree)


def _allowed(id_: str, steps: Steps, value: str | None, before: Node, by_key: Sections) -> None:
    """Raises EditError for an id that can't be set or taken out."""
    there = at(before, steps)
    if by_key and value is not None:
        check(id_, steps, before, by_key)
    elif by_key and value is None and there is None:
        check(id_, steps, before, by_key)
        raise EditError(f"{shown(id_, 100)} does not stand in {before.file}: there is nothing to take out")
    if value is not None and isinstance(there, (Mapping, list)):
        line, column = at(before, steps[:-1]).keys_at[steps[-1]]
        below = ", ".join(f"{id_}.{word}" for word in there) if isinstance(there, Mapping) else "none"
        raise EditError(
            f"{before.file}:{line}:{column}: {shown(id_, 100)} is a group of answers; name one of them: {below}"
        )
    if not all(steps):
        raise EditError(f"{shown(id_, 100)!r} is no id: write words with dots between them, like office.name")
    if any(map(_unfit_word, steps)):
        raise EditError(f"{shown(id_, 100)!r} is no id: a word is letters, digits, dots, hyphens and underlines")


def _unfit_word(word: str) -> bool:
    return not word.replace(".", "").replace("-", "").replace("_", "").isalnum()


def _put(tree: dict[str, Any], steps: Steps, value: str | None) -> None:
    """The same edit on plain data, to hold the new text against."""
    *path, last = steps
    trail = [tree]
    for step in path:
        below = trail[-1].get(step)
        if not isinstance(below, dict):
            if value is None:
                raise EditError(f"there is no {'.'.join(steps)} to take out")
            if below:
                raise EditError(f"{'.'.join(steps)}: {step} is an answer itself; nothing can stand below it")
            below = trail[-1][step] = {}
        trail.append(below)
    if value is not None:
        trail[-1][last] = value
        return
    if last not in trail[-1]:
        raise EditError(f"there is no {'.'.join(steps)} to take out")
    del trail[-1][last]
    for parent, step in zip(reversed(trail[:-1]), reversed(path), strict=True):
        if not parent[step]:
            del parent[step]  # a group that has lost its last answer goes too


def _edited(body: str, steps: Steps, value: str | None, by_key: Sections) -> str:
    """The body after one splice."""
    root = marked(body, steps[0])
    if value is None:
        return splicing.cut(body, root, steps)
    return splicing.put(body, root, steps, value, lambda above: _order(above, by_key))


def _order(steps: Sequence[str], by_key: Sections) -> tuple[str, ...]:
    """The order in which the answers of a group are declared; empty where their names are free."""
    field = declared(steps, by_key).field if steps else None
    return tuple(field.model_fields) if is_section(field) and "items" not in field.model_fields else ()


def _same(body: str, wanted: Any, file: str, ids: Sequence[str]) -> None:
    """The new text must read as what was asked for, and nothing else may have moved. Raises EditError."""
    try:
        tree = _tree(body, file)
    except EditError as wrong:
        raise EditError(f"{', '.join(ids)} can't be written: {wrong}") from None
    if _plain(tree) != wanted:
        raise EditError(
            f"{file}: the place of {', '.join(ids)} is written in a way that can't be edited alone; edit it by hand"
        )
