"""What an interview begins with and leaves: ten answers, a similar office, files of answers with all their mistakes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from conftest import costly
from interview_samples import BAKERY, ROUGH, again, draft, loaded, own, said
from offices import BRIEFS, millrace
from scantling.brief.answers import Answers, Asking
from scantling.brief.hearing import heard, of_brief
from scantling.brief.interview import take
from scantling.brief.loading import BriefError
from scantling.brief.meeting import LATER
from scantling.brief.scaling import shared, similar


def test_ten_answers_are_ten_questions() -> None:
    answers = Answers(asking=Asking.ROUGH)
    assert own().left(answers) == (0, 10)
    answers, _ = said(ROUGH, answers)
    assert own().current(answers) is None
    plain = YAML(typ="safe", pure=True).load(draft(answers))
    assert plain["devices"]["laptops"]["count"] == 5
    assert plain["data"]["sets"]["shared"]["size"] == "1.5 TB"
    assert plain["premises"]["noise"] == "40 dB"
    assert plain["lines"]["line"] == {"name": "Line", "down": "200 Mbit/s", "up": "40 Mbit/s"}
    assert plain["budget"]["once"] == "20000 EUR"


@pytest.mark.parametrize(
    ("place", "typed", "says"),
    [
        (1, "a dozen", "write it like 12 PCs, 5 laptops"),
        (3, "fils", "did you mean files?"),
        (5, "15", "or a share, like 15 %/year"),
        (7, "cuboard", "did you mean cupboard?"),
        (8, "fast", "is not a number"),
        (9, "Ireland", "write two letters like IE"),
        (9, "IE, 20000 USD", "this office pays in EUR"),
    ],
)
def test_answers_with_two_things_in_them_are_told_what_is_wrong(place: int, typed: str, says: str) -> None:
    answers, _ = said(ROUGH[:place], Answers(asking=Asking.ROUGH))
    turn = take(own(), answers, typed)
    assert says in " ".join(turn.says).replace("This", "this")
    assert turn.answers == answers


def test_after_ten_answers_the_whole_interview_goes_on() -> None:
    """What was said roughly is offered, and gives way to what is said now."""
    answers, _ = said(ROUGH, Answers(asking=Asking.ROUGH))
    whole = Answers(answers.said, answers.things, answers.ended)
    finished, _ = said(BAKERY, whole)
    assert own().current(finished) is None
    plain = YAML(typ="safe", pure=True).load(draft(finished))
    assert set(plain["people"]["roles"]) == {"bakers", "shop"}
    assert plain["office"]["country"] == "IE"


def test_how_long_it_may_be_down_is_not_called_supposed_once_it_was_said() -> None:
    answers, _ = said(ROUGH, Answers(asking=Asking.ROUGH))
    answers = Answers(answers.said, answers.things, answers.ended)
    told: dict[str, str] = {}
    while (step := own().current(answers)) is not None:
        turn = take(own(), answers, "")
        told[step.spot.id] = " ".join(turn.says)
        answers = turn.answers if turn.taken else take(own(), answers, "Larkfield Seeds").answers
    assert told["usual.down"] == "8 h: as said before."
    assert told["usual.lost"] == "24 h: assumed, ask."
    assert {one["down"] for one in YAML(typ="safe", pure=True).load(draft(answers))["services"].values()} == {"8 h"}


@costly
@given(st.sampled_from(sorted(BRIEFS)), st.integers(1, 200))
def test_a_similar_office_is_scaled_by_the_stated_rule(name: str, people: int) -> None:
    """Heads come to the number asked, or to one a role; devices and visitors in proportion, at least 1."""
    written = BRIEFS[name].read_text("utf-8")
    there = similar(own(), written, "brief.yaml", people)
    source = of_brief(own(), written, "brief.yaml")
    roles = source.things["people.roles"]
    heads = {slug: int(there.said[f"people.roles.{slug}.heads"]) for slug in roles}
    before = {slug: int(source.said[f"people.roles.{slug}.heads"]) for slug in roles}
    assert sum(heads.values()) == people or set(heads.values()) >= {1}
    assert sum(heads.values()) <= max(people, people + len(roles) - 1)
    for slug in source.things["devices"]:
        exact = int(source.said[f"devices.{slug}.count"]) * people / sum(before.values())
        assert (
            abs(int(there.said[f"devices.{slug}.count"]) - exact) <= 0.5
            or int(there.said[f"devices.{slug}.count"]) == 1
        )
    assert not any(id_.split(".")[0] in LATER for id_ in there.said)
    assert "office.name" not in there.said
    answers = Answers(asking=Asking.PERSONAL, similar=there)
    assert again(answers) == answers
    loaded(draft(answers))


def test_the_same_number_of_people_scales_nothing() -> None:
    assert not similar(own(), millrace(), "brief.yaml", 64).scaled


@given(st.dictionaries(st.text("abc", min_size=1, max_size=3), st.integers(1, 500), min_size=1), st.integers(1, 2000))
def test_shares_come_to_the_total(parts: dict[str, int], total: int) -> None:
    """Largest remainder: within one of the exact share, unless that is below 1."""
    made = shared(parts, total)
    for one, count in parts.items():
        exact = count * total / sum(parts.values())
        assert made[one] == 1 if exact < 1 else abs(made[one] - exact) <= 1 + 1e-9
    if all(count * total >= sum(parts.values()) for count in parts.values()):
        assert sum(made.values()) == total


def test_a_brief_by_somebody_else_is_taken_as_answers() -> None:
    answers = of_brief(own(), millrace(), "brief.yaml")
    assert answers.said["office.horizon"] == "5 year"
    assert answers.things["devices"]["stage-nodes"] == "Stage control nodes"
    assert not any(id_.startswith(("lasting", "pins", "declined")) for id_ in answers.said)


def test_all_mistakes_of_a_file_are_told_at_once_with_their_places() -> None:
    written = """\
office.name: Larkfield Seeds
office.contry: IE
office.country: ireland
people.roles: [Office, Shop]
people.roles.office.heads: four
people:
  roles:
    shop: {heads: 3, growth: 5 %}
data.sets: {shared: Shared documents}
data.sets.shared.kind: dokuments
lasting.array-levels.by: Nuala
"""
    with pytest.raises(BriefError) as told:
        heard(own(), written, "answers.yaml")
    lines = str(told.value).splitlines()
    places = [line.split(": ")[0] for line in lines]
    assert places == sorted(places, key=lambda place: [int(n) for n in place.split(":")[1:]])
    for at, says in (
        ("answers.yaml:2:1", "office.contry: there is no such question; did you mean office.country?"),
        ("answers.yaml:3:17", 'office.country: "ireland" is not taken here; write one like IE'),
        ("answers.yaml:5:28", 'people.roles.office.heads: "four" is not a whole number; write one like 14'),
        ("answers.yaml:8:30", 'people.roles.shop.growth: "%" could mean several things; write 5 %/year or 5 %/day'),
        ("answers.yaml:10:24", "did you mean documents?"),
        ("answers.yaml:11:1", "this is said about a plan that is there"),
    ):
        assert any(line.startswith(f"{at}: ") and says in line for line in lines), (at, says, lines)


@pytest.mark.parametrize(
    "written",
    [
        "office: [a, b]", "office: x", "office.name: {a: b}", "people.roles: {A B: x}", "people.roles: [[a]]", "asking: some",
        "people.roles: {a: [b]}", "x: &a 1", "unfinished: {a: b}\noffice: 1", "similar: x\nsupposed: {office.nam: y}", "",
        "- a", "office.name: ''\noffice.name: b", "people.roles.a b.heads: 1", "usual.down: never", "rough.line: fast",
    ],
)  # fmt: skip
def test_files_of_another_shape_are_refused_with_a_place(written: str) -> None:
    with pytest.raises(BriefError) as told:
        heard(own(), written, "answers.yaml")
    assert all(str(mistake).startswith("answers.yaml:") for mistake in told.value.mistakes)


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(written: str) -> None:
    try:
        answers = heard(own(), written, "answers.yaml")
    except BriefError:
        return  # any other exception fails the test
    assert again(answers) == answers
