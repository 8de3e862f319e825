"""What was answered at an interview, in order, and any of it asked again."""

from dataclasses import dataclass, replace

from scantling.api.interviewing import Meeting
from scantling.brief.questions import Step

END = "end of "


@dataclass(frozen=True)
class Said:
    """One answer: its key, the title it stands under, the question, what was said; `assumed` where the house's word was taken."""

    key: str
    group: str
    about: str
    question: str
    answer: str
    assumed: bool
    named: bool = False
    """Whether it is the name of a thing, which goes with all that was said of it."""


def said(meeting: Meeting) -> tuple[Said, ...]:
    """Every question that is answered, in the order in which they were asked."""
    return tuple(_said(meeting, step) for step in meeting.agenda.steps(meeting.answers) if step.answered)


def again(meeting: Meeting, key: str) -> str:
    """Let one question be asked again; what had been answered, to begin with. An unknown key changes nothing.

    The name of a thing is asked again without the thing: what was said of it is forgotten. Raises UserError when the answers
    can't be kept.
    """
    step = next((one for one in meeting.agenda.steps(meeting.answers) if one.answered and _key(one) == key), None)
    if step is None:
        return ""
    answers, before = meeting.answers, ""
    if not step.naming:
        before = answers.said.get(step.spot.id, "")
        answers = answers.without(step.spot.id)
    elif step.slug:
        before = answers.things[step.list][step.slug]
        answers = answers.unnaming(step.list, step.slug).opening(step.list)
    else:
        answers = answers.opening(step.list)
    meeting.answers = replace(answers)
    meeting.save()
    return before


def _key(step: Step) -> str:
    if not step.naming:
        return step.spot.id
    return f"{step.list}.{step.slug}" if step.slug else f"{END}{step.list}"


def _said(meeting: Meeting, step: Step) -> Said:
    answers = meeting.answers
    about = meeting.agenda.picture(answers).name(step.list, step.slug) if step.slug and not step.naming else ""
    if step.naming:
        told = answers.things[step.list][step.slug] or step.slug if step.slug else _ended(meeting, step)
        return Said(_key(step), step.group, about, step.text, told, assumed=False, named=bool(step.slug))
    told = answers.said.get(step.spot.id, "")
    if told:
        return Said(_key(step), step.group, about, step.text, told, assumed=False)
    offer = meeting.agenda.offer(step, answers)
    supposed = (offer.text or offer.why) if offer is not None else ""
    return Said(_key(step), step.group, about, step.text, supposed, assumed=offer is not None and bool(offer.text))


def _ended(meeting: Meeting, step: Step) -> str:
    """How a list ended: that is all, none, or what is usual."""
    answers = meeting.answers
    if answers.things.get(step.list):
        return "that is all"
    if step.list in answers.things:
        return "none"
    offer = meeting.agenda.offer(step, answers)
    return (offer.text or offer.why) if offer is not None else "none"
