"""Tracings of a brief: what they keep, how they are laid anew, and that taking one up and undoing it loses no byte."""

from pathlib import Path
from shutil import copytree
from unicodedata import bidirectional, category

import pytest
from conftest import examples
from hostile import HOSTILE
from hypothesis import given, strategies as st
from ruamel.yaml import YAML

from scantling import UserError, api
from scantling.api import tracing as traced
from scantling.api.differing import differences
from scantling.api.tracing_laying import lay_again
from scantling.brief.editing import with_values

ROOT = Path(__file__).parent.parent
EXAMPLES = ("millrace", "fold-and-fell", "brackwater")
HEADS = "people.roles.programme.heads"


def office(folder: Path, name: str = "millrace") -> Path:
    """A copy of an example office; its brief."""
    copytree(ROOT / "examples" / name, folder, dirs_exist_ok=True)
    return folder / "brief.yaml"


def test_a_tracing_is_a_readable_brief_under_its_name(tmp_path: Path) -> None:
    """The first line is a comment with the name, all other lines are the brief's, but for the one answer."""
    brief = office(tmp_path)
    made = traced.trace(brief, "More people", {HEADS: "20"})
    lines = made.file.read_text(encoding="utf-8").splitlines()
    assert (made.slug, made.name, lines[0]) == ("more-people", "More people", "# Tracing: More people")
    before = brief.read_text(encoding="utf-8").splitlines()
    moved = [(a, b) for a, b in zip(before, lines[1:], strict=True) if a != b]
    assert len(moved) == 1
    assert moved[0][1] == moved[0][0].replace("heads: 12", "heads: 20")
    assert YAML(typ="safe").load(made.file)["people"]["roles"]["programme"]["heads"] == 20


@pytest.mark.parametrize("name", EXAMPLES)
def test_untouched_it_is_the_brief_byte_for_byte(tmp_path: Path, name: str) -> None:
    brief = office(tmp_path, name)
    traced.trace(brief, "As it is")
    assert traced.to_take_up(brief, "as-it-is").encode() == brief.read_bytes()


@pytest.mark.parametrize("raw", [b"\xef\xbb\xbf", b""])
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
def test_marks_and_line_ends_stay(tmp_path: Path, raw: bytes, end: bytes) -> None:
    brief = office(tmp_path)
    whole = raw + brief.read_bytes().replace(b"\n", end)
    brief.write_bytes(whole)
    traced.trace(brief, "One", {HEADS: "13"})
    assert traced.to_take_up(brief, "one").encode() == whole.replace(b"heads: 12", b"heads: 13")


def test_four_at_most(tmp_path: Path) -> None:
    brief = office(tmp_path)
    for number in range(4):
        traced.trace(brief, f"Way {number}")
    with pytest.raises(
        UserError, match=r"4 tracings lie over the brief already \(Way 0, Way 1, Way 2, Way 3\); discard one"
    ):
        traced.trace(brief, "One too many")
    assert traced.discard(brief, "way-1") == "Way 1"
    assert traced.trace(brief, "Room again").slug == "room-again"
    assert [one.name for one in traced.tracings(brief)] == ["Room again", "Way 0", "Way 2", "Way 3"]


def test_two_of_one_name_have_files_of_their_own(tmp_path: Path) -> None:
    brief = office(tmp_path)
    assert [traced.trace(brief, "Same").slug for _ in range(2)] == ["same", "same-2"]


def _is_name(text: str) -> bool:
    """One line of at most 60 letters, none of them a control, a line end or one that turns the writing round (UAX 44)."""
    tidy = " ".join(text.split())
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    odd = {"Cc", "Zl", "Zp", "Cs", "Co", "Cn"}
    return 0 < len(tidy) <= 60 and not any(category(one) in odd or bidirectional(one) in turning for one in tidy)


@pytest.mark.parametrize("text", HOSTILE)
def test_no_name_gets_out_of_its_line(tmp_path: Path, text: str) -> None:
    """Whatever a name holds: it is refused, or it reads back, in one line, and the brief below is untouched."""
    brief = office(tmp_path)
    if not _is_name(text):
        with pytest.raises(UserError, match="a tracing's name is one line"):
            traced.trace(brief, text)
        assert not list((tmp_path / traced.FOLDER).glob("*"))
        return
    made = traced.trace(brief, text)
    assert made.name == " ".join(text.split())
    assert made.file.read_bytes().partition(b"\n")[2] == brief.read_bytes()
    assert made.file.parent == tmp_path / traced.FOLDER


@pytest.mark.parametrize("slug", ["../brief", "..", "", "a/b", "A", "x.base", "-a", "a\n", "ä"])
def test_no_short_name_leads_elsewhere(tmp_path: Path, slug: str) -> None:
    brief = office(tmp_path)
    traced.trace(brief, "x")
    for act in (traced.tracing, traced.discard, traced.to_take_up, lay_again):
        with pytest.raises(UserError, match="there is no tracing called"):
            act(brief, slug)
    assert brief.is_file()


def test_a_mistake_changes_nothing(tmp_path: Path) -> None:
    brief = office(tmp_path)
    made = traced.trace(brief, "One")
    for edits in ({HEADS: "many"}, {"people.roles.programe.heads": "3"}, {"people.rules": "3"}):
        with pytest.raises(UserError):
            traced.change(brief, "one", edits)
        assert traced.tracing(brief, "one") == made
    with pytest.raises(UserError):
        traced.trace(brief, "Two", {HEADS: "many"})
    assert [one.slug for one in traced.tracings(brief)] == ["one"]


def test_two_people_do_not_write_over_each_other(tmp_path: Path) -> None:
    brief = office(tmp_path)
    seen = traced.trace(brief, "One").seen
    traced.change(brief, "one", {HEADS: "13"}, seen)
    with pytest.raises(UserError, match="changed by somebody else"):
        traced.change(brief, "one", {HEADS: "14"}, seen)
    assert traced.tracing(brief, "one").differs(api.edited(brief, HEADS, "12").text_before)[0].new == "13"


def test_what_stands_and_the_firm_are_those_of_the_brief(tmp_path: Path) -> None:
    """A tracing without changes has the plan of its brief, whose kit stands in a file beside the brief."""
    brief = office(tmp_path)
    made = traced.trace(brief, "As it is")
    told = api.compare_planned(api.planned(brief), traced.planned_tracing(brief, made))
    assert told.nothing


def test_a_broken_file_is_told_and_the_others_stay(tmp_path: Path) -> None:
    brief = office(tmp_path)
    traced.trace(brief, "Good")
    (tmp_path / traced.FOLDER / "bad.yaml").write_bytes(b"\xff\xfe\x00")
    bad, good = traced.tracings(brief)
    assert ("UTF-16" in bad.wrong, good.wrong) == (True, "")
    with pytest.raises(UserError, match="UTF-16"):
        traced.planned_tracing(brief, bad)


# ------------------------------------------------------------------------------------------------------------ laid anew


def test_taking_up_is_refused_when_the_brief_moved_on(tmp_path: Path) -> None:
    brief = office(tmp_path)
    traced.trace(brief, "One", {HEADS: "20"})
    api.set_value(brief, "people.roles.technical.heads", "9")
    with pytest.raises(UserError, match="lay it on today's brief first"):
        traced.to_take_up(brief, "one")
    laid = lay_again(brief, "one")
    assert (laid.both, laid.left, laid.kept) == ((), (), None)
    text = traced.to_take_up(brief, "one")
    assert [(one.id, one.old, one.new) for one in differences(brief.read_text(), text, "x")] == [(HEADS, "12", "20")]
    assert "technical:  {name: Stage and technical, heads: 9," in text


def test_both_changed_the_same_answer(tmp_path: Path) -> None:
    brief = office(tmp_path)
    traced.trace(brief, "One", {HEADS: "20"})
    api.set_value(brief, HEADS, "15")
    laid = lay_again(brief, "one")
    assert [(one.id, one.old, one.new, theirs) for one, theirs in laid.both] == [(HEADS, "12", "20", "15")]
    assert "heads: 20" in traced.to_take_up(brief, "one")


def test_what_can_not_be_laid_is_told_and_kept(tmp_path: Path) -> None:
    """The role that the tracing enlarges is gone from the brief; its other change goes on."""
    brief = office(tmp_path)
    traced.trace(brief, "One", {HEADS: "20", "office.horizon": "7 year"})
    old = traced.tracing(brief, "one").file.read_bytes()
    api.remove_value(brief, "people.roles.programme")
    laid = lay_again(brief, "one")
    assert [one.what.id for one in laid.left] == [HEADS]
    assert laid.kept is not None
    assert laid.kept.read_bytes() == old
    assert [one.id for one in laid.tracing.differs(brief.read_text())] == ["office.horizon"]
    assert [one.slug for one in traced.tracings(brief)] == ["one"], "the kept file is no tracing"


def test_a_thing_of_its_own_goes_over_whole(tmp_path: Path) -> None:
    brief = office(tmp_path)
    line = {"lines.spare.down": "50 Mbit/s", "lines.spare.up": "10 Mbit/s", "lines.spare.standby": "yes"}
    traced.trace(brief, "Line", line)
    api.set_value(brief, HEADS, "15")
    assert lay_again(brief, "line").left == ()
    (only,) = traced.tracing(brief, "line").differs(brief.read_text())
    assert (only.id, only.old, dict(only.edits), dict(only.back)) == ("lines.spare", "", line, {"lines.spare": None})
    traced.change(brief, "line", only.back)
    assert traced.tracing(brief, "line").differs(brief.read_text()) == ()


def test_without_its_base_it_is_held_against_todays_brief(tmp_path: Path) -> None:
    brief = office(tmp_path)
    made = traced.trace(brief, "One", {HEADS: "20"})
    made.file.with_name("one.base.yaml").unlink()
    assert not traced.tracing(brief, "one").over(brief.read_text())
    laid = lay_again(brief, "one")
    assert (laid.left, laid.both) == ((), ())
    assert traced.tracing(brief, "one").over(brief.read_text())


# ------------------------------------------------------------------------------------------------------------ properties

ANSWERS = {
    HEADS: st.integers(1, 200).map(str),
    "people.roles.technical.heads": st.integers(1, 200).map(str),
    "office.horizon": st.integers(1, 10).map("{} year".format),
    "visitors.join": st.integers(1, 100).map("{} %".format),
    "premises.noise": st.integers(35, 70).map("{} dB".format),
    "backup.daily": st.integers(2, 60).map(str),
    "power.hold": st.integers(5, 60).map("{} min".format),
    "lines.standby.monthly": st.integers(1, 500).map("{}.00 EUR".format),
}
EDITS = st.dictionaries(st.sampled_from(sorted(ANSWERS)), st.none(), min_size=0, max_size=5).flatmap(
    lambda keys: st.fixed_dictionaries({key: ANSWERS[key] for key in keys})
)
TEXT = (ROOT / "examples/millrace/brief.yaml").read_text(encoding="utf-8")


@examples(short=10, full=100)
@given(EDITS)
def test_differences_lead_forth_and_back(edits: dict[str, str]) -> None:
    """Laid one after the other they make the second text out of the first, and the first again, comments and all."""
    new = with_values(TEXT, edits) if edits else TEXT
    found = differences(TEXT, new, "brief.yaml")
    forth = {id_: value for one in found for id_, value in one.edits.items()}
    back = {id_: value for one in found for id_, value in one.back.items()}
    assert forth == {id_: value for id_, value in edits.items() if id_ in forth}
    assert (with_values(TEXT, forth) if forth else TEXT) == new
    assert (with_values(new, back) if back else new) == TEXT


@examples(short=5, full=40)
@given(EDITS, EDITS)
def test_laid_anew_nothing_of_either_is_lost(
    tmp_path_factory: pytest.TempPathFactory, own: dict[str, str], theirs: dict[str, str]
) -> None:
    """Read by the YAML library alone: the tracing's answers, else the brief's new ones, else the old ones."""
    brief = office(tmp_path_factory.mktemp("office"))
    traced.trace(brief, "One", own)
    if theirs:
        api.set_values(brief, theirs)
    laid = lay_again(brief, "one")
    text = traced.to_take_up(brief, "one")
    said = YAML(typ="safe", pure=True).load(text)
    old = YAML(typ="safe", pure=True).load(TEXT)
    for id_ in ANSWERS:
        was = _at(old, id_)
        mine = own.get(id_, "") if own.get(id_, str(was)) != str(was) else ""
        assert str(_at(said, id_)) == (mine or theirs.get(id_, str(was))), id_
    assert [line for line in text.splitlines() if line.startswith("#")] == TEXT.splitlines()[:2]
    moved = {id_ for id_, value in theirs.items() if value != str(_at(old, id_))}
    mine_too = {id_ for id_ in moved if id_ in own and own[id_] not in (theirs[id_], str(_at(old, id_)))}
    assert {one.id for one, _ in laid.both} == mine_too


def _at(tree: object, id_: str) -> object:
    for word in id_.split("."):
        assert isinstance(tree, dict)
        tree = tree[word]
    return tree
