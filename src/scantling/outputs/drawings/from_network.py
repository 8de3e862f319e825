"""From a plan to what the sheets of its network are told: the door schedule, the matrix, the address map, names and time."""

from collections.abc import Iterator

from scantling.outputs.drawings.door_schedule import DoorsSheet, paged
from scantling.outputs.drawings.from_traffic import doors, numbered, traffic
from scantling.outputs.drawings.model import Phrase, plain
from scantling.outputs.drawings.sheet_set import paper, schedule_numbers, title_block
from scantling.plan.make import Plan


def schedule_sheets(plan: Plan) -> dict[str, DoorsSheet]:
    """The technician's door schedule by sheet number; nothing where no traffic is planned."""
    hung = doors(plan)
    if hung is None:
        return {}
    pages = dict(zip(schedule_numbers(plan), paged(hung, paper(plan)), strict=True))
    title = "Door schedule, technician's layer"
    return {
        number: DoorsSheet(title_block(plan, title, number), part, tuple(_schedule_notes(plan)))
        for number, part in pages.items()
    }


def _schedule_notes(plan: Plan) -> Iterator[Phrase]:
    """How the schedule is read."""
    logged = traffic(plan).logged
    yield plain("One line a caller and whom it calls on. Replies always pass. Both families, unless a rule can hold for one only.")
    yield plain("Rules bear the numbers of the rule list and of its files. A dash: the rule of another line takes this one in.")
    if logged:
        yield plain(f"Logged: what no rule lets through (rule {numbered(logged)}), and lines that say so.")
    yield plain("What passes between two things in one room meets no rule: the firewall never sees it.")
