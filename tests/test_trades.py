"""What the trades' numbers must hold to each other, whatever the office."""

import re

import pytest
from generated_offices import brief
from offices import changed, codes, fold, millrace, planned

from scantling import UserError, api
from scantling.figures import Address, Copy, Machine, Prose
from scantling.outputs.drawings.from_plan import rooms_sheet


HEADS = (5, 16, 40, 80, 120)


@pytest.mark.parametrize("heads", HEADS)
def test_memory_rises_from_floor_to_ceiling(heads: int) -> None:
    """Floor, expected, ceiling, in that order, for every machine."""
    for machine in planned(brief(heads)).records(Machine):
        assert machine.floor.value <= machine.expected.value <= machine.ceiling.value, machine.slug


def test_work_lost_counts_the_run_that_was_found() -> None:
    """Interval and the real run of the copy at hand, not a run of the usual length."""
    made = planned(millrace())
    interval, run = made.figures["backup.interval"].value, made.figures["backup.near.run"].value
    assert made.figures["backup.worst"].value == pytest.approx(interval + run)


def test_a_tighter_wish_never_makes_copies_rarer() -> None:
    """When nothing is often enough, the shortest step is taken, and said so."""
    text = changed(
        millrace(),
        "directory:  {profile: directory, down: 4 h, lost: 24 h}",
        "directory:  {profile: directory, down: 4 h, lost: 0.5 h}",
    )
    made = planned(text)
    assert made.figures["backup.interval"].value == 1.0
    assert "none fits" in made.figures["backup.interval"].how.working(made.figures["backup.interval"])
    assert "B-6" in codes(made)


def test_what_is_not_copied_has_no_job_in_the_night() -> None:
    """The camera recordings are left out."""
    assert "recordings" not in planned(millrace()).figures["backup.night"].value


def test_a_restore_waits_until_somebody_is_there() -> None:
    """The time to reach the office is part of every restore."""
    sooner = planned(changed(millrace(), "reach: 2 h", "reach: 1 h"))
    hours = "restore.files.hours"
    assert planned(millrace()).figures[hours].value == pytest.approx(sooner.figures[hours].value + 1)


def test_without_a_copy_the_book_claims_none() -> None:
    """No rule of three is said to be kept, and no loss is given."""
    text = changed(changed(fold(), "near: box", "near: none"), "away: disks", "away: none")
    made = planned(text)
    assert not made.records(Copy)
    assert "backup.worst" not in made.figures
    words = [block.words for page in made.pages() for block in page.blocks if isinstance(block, Prose)]
    assert any("It is not kept: 0 of the two copies" in said for said in words)


def test_every_machine_stands_on_the_technicians_sheet() -> None:
    """Whatever it is called."""
    text = changed(
        millrace(), "  print: ", "  remote:     {profile: remote access, down: 24 h, lost: 72 h}\n  print: "
    )
    made = planned(text)
    held = {holder.address.text for room in rooms_sheet(made).rooms for holder in room.addresses}
    machines = {machine.slug for machine in made.records(Machine)}
    assert {
        str(a.address) for a in made.records(Address) if a.holder in machines and a.slug != f"gateway-{a.zone}"
    } <= held
    assert len(held) >= len(machines)


def test_declining_an_unknown_code_is_refused() -> None:
    """With its line and the nearest code; small letters are taken."""
    line = '\ndeclined:\n  {}: {{by: Ruth Fell, on: 2026-11-24, because: "no"}}\n'
    with pytest.raises(
        UserError, match=re.compile(r"brief\.yaml:\d+: declined\.Q-99: there is no finding of that code")
    ):
        api.plan_text(fold() + line.format("Q-99"))
    made = planned(fold() + line.format("m-8"))
    assert [told.finding.code for told in made.findings if told.declined] == ["M-8"]


def test_when_several_needs_give_way_each_gives_way_least() -> None:
    """The largest box is bought, not the smallest, when even that is too small."""
    text = changed(fold(), "adds: 600 GB/year", "adds: 60 TB/year")
    made = planned(text)
    assert made.provisional
    assert made.purchase.given_up
    assert made.purchase.chosen.options["near"].slug == "box-96"


def test_a_missed_demand_is_circled_where_it_is() -> None:
    """P-1 names the part that a drawing shows."""
    made = planned(changed(fold(), "adds: 600 GB/year", "adds: 60 TB/year"))
    abouts = {told.finding.about for told in made.findings if told.finding.code == "P-1"}
    assert "near" in abouts or "bulk" in abouts


def test_data_of_an_unknown_service_are_refused() -> None:
    """With the line and the nearest service, so that nothing drops out of a restore unseen."""
    text = changed(millrace(), "service: recorder", "service: recoder")
    with pytest.raises(
        UserError, match=r"brief\.yaml:\d+: data\.sets\.recordings\.service: .*recoder.*did you mean recorder"
    ):
        api.plan_text(text)
