"""The interview as a machine of states: what was said, what is typed now, what is said then. No file, no terminal."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from re import ASCII, fullmatch

from scantling.brief import rough
from scantling.brief.answers import Answers, slug_of
from scantling.brief.loading import SLUG
from scantling.brief.questions import NONE, Agenda, Step, optional, wording
from scantling.brief.spots import as_shown, fault, spot
from scantling.brief.supposing import SLUGS
from scantling.figures.spelled import nearest, quoted, spelled

STOP, BACK, HELP = "stop", "back", "?"
COMMANDS = (STOP, BACK, HELP, NONE)
STEMS: Mapping[str, str] = {
    "people.roles": "role", "devices": "things", "visitors.events": "event", "premises.circuits": "circuit",
    "lines": "line", "services": "service", "data.sets": "data",
}  # fmt: skip
"""The short name of a thing whose own name has no letter that a short name may hold."""


@dataclass(frozen=True, slots=True)
class Turn:
    """What came of one typed line: the answers now, what is said back, and whether the person wants to stop."""

    answers: Answers
    says: tuple[str, ...] = ()
    stop: bool = False
    taken: bool = False
    """Whether an answer was taken, so that the price may have moved."""


@dataclass(frozen=True, slots=True)
class Put:
    """A question as it is put: its title, its words, the words to choose from, and what an empty answer takes."""

    group: str
    text: str
    choices: str
    hint: str
    about: str = ""
    """The small form that it belongs to, empty where it stands alone."""


def asked(agenda: Agenda, step: Step, answers: Answers) -> Put:
    """The question with all that a person sees before typing."""
    about = agenda.picture(answers).name(step.list, step.slug) if step.slug and not step.naming else ""
    text = f"{as_shown(about)}: {step.text}" if about else step.text
    offer = agenda.offer(step, answers)
    example = agenda.example(step)
    needed = f"such as {example}" if example else "needs an answer"
    hint = needed if offer is None else as_shown(offer.text) or offer.why
    form = f"{step.list}.{step.slug}" if step.slug and not step.naming else ""
    return Put(step.group, text, ", ".join(agenda.choices(step, answers)), hint, form)


def take(agenda: Agenda, answers: Answers, typed: str) -> Turn:
    """One typed line. Never raises: a wrong answer is told, and the same question comes again."""
    step = agenda.current(answers)
    word = typed.strip()
    if step is None or word in (STOP, BACK, HELP):
        return _command(agenda, answers, step, word)
    if step.slug and not step.naming and (renamed := fullmatch(rf"short ({SLUG})", word, ASCII)):
        return _renamed(agenda, answers, step, renamed[1])
    if not word:
        return _empty(agenda, answers, step)
    said = _plain(typed)
    return _named(agenda, answers, step, said) if step.naming else _answered(agenda, answers, step, said)


def _command(agenda: Agenda, answers: Answers, step: Step | None, word: str) -> Turn:
    if word == BACK:
        return _back(agenda, answers)
    if word == STOP:
        return Turn(answers, ("Saved; go on whenever you like.",), stop=True)
    return (
        Turn(answers, ("Everything is answered.",), stop=True)
        if step is None
        else Turn(answers, told(agenda, step, answers))
    )


def _plain(typed: str) -> str:
    r"""An answer that is itself a command's word is typed with a stroke before it: \stop."""
    found = fullmatch(r"\\(\\*(?:.*))", typed.strip())
    return found[1] if found and found[1].lstrip("\\") in COMMANDS else typed


def _back(agenda: Agenda, answers: Answers) -> Turn:
    """The question before comes again; what was said to it is forgotten."""
    last = agenda.before(answers)
    if last is None:
        return Turn(answers, ("This is the first question.",))
    if not last.naming:
        return Turn(answers.without(last.spot.id), taken=True)
    if last.slug:
        return Turn(answers.unnaming(last.list, last.slug), taken=True)
    return Turn(answers.opening(last.list), taken=True)


def _renamed(agenda: Agenda, answers: Answers, step: Step, new: str) -> Turn:
    named = agenda.taken(answers, step.list)
    if new in named and new != step.slug:
        return Turn(answers, (f"{new} is the short name of another; the short names are {', '.join(named)}.",))
    changed = answers.renaming(step.list, step.slug, new)
    for id_, text in changed.said.items():
        if (
            step.list == "services"
            and id_.startswith("data.sets.")
            and id_.endswith(".service")
            and text == step.slug
        ):
            changed = changed.saying(id_, new)
    return Turn(changed, (f"Its short name is {new} now.",))


def _empty(agenda: Agenda, answers: Answers, step: Step) -> Turn:
    """Nothing typed: the assumption is taken, or a list is complete."""
    offer = agenda.offer(step, answers)
    if offer is None:
        example = agenda.example(step)
        hint = f", like {example}" if example else ""
        return Turn(answers, (f"This one needs an answer{hint}. Write ? to hear why, stop to go on another time.",))
    if step.naming:
        says = (f"Taken as {offer.text}: assumed, ask.",) if offer.text else ()
        return Turn(answers.ending(step.list), says, taken=True)
    says = (f"{offer.text}: {'as said before' if offer.said else 'assumed, ask'}.",) if offer.text else ()
    return Turn(answers.saying(step.spot.id, ""), says, taken=True)


def _answered(agenda: Agenda, answers: Answers, step: Step, said: str) -> Turn:
    """One answer, read by the brief's own reader."""
    wrong = wrong_answer(agenda, answers, step, said)
    if not wrong:
        return Turn(answers.saying(step.spot.id, _kept(step, said)), taken=True)
    return Turn(answers, (sentence(wrong),))


def sentence(says: str) -> str:
    """With a capital letter and an end."""
    return f"{says[0].upper()}{says[1:]}" + ("" if says.endswith((".", "?", "!")) else ".")


def wrong_answer(agenda: Agenda, answers: Answers, step: Step, said: str) -> str:
    """What is wrong with an answer; empty when it is taken."""
    at, text = step.spot, _kept(step, said)
    wrong = fault(at, text, agenda.currency, agenda.words)
    if wrong:
        return wrong
    if at.pattern.startswith("rough."):
        return rough.fault(at.pattern, text, agenda.currency, agenda.words.get("profile", ()))
    rule = ALSO.get(at.pattern)
    return rule(agenda, answers, text) if rule is not None else ""


def _kept(step: Step, said: str) -> str:
    """Words stay as they were typed; an amount loses blanks at its ends."""
    return said if step.spot.unit.kind is str and not step.spot.ask.among else said.strip()


def _one_of(agenda: Agenda, answers: Answers, text: str) -> str:
    known = agenda.picture(answers).things("services")
    if text in known:
        return ""
    close = nearest(text, known, 0.5)
    hint = f"; did you mean {close}?" if close else ""
    return f"{quoted(text)} is not one of the services named here: {', '.join(known)}{hint}"


def _our_currency(agenda: Agenda, _: Answers, text: str) -> str:
    right = agenda.currency
    return "" if text == right else f"the catalogue's prices are in {right}; write {right}"


ALSO: Mapping[str, Callable[[Agenda, Answers, str], str]] = {
    "data.sets.*.service": _one_of,
    "office.currency": _our_currency,
}
"""What must hold beyond the reader of the brief."""


def _named(agenda: Agenda, answers: Answers, step: Step, said: str) -> Turn:
    """The name of the next thing, or several picks of services, or none."""
    first = not answers.things.get(step.list)
    if said.strip() == NONE and said == said.strip() and first:
        return _none(agenda, answers, step)
    if step.list == "services" and (picks := _picked(agenda, answers, said)):
        for profile in picks:
            slug = slug_of(SLUGS.get(profile, profile), agenda.taken(answers, "services"), "service")
            answers = answers.naming("services", slug, "").saying(f"services.{slug}.profile", profile)
        return Turn(answers, taken=True)
    try:
        spelled(said, str)
    except ValueError as wrong:
        return Turn(answers, (sentence(str(wrong)),))
    slug = slug_of(said, agenda.taken(answers, step.list), STEMS.get(step.list, "thing"))
    says = (f"Its short name is {slug}; to give it another, write: short NAME",)
    return Turn(answers.naming(step.list, slug, said), says, taken=True)


def _none(agenda: Agenda, answers: Answers, step: Step) -> Turn:
    accepts = agenda.accepts(step, answers)
    if step.spot.required and not optional(step):
        return Turn(answers, (f"At least one is needed; {accepts} is taken here.",))
    return Turn(answers.ending(step.list, none=True), taken=True)


def _picked(agenda: Agenda, answers: Answers, said: str) -> list[str]:
    """Service profiles that a line of words with commas names; empty when one of them is none."""
    words = agenda.picks(answers)
    known = {**{plain.casefold(): profile for plain, profile in words.items()}, **{p: p for p in words.values()}}
    parts = [part.strip().casefold() for part in said.split(",")]
    found = [known[part] for part in parts if part in known]
    return list(dict.fromkeys(found)) if len(found) == len(parts) else []


def told(agenda: Agenda, step: Step, answers: Answers) -> tuple[str, ...]:
    """Why we ask, what is taken if it is left out, what may be typed, and an example."""
    why = wording(step.spot).why
    offer = agenda.offer(step, answers)
    lines = [f"Why we ask: {why}"] if why else []
    if offer is None:
        lines.append("It needs an answer.")
    elif offer.text:
        reason = f" ({offer.why})" if offer.why else ""
        lines.append(f"If left out: {offer.text}, assumed, ask{reason}.")
    else:
        lines.append(f"If left out: {offer.why}.")
    if accepts := agenda.accepts(step, answers):
        lines.append(f"Taken here: {accepts}.")
    if example := agenda.example(step):
        lines.append(f"For example: {example}")
    return tuple(lines)


def known_id(agenda: Agenda, id_: str) -> bool:
    """Whether an id can be answered at all."""
    return spot(id_, agenda.by_key) is not None
