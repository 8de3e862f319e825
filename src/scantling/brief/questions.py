"""Which questions an interview asks, in which order, given what was said so far; each with all that is told about it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from scantling.brief.answers import Answers, Asking
from scantling.brief.loading import Default
from scantling.brief.meeting import (
    BASICS, FOR_SOME, GROUPS, LATER, ON_THEIR_OWN, PERSONAL, PLAIN, ROUGH, WORDING, Group, Many, One, Rough, Usual, Wording,
)  # fmt: skip
from scantling.brief.picture import Picture
from scantling.brief.rough import PLACES
from scantling.brief.sections import Section
from scantling.brief.spots import ByKey, Spot, Words, accepted, closed_words, every, like, spot
from scantling.brief.supposing import Supposed

MORE = "More"
NONE = "none"


@dataclass(frozen=True, slots=True)
class Step:
    """One question in order: its place, its title, what it is about, whether it is answered."""

    spot: Spot
    group: str
    text: str
    answered: bool
    list: str = ""
    """The list of things that it belongs to, empty for an answer that stands alone."""
    slug: str = ""
    """The thing that it is about; empty where the next thing is named."""

    @property
    def naming(self) -> bool:
        """Whether the answer is the name of a thing."""
        return self.spot.things


@dataclass(frozen=True)
class Agenda:
    """All that an interview asks: the brief's sections, the house's defaults, the words of the catalogue."""

    by_key: ByKey
    defaults: Mapping[str, Default]
    words: Words
    currency: str
    today: str
    groups: Sequence[Group] = field(default_factory=tuple)

    def picture(self, answers: Answers) -> Picture:
        """The office as far as it is known."""
        kinds = self.words.get("device_kind", ())
        return Picture(answers, self.currency, self.today, self.words.get("profile", ("files",)), kinds)

    def steps(self, answers: Answers) -> Iterator[Step]:
        """Every question in order, answered or not."""
        picture = self.picture(answers)
        for group in self._asked(answers.asking):
            for part in group.parts:
                steps = self._one(part, group, picture) if isinstance(part, One) else self._many(part, group, picture)
                yield from (step for step in steps if not _idle(step, picture))

    def _asked(self, asking: Asking) -> Sequence[Group]:
        if asking is Asking.ROUGH:
            return (ROUGH,)
        if asking is Asking.ALL:
            return self.groups
        kept = (replace(g, parts=tuple(p for p in g.parts if p.id in PERSONAL)) for g in self.groups)
        return tuple(group for group in kept if group.parts)

    def _one(self, part: One, group: Group, picture: Picture) -> Iterator[Step]:
        at = spot(part.id, self.by_key)
        if at is not None:
            yield Step(at, group.title, text_of(at), part.id in picture.answers.said)

    def _many(self, part: Many, group: Group, picture: Picture) -> Iterator[Step]:
        list_ = spot(part.id, self.by_key)
        if list_ is None:
            return
        named = picture.answers.things.get(part.id, {})
        for place, slug in enumerate(named):
            if part.named:
                yield Step(
                    list_, group.title, part.again if place else part.first, answered=True, list=part.id, slug=slug
                )
            for word in part.each:
                at = spot(f"{part.id}.{slug}.{word}", self.by_key)
                if at is not None:
                    yield Step(at, group.title, text_of(at), at.id in picture.answers.said, part.id, slug)
        if part.named:
            ended = part.id in picture.answers.ended
            yield Step(list_, group.title, part.again if named else part.first, ended, part.id)

    def current(self, answers: Answers) -> Step | None:
        """The first question that is not answered; None at the end."""
        return next((step for step in self.steps(answers) if not step.answered), None)

    def before(self, answers: Answers) -> Step | None:
        """The question answered last before the current one; None at the beginning."""
        last = None
        for step in self.steps(answers):
            if not step.answered:
                break
            last = step
        return last

    def left(self, answers: Answers) -> tuple[int, int]:
        """How many questions are answered, and how many there are as far as one can see."""
        all_ = [step.answered for step in self.steps(answers)]
        return sum(all_), len(all_)

    def offer(self, step: Step, answers: Answers) -> Supposed | None:
        """What an empty answer takes; None where an answer is needed."""
        if step.naming:
            return self._offered_things(step, answers)
        found = self.picture(answers).supposed(step.spot.id)
        if found is not None and found.offered:
            return found
        default = self.defaults.get(step.spot.ask.assumed)
        if default is not None:
            return Supposed(default.text, default.why)
        return None if step.spot.required else Supposed("", "it may stay open")

    def _offered_things(self, step: Step, answers: Answers) -> Supposed | None:
        picture = self.picture(answers)
        if answers.things.get(step.list):
            return Supposed("", "that is all")
        hidden = self.taken(answers, step.list)
        names = [name or slug for slug, name in picture.things(step.list).items() if slug not in hidden]
        known = step.list != "people.roles" or answers.similar is not None or "rough.people" in answers.said
        if names and known:
            return Supposed(", ".join(names), "usual for so many people")
        return None if step.spot.required and not optional(step) else Supposed("", "none")

    def accepts(self, step: Step, answers: Answers) -> str:
        """What may be typed."""
        if step.spot.pattern == "services":
            return f"{', '.join(self.picks(answers))}; or the name of a program"
        if step.naming:
            return "a name" if step.spot.required and not optional(step) else f"a name, or {NONE}"
        if step.spot.pattern == "data.sets.*.service":
            return ", ".join(self.picture(answers).things("services"))
        return accepted(step.spot, self.currency, self.words)

    def taken(self, answers: Answers, list_: str) -> Mapping[str, str]:
        """Short names that a further thing of a list can't have."""
        basics = BASICS if list_ == "services" and answers.said.get("usual.basics") != "no" else {}
        return {**basics, **answers.things.get(list_, {})}

    def picks(self, answers: Answers) -> Mapping[str, str]:
        """Words that name a service, those of the basics left out, and the profile each stands for."""
        picture = self.picture(answers)
        taken = {picture.value(f"services.{slug}.profile") for slug in self.taken(answers, "services")}
        free = [profile for profile in self.words.get("profile", ()) if profile not in taken]
        return {PLAIN.get(profile, profile): profile for profile in free}

    def choices(self, step: Step, answers: Answers) -> Sequence[str]:
        """The words to choose from, shown with the question; none where any words or an amount will do."""
        if step.spot.pattern == "services":
            return tuple(self.picks(answers))
        if step.spot.pattern == "data.sets.*.service":
            return tuple(self.picture(answers).things("services"))
        if step.spot.pattern in ROUGH_WORDS:
            return ROUGH_WORDS[step.spot.pattern](self.words)
        return self.closed(step)

    def closed(self, step: Step) -> Sequence[str]:
        """The few words that answer it, for boxes to tick."""
        return () if step.naming else closed_words(step.spot, self.words)

    def example(self, step: Step) -> str:
        """An answer as a person types it."""
        own = wording(step.spot).like
        if own or step.naming:
            return own
        default = self.defaults.get(step.spot.ask.assumed)
        return default.text if default is not None else like(step.spot, self.currency, self.words)


def agenda(
    sections: Sequence[type[Section]], defaults: Mapping[str, Default], words: Words, currency: str, today: str
) -> Agenda:
    """An interview over these sections; what a section must have and the meeting does not mention comes at the end."""
    by_key: dict[str, type[Section]] = {section.key: section for section in sections}
    brief = {key: section for key, section in by_key.items() if key not in LATER}
    needed = [at.pattern for at in every(brief) if at.required and not at.pattern.endswith(".*.name")]
    groups = tuple(replace(group, parts=tuple(_whole(part, needed) for part in group.parts)) for group in GROUPS)
    more = Group(MORE, tuple(_parts(needed, brief)))
    whole = (*groups, more) if more.parts else groups
    return Agenda({**by_key, Usual.key: Usual, Rough.key: Rough}, defaults, words, currency, today, whole)


def _whole(part: One | Many, needed: Sequence[str]) -> One | Many:
    """A small form with every answer that its things must have."""
    if isinstance(part, One) or not part.named:
        return part
    return replace(part, each=tuple(dict.fromkeys((*part.each, *_inside(part.id, needed)))))


def _inside(list_: str, needed: Sequence[str]) -> tuple[str, ...]:
    return tuple(pattern.removeprefix(f"{list_}.*.") for pattern in needed if pattern.startswith(f"{list_}.*."))


def _parts(needed: Sequence[str], by_key: ByKey) -> Iterator[One | Many]:
    """Questions of sections that the meeting does not know, in their own words."""
    known = {part.id for group in GROUPS for part in group.parts}
    for at in every(by_key):
        if at.pattern in known or ".*" in at.pattern:
            continue
        if not at.things and at.pattern in needed:
            yield One(at.pattern)
        elif at.things and (each := _inside(at.pattern, needed)):
            yield Many(at.pattern, f"{_told(by_key[at.pattern.split('.')[0]])} Name the first.", "The next?", each)


def _told(section: type[Section]) -> str:
    return (section.__doc__ or "").strip().splitlines()[0]


def wording(at: Spot) -> Wording:
    """How a place is asked about."""
    return WORDING.get(at.pattern, Wording())


def text_of(at: Spot) -> str:
    """The question in a client's words."""
    return wording(at).text or at.ask.question


def optional(step: Step) -> bool:
    """Whether the list's whole section may be left out, so that none is an answer."""
    return step.spot.pattern in ("visitors.events", "services", "lines", "devices")


def _own(step: Step, picture: Picture) -> bool:
    """Whether people wait for this service, so that it is asked about by itself."""
    return picture.value(f"services.{step.slug}.profile") not in ON_THEIR_OWN


ROUGH_WORDS: Mapping[str, Callable[[Words], Sequence[str]]] = {
    "rough.services": lambda words: [p for p in words.get("profile", ()) if p not in BASICS.values()],
    "rough.place": lambda _: tuple(PLACES),
}
"""Words to choose from among the ten answers."""
IDLE: Mapping[str, Callable[[Step, Picture], bool]] = {
    "visitors.join": lambda _, picture: not picture.things("visitors.events"),
    "lines.*.standby": lambda step, picture: next(iter(picture.things("lines")), "") == step.slug,
    "services.*.profile": lambda step, picture: not picture.things("services").get(step.slug),
    "services.*.users": lambda step, picture: picture.value(f"services.{step.slug}.profile") not in FOR_SOME,
    "services.*.down": _own,
    "services.*.lost": _own,
    "data.sets.*.adds": lambda step, picture: picture.value(f"data.sets.{step.slug}.kind") in ("database", "mail", "system"),
    "premises.cabinet.ventilated": lambda _, picture: picture.value("premises.cabinet.wanted") == "no",
}  # fmt: skip
"""Questions that some answers make idle."""


def _idle(step: Step, picture: Picture) -> bool:
    rule = IDLE.get(step.spot.pattern)
    return rule is not None and rule(step, picture)
