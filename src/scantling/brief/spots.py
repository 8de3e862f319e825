"""Where an id of the brief leads: to one answer, to a list of named things, or nowhere; and reads an answer there."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from re import ASCII, fullmatch
from typing import Any

from scantling.brief.loading import SLUG
from scantling.brief.sections import Ask, Mapped, Section, ask_of, group, is_mapping, reader
from scantling.brief.wording import sample
from scantling.figures.placed import Text
from scantling.figures.quantities import Limits
from scantling.figures.spelled import KINDS, nearest, shown
from scantling.figures.units import Unit

ByKey = Mapping[str, type[Section]]
Words = Mapping[str, Sequence[str]]


@dataclass(frozen=True, slots=True)
class Spot:
    """One place: its id, the same with * for names, and what declares it."""

    id: str
    pattern: str
    section: type[Section]
    field: Any
    things: bool = False
    """Whether named things stand here; otherwise one answer."""
    limits: Limits | None = None

    @property
    def ask(self) -> Ask:
        """What the field says beside its type."""
        return ask_of(self.field)

    @property
    def unit(self) -> Unit[Any]:
        """The unit of the answer."""
        one = reader(self.field)
        assert one is not None, "only lists have no unit"
        return one.unit

    @property
    def required(self) -> bool:
        """Whether the brief can't do without."""
        return bool(self.field.is_required()) and not self.ask.assumed


def things_of(section: type[Section]) -> Any:
    """The field that holds a whole section's named things, None where it is no list."""
    return section.model_fields["items"] if issubclass(section, Mapped) else None


def spot(id_: str, by_key: ByKey) -> Spot | None:
    """The place that an id names; None where there is none, or where a group stands."""
    made = _walked(id_, by_key)
    if made is None or made.field is None:
        return None
    return made if made.things or reader(made.field) is not None else None


def opens(id_: str, by_key: ByKey) -> bool:
    """Whether a group of answers stands at an id."""
    return _walked(id_, by_key) is not None and spot(id_, by_key) is None


def list_of(id_: str, by_key: ByKey) -> tuple[str, str, str]:
    """The list that an answer's thing is in, the thing's short name, and the words that follow; empty where there is none."""
    steps = id_.split(".")
    for length in range(1, len(steps)):
        found = spot(".".join(steps[:length]), by_key)
        if found is not None and found.things:
            return found.id, steps[length], ".".join(steps[length + 1 :])
    return "", "", ""


def _walked(id_: str, by_key: ByKey) -> Spot | None:
    steps = id_.split(".")
    section = by_key.get(steps[0])
    if section is None:
        return None
    made: Spot | None = Spot(id_, steps[0], section, things_of(section), things=issubclass(section, Mapped))
    for step in steps[1:]:
        made = _further(made, step) if made is not None else None
    return made


def _further(at: Spot, step: str) -> Spot | None:
    """One word on: a name among things, or a field of a group."""
    if at.things:
        if step != "*" and not fullmatch(SLUG, step, ASCII):
            return None
        within = group(at.field)
        return Spot(at.id, f"{at.pattern}.*", within or at.section, None if within else at.field)
    if at.field is not None and group(at.field) is None:
        return None
    section = at.section if at.field is None else group(at.field)
    field = section.model_fields.get(step) if section is not None else None
    if section is None or field is None:
        return None
    return Spot(at.id, f"{at.pattern}.{step}", section, field, is_mapping(field), section.field_limits.get(step))


def every(by_key: ByKey) -> Iterator[Spot]:
    """Every place of a brief, names as *, in the order of the sections."""
    for key, section in by_key.items():
        yield from _within(key, section, by_key)


def _within(path: str, section: type[Section], by_key: ByKey) -> Iterator[Spot]:
    if issubclass(section, Mapped):
        yield from _list(path, things_of(section), by_key)
        return
    for name, field in section.model_fields.items():
        id_ = f"{path}.{name}"
        within = group(field)
        if is_mapping(field):
            yield from _list(id_, field, by_key)
        elif within is not None:
            yield from _within(id_, within, by_key)
        elif (found := spot(id_, by_key)) is not None:
            yield found


def _list(path: str, field: Any, by_key: ByKey) -> Iterator[Spot]:
    if (found := spot(path, by_key)) is not None:
        yield found
    within = group(field)
    if within is not None:
        yield from _within(f"{path}.*", within, by_key)
    elif (found := spot(f"{path}.*", by_key)) is not None:
        yield found


def near(id_: str, by_key: ByKey) -> str:
    """The id that is nearest in spelling, with the names as they were written; empty when none is near."""
    known = {one.pattern: one for one in every(by_key)}
    steps = id_.split(".")
    patterns = [p.split(".") for p in known]
    same = [p for p in patterns if len(p) == len(steps)]
    filled = [".".join(s if k == "*" else k for k, s in zip(p, steps, strict=True)) for p in same]
    return nearest(id_, filled, 0.7)


def fault(at: Spot, typed: str, currency: str, words: Words) -> str:
    """What is wrong with an answer, in the words of the brief's own readers; empty when it is taken."""
    raw = Text(typed)
    raw.file, raw.line, raw.column, raw.path = "", 1, 1, at.id
    one = reader(at.field)
    assert one is not None, "only answers are read"
    try:
        if typed.strip():
            at.ask.fits(typed, words)
        one.figure(raw, {"currency": currency, "words": words}, at.limits)
    except ValueError as wrong:
        return str(wrong)
    return ""


def accepted(at: Spot, currency: str, words: Words) -> str:
    """What is taken here: the closed words, the range, or the kind of answer."""
    if among := closed_words(at, words):
        return ", ".join(among)
    if not at.unit.numeric:
        return KINDS[at.unit.kind]
    return at.limits.says(currency) if at.limits is not None else ""


def closed_words(at: Spot, words: Words) -> tuple[str, ...]:
    """The words that are taken here, if they are few."""
    if at.ask.among in words:
        return tuple(words[at.ask.among])
    kind = at.unit.kind
    if kind is bool:
        return "yes", "no"
    return tuple(str(member.value) for member in kind) if hasattr(kind, "__members__") else ()


def like(at: Spot, currency: str, words: Words) -> str:
    """An answer as a person types it."""
    among = closed_words(at, words)
    return sample(at.unit, at.ask.like or (among[0] if among else ""), currency).strip('"')


def as_shown(text: str) -> str:
    """An answer as the screen may show it."""
    return shown(text, 200)
