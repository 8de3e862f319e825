"""Finds an answer of a written input by the id that a person types, and says which ids there are."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from scantling.brief.office import Declined, Pins
from scantling.brief.sections import Mapped, Section, ask_of, group, is_mapping, reader
from scantling.brief.wording import Place, is_section, known_words, place_of
from scantling.figures.placed import Node
from scantling.figures.spelled import nearest, shown

Sections = Mapping[str, type[Section]]
Steps = tuple[str, ...]
DIGITS = re.compile(r"\d")
NEAR, MOST_TOLD = 0.6, 12
OWN: tuple[type[Section], ...] = (Declined, Pins)
"""The sections of this room whose names hold dots."""


class EditError(ValueError):
    """An edit that can't be made: what is wrong, where there is a place its file:line:column, and what would do."""


def steps_of(id_: str, tree: Mapping[str, Any], by_key: Sections) -> Steps:
    """The words of an id, from the top down. Names under `pins` and `declined` may hold dots themselves."""
    head, *rest = id_.split(".")
    section = {**{own.key: own for own in OWN}, **by_key}.get(head)
    if section is None or not rest or not issubclass(section, Mapped) or section.slugs:
        return (head, *rest)
    there = tree.get(head)
    name, within = ".".join(rest), group(section.model_fields["items"])
    if isinstance(there, Mapping) and name in there:
        return head, name
    if len(rest) > 1 and within is not None and rest[-1] in within.model_fields:
        return head, ".".join(rest[:-1]), rest[-1]
    return head, name


def declared(steps: Sequence[str], by_key: Sections) -> Place:
    """What declares the last of some words; its `field` is None where it is not known."""
    return place_of(steps, _nothing(), by_key)


def _nothing() -> Node:
    empty = Node()
    empty.file, empty.path, empty.at, empty.keys_at = "", "", (1, 1), {}
    return empty


def is_group(place: Place) -> bool:
    """Whether a word opens a group of answers rather than being one."""
    return is_section(place.field) or (place.field is not None and is_mapping(place.field))


def check(id_: str, steps: Steps, tree: Mapping[str, Any], by_key: Sections) -> None:
    """Raises EditError unless the id is one answer that the known sections declare."""
    for length in range(1, len(steps) + 1):
        place, above = declared(steps[:length], by_key), declared(steps[: length - 1], by_key)
        if place.field is None and not (length == len(steps) and _named_answer(above)):
            raise EditError(_no_such(id_, steps, length, tree, by_key))
    if is_group(declared(steps, by_key)):
        raise EditError(_a_group(id_, steps, tree, by_key))


def _named_answer(above: Place) -> bool:
    """Whether what stands below is an answer under a free name."""
    field: Any = above.field
    if field is None or is_section(field) or not is_mapping(field):
        return False
    return group(field) is None and reader(field) is not None


def _a_group(id_: str, steps: Steps, tree: Mapping[str, Any], by_key: Sections) -> str:
    prefix = f"{id_}."
    below = [known for known in known_ids(tree, by_key) if known.startswith(prefix)]
    words = below[:MOST_TOLD] or [f"{prefix}{word}" for word in known_words_below(steps, by_key)]
    return f"{shown(id_, 100)} is a group of answers; name one of them: {', '.join(words)}"


def known_words_below(steps: Steps, by_key: Sections) -> tuple[str, ...]:
    """The fields of a group, none where its names are free."""
    field = declared(steps, by_key).field
    return tuple(field.model_fields) if is_section(field) and not issubclass(field, Mapped) else ("<name>",)


def _no_such(id_: str, steps: Steps, length: int, tree: Mapping[str, Any], by_key: Sections) -> str:
    """The nearest right id: the same with its unknown word put right, else the nearest of all."""
    place = declared(steps[:length], by_key)
    known = known_words(place, by_key)
    mended = ".".join([*steps[: length - 1], known.near, *steps[length:]]) if known.near else ""
    ids = list(known_ids(tree, by_key))
    found = [mended] if mended else get_close_matches(id_, ids, 2, NEAR) or _with_the_same_end(steps[-1], ids)
    wrong = f"there is no answer called {shown(id_, 100)}"
    if found:
        return f"{wrong}; did you mean {' or '.join(found)}?"
    where = f"under {'.'.join(steps[: length - 1])}" if length > 1 else "at the top"
    return f"{wrong}; known {where}: {', '.join(known.words) or 'nothing further'}"


def _with_the_same_end(word: str, ids: Iterable[str]) -> list[str]:
    return [id_ for id_ in ids if id_.rsplit(".", 1)[-1] == word][:3]


def known_ids(tree: Mapping[str, Any], by_key: Sections) -> Iterator[str]:
    """Every answer that stands there or may be added to what stands there."""
    for key, section in by_key.items():
        yield from _below(key, section, tree.get(key))


def _below(prefix: str, section: type[Section], there: Any) -> Iterator[str]:
    if issubclass(section, Mapped):
        yield from _named(prefix, section.model_fields["items"], there)
        return
    for name, field in section.model_fields.items():
        path = f"{prefix}.{name}"
        below = there.get(name) if isinstance(there, Mapping) else None
        if is_mapping(field):
            yield from _named(path, field, below)
        elif (within := group(field)) is not None:
            yield from _below(path, within, below)
        else:
            yield path


def _named(prefix: str, field: Any, there: Any) -> Iterator[str]:
    within = group(field)
    for name in there if isinstance(there, Mapping) else ():
        if within is None:
            yield f"{prefix}.{name}"
        else:
            yield from _below(f"{prefix}.{name}", within, there[name])


def check_new(many: Sequence[Steps], before: Mapping[str, Any], after: Mapping[str, Any], by_key: Sections) -> None:
    """Raises EditError for a new named thing that lacks an answer, or that may be a slip for one that is there."""
    new = [
        steps[:length] for steps in many for length in range(2, len(steps)) if _is_new(steps[:length], before, by_key)
    ]
    for steps in dict.fromkeys(new):
        field: Any = declared(steps, by_key).field
        there = at(after, steps)
        lacks = [
            word for word, one in field.model_fields.items()
            if one.is_required() and not ask_of(one).assumed and word not in there
        ]  # fmt: skip
        near = _slip(steps[-1], at(before, steps[:-1]) or {}) if new.count(steps) == 1 or lacks else ""
        if near or lacks:
            hint = f"; did you mean {near}?" if near else ""
            wanted = f"needs {', '.join(lacks)} as well" if lacks else f"is best written by hand, beside {near}"
            raise EditError(f"{'.'.join(steps[:-1])} has no {shown(steps[-1])}{hint} (a new one {wanted})")


def _is_new(steps: Steps, before: Mapping[str, Any], by_key: Sections) -> bool:
    """Whether some words name a thing, freely, that does not stand there yet."""
    place = declared(steps, by_key)
    return is_section(place.field) and place.section is None and at(before, steps) is None


def _slip(name: str, names: Mapping[str, Any]) -> str:
    """The name that this one may be a misspelling of; hall-2 is none of hall-1."""
    near = nearest(name, names, 0.75)
    return near if DIGITS.sub("", near) != DIGITS.sub("", name) else ""


def at(tree: Any, steps: Sequence[str]) -> Any:
    """What stands under some words; None where nothing does."""
    for step in steps:
        tree = tree.get(step) if isinstance(tree, Mapping) else None
    return tree
