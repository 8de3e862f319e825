"""Everything that was said at an interview, as a plain value that each answer replaces by a new one."""

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from enum import StrEnum
from re import ASCII, sub

from scantling.figures.quantities import parse
from scantling.figures.units import COUNT

LONGEST_SLUG = 40
Things = Mapping[str, Mapping[str, str]]


class Asking(StrEnum):
    """How much is asked: everything, only what a similar office can't know, or ten answers."""

    ALL = "all"
    PERSONAL = "personal"
    ROUGH = "rough"


@dataclass(frozen=True)
class Similar:
    """What is taken from a similar office: its name, answers by id, named things, and what was scaled, from which text."""

    name: str
    said: Mapping[str, str]
    things: Things
    scaled: Mapping[str, str]


@dataclass(frozen=True)
class Answers:
    """Answers by id ("" where the assumption was taken), named things by list (slug and name), lists that are ended."""

    said: Mapping[str, str] = field(default_factory=dict)
    things: Things = field(default_factory=dict)
    ended: frozenset[str] = frozenset()
    asking: Asking = Asking.ALL
    similar: Similar | None = None

    def saying(self, id_: str, text: str) -> "Answers":
        """With one more answer, or another one."""
        return replace(self, said={**self.said, id_: text})

    def without(self, id_: str) -> "Answers":
        """Without one answer."""
        return replace(self, said={one: text for one, text in self.said.items() if one != id_})

    def naming(self, list_: str, slug: str, name: str) -> "Answers":
        """With one more thing in a list, or another name for it."""
        return replace(self, things={**self.things, list_: {**self.things.get(list_, {}), slug: name}})

    def unnaming(self, list_: str, slug: str) -> "Answers":
        """Without a thing and all that was said of it."""
        left = {one: name for one, name in self.things[list_].items() if one != slug}
        things = {**self.things, list_: left} if left else {one: t for one, t in self.things.items() if one != list_}
        said = {id_: text for id_, text in self.said.items() if not id_.startswith(f"{list_}.{slug}.")}
        return replace(self, things=things, said=said)

    def ending(self, list_: str, *, none: bool = False) -> "Answers":
        """With a list that is complete; `none` where the client says that there is nothing of the kind."""
        things = {**self.things, list_: {}} if none else self.things
        return replace(self, things=things, ended=self.ended | {list_})

    def opening(self, list_: str) -> "Answers":
        """With a list that goes on."""
        things = {one: named for one, named in self.things.items() if one != list_ or named}
        return replace(self, things=things, ended=self.ended - {list_})

    def renaming(self, list_: str, old: str, new: str) -> "Answers":
        """With another short name for a thing, in its place, and wherever it is answered with."""
        named = {new if slug == old else slug: name for slug, name in self.things[list_].items()}
        start = f"{list_}.{old}."
        said = {
            f"{list_}.{new}.{id_.removeprefix(start)}" if id_.startswith(start) else id_: text
            for id_, text in self.said.items()
        }
        return replace(self, things={**self.things, list_: named}, said=said)


def slug_of(name: str, taken: Mapping[str, str], stem: str) -> str:
    """A short name made from a name: small letters, digits, hyphens; the stem where no such letter is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    made = sub(r"[^a-z0-9]+", "-", plain, flags=ASCII).strip("-")[:LONGEST_SLUG].strip("-") or stem
    if made not in taken:
        return made
    numbers = (f"{made[: LONGEST_SLUG - 4].rstrip('-')}-{number}" for number in range(2, len(taken) + 3))
    return next(one for one in numbers if one not in taken)


def whole(text: str) -> int:
    """A count as a person writes it, 0 where it is none."""
    try:
        return parse(text, COUNT)[0]
    except ValueError:
        return 0


def two_digits(number: float) -> str:
    """A number with two digits that count, as a person writes it, at least 1 of the third decimal."""
    with localcontext(prec=2):
        made = +Decimal(repr(max(number, 0.001)))
    text = f"{made:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
