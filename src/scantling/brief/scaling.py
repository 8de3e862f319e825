"""Takes a similar office's brief for another number of people: what goes with heads is scaled, the rest is kept.

The rule: heads, devices, visitors, users, data and files in proportion to the heads, to the nearest whole number (data
to two digits), at least 1. Heads are shared out so that their sum is what was asked, by largest remainder (as seats of
a parliament are).
"""

from collections.abc import Mapping
from re import ASCII, fullmatch

from scantling.brief.answers import Answers, Similar, two_digits, whole
from scantling.brief.hearing import of_brief
from scantling.brief.meeting import PERSONAL
from scantling.brief.questions import Agenda
from scantling.brief.spots import fault, spot

HEADS = "people.roles.*.heads"
COUNTS = ("devices.*.count", "visitors.events.*.people", "services.*.users", "data.sets.*.files")
SIZES = ("data.sets.*.size", "data.sets.*.adds")
KEPT_PERSONAL = ("office.country", "support.reach", "budget.tax")
ROUGH_FILES = 1000
"""Above so many files a count is told with two digits."""


def similar(agenda: Agenda, text: str, file: str, people: int | None) -> Similar:
    """A brief but for what is personal, for so many people (None: as many as there). Raises BriefError, ValueError."""
    answers = of_brief(agenda, text, file)
    name = answers.said.get("office.name", file)
    kept = {i: t for i, t in answers.said.items() if i not in PERSONAL or i in KEPT_PERSONAL}
    changed = _scaled(agenda, Answers(kept, answers.things), people) if people is not None else {}
    was = {id_: kept[id_] for id_ in changed}
    return Similar(name, {**kept, **changed}, answers.things, was)


def _scaled(agenda: Agenda, answers: Answers, people: int) -> Mapping[str, str]:
    """The answers that change, by id."""
    roles = {id_: whole(text) for id_, text in answers.said.items() if _is(id_, HEADS)}
    before = sum(roles.values())
    if not before:
        message = "nobody works in that office; heads are what it is scaled by"
        raise ValueError(message)
    made = {id_: str(heads) for id_, heads in shared(roles, people).items()}
    factor = people / before
    for id_, text in answers.said.items():
        if any(_is(id_, pattern) for pattern in (*COUNTS, *SIZES)):
            made[id_] = _amount(text, factor) if any(_is(id_, p) for p in SIZES) else _count(id_, text, factor)
    return {id_: text for id_, text in made.items() if text != answers.said[id_] and _fits(agenda, id_, text)}


def shared(parts: Mapping[str, int], total: int) -> Mapping[str, int]:
    """Parts in proportion whose sum is the total, each at least 1 (so that few may come to more than the total)."""
    before = sum(parts.values())
    exact = {one: count * total / before for one, count in parts.items()}
    made = {one: max(1, int(share)) for one, share in exact.items()}
    for one in sorted(parts, key=lambda one: (int(exact[one]) - exact[one], one)):
        if sum(made.values()) >= total:
            break
        if exact[one] >= 1:
            made[one] += 1
    return made


def _count(id_: str, text: str, factor: float) -> str:
    """A count, half up, at least 1."""
    number = max(1, int(whole(text) * factor + 0.5))
    many = id_.endswith(".files") and number > ROUGH_FILES
    return str(int(float(two_digits(number)))) if many else str(number)


def _amount(text: str, factor: float) -> str:
    """An amount in its own unit, with two digits; nought stays nought."""
    found = fullmatch(r"([\d.]+) ?(\D.*)", text, ASCII)
    if found is None or not float(found[1]):
        return text
    return f"{two_digits(float(found[1]) * factor)} {found[2]}"


def _fits(agenda: Agenda, id_: str, text: str) -> bool:
    at = spot(id_, agenda.by_key)
    return at is not None and not fault(at, text, agenda.currency, agenda.words)


def _is(id_: str, pattern: str) -> bool:
    steps, parts = id_.split("."), pattern.split(".")
    return len(steps) == len(parts) and all(p in ("*", s) for p, s in zip(parts, steps, strict=True))
