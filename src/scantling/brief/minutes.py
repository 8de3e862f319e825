"""The minutes of an interview as a file: what was said by id, with the questions as remarks."""

from collections.abc import Iterator, Mapping

from scantling.brief.answers import Answers, Similar
from scantling.brief.questions import NONE, Agenda, Step
from scantling.brief.splicing import written

ASKING, UNFINISHED, SIMILAR, SUPPOSED, SCALED = "asking", "unfinished", "similar", "supposed", "scaled"
OPENING = """\
# What was said so far, by question. scantling new goes on from here; it may be changed by hand.
# Nothing behind the colon: the assumption was taken, and stands in the brief as "assumed, ask".
"""


def minutes(agenda: Agenda, answers: Answers) -> str:
    """The file's text; read back it gives the same answers."""
    return "\n".join([OPENING, *_lines(agenda, answers)]) + "\n"


def _lines(agenda: Agenda, answers: Answers) -> Iterator[str]:
    yield f"{ASKING}: {answers.asking.value}"
    if unfinished := sorted(set(answers.things) - answers.ended):
        yield f"{UNFINISHED}: [{', '.join(unfinished)}]"
    done: set[str] = set()
    group = ""
    for step in agenda.steps(answers):
        if step.group != group and (step.answered or step.list in answers.things):
            group = step.group
            yield f"\n# {group}"
        yield from _step(step, answers, done)
    rest = [id_ for id_ in answers.said if id_ not in done]
    if lists := [one for one in sorted({*answers.things, *answers.ended}) if one not in done]:
        yield "\n# More named things"
        for list_ in lists:
            yield from _named(list_, answers.things.get(list_), ended=list_ in answers.ended)
    if rest:
        yield "\n# More answers"
        yield from (_line(id_, answers.said[id_]) for id_ in rest)
    if answers.similar is not None:
        yield from _similar(answers.similar)


def _step(step: Step, answers: Answers, done: set[str]) -> Iterator[str]:
    id_ = step.spot.id
    if id_ in done or not (step.answered or step.list in answers.things):
        return
    if step.naming:
        done.add(id_)
        yield f"# {step.text}"
        yield from _named(id_, answers.things.get(id_), ended=id_ in answers.ended)
    elif step.answered:
        done.add(id_)
        yield f"# {step.text}"
        yield _line(id_, answers.said[id_])


def _line(id_: str, text: str, indent: str = "") -> str:
    return f"{indent}{id_}: {written(text, None)}" if text else f"{indent}{id_}:"


def _named(list_: str, named: Mapping[str, str] | None, *, ended: bool, indent: str = "") -> Iterator[str]:
    if named:
        yield f"{indent}{list_}:"
        yield from (_line(slug, name, f"{indent}  ") for slug, name in named.items())
    elif named is not None:
        yield f"{indent}{list_}: {NONE}"
    elif ended:
        yield f"{indent}{list_}:"


def _similar(similar: Similar) -> Iterator[str]:
    yield "\n# From a similar office; all of it is assumed, and to be asked."
    yield _line(SIMILAR, similar.name)
    yield f"{SUPPOSED}:"
    for list_, named in similar.things.items():
        yield from _named(list_, named, ended=True, indent="  ")
    yield from (_line(id_, text, "  ") for id_, text in similar.said.items())
    if similar.scaled:
        yield "# What these were there, before they were scaled."
        yield f"{SCALED}:"
        yield from (_line(id_, text, "  ") for id_, text in similar.scaled.items())
