"""Fills the form of one section of the brief from its own piece of the text."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from scantling.brief.form import SHORT
from scantling.brief.loading import Default
from scantling.brief.questions import text_of, wording
from scantling.brief.sections import Section
from scantling.brief.spots import ByKey, Spot, Words, accepted, closed_words, every, like
from scantling.figures.composing import composed
from scantling.figures.placed import Node, Text, WrittenError
from scantling.figures.units import CURRENCY
from scantling.web.form_kinds import Assumption, Field, Named, Row, SectionForm

FILE = "brief.yaml"
HEAD = re.compile(r"(?m)^(?=[A-Za-z_][A-Za-z0-9_-]*[ \t]*:(?:[ \t]|\r?$))")
"""Where a section's word stands: at the beginning of a line."""
REFERRING: Mapping[str, str] = {
    "data.sets.*.service": "services",
    "domains.*.leads_to": "services",
    "remote.by_line": "lines",
}
"""Answers that are words of other named things of the brief."""
Faults = tuple[tuple[int, int, str], ...]
Referred = tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """A section's own text, and after how many lines of the brief it begins."""

    text: str
    begins: int


NOTHING = Piece("", 0)


@dataclass(frozen=True, eq=False)
class Asked:
    """What a form is made from, beside the text: sections, house rules, words of the catalogue, the currency."""

    by_key: ByKey
    defaults: Mapping[str, Default]
    words: Words
    currency: str


def sections_of(text: str) -> Mapping[str, Piece]:
    """The pieces of a brief's text, by the section's word; so that an edit makes one piece new. Empty where it can't be read."""
    starts = [found.start() for found in HEAD.finditer(text)]
    if starts and _remarks(text[: starts[0]]):
        pieces = [text[a:b] for a, b in zip(starts, [*starts[1:], len(text)], strict=True)]
        keys = [list(tree_of(piece)) for piece in pieces]
        if all(len(one) == 1 for one in keys) and len({one[0] for one in keys}) == len(keys):
            lines = [text.count("\n", 0, start) for start in starts]
            return {key[0]: Piece(piece, line) for key, piece, line in zip(keys, pieces, lines, strict=True)}
    return {key: Piece(text, 0) for key in tree_of(text)}


def _remarks(text: str) -> bool:
    """Whether nothing but remarks and blank lines stands here."""
    return all(not line.strip(" \ufeff\r") or line.lstrip(" \ufeff").startswith("#") for line in text.split("\n"))


@lru_cache(128)
def tree_of(text: str) -> Node:
    """A text as far as it can be read; nothing where it can't."""
    try:
        return composed(text, FILE)[0]
    except WrittenError:
        empty = Node()
        empty.file, empty.path, empty.at, empty.keys_at = FILE, "", (1, 1), {}
        return empty


@lru_cache(256)
def spots_of(section: type[Section]) -> tuple[Spot, ...]:
    """Every place of a section."""
    return tuple(every({section.key: section}))


class Filling:
    """One section and what stands of it."""

    def __init__(self, section: type[Section], text: str, asked: Asked, faults: Faults, referred: Referred) -> None:
        self.kind, self.asked, self.referred = section, asked, dict(referred)
        self.tree = tree_of(text)
        self.faults = {(line, column): says for line, column, says in faults}

    def section(self) -> SectionForm:
        """The section's form."""
        key = self.kind.key
        parts = tuple(self._parts(spots_of(self.kind), (key,), self.tree.get(key), key))
        told = (self.kind.__doc__ or "").strip().splitlines()[0]
        title = key.replace("_", " ").capitalize()
        made = SectionForm(key, title, told, key in self.tree, self.kind.default_whole, parts)
        borne = {one.place for one in made.fields if one.fault}
        return replace(made, faults=tuple(says for at, says in self.faults.items() if at not in borne))

    def _parts(
        self, spots: Sequence[Spot], path: tuple[str, ...], there: Any, prefix: str
    ) -> Iterator[Field | Named]:
        """Answers and lists below a group; `prefix` is the pattern of its path."""
        lists = [f"{at.pattern}.*" for at in spots if at.things]
        for at in spots:
            if any(at.pattern.startswith(one) for one in lists):
                continue
            rest = at.pattern[len(prefix) + 1 :].split(".") if at.pattern != prefix else []
            if at.things:
                below = [one for one in spots if one.pattern.startswith(f"{at.pattern}.*")]
                yield from self._named(at, below, (*path, *rest), _at(there, rest))
            else:
                yield self._field(at, (*path, *rest), rest, there)

    def _named(self, at: Spot, below: Sequence[Spot], path: tuple[str, ...], there: Any) -> Iterator[Named]:
        """The table of a list, and those of lists within its things."""
        rows, inner = [], []
        for slug in there if isinstance(there, Node) else ():
            parts = list(self._thing(at, below, (*path, slug), there))
            rows.append(Row(slug, ".".join((*path, slug)), tuple(p for p in parts if isinstance(p, Field))))
            inner += [part for part in parts if isinstance(part, Named)]
        yield Named(
            id=".".join(path),
            label=path[-1].replace("_", " ") if len(path) > 1 else "",
            question=text_of(at) or (at.section.__doc__ or "").strip().splitlines()[0],
            rows=tuple(rows),
            new=tuple(p for p in self._thing(at, below, (*path, "*"), None) if isinstance(p, Field)),
            free=at.section.slugs,
            has_name=f"{at.pattern}.*.name" in {one.pattern for one in below},
            at_least_one=bool(at.field.is_required()) and not at.section.default_whole,
        )
        yield from inner

    def _thing(self, at: Spot, below: Sequence[Spot], path: tuple[str, ...], there: Any) -> Iterator[Field | Named]:
        """A thing's answers; it may be an answer itself."""
        prefix = f"{at.pattern}.*"
        if len(below) == 1 and below[0].pattern == prefix:
            yield self._field(below[0], path, path[-1:], there)
        else:
            yield from self._parts(below, path, _at(there, path[-1:]), prefix)

    def _field(self, at: Spot, path: tuple[str, ...], rest: Sequence[str], there: Any) -> Field:
        pattern, asked = at.pattern, self.asked
        found, place = _at(there, rest), _place(there, rest)
        word = pattern.rsplit(".", 1)[-1]
        default = asked.defaults.get(at.ask.assumed)
        return Field(
            id=".".join(path),
            pattern=pattern,
            label=_label(pattern, word),
            question=text_of(at),
            why=wording(at).why,
            value=str(found) if isinstance(found, Text) else None,
            assumed=Assumption(default.text, default.why) if default is not None else None,
            example=wording(at).like or like(at, asked.currency, asked.words),
            unit=at.unit.symbol.replace(CURRENCY, asked.currency),
            choices=self.referred.get(REFERRING.get(pattern, "")) or closed_words(at, asked.words),
            accepted=accepted(at, asked.currency, asked.words),
            required=at.required or word == "*",
            group=" ".join(rest[:-1]).replace("_", " "),
            fault=self.faults.get(place, "") if place else "",
            place=place,
        )


def _label(pattern: str, word: str) -> str:
    """A short head: among named things as the form on paper has it."""
    if word == "*":
        return "answer"
    return (SHORT.get(pattern, SHORT.get(word, word)) if "*" in pattern else word).replace("_", " ")


def _at(there: Any, steps: Sequence[str]) -> Any:
    for step in steps:
        there = there.get(step) if isinstance(there, Node) else None
    return there


def _place(there: Any, steps: Sequence[str]) -> tuple[int, int] | None:
    """Where an answer stands; where its word does if nothing, or a group, is written behind it."""
    found = _at(there, steps)
    if isinstance(found, Text):
        return found.line, found.column
    above = _at(there, steps[:-1])
    return above.keys_at.get(steps[-1]) if isinstance(above, Node) else None
