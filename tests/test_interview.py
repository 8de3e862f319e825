"""The interview as a machine of states: whatever is typed, nothing breaks, nothing is lost, and the brief loads.

Expected values stand here or are the project's own; where an outside view is possible it is taken: YAML is read by
another reader (ruamel's plain loader), and the sum of scaled heads is counted here.
"""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from conftest import costly
from hostile import EVERYTHING, HOSTILE, REFUSED
from interview_samples import BAKERY, again, draft, loaded, own, said
from offices import BRIEFS
from scantling import api
from scantling.api.planning import words
from scantling.brief import Given, Office, Section
from scantling.brief.answers import Answers, Asking, slug_of
from scantling.brief.drafting import is_ours
from scantling.brief.interview import asked, take
from scantling.brief.meeting import GROUPS, LATER, Many
from scantling.brief.questions import Agenda, agenda
from scantling.brief.sections import asked as must
from scantling.brief.spots import every, spot
from scantling.figures.numbers import text
from scantling.figures.units import Word

WORDS = (
    "stop",
    "back",
    "?",
    "",
    "none",
    "short tills",
    "yes",
    "no",
    "\\stop",
    "files, printing",
    "12",
    "5 %",
    "0",
    "mon-fri",
)
AMOUNTS = (
    "12 TB",
    "3 h",
    "400 GB",
    "16 A",
    "700 mm",
    "40 dB",
    "100 Mbit/s",
    "1200 EUR",
    '"09:00-17:00"',
    "19:30",
    "1e9",
    "-1",
)


@st.composite
def talks(draw: st.DrawFn) -> list[str]:
    """What somebody might type: mostly fitting answers, so that the talk gets somewhere, and anything else between."""
    answers, typed = Answers(asking=draw(st.sampled_from(list(Asking)))), []
    for _ in range(draw(st.integers(0, 40))):
        step = own().current(answers)
        fits = [own().example(step) or "Something", ""] if step is not None else [""]
        odd = st.one_of(st.sampled_from((*WORDS, *AMOUNTS)), st.sampled_from(EVERYTHING), st.text(max_size=30))
        line = draw(st.one_of(st.sampled_from(fits), st.sampled_from(fits), st.sampled_from(fits), odd))
        typed.append(line)
        answers = take(own(), answers, line).answers
    return [answers.asking.value, *typed]


@costly
@given(talks())
def test_whatever_is_typed_the_answers_can_be_kept_and_the_brief_loads(talk: list[str]) -> None:
    answers = Answers(asking=Asking(talk[0]))
    for line in talk[1:]:
        answers = take(own(), answers, line).answers
    assert again(answers) == answers
    written = draft(answers)
    assert Office in loaded(written)
    assert is_ours(written)


@costly
@given(talks(), st.sets(st.integers(0, 40)))
def test_stopping_and_going_on_gives_the_same_as_never_stopping(talk: list[str], stops: set[int]) -> None:
    straight = stopped = Answers(asking=Asking(talk[0]))
    for place, line in enumerate(talk[1:]):
        first, second = take(own(), straight, line), take(own(), stopped, line)
        assert first.says == second.says
        straight, stopped = first.answers, second.answers
        if place in stops:
            stopped = again(stopped)
    assert stopped == straight
    assert draft(stopped) == draft(straight)


@costly
@given(talks())
def test_back_asks_the_last_question_again(talk: list[str]) -> None:
    """After an answer was taken, back leads to the question that it answered."""
    answers = Answers(asking=Asking(talk[0]))
    for line in talk[1:]:
        step, turn = own().current(answers), take(own(), answers, line)
        if turn.taken and step is not None and line.strip() != "back" and "," not in line:
            back = take(own(), turn.answers, "back").answers
            now = own().current(back)
            assert now is not None
            assert now.spot.id == step.spot.id
        answers = turn.answers


def test_a_whole_talk_gives_a_brief_that_says_what_was_said() -> None:
    """From nothing to a plan; told answers stand as told, the others are remarks or marked."""
    answers, _ = said(BAKERY)
    assert own().current(answers) is None
    written = draft(answers)
    plain = YAML(typ="safe", pure=True).load(written)
    assert plain["office"]["name"] == "Barley Row Bakery"
    assert plain["people"]["roles"]["shop"] == {
        "name": "Shop",
        "heads": 3,
        "days": "mon-sat",
        "hours": "07:30-18:00",
        "present": "70 %",
    }
    assert plain["services"]["orders-and-recipes"]["profile"] == "database"
    assert plain["data"]["sets"]["orders"]["service"] == "orders-and-recipes"
    assert "visitors" not in plain
    assert "growth: 5 %/year   # assumed, ask" in written
    made = api.plan_text(written)
    assert not made.stops
    assert text(made.figures["money.total"]).endswith(" ¤")


def test_what_is_said_for_all_services_holds_for_each_but_those_that_differ() -> None:
    plain = YAML(typ="safe", pure=True).load(draft(said(BAKERY)[0]))
    assert {s["down"] for slug, s in plain["services"].items() if slug not in ("files", "orders-and-recipes")} == {
        "12 h"
    }
    assert plain["services"]["files"]["down"] == "8 h"


def test_remarks_of_assumed_answers_say_what_the_loader_takes() -> None:
    """Every line with a mark taken out of its remark: the same figures."""
    written = draft(said(BAKERY)[0])
    bare = [line.replace("# ", "", 1) if "   # assumed, ask" in line else line for line in written.splitlines()]
    bare = [line[2:] if line.startswith("# ") and line.endswith(":") else line for line in bare]
    opened = "\n".join(bare)
    assert opened.count("\n# ") < written.count("\n# ")
    first, second = api.plan_text(written), api.plan_text(opened)
    assert {i: text(f) for i, f in first.figures.items()} == {i: text(f) for i, f in second.figures.items()}


def test_help_says_why_what_is_assumed_what_is_taken_and_an_example() -> None:
    answers, _ = said(BAKERY[:4])
    _, told = said(("?",), answers)
    assert told[0].startswith("Why we ask: ")
    assert any(line.startswith("If left out: 5 year, assumed, ask (3 to 5 year;") for line in told)
    assert "Taken here: 1 to 15 year." in told
    assert "For example: 5 year" in told


def test_every_question_can_be_asked_why() -> None:
    """Each has a reason, or an example, or says what is taken; none says nothing."""
    answers = Answers()
    for line in BAKERY:
        turn = take(own(), answers, "?")
        assert turn.answers == answers
        assert len(turn.says) >= 2
        answers = take(own(), answers, line).answers


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("ireland", '"ireland" is not taken here; write one like IE.'),
        ("", "This one needs an answer, like IE"),
    ],
)
def test_a_wrong_answer_is_told_and_asked_again(typed: str, says: str) -> None:
    answers, _ = said(BAKERY[:1])
    turn = take(own(), answers, typed)
    assert turn.answers == answers
    assert turn.says[0].startswith(says.rstrip(".")), turn.says


def test_the_nearest_right_word_is_offered() -> None:
    answers, _ = said((*BAKERY[:24], "ofice pc"))
    assert "did you mean" not in "".join(said(("7",), answers)[1])
    answers, _ = said(BAKERY[: BAKERY.index("control")])
    assert "did you mean control?" in "".join(said(("controll",), answers)[1])


def test_a_word_of_command_can_be_an_answer() -> None:
    answers, _ = said(("\\stop",))
    assert answers.said["office.name"] == "stop"
    assert said(("\\\\stop",))[0].said["office.name"] == "\\stop"
    assert said(("\\end{document}",))[0].said["office.name"] == "\\end{document}"


def test_a_thing_can_be_given_another_short_name() -> None:
    """And what was answered with it follows."""
    start = BAKERY.index("Orders and recipes") + 1
    answers, _ = said((*BAKERY[:start], "short recipes", *BAKERY[start:]))
    plain = YAML(typ="safe", pure=True).load(draft(answers))
    assert plain["services"]["recipes"]["name"] == "Orders and recipes"
    assert plain["data"]["sets"]["orders"]["service"] == "recipes"
    taken, told = said((*BAKERY[:start], "short files"))
    assert "is the short name of another" in told[-1]
    assert "orders-and-recipes" in taken.things["services"]


def test_short_names_are_made_from_any_name() -> None:
    assert slug_of("Ærø Café & Söhne", {}, "role") == "r-cafe-sohne"
    assert slug_of("東京", {}, "role") == "role"
    assert slug_of("東京", {"role": ""}, "role") == "role-2"
    assert slug_of("W" * 200, {"w" * 40: ""}, "role") == "w" * 36 + "-2"
    for name in HOSTILE:
        assert spot(f"people.roles.{slug_of(name, {}, 'role')}.heads", own().by_key) is not None


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_read_back_exactly(name: str) -> None:
    """As the client's, as a role's and as a line's name; by the loader and by another reader of YAML."""
    answers = Answers().saying("office.name", name).naming("people.roles", "them", name).naming("lines", "line", name)
    assert again(answers.ending("people.roles").ending("lines")).said == answers.said
    written = draft(answers)
    plain = YAML(typ="base", pure=True).load(written)
    assert plain["people"]["roles"]["them"]["name"] == name
    office = loaded(written)[Office]
    assert isinstance(office, Office)
    assert office.name.value == name


@pytest.mark.parametrize("name", [name for name in REFUSED if name.strip()])
def test_refused_names_are_told(name: str) -> None:
    turn = take(own(), Answers(), name)
    assert not turn.taken
    assert turn.says


def test_the_meeting_asks_for_places_that_are_there() -> None:
    """Every question's id, and every answer that a brief must have, once."""
    for group in GROUPS:
        for part in group.parts:
            assert spot(part.id, own().by_key) is not None, part.id
            for word in part.each if isinstance(part, Many) else ():
                assert spot(f"{part.id}.x.{word}", own().by_key) is not None, word
    asked_ = {part.id for group in own().groups for part in group.parts}
    asked_ |= {f"{p.id}.*.{w}" for g in own().groups for p in g.parts if isinstance(p, Many) for w in p.each}
    brief = {key: section for key, section in own().by_key.items() if key not in (*LATER, "rough", "usual")}
    needed = {at.pattern for at in every(brief) if at.required and not at.pattern.endswith(".*.name")}
    assert needed <= asked_


class Reader(Section):
    """One door."""

    make: Given[Word] = must("Who made the reader?")


class Doors(Section):
    """Doors that open by card."""

    key = "doors"
    readers: dict[str, Reader] = must("Which doors?")
    where: Given[Word] = must("Where is the list kept?")


def of_a_new_trade() -> Agenda:
    """Our agenda with the section of a trade that the meeting has never heard of."""
    kept = api.stock()
    return agenda(
        [*api.known_sections(), Doors], api.defaults(kept.house), words(kept.catalogue), "EUR", "2026-11-25"
    )


def test_a_new_trade_is_asked_about_without_a_word_of_the_meeting() -> None:
    asks = of_a_new_trade()
    assert asks.groups[-1].title == "More"
    assert [part.id for part in asks.groups[-1].parts] == ["doors.readers", "doors.where"]
    answers = Answers(said(BAKERY)[0].said, said(BAKERY)[0].things, said(BAKERY)[0].ended)
    put = asked(asks, asks.current(answers), answers)  # type: ignore[arg-type]
    assert put.text.startswith("Doors that open by card.")


def test_the_sum_tells_a_change_by_hand() -> None:
    written = draft(Answers())
    assert is_ours(written)
    assert not is_ours(written.replace("heads: 6", "heads: 7"))
    assert not is_ours(Path(BRIEFS["fold"]).read_text(encoding="utf-8"))
