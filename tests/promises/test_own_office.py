"""The promise of a newcomer's own office: written from the reference page alone, planned, and looked at page by page."""

from collections import Counter

from offices import ROOT, planned

from scantling.figures import Machine
from scantling.outputs.documents.book import bound
from scantling.outputs.drawings.from_plan import rooms_sheet
from scantling.plan.make import Plan

OWN = (ROOT / "examples/saltmarsh/brief.yaml").read_text("utf-8")


def plan() -> Plan:
    """The newcomer's plan."""
    return planned(OWN)


def test_a_newcomers_office_is_planned() -> None:
    """A clinic of eighteen, invented by somebody who read the reference page alone, is planned without a stop."""
    assert not plan().stops
    assert not plan().provisional
    assert plan().figures["host.cores.bought"].value in range(16, 25)
    assert plan().figures["host.memory.bought"].value == 128


def test_the_schedule_holds_every_machine() -> None:
    """Every machine of the plan stands with its address on the technician's sheet."""
    held = {str(holder.name) for room in rooms_sheet(plan()).rooms for holder in room.addresses}
    assert held == {machine.slug for machine in plan().records(Machine)}


def test_every_sheet_has_a_number_of_its_own() -> None:
    """No two sheets of the book carry the same number."""
    assert max(Counter(sheet.number for sheet in bound(plan()).sheets).values()) == 1


def test_the_night_copies_only_what_is_copied() -> None:
    """What the client leaves out of the backup has no job in the night."""
    assert "watch" not in plan().figures["backup.night"].value


def test_all_parts_weigh_at_least_as_much_as_the_heaviest() -> None:
    """The weight of all parts is no less than that of the heaviest piece."""
    assert plan().figures["power.weight"].value >= plan().figures["power.heaviest"].value
