"""An edit through the interface: one reading of the new text, its plan at once, other people's edits, every mistake."""

from pathlib import Path
from shutil import copytree
from typing import Any

import pytest

from offices import BRIEFS, ROOT, fold
from scantling import UserError, api
from scantling.api import planning
from scantling.api.comparing import planned
from scantling.brief import loading
from scantling.plan.make import Inputs
from scantling.plan.telling import canonical, identity

PIN = {"pins.purchase.near": "box-96"}


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    """Fold & Fell's brief in a folder of its own."""
    (tmp_path / "brief.yaml").write_text(fold(), encoding="utf-8")
    return tmp_path / "brief.yaml"


@pytest.fixture(scope="module")
def before() -> api.Planned:
    """The plan of it before any edit."""
    return planned(BRIEFS["fold"])


def count(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The texts of briefs that are read from here on."""
    seen: list[str] = []
    first = loading.load

    def counted(text: str, *more: Any) -> Any:
        seen.append(text)
        return first(text, *more)

    monkeypatch.setattr(planning, "load", counted)
    return seen


def test_an_edit_is_tried_on_a_text_and_nothing_is_written(brief: Path, before: api.Planned) -> None:
    made = api.sketched(brief, fold(), before, {"people.roles.surveyors.heads": "5"})
    assert brief.read_text(encoding="utf-8") == fold()
    assert made.text_after == fold().replace("heads: 4", "heads: 5")
    assert (made.changed.old, made.changed.new) == ("4", "5")
    whole = api.plan_text(made.text_after)
    if not made.planned.plan.sketched:
        assert identity(made.planned.plan) == identity(whole)
    assert made.planned.plan.figures.keys() == whole.figures.keys()


def test_an_edit_that_is_written_gives_what_is_planned_from_now_and_reads_it_once(
    brief: Path, before: api.Planned, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = count(monkeypatch)
    changed, inputs = api.change(brief, {"office.horizon": "6 year"}, api.fingerprint(fold().encode()))
    assert seen == [changed.text_after]
    assert brief.read_text(encoding="utf-8") == changed.text_after != fold()
    assert api.answers(inputs)["brief.office.horizon"].value == 6
    assert api.answers(before.inputs)["brief.office.horizon"].value != 6


def test_an_edit_that_changes_nothing_gives_the_inputs_too(brief: Path) -> None:
    changed, inputs = api.change(brief, {"people.roles.surveyors.heads": "4"})
    assert changed.nothing
    assert api.answers(inputs)["brief.people.roles.surveyors.heads"].value == 4


@pytest.mark.parametrize(
    "edits", [{"people.roles.surveyors.heads": "many"}, {"no.such": "1"}, {"premises.noise": "1 kg"}]
)
def test_an_edit_that_cannot_be_read_is_refused_and_nothing_has_changed(
    brief: Path, before: api.Planned, edits: dict[str, str | None]
) -> None:
    """The same words from all three doors."""
    says = set()
    for door in (
        lambda: api.change(brief, edits),
        lambda: api.set_values(brief, edits),
        lambda: api.sketched(brief, fold(), before, edits),
    ):
        with pytest.raises(UserError) as told:
            door()
        says.add(str(told.value))
    assert len(says) == 1
    assert brief.read_text(encoding="utf-8") == fold()


def test_a_pin_is_tried_with_the_parts_held_and_one_that_names_nothing_is_refused(
    brief: Path, before: api.Planned
) -> None:
    changed, inputs = api.change(brief, PIN, None, "they have its twin", before.plan)
    assert set(inputs.pins) == {"purchase.near"}
    with pytest.raises(UserError, match="no figure of that name"):
        api.change(brief, {"pins.no.such": "1"}, None, "a slip", before.plan)
    assert brief.read_text(encoding="utf-8") == changed.text_after


def test_the_firm_that_is_named_is_planned_from(tmp_path: Path, brief: Path) -> None:
    """A house rule of the firm's own folder answers where the brief is silent, and is read again once it changes."""
    house = tmp_path / "our-firm/house"
    house.mkdir(parents=True)
    rule = house / "office.yaml"

    def reach(hours: str) -> Any:
        rule.write_text(
            f"support.reach: {{value: {hours}, range: 1 h to 8 h, reason: our vans, source: common practice}}\n",
            encoding="utf-8",
        )
        text = fold().replace("  reach: 4 h\n", "")
        assert text != fold() or "reach" not in fold()
        brief.write_text(text, encoding="utf-8")
        _, inputs = api.change(brief, {"office.horizon": "6 year"}, firm=tmp_path / "our-firm")
        return api.answers(inputs)["brief.support.reach"].value

    assert (reach("3 h"), reach("5 h"), reach("3 h")) == (3, 5, 3)


def test_somebody_elses_edit_is_read_and_a_remark_at_the_end_is_none(brief: Path) -> None:
    one = planned(brief)
    assert api.read_again(brief, one) is one.inputs
    brief.write_text(fold() + "# a remark\n", encoding="utf-8")
    assert api.read_again(brief, one) is one.inputs
    brief.write_text("# a remark\n" + fold(), encoding="utf-8")
    moved = api.read_again(brief, one)
    assert moved is not one.inputs
    assert identity(api.plan_text("# a remark\n" + fold())) == identity(api.plan_text(fold()))
    assert api.read_again(brief, one, written=fold()) is one.inputs


def test_every_mistake_is_told_with_its_place_in_its_own_file(tmp_path: Path) -> None:
    folder = copytree(ROOT / "examples/millrace", tmp_path / "office")
    path, stands = folder / "brief.yaml", folder / "standing.yaml"
    assert api.every_mistake(path) == ()
    text = path.read_text(encoding="utf-8")
    wrong = text.replace("heads: 12", "heads: many").replace("mains: 230 V", "mians: 230 V")
    broken = stands.read_text(encoding="utf-8") + "\nnonsense: 1\n"
    found = api.every_mistake(path, wrong, stands=broken)
    lines = text.splitlines()
    heads = next(n for n, line in enumerate(lines, 1) if "heads: 12" in line)
    mains = next(n for n, line in enumerate(lines, 1) if "mains: 230 V" in line)
    brief_lines = {(one.line, one.column) for one in found if one.file == "brief.yaml"}
    assert (mains, 3) in brief_lines
    assert (heads, lines[heads - 1].index("12") + 1) in brief_lines
    assert [one.line for one in found if one.file == "standing.yaml"] == [len(broken.splitlines())]
    assert "did you mean mains" in next(one.says for one in found if one.line == mains)


def test_another_currency_is_a_mistake_with_its_place(brief: Path) -> None:
    (one,) = api.every_mistake(brief, fold().replace("currency: EUR", "currency: USD").replace(" EUR", " USD"))
    line = next(n for n, line in enumerate(fold().splitlines(), 1) if "currency: EUR" in line)
    assert (one.line, one.path) == (line, "office.currency")
    assert "prices are in EUR" in one.says


def test_a_missing_brief_is_a_mistake_too(tmp_path: Path) -> None:
    (one,) = api.every_mistake(tmp_path / "brief.yaml")
    assert "no such file" in one.says


@pytest.mark.parametrize("scenario", list(BRIEFS))
def test_sections_that_are_kept_are_those_that_a_fresh_reading_gives(scenario: str) -> None:
    """Read with defaults that stay, and with a copy of them that is nothing but a mapping: the same answers and places."""
    text, stock = BRIEFS[scenario].read_text(encoding="utf-8"), api.stock()
    for written in (text, "\n\n" + text, text.replace("  horizon: 5 year\n", "")):
        kept = loading.load(written, "b", api.known_sections(), stock.known)
        fresh = loading.load(written, "b", api.known_sections(), dict(stock.known), stock.known.words)
        assert list(kept) == list(fresh)
        assert str(kept) == str(fresh)
        places = [
            {id_: figure.how for id_, figure in api.answers(Inputs(one, stock.catalogue, stock.house, {})).items()}
            for one in (kept, fresh)
        ]
        assert places[0] == places[1]


def test_what_is_kept_never_leaks_from_one_edit_into_another(brief: Path, before: api.Planned) -> None:
    """Forth and back again: the plan of the first text is the first plan, byte for byte."""
    there = api.sketched(brief, fold(), before, {"office.horizon": "3 year"})
    back = api.sketched(brief, there.text_after, there.planned, {"office.horizon": _horizon()})
    assert back.text_after == fold()
    assert canonical(planned(brief).plan) == canonical(before.plan)


def _horizon() -> str:
    line = next(line for line in fold().splitlines() if "horizon:" in line)
    return line.split(": ")[1]
