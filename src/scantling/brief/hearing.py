"""Reads a file of answers, from an interview that was stopped or from a script, and tells all mistakes in it at once."""

from collections.abc import Mapping
from dataclasses import replace
from re import ASCII, fullmatch
from typing import Any

from scantling.brief.answers import Answers, Asking, Similar, slug_of
from scantling.brief.interview import STEMS, take, wrong_answer
from scantling.brief.loading import SLUG, BriefError
from scantling.brief.meeting import LATER
from scantling.brief.minutes import ASKING, SCALED, SIMILAR, SUPPOSED, UNFINISHED
from scantling.brief.questions import NONE, Agenda, Step, text_of
from scantling.brief.spots import list_of, near, opens, spot
from scantling.figures.composing import composed
from scantling.figures.placed import Mistake, Node, Text, WrittenError
from scantling.figures.spelled import nearest, shown, spelled

At = tuple[int, int]
HEADS = (ASKING, UNFINISHED, SIMILAR, SUPPOSED, SCALED)


class Hearing:
    """One reading of a file: the answers so far, where each stands, and what is wrong."""

    def __init__(self, agenda: Agenda, file: str) -> None:
        self.agenda, self.file = agenda, file
        self.answers = Answers()
        self.mistakes: list[Mistake] = []
        self.places: dict[str, At] = {}

    def wrong(self, at: At, id_: str, says: str) -> None:
        """One more mistake."""
        self.mistakes.append(Mistake(self.file, *at, shown(id_, 100), says))

    def place(self, id_: str) -> At:
        """Where an id, or what it belongs to, stands; the file's beginning where nothing of it does."""
        while id_ and id_ not in self.places:
            id_ = id_.rpartition(".")[0]
        return self.places.get(id_, (1, 1))

    def below(self, id_: str, value: Any, at: At) -> None:
        """Everything that stands at an id."""
        self.places.setdefault(id_, at)
        found = spot(id_, self.agenda.by_key)
        if id_.split(".", maxsplit=1)[0] in LATER:
            self.wrong(at, id_, "this is said about a plan that is there; write it into the brief")
        elif found is not None and found.things:
            self._things(id_, value, at)
        elif found is not None and isinstance(value, Text):
            self._answer(id_, value)
        elif found is None and isinstance(value, Node) and opens(id_, self.agenda.by_key):
            for key, inner in value.items():
                self.below(f"{id_}.{key}", inner, value.keys_at[key])
        else:
            group = found is not None or opens(id_, self.agenda.by_key)
            self.wrong(at, id_, _another_shape(found is not None) if group else self._unknown(id_))

    def _unknown(self, id_: str) -> str:
        head, _, rest = id_.partition(".")
        close = near(id_, self.agenda.by_key)
        if not close and (key := nearest(head, self.agenda.by_key, 0.7)) and key != head:
            close = f"{key}.{rest}".rstrip(".")
        return "there is no such question" + (f"; did you mean {close}?" if close else "")

    def _answer(self, id_: str, value: Text) -> None:
        self.places[id_] = (value.line, value.column)
        list_, slug, word = list_of(id_, self.agenda.by_key)
        if word == "name":
            self._name(list_, slug, value)
            return
        if list_ and slug not in self.answers.things.get(list_, {}):
            self.answers = self.answers.naming(list_, slug, "")
        self.answers = self.answers.saying(id_, str(value))

    def _things(self, list_: str, value: Any, at: At) -> None:
        """Names of things: one, a list of them, short names with names, or short names with answers."""
        if isinstance(value, Node):
            for slug, inner in value.items():
                self._thing(list_, slug, inner, value.keys_at[slug])
        elif isinstance(value, Text) and value in ("", NONE):
            self.answers = self.answers.ending(list_, none=bool(value))
        else:
            for name in [value] if isinstance(value, Text) else value:
                if isinstance(name, Text) and name.strip():
                    self._name(list_, "", name)
                else:
                    self.wrong(at, list_, "names are wanted here, like [Office, Shop]")

    def _thing(self, list_: str, slug: str, value: Any, at: At) -> None:
        id_ = f"{list_}.{slug}"
        if not fullmatch(SLUG, slug, ASCII):
            says = (
                "short names are small letters, digits and hyphens, at most 40; the full name stands behind the colon"
            )
            self.wrong(at, id_, says)
            return
        self.places[id_] = at
        plain = spot(id_, self.agenda.by_key) is not None
        if isinstance(value, Text) and plain:  # a list of answers, such as networks by the name of a party
            self._answer(id_, value)
        elif isinstance(value, Text):
            self._name(list_, slug, value)
        elif isinstance(value, Node):
            self.answers = self.answers.naming(list_, slug, self.answers.things.get(list_, {}).get(slug, ""))
            for key, inner in value.items():
                self.below(f"{id_}.{key}", inner, value.keys_at[key])
        else:
            self.wrong(at, id_, "a name or a group of answers is wanted here, not a list")

    def _name(self, list_: str, slug: str, name: Text) -> None:
        at = (name.line, name.column)
        try:
            if name:
                spelled(str(name), str)
        except ValueError as wrong:
            self.wrong(at, f"{list_}.{slug}".rstrip("."), str(wrong))
            return
        profiles = self.agenda.words.get("profile", ())
        made = slug or slug_of(name, self.agenda.taken(self.answers, list_), STEMS.get(list_, "thing"))
        self.places.setdefault(f"{list_}.{made}", at)
        pick = list_ == "services" and not slug and str(name) in profiles
        self.answers = self.answers.naming(list_, made, "" if pick else str(name))
        if pick:
            self.answers = self.answers.saying(f"services.{made}.profile", str(name))

    def check(self) -> None:
        """Every answer by the brief's own readers."""
        for id_, text in self.answers.said.items():
            at = spot(id_, self.agenda.by_key)
            if at is None or not text:
                continue
            step = Step(at, "", "", answered=True)
            if says := wrong_answer(self.agenda, self.answers, step, text):
                self.wrong(self.place(id_), id_, says)


def _another_shape(one: bool) -> str:  # noqa: FBT001 - a plain yes or no
    return (
        "one answer is wanted here, not a list or a group"
        if one
        else "a group of answers is wanted here, each with its word"
    )


def heard(agenda: Agenda, text: str, file: str, *, whole: bool = False, begun: Answers | None = None) -> Answers:
    """The answers of a file. With `whole`, what is left out is taken as assumed, and what can't be is a mistake.

    `begun` says how much is asked and which office is similar, instead of the file.
    Raises BriefError with file:line:column for every mistake.
    """
    hearing = Hearing(agenda, file)
    try:
        tree, mistakes = composed(text, file)
    except WrittenError as wrong:
        raise BriefError(list(wrong.mistakes)) from None
    hearing.mistakes += mistakes
    for key, value in tree.items():
        if key not in HEADS:
            hearing.below(key, value, tree.keys_at[key])
    _head(hearing, tree)
    if begun is not None:
        hearing.answers = replace(hearing.answers, asking=begun.asking, similar=begun.similar)
    hearing.check()
    answers = _completed(hearing) if whole else hearing.answers
    if hearing.mistakes:
        raise BriefError(hearing.mistakes)
    return answers


def _head(hearing: Hearing, tree: Node) -> None:
    """How much is asked, which lists go on, and what a similar office has."""
    asking = tree.get(ASKING, Asking.ALL.value)
    if asking not in [one.value for one in Asking]:
        says = f"write one of {', '.join(one.value for one in Asking)}"
        hearing.wrong(tree.keys_at[ASKING], ASKING, says)
        asking = Asking.ALL.value
    open_ = tree.get(UNFINISHED, [])
    going = {str(one) for one in (open_ if isinstance(open_, list) else [open_])}
    answers = hearing.answers
    for list_ in answers.things:
        if list_ not in going:
            answers = answers.ending(list_)
    similar = _similar(hearing, tree) if SIMILAR in tree else None
    hearing.answers = Answers(answers.said, answers.things, answers.ended, Asking(asking), similar)


def _similar(hearing: Hearing, tree: Node) -> Similar:
    """What was taken from a similar office, checked as answers are."""
    inner = Hearing(hearing.agenda, hearing.file)
    taken = tree.get(SUPPOSED)
    if isinstance(taken, Node):
        for key, value in taken.items():
            inner.below(key, value, taken.keys_at[key])
    inner.check()
    hearing.mistakes += inner.mistakes
    scaled = tree.get(SCALED)
    was = {id_: str(text) for id_, text in scaled.items()} if isinstance(scaled, Mapping) else {}
    return Similar(str(tree[SIMILAR]), inner.answers.said, inner.answers.things, was)


def _completed(hearing: Hearing) -> Answers:
    """The answers with every question that is left taken as assumed; those that need an answer are mistakes."""
    agenda, answers = hearing.agenda, hearing.answers
    while (step := agenda.current(answers)) is not None:
        if agenda.offer(step, answers) is not None:
            answers = take(agenda, answers, "").answers
            continue
        example = agenda.example(step)
        like = f" Write it like {example}" if example else ""
        hearing.wrong(
            hearing.place(step.spot.id), step.spot.id, f"this answer is missing: {text_of(step.spot)}{like}"
        )
        answers = answers.ending(step.list) if step.naming else answers.saying(step.spot.id, "")
    return answers


def of_brief(agenda: Agenda, text: str, file: str) -> Answers:
    """What a brief says, as answers; what is said about a plan is left out. Raises BriefError with every mistake."""
    hearing = Hearing(agenda, file)
    try:
        tree, mistakes = composed(text, file)
    except WrittenError as wrong:
        raise BriefError(list(wrong.mistakes)) from None
    for key, value in tree.items():
        if key not in LATER:
            hearing.below(key, value, tree.keys_at[key])
    hearing.check()
    if mistakes or hearing.mistakes:
        raise BriefError([*mistakes, *hearing.mistakes])
    return hearing.answers
