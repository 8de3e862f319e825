"""The interview as a form on paper: every question in its order, what is assumed, what is known, room for the rest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scantling.brief.answers import Answers, Asking
from scantling.brief.interview import asked
from scantling.brief.loading import OFFICE
from scantling.brief.meeting import PLAIN, Group, Many, One
from scantling.brief.questions import Agenda, Step, text_of
from scantling.brief.spots import Spot, closed_words, spot
from scantling.figures.units import CURRENCY

MOST_BOXES = 4
"""More words than these are listed with the question and written by hand."""
BLANKS = {
    "people.roles": 5, "devices": 10, "visitors.events": 3, "premises.circuits": 2, "lines": 2, "services": 3, "data.sets": 5,
}  # fmt: skip
"""Rows left blank for named things (common practice, no source)."""
USUAL_BLANKS = 3
MOST_ROWS, MOST_LETTERS = 10, 600
"""So many known rows, and letters in them, fit on a page for certain, on either paper."""
OPEN = (f"{OFFICE}.as_of", "budget.once")
"""Beside these no assumption is printed: it would be today's, or a guess from a guess."""
SHORT = {
    "heads": "people", "present": "there at once", "kind": "kind", "zone": "network", "doors": "doors open",
    "people": "at most", "rating": "breaker", "already": "load on it", "lines.*.down": "to you", "up": "from you",
    "monthly": "a month", "standby": "standby", "users": "for how many", "adds": "added a year", "service": "kept by",
    "copied": "copied", "profile": "most like",
}  # fmt: skip
"""Heads of columns, where the field's own word says too little."""


@dataclass(frozen=True, slots=True)
class Line:
    """One question: its number, words, the words it may be answered with, unit, assumption, and what is known."""

    number: str
    text: str
    words: Sequence[str]
    unit: str
    assumed: str
    known: str
    boxes: bool
    """Whether the words are boxes to tick; otherwise they are told."""


@dataclass(frozen=True, slots=True)
class Column:
    """One answer of a small form: the number of its question, a short head, its unit, and words to tick."""

    number: str
    head: str
    unit: str
    boxes: Sequence[str]


@dataclass(frozen=True, slots=True)
class Table:
    """Named things: the question that names them, those of the columns, what is known, and how many rows are blank."""

    naming: Line
    questions: Sequence[Line]
    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]
    blank: int
    whole: bool = True
    """Whether it fits on a page, and is not to be broken."""
    picks: Sequence[str] = ()
    """Words to tick beside the rows; those known already stand in `picked`."""
    picked: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """Questions under one title."""

    title: str
    items: Sequence[Line | Table]


@dataclass(frozen=True, slots=True)
class Form:
    """The whole sheet."""

    client: str
    date: str
    paper: str
    parts: Sequence[Part]


def form(agenda: Agenda, answers: Answers, paper: str = "") -> Form:
    """The sheet of an interview, with what is known in it; `paper` instead of the office's own, A4 where nobody says."""
    return _Numbered(agenda, answers).form(paper)


class _Numbered:
    """Numbers the questions as they come."""

    def __init__(self, agenda: Agenda, answers: Answers) -> None:
        self.agenda, self.answers = agenda, answers
        self.picture = agenda.picture(answers)
        self.count = 0

    def form(self, paper: str) -> Form:
        parts = [Part(group.title, tuple(self._items(group))) for group in self.agenda.groups]
        said = self.answers.said
        size = paper or self.picture.value(f"{OFFICE}.paper") or self.agenda.defaults["office.paper"].text
        return Form(said.get("office.name", ""), said.get("office.as_of", ""), size, tuple(parts))

    def _items(self, group: Group) -> Iterator[Line | Table]:
        for part in group.parts:
            at = spot(part.id, self.agenda.by_key)
            if at is None:
                continue
            if isinstance(part, One):
                yield self._line(at, group.title)
            else:
                yield self._table(part, group.title)

    def _next(self) -> str:
        self.count += 1
        return str(self.count)

    def _line(self, at: Spot, title: str, *, thing: bool = False) -> Line:
        """A question; within a small form nothing is known of it, for each thing has its own row."""
        step = Step(at, title, text_of(at), answered=False)
        agenda = self.agenda
        put = asked(agenda, step, Answers(asking=Asking.ALL, similar=self.answers.similar))
        offer = None if thing else agenda.offer(step, self.answers)
        default = agenda.defaults.get(at.ask.assumed)
        assumed = default.text if thing and default else offer.text if offer else ""
        words = tuple(closed_words(at, agenda.words))
        known = "" if thing else self.picture.told(at.id)
        assumed = "" if at.id in OPEN else assumed
        boxes = 0 < len(words) <= MOST_BOXES
        return Line(self._next(), put.text, words, self._unit(at), assumed, known, boxes)

    def _unit(self, at: Spot) -> str:
        return at.unit.symbol.replace(CURRENCY, self.agenda.currency)

    def _table(self, part: Many, title: str) -> Table:
        text = (
            f"{part.first.split('?', maxsplit=1)[0]}?"
            if part.first
            else "For programs that people wait for, if not as above:"
        )
        naming = Line(self._next(), text, (), "", "", "", boxes=False)
        spots = [one for word in part.each if (one := spot(f"{part.id}.*.{word}", self.agenda.by_key)) is not None]
        questions = [self._line(one, title, thing=True) for one in spots]
        columns = [
            Column(
                q.number, SHORT.get(f"{part.id}.*.{word}", SHORT.get(word, word)), q.unit, q.words if q.boxes else ()
            )
            for q, word in zip(questions, part.each, strict=True)
        ]
        named = self.answers.things.get(part.id, {})
        rows = [
            [name or self._plain(part.id, slug), *(self.picture.told(f"{part.id}.{slug}.{word}") for word in part.each)]
            for slug, name in named.items() if name or part.id != "services"
        ]  # fmt: skip
        blank = max(BLANKS.get(part.id, USUAL_BLANKS) - len(rows), 1)
        picks = (
            tuple(PLAIN.get(p, p) for p in self.agenda.picks(Answers()))
            if part.id == "services" and part.named
            else ()
        )
        picked = tuple(self._plain(part.id, slug) for slug, name in named.items() if not name) if picks else ()
        letters = sum(len(cell) for row in rows for cell in row)
        whole = len(rows) <= MOST_ROWS and letters <= MOST_LETTERS
        return Table(naming, questions, columns, rows, blank, whole, picks, picked)

    def _plain(self, list_: str, slug: str) -> str:
        """What a thing without a name of its own is called."""
        profile = self.picture.value(f"{list_}.{slug}.profile") if list_ == "services" else ""
        return PLAIN.get(profile, slug)
