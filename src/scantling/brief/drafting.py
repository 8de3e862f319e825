"""Writes what is known of an office as a commented brief; what is assumed stands beside it, marked to be asked."""

from collections.abc import Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any

from scantling.brief.loading import Default
from scantling.brief.meeting import LATER, ORDER
from scantling.brief.picture import Picture
from scantling.brief.sections import Mapped, Section, ask_of, group, is_mapping
from scantling.brief.splicing import written
from scantling.brief.spots import ByKey, like, spot, things_of
from scantling.brief.supposing import Supposed

ASK = "assumed, ask"
MARK = "# Written by scantling new from answers.yaml; sum "
HEAD = """\
# What was said stands as it was said. A line with "assumed, ask" behind it is supposed; a line with # before it is the
# house's own practice, and holds just so until another answer stands in its place.
"""
MARGIN = 2


class Draft:
    """A brief in the making: the picture, the house's defaults, and answers laid over both for a cautious reckoning."""

    def __init__(
        self,
        picture: Picture,
        by_key: ByKey,
        defaults: Mapping[str, Default],
        words: Mapping[str, Sequence[str]],
        over: Mapping[str, str] | None = None,
    ) -> None:
        self.picture, self.by_key, self.defaults, self.words, self.over = picture, by_key, defaults, words, over or {}

    def text(self) -> str:
        """The whole brief; its first line holds the sum of the rest, so that a later change by hand is seen."""
        body = HEAD + "\n".join(self._lines()) + "\n"
        return f"{MARK}{_sum(body)}\n{body}"

    def _lines(self) -> Iterator[str]:
        known = [key for key in self.by_key if key not in (*ORDER, *LATER, "usual", "rough")]
        for key in (*ORDER, *known):
            section = self.by_key.get(key)
            if section is None:
                continue
            yield ""
            yield f"# {(section.__doc__ or key).strip().splitlines()[0]}"
            yield from self._section(key, section)

    def _section(self, key: str, section: type[Section]) -> Iterator[str]:
        inside = list(self._within(key, section, 1))
        if not inside:
            yield f"# {key}: none named"
        elif any(not line.lstrip().startswith("#") for line in inside):
            yield f"{key}:"
            yield from inside
        elif section.default_whole:
            yield f"# {key}:"
            yield from (f"# {line.replace('# ', '', 1)}" for line in inside)
        else:
            yield f"# {key}: not told; it may be left out"

    def _within(self, path: str, section: type[Section], depth: int) -> Iterator[str]:
        if issubclass(section, Mapped):
            yield from self._things(path, things_of(section), depth)
            return
        fields = section.model_fields
        if not self._wanted(path, section):
            return
        for name, field in fields.items():
            id_ = f"{path}.{name}"
            within = group(field)
            if is_mapping(field):
                lines = list(self._things(id_, field, depth + 1))
                yield from [_at(depth, f"{name}:"), *lines] if lines else ()
            elif within is not None:
                yield _at(depth, f"{name}:")
                yield from self._within(id_, within, depth + 1)
            elif line := self._answer(id_, name):
                yield _at(depth, line)

    def _wanted(self, path: str, section: type[Section]) -> bool:
        """Whether a section whose named things are required has any; without them it is left out whole."""
        lists = [name for name, field in section.model_fields.items() if is_mapping(field) and field.is_required()]
        return all(self.picture.things(f"{path}.{name}") for name in lists)

    def _things(self, path: str, field: Any, depth: int) -> Iterator[str]:
        within = group(field)
        for slug in self.picture.things(path):
            if within is None:
                yield _at(depth, f"{slug}: {written(self.picture.value(f'{path}.{slug}'), None)}")
                continue
            inside = list(self._within(f"{path}.{slug}", within, depth + 1))
            bare = all(line.lstrip().startswith("#") for line in inside)
            yield _at(depth, f"{slug}: {{}}" if bare else f"{slug}:")
            yield from inside

    def _answer(self, id_: str, name: str) -> str:
        """One line: as told, as supposed, or the house's default as a remark; empty where it stays open."""
        if told := self._told(id_, name):
            return f"{name}: {written(told, None)}"
        at = spot(id_, self.by_key)
        assert at is not None, "every field of a section is a place"
        if at.pattern in self.over or id_ in self.over:
            return f"{name}: {written(self.over.get(id_) or self.over[at.pattern], None)}"
        found = self.picture.supposed(id_)
        if found is None and at.required:
            found = Supposed(like(at, self.picture.currency, self.words) or "not yet known", "an example")
        if found is not None and found.text:
            return f"{name}: {written(found.text, None)}" + ("" if found.said else f"  # {_asked(found.why)}")
        default = self.defaults.get(ask_of(at.field).assumed)
        return f"# {name}: {written(default.text, None)}   # {ASK}" if default is not None else ""

    def _told(self, id_: str, name: str) -> str:
        """What was said: for `name` of a thing, what it is called."""
        if told := self.picture.told(id_):
            return told
        list_, _, slug = id_.removesuffix(f".{name}").rpartition(".")
        if name != "name" or slug not in self.picture.things(list_):
            return ""
        at = spot(id_, self.by_key)
        return self.picture.things(list_)[slug] or (slug if at is not None and at.required else "")


def _at(depth: int, line: str) -> str:
    return " " * (MARGIN * depth) + line


def _asked(why: str) -> str:
    return f"{ASK} ({why})" if why else ASK


def _sum(body: str) -> str:
    return sha256(body.encode()).hexdigest()[:16]


def is_ours(text: str) -> bool:
    """Whether a brief was written here and not changed by hand since."""
    first, _, body = text.partition("\n")
    return first == MARK + _sum(body)
