"""`keep`: what was issued and bought is added to the standing file, the next plan is the same, and nothing else is touched."""

import os
import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from offices import ROOT, changed
from scantling import UserError, api
from scantling.figures import PRICE, Address, Address6, Name, Pool, Prefix, Range, Reservation, Subnet, Zone
from scantling.outputs import rewriting
from scantling.plan.make import Plan

OFFICES = ("millrace", "fold-and-fell", "saltmarsh", "brackwater")
every_office = pytest.mark.parametrize("office", OFFICES)
BOUGHT = api.Wish(bought=True)
OF_WHAT_IS_BOUGHT = ("money.", "kit.", "prices.", "builds.")
"""Trades that speak of what is still to buy."""


@pytest.fixture
def folder(tmp_path: Path) -> Callable[[str], Path]:
    """A copy of an example's folder; hands back its brief."""

    def copied(office: str) -> Path:
        shutil.copytree(ROOT / "examples" / office, tmp_path / office)
        return tmp_path / office / "brief.yaml"

    return copied


@pytest.fixture
def fold(folder: Callable[[str], Path]) -> Path:
    """Fold & Fell's brief, nothing beside it."""
    return folder("fold-and-fell")


def standing(brief: Path) -> Path:
    """The file beside it."""
    return brief.with_name("standing.yaml")


def others(brief: Path) -> set[str]:
    """Everything else in the folder, hidden things too."""
    return {one.name for one in brief.parent.iterdir()} - {"brief.yaml", "standing.yaml"}


def issued(plan: Plan) -> set[tuple[str, ...]]:
    """Every number, network, run and address of a plan, by kind and slug."""
    fields: dict[type[Any], tuple[str, ...]] = {
        Subnet: ("network", "gateway"), Range: ("zone", "first", "last", "purpose"), Pool: ("first", "last"),
        Address: ("zone", "holder", "address"), Prefix: ("network", "gateway"), Address6: ("zone", "holder", "address"),
        Reservation: ("zone", "address", "hardware_address"), Name: ("name", "holder", "addresses"),
    }  # fmt: skip
    told = {
        (kind.__name__, str(one.slug), *(str(getattr(one, word)) for word in words))
        for kind, words in fields.items() for one in plan.records(kind)
    }  # fmt: skip
    return told | {("Zone", zone.slug, str(zone.number.value)) for zone in plan.records(Zone)}


def to_pay(plan: Plan) -> int:
    """What is to be bought, in minor units."""
    every = plan.purchase.chosen.options.values()
    return sum(
        int(row.get(PRICE) * 100) * n for option in every for row, n in option.to_buy if row.get(PRICE) is not None
    )


def refusal(work: Callable[[], object]) -> str:
    """What a person is told, whole."""
    with pytest.raises(UserError) as told:
        work()
    return str(told.value)


@every_office
def test_the_next_plan_is_the_same_and_costs_nothing(folder: Callable[[str], Path], office: str) -> None:
    brief = folder(office)
    before = api.plan(brief)
    api.keep(api.kept(brief, BOUGHT))
    after = api.plan(brief)
    assert issued(after) == issued(before)
    chosen = {slot: option.slug for slot, option in before.purchase.chosen.options.items()}
    assert {slot: option.slug for slot, option in after.purchase.chosen.options.items()} == chosen
    assert to_pay(before) > 0
    assert to_pay(after) == 0
    assert not [stood for stood in after.purchase.chosen.stood.values() if stood.gave_way.value]
    same = {id_: str(f.value) for id_, f in before.figures.items() if not id_.startswith(OF_WHAT_IS_BOUGHT)}
    assert {id_: str(f.value) for id_, f in after.figures.items() if id_ in same} == same


@every_office
def test_kept_twice_nothing_is_written_again(folder: Callable[[str], Path], office: str) -> None:
    brief = folder(office)
    api.keep(api.kept(brief, BOUGHT))
    text = standing(brief).read_bytes()
    assert api.kept(brief, BOUGHT).nothing
    assert api.kept(brief).nothing
    assert standing(brief).read_bytes() == text
    assert not others(brief)


def test_what_was_written_by_hand_stays_line_for_line(folder: Callable[[str], Path]) -> None:
    """The Millrace's survey, with its remarks and its brackets over several lines."""
    brief = folder("millrace")
    old = standing(brief).read_text(encoding="utf-8").splitlines()
    api.keep(api.kept(brief, BOUGHT))
    new = standing(brief).read_text(encoding="utf-8").splitlines()
    rest = iter(new)
    assert all(line in rest for line in old), "the old lines in their order"
    assert len(new) > len(old) + 40


def test_parts_are_bought_on_the_day_given_at_the_plans_price(fold: Path) -> None:
    made = api.kept(fold, api.Wish(bought=True, on=date(2026, 12, 10)))
    lines = {line.path[-1]: line.answers for line in made.added if line.path[0] == "bought"}
    plan = api.plan(fold)
    rows = {row.slug: row for option in plan.purchase.chosen.options.values() for row, _ in option.parts}
    assert lines
    for answers in lines.values():
        assert isinstance(answers, dict)
        assert answers["on"] == "2026-12-10"
        assert answers["price"] == f"{rows[answers['article']].get(PRICE):.2f} EUR"
        assert answers["built"] == plan.purchase.chosen.options[answers["serves"]].slug
    assert not [line for line in api.kept(fold).added if line.path[0] == "bought"]
    as_of = {
        line.answers["on"]
        for line in api.kept(fold, BOUGHT).added
        if isinstance(line.answers, dict) and "on" in line.answers
    }
    assert as_of == {"2026-11-25"}


def test_growth_adds_lines_and_changes_none(fold: Path) -> None:
    """Year two: more people and devices, a new zone, and larger data."""
    api.keep(api.kept(fold, BOUGHT))
    first, before = standing(fold).read_text(encoding="utf-8"), api.plan(fold)
    text = fold.read_text(encoding="utf-8")
    text = changed(text, "kind: printer, count: 2", "kind: printer, count: 6")
    text = changed(text, "devices:\n", "devices:\n  handsets: {kind: phone, count: 5, zone: phones}\n")
    fold.write_text(changed(text, "size: 2.2 TB", "size: 12 TB"), encoding="utf-8")
    made = api.kept(fold, BOUGHT)
    api.keep(made)
    second, after = standing(fold).read_text(encoding="utf-8"), api.plan(fold)
    assert set(first.splitlines()) <= set(second.splitlines())
    assert issued(after) >= issued(before)
    assert ("issued", "zones", "phones") in {line.path for line in made.added}
    assert to_pay(made.plan) > to_pay(after) == 0


def pinned(brief: Path) -> None:
    """The brief with another number for the staff's network."""
    pin = "\npins:\n  zones.staff.number: {value: 35, because: the old switches want it}\n"
    brief.write_text(brief.read_text(encoding="utf-8") + pin, encoding="utf-8")


def test_an_answer_that_stands_is_not_changed_unless_the_person_says_so(fold: Path) -> None:
    api.keep(api.kept(fold))
    text = standing(fold).read_text(encoding="utf-8")
    pinned(fold)
    told = refusal(lambda: api.kept(fold))
    line = next(n for n, one in enumerate(text.splitlines(), 1) if one.startswith("    staff: {number: 30"))
    assert told.startswith(f"standing.yaml:{line}:21: issued.zones.staff.number: this says 30, the plan 35")
    assert "--replace" in told
    assert standing(fold).read_text(encoding="utf-8") == text
    made = api.kept(fold, api.Wish(replace=True))
    assert [(".".join(one.path), one.there, one.here) for one in made.replaced] == [
        ("issued.zones.staff.number", "30", "35")
    ]
    api.keep(made)
    assert standing(fold).read_text(encoding="utf-8") == text.replace("staff: {number: 30", "staff: {number: 35")


def test_an_address_under_a_name_of_ones_own_is_not_written_twice(fold: Path) -> None:
    """And a name that somebody gave to something else is left to it."""
    api.keep(api.kept(fold))
    text = standing(fold).read_text(encoding="utf-8")
    text = changed(text, "    files: {zone: servers, holder: files", "    big-one: {zone: servers, holder: files")
    text = changed(text, "    directory: {zone: servers", "    dir: {zone: servers")
    other = "    directory: {zone: staff, holder: old, address: 10.71.30.33}\n"
    standing(fold).write_text(changed(text, "    firewall: {zone", f"{other}    firewall: {{zone"), encoding="utf-8")
    assert api.kept(fold).nothing


def test_a_free_name_is_found_where_somebody_took_it(fold: Path) -> None:
    standing(fold).write_text(
        "issued:\n  zones:\n    staff: {number: 30, network: 10.71.30.0/26, gateway: 10.71.30.1}\n"
        "  addresses:\n    files: {zone: staff, holder: old-store, address: 10.71.30.33}\n",
        encoding="utf-8",
    )
    api.keep(api.kept(fold))
    assert "    servers-files: {zone: servers, holder: files, address: 10.71.20.23}" in standing(fold).read_text(
        encoding="utf-8"
    )
    assert api.kept(fold).nothing


def test_somebody_elses_change_is_kept_and_so_is_this_one(fold: Path) -> None:
    api.keep(api.kept(fold))
    made = api.kept(fold, BOUGHT)
    theirs = standing(fold).read_text(encoding="utf-8") + "# theirs\n"
    standing(fold).write_text(theirs, encoding="utf-8")
    assert "standing.mine-1.yaml" in refusal(lambda: api.keep(made))
    assert standing(fold).read_text(encoding="utf-8") == theirs
    assert fold.with_name("standing.mine-1.yaml").read_text(encoding="utf-8") == made.after
    assert others(fold) == {"standing.mine-1.yaml"}


def test_a_file_that_somebody_else_made_first_is_left_alone(fold: Path) -> None:
    made = api.kept(fold)
    standing(fold).write_text("# theirs\n", encoding="utf-8")
    assert "standing.mine-1.yaml" in refusal(lambda: api.keep(made))
    assert standing(fold).read_text(encoding="utf-8") == "# theirs\n"
    assert others(fold) == {"standing.mine-1.yaml"}


@pytest.mark.parametrize("there", [False, True])
def test_when_it_cannot_be_written_nothing_has_changed(
    fold: Path, monkeypatch: pytest.MonkeyPatch, *, there: bool
) -> None:
    if there:
        standing(fold).write_text("# nothing yet\n", encoding="utf-8")
    made = api.kept(fold)

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    assert "No space left on device" in refusal(lambda: api.keep(made))
    assert standing(fold).exists() is there
    assert not others(fold)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", b""),
        ("\ufeff# ours\r\nkit: {}\r\n", b"\xef\xbb\xbf# ours\r\nkit: {}\r\n\r\nissued:\r\n  block: 10.71.0.0/16\r\n"),
    ],
)
def test_line_ends_and_byte_order_mark_stay(fold: Path, before: str, after: bytes) -> None:
    if before:
        standing(fold).write_bytes(before.encode())
    api.keep(api.kept(fold))
    assert standing(fold).read_bytes().startswith(after)
    assert api.kept(fold).nothing


def test_a_plan_whose_block_is_too_small_is_not_kept(fold: Path) -> None:
    """Its register is drawn as if the block were wider: such networks were never agreed."""
    fold.write_text(
        changed(fold.read_text(encoding="utf-8"), "block: 10.71.0.0/16", "block: 10.71.0.0/26"), encoding="utf-8"
    )
    assert "the plan's block does not hold servers 10.71.0.64/26" in refusal(lambda: api.kept(fold))
    assert not standing(fold).exists()


def test_a_link_to_the_standing_file_stays_a_link(fold: Path, tmp_path: Path) -> None:
    real = tmp_path / "elsewhere.yaml"
    real.write_text("# kept elsewhere\n", encoding="utf-8")
    standing(fold).symlink_to(real)
    api.keep(api.kept(fold))
    assert standing(fold).is_symlink()
    assert real.read_text(encoding="utf-8").startswith("# kept elsewhere\n")
    assert rewriting.PATIENCE > 0


def test_two_that_keep_at_once_leave_one_whole_file(fold: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second comes in while the first is about to put its own in place: one stands, the other is told and kept."""
    mine, theirs = api.kept(fold), api.kept(fold, BOUGHT)
    link = os.link

    def late(source: Path, target: Path) -> None:
        monkeypatch.setattr(os, "link", link)
        api.keep(theirs)
        link(source, target)

    monkeypatch.setattr(os, "link", late)
    assert "standing.mine-1.yaml" in refusal(lambda: api.keep(mine))
    assert fold.with_name("standing.yaml").read_text(encoding="utf-8") == theirs.after
    assert fold.with_name("standing.mine-1.yaml").read_text(encoding="utf-8") == mine.after
    assert others(fold) == {"standing.mine-1.yaml"}
