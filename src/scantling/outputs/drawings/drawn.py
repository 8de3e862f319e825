"""Every drawing of a plan by its sheet number."""

from collections.abc import Callable, Mapping
from functools import cached_property

from scantling.outputs.drawings.address_map import address_sheet as drawn_map
from scantling.outputs.drawings.cabinet import cabinet_sheet as drawn_cabinet
from scantling.outputs.drawings.door_schedule import DoorsSheet, schedule_sheet
from scantling.outputs.drawings.from_addresses import address_sheet
from scantling.outputs.drawings.from_network import matrix_sheet, schedule_sheets
from scantling.outputs.drawings.from_paths import paths_sheet
from scantling.outputs.drawings.from_places import cabinet_sheet
from scantling.outputs.drawings.from_plan import rooms_sheet, section_sheet
from scantling.outputs.drawings.matrix import matrix_sheet as drawn_matrix
from scantling.outputs.drawings.model import RoomsSheet
from scantling.outputs.drawings.paper import LOOKS, Look
from scantling.outputs.drawings.paths import paths_sheet as drawn_paths
from scantling.outputs.drawings.rooms import owners_sheet
from scantling.outputs.drawings.schedule import technicians_sheet
from scantling.outputs.drawings.section import section_sheet as drawn_section
from scantling.outputs.drawings.sheet_set import drawn_sheets
from scantling.plan.make import Plan


class Told:
    """What the sheets of one plan are told, each model made once and only when it is asked for."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    @cached_property
    def rooms(self) -> RoomsSheet:
        """For both layers of the floor plan."""
        return rooms_sheet(self.plan)

    @cached_property
    def schedules(self) -> Mapping[str, DoorsSheet]:
        """For the sheets of the door schedule."""
        return schedule_sheets(self.plan)


DRAWERS: Mapping[str, Callable[[Told, Look], str]] = {
    "N-1": lambda told, look: owners_sheet(told.rooms, look),
    "N-2": lambda told, look: technicians_sheet(told.rooms, look),
    "N-3": lambda told, look: drawn_matrix(matrix_sheet(told.plan), look),
    "N-4": lambda told, look: drawn_map(address_sheet(told.plan), look),
    "N-5": lambda told, look: drawn_paths(paths_sheet(told.plan), look),
    "S-1": lambda told, look: drawn_section(section_sheet(told.plan), look),
    "P-1": lambda told, look: drawn_cabinet(cabinet_sheet(told.plan), look),
}
"""Whatever else is drawn is a sheet of the door schedule."""


def drawings(plan: Plan, look: str = "day") -> dict[str, str]:
    """SVG by sheet number; only sheets for which the plan has something to show."""
    told = Told(plan)
    return {number: _one(told, number, LOOKS[look]) for number in drawn_sheets(plan)}


def one(plan: Plan, number: str, look: str = "day") -> str:
    """One sheet alone as SVG text, the same bytes as among all. Raises KeyError for a sheet that this plan has not."""
    if number not in drawn_sheets(plan):
        raise KeyError(number)
    return _one(Told(plan), number, LOOKS[look])


def _one(told: Told, number: str, look: Look) -> str:
    drawer = DRAWERS.get(number)
    return drawer(told, look) if drawer is not None else schedule_sheet(told.schedules[number], look)
