"""The office as far as it is known at any moment: what was said, what a similar office has, what is supposed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scantling.brief.answers import Answers, whole
from scantling.brief.meeting import BASICS
from scantling.brief.supposing import RULES, THINGS, Supposed, picked

MOST_HEADS = 100_000
"""So that nothing supposed from the heads is more than a brief takes."""


@dataclass(frozen=True)
class Picture:
    """The office as far as it is known: what was said, then what a similar office has, then what is supposed."""

    answers: Answers
    currency: str
    today: str
    profiles: Sequence[str] = ()
    kinds: Sequence[str] = ()

    def told(self, id_: str) -> str:
        """What was said, "" where nothing was, or the assumption was taken."""
        return self.answers.said.get(id_, "")

    def things(self, list_: str) -> Mapping[str, str]:
        """Slugs and names of a list: as named, else as supposed."""
        named = dict(self.answers.things.get(list_, {}))
        if list_ == "services":
            return self._services(named)
        if list_ in self.answers.things:
            return named
        similar = self.answers.similar
        if similar is not None:
            return similar.things.get(list_, {})
        return THINGS[list_](self) if list_ in THINGS else {}

    def _services(self, named: Mapping[str, str]) -> Mapping[str, str]:
        similar = self.answers.similar
        if similar is not None and "services" not in self.answers.things:
            return similar.things.get("services", {})
        basics = dict.fromkeys(BASICS, "") if self.told("usual.basics") != "no" else {}
        supposed = {} if "services" in self.answers.things else picked(self)
        return {**basics, **supposed, **named}

    def value(self, id_: str) -> str:
        """What was said or is supposed; "" where neither."""
        if told := self.told(id_):
            return told
        found = self.supposed(id_)
        return found.text if found is not None else ""

    def supposed(self, id_: str) -> Supposed | None:
        """What is supposed where nothing was said; None where the brief's own default holds, or nothing."""
        similar = self.answers.similar
        if similar is not None and (text := similar.said.get(id_)):
            was = similar.scaled.get(id_)
            return Supposed(text, f"scaled from {was}" if was else "")
        steps = id_.split(".")
        for pattern, rule in RULES.items():
            parts = pattern.split(".")
            if len(parts) == len(steps) and all(p in ("*", s) for p, s in zip(parts, steps, strict=True)):
                slug = next((s for p, s in zip(parts, steps, strict=True) if p == "*"), "")
                return rule(self, slug)
        return None

    def name(self, list_: str, slug: str) -> str:
        """What a thing is called; its slug where nothing else was said."""
        return self.things(list_).get(slug) or slug

    @property
    def heads(self) -> int:
        """People as far as known, no more than suppositions can be made for."""
        told = sum(whole(self.value(f"people.roles.{slug}.heads")) for slug in self.things("people.roles"))
        return min(told, MOST_HEADS)
