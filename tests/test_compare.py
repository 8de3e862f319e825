"""Two plans compared: reckoned again from two plans that the command line printed; causes and the mirror."""

import json
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from comparisons import HEADS, between, larger, scantling
from offices import BRIEFS, ROOT, fold, millrace, planned
from scantling import api
from scantling.brief.editing import with_value, with_values
from scantling.figures import PRICE
from scantling.outputs.comparing import headline, tables
from scantling.plan.causes import Cause


@pytest.fixture
def two(tmp_path: Path) -> Path:
    """A folder with both briefs."""
    (tmp_path / "old.yaml").write_text(millrace(), encoding="utf-8")
    (tmp_path / "new.yaml").write_text(larger(), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("brief", [*BRIEFS.values(), ROOT / "examples/saltmarsh/brief.yaml"], ids=str)
def test_the_same_plan_has_not_moved(brief: Path) -> None:
    told = api.compare(brief, brief)
    assert told.nothing
    assert headline(told) == ("Nothing moved: both plans say the same.",)
    assert list(tables(told)) == []


def test_a_remark_or_another_order_moves_nothing() -> None:
    text = "# a remark\n" + millrace().replace("heads: 40", "heads: 40").replace("\noffice:", "\n\n# more\noffice:")
    assert between(millrace(), text).nothing


def valued(plan: dict[str, Any], key: str = "figures") -> dict[str, tuple[Any, str]]:
    """Value and unit of every figure of a printed plan."""
    return {figure["id"]: (figure["value"], figure["unit"]) for figure in plan[key]}


def test_figures_are_those_that_differ_in_two_printed_plans(two: Path) -> None:
    """Three programs: two print their plans, one compares; the difference is reckoned here."""
    old, new = (json.loads(scantling("plan", name, "--json", folder=two).stdout) for name in ("old.yaml", "new.yaml"))
    done = scantling("compare", "old.yaml", "new.yaml", "--json", folder=two)
    told = json.loads(done.stdout)
    were, are = valued(old), valued(new)
    figures = told["figures"]
    assert {one["id"] for one in figures["moved"]} == {id_ for id_ in were if id_ in are and were[id_] != are[id_]}
    assert {one["id"] for one in figures["come"]} == set(are) - set(were)
    assert {one["id"] for one in figures["gone"]} == set(were) - set(are)
    assert len(figures["moved"]) > 100
    workings = {figure["id"]: figure["working"] for figure in new["figures"]}
    assert all(one["new_working"] == workings[one["id"]] for one in figures["moved"])
    _findings_agree(told["findings"], old, new)
    _records_agree(told["records"], old, new)
    assert done.returncode == (1 if any(a["weight"] == "stop" for a in told["findings"]["new"]) else 0)


def _findings_agree(told: dict[str, Any], old: dict[str, Any], new: dict[str, Any]) -> None:
    """What the new plan says and the old did not is new or reworded; the other way round it is cured or reworded."""
    were, are = (Counter((f["code"], f["about"], f["says"]) for f in plan["findings"]) for plan in (old, new))
    come = Counter((f["code"], f["about"], f["new"]) for word in ("new", "reworded") for f in told[word])
    gone = Counter((f["code"], f["about"], f["old"]) for word in ("cured", "reworded") for f in told[word])
    assert (come, gone) == (are - were, were - are)
    kinds = [Counter((f["code"], f["about"]) for f in plan["findings"]) for plan in (old, new)]
    assert Counter((f["code"], f["about"]) for f in told["new"]) == kinds[1] - kinds[0]


def _records_agree(told: dict[str, Any], old: dict[str, Any], new: dict[str, Any]) -> None:
    were, are = dict(_keyed(old)), dict(_keyed(new))
    keys = {word: {(one["kind"], one["trade"], one["slug"]) for one in told[word]} for word in told}
    assert keys["added"] == set(are) - set(were)
    assert keys["removed"] == set(were) - set(are)
    plainly = {key for key in were if key in are and _values(were[key]) != _values(are[key])}
    assert keys["changed"] == plainly
    assert keys["removed"]
    assert keys["changed"]


def _keyed(plan: dict[str, Any]) -> Iterator[tuple[tuple[str, str, str], dict[str, Any]]]:
    for kind, records in plan["records"].items():
        for record in records:
            yield (kind, record["trade"], record.get("slug", "")), record


def _values(given: Any) -> Any:
    """A record without the ids of its figures."""
    if isinstance(given, dict):
        return {key: _values(value) for key, value in given.items() if key != "figure"}
    return [_values(one) for one in given] if isinstance(given, list) else given


def test_the_purchase_adds_up(two: Path) -> None:
    """Slots that differ are those whose parts differ in the printed plans, and their differences make the whole."""
    old, new = (json.loads(scantling("plan", name, "--json", folder=two).stdout) for name in ("old.yaml", "new.yaml"))
    told = json.loads(scantling("compare", "old.yaml", "new.yaml", "--json", folder=two).stdout)["purchase"]
    were, are = ({choice["id"]: choice["parts"] for choice in plan["choices"]} for plan in (old, new))
    moved = {id_.removeprefix("purchase.") for id_ in {*were, *are} if were.get(id_) != are.get(id_)}
    assert {slot["slot"] for slot in told["slots"]} == moved != set()
    difference = Decimal(told["new_total"]) - Decimal(told["old_total"])
    assert sum((Decimal(slot["difference"]) for slot in told["slots"]), Decimal(0)) == difference
    totals = [valued(plan)["money.total"][0] for plan in (old, new)]
    assert [told["old_whole"], told["new_whole"]] == totals


def test_the_other_way_round_is_the_mirror() -> None:
    there, back = between(millrace(), larger()), between(larger(), millrace())
    assert {(m.id, m.old, m.new) for m in there.moved} == {(m.id, m.new, m.old) for m in back.moved}
    assert [one.id for one in there.come] == [one.id for one in back.gone]
    assert {(b.slot, b.old, b.difference) for b in there.bought} == {
        (b.slot, b.new, -b.difference) for b in back.bought
    }
    assert there.totals == back.totals[::-1]
    assert {(a.code, a.about, a.new) for a in there.new_findings} == {(a.code, a.about, a.old) for a in back.cured}
    assert {(e.kind, e.slug) for e in there.removed} == {(e.kind, e.slug) for e in back.added}
    assert {(c.id, c.old, c.new) for c in there.causes} == {(c.id, c.new, c.old) for c in back.causes}


EDITS = [
    (HEADS, "60", "40", "60"),
    ("data.sets.archive.size", "20 TB", "9 TB", "20 TB"),
    ("services.files.down", "8 h", "16 h", "8 h"),
    ("devices.cameras.zone", "staff", "cameras", "staff"),
    ("backup.near", "none", "box", "none"),
    ("office.horizon", "3 year", "5 years", "3 years"),
]


@pytest.mark.parametrize(("id_", "value", "old", "new"), EDITS)
def test_one_edit_is_the_one_cause_of_all_that_moved(id_: str, value: str, old: str, new: str) -> None:
    """A plan is computed from its inputs alone: with one line changed, whatever moved moved because of it."""
    told = between(millrace(), with_value(millrace(), id_, value))
    cause = Cause("brief", f"brief.{id_}", old, new, (f"brief.{id_}",))
    assert told.causes == (cause,)
    assert all(moved.because == (cause,) for moved in told.moved)
    assert str(cause) == f"brief.{id_} {old} -> {new}"


def test_of_two_edits_each_figure_names_those_it_rests_on() -> None:
    """Whatever moves with one edit alone, in the same way, is traced to that edit or to both, never to the other only."""
    people, prices = with_value(millrace(), HEADS, "60"), with_value(millrace(), "lines.fibre.monthly", "99.00 EUR")
    both = between(millrace(), with_value(people, "lines.fibre.monthly", "99.00 EUR"))
    lines = {m.id for m in between(millrace(), prices).moved}
    heads = {m.id for m in between(millrace(), people).moved}
    assert lines
    for moved in both.moved:
        named = {cause.id.rsplit(".", 1)[-1] for cause in moved.because}
        if moved.id in lines and moved.id not in heads:
            assert "monthly" in named
        if moved.id in heads and moved.id not in lines:
            assert named == {"heads"}


def test_a_thing_that_goes_is_one_cause() -> None:
    causes = between(millrace(), larger()).causes
    gone = next(cause for cause in causes if not cause.new)
    assert (gone.id, gone.old) == ("brief.data.sets.recordings", "Camera recordings")
    assert len(gone.leaves) > 3
    assert [cause.id for cause in causes if cause.id.startswith("brief.data.sets.recordings")] == [gone.id]


def test_a_pin_is_a_cause_with_its_reason() -> None:
    text = millrace() + '\npins:\n  host.cores.needed: {value: "30", because: room to grow}\n'
    told = between(millrace(), text)
    assert [str(cause) for cause in told.causes] == ["pins.host.cores.needed not there -> 30 (room to grow)"]
    needed = next(moved for moved in told.moved if moved.id == "host.cores.needed")
    assert needed.because == told.causes
    assert needed.now.working.startswith("pinned to 30 (room to grow;")
    other = between(text, text.replace("room to grow", "a wish"))
    assert [(cause.old, cause.new) for cause in other.causes] == [("30 (room to grow)", "30 (a wish)")]


def test_prices_that_rose_are_causes(tmp_path: Path) -> None:
    """A firm's folder lays dearer rows over ours; the same brief costs more, and the row is named."""
    for name in ("old", "new"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "brief.yaml").write_text(millrace(), encoding="utf-8")
    made = planned(millrace())
    host = made.purchase.chosen.options["host"].parts[0][0]
    dearer = host.get(PRICE) + 1
    firm = tmp_path / "new" / "firm"
    firm.mkdir()
    (firm / "hosts.yaml").write_text(f"host:\n  {host.slug}: {{price: {dearer} EUR}}\n", encoding="utf-8")
    told = api.compare(tmp_path / "old/brief.yaml", tmp_path / "new/brief.yaml")
    assert [(c.kind, c.id) for c in told.causes] == [("catalogue", f"catalogue.host.{host.slug}.price")]
    assert [(b.slot, b.difference) for b in told.bought] == [("host", Decimal(1))]
    assert told.totals[1] - told.totals[0] == 1


def test_advice_that_is_declined_is_told() -> None:
    code = planned(millrace()).findings[0].finding.code
    text = f"{millrace()}\ndeclined:\n  {code}: {{by: Aoife Brennan, on: 2026-11-20, because: not now}}\n"
    (declined,) = between(millrace(), text).declined
    assert (declined.code, declined.old) == (code, "")
    assert declined.new == "declined by Aoife Brennan on 2026-11-20: not now"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=6)
@given(heads=st.integers(1, 60), size=st.integers(1, 20))
def test_whatever_is_edited_the_comparison_adds_up(heads: int, size: int) -> None:
    text = with_values(fold(), {"people.roles.surveyors.heads": str(heads), "data.sets.clouds.size": f"{size} TB"})
    told = between(fold(), text)
    assert sum((b.difference for b in told.bought), Decimal(0)) == told.totals[1] - told.totals[0]
    assert {cause.kind for cause in told.causes} <= {"brief"}
    assert all(moved.because for moved in told.moved) or len(told.causes) > 1
    assert all(m.old != m.new for m in told.moved)
