"""Every drawing of a plan by its sheet number."""

from collections.abc import Callable, Mapping
from functools import cached_property

from scantling.outputs.drawings.address_model import AddressMap
from scantling.outputs.drawings.address_map import address_sheet as drawn_map
from scantling.outputs.drawings.cabinet_model import CabinetSheet
from scantling.outputs.drawings.cabinet import cabinet_sheet as drawn_cabinet
from scantling.outputs.drawings.door_schedule import DoorsSheet, schedule_sheet
from scantling.outputs.drawings.from_addresses import address_sheet
from scantling.outputs.drawings.from_network import matrix_sheet, schedule_sheets
from scantling.outputs.drawings.from_paths import paths_sheet
from scantling.outputs.drawings.from_places import cabinet_sheet
from scantling.outputs.drawings.from_plan import rooms_sheet, section_sheet
from scantling.outputs.drawings.matrix_model import Matrix
from scantling.outputs.drawings.matrix import matrix_sheet as drawn_matrix
from scantling.outputs.drawings.model import Phrase, RoomsSheet, SectionSheet
from scantling.outputs.drawings.paper import LOOKS, Look
from scantling.outputs.drawings.paths_model import Paths
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

    @cached_property
    def matrix(self) -> Matrix:
        """Who may reach whom."""
        return matrix_sheet(self.plan)

    @cached_property
    def addresses(self) -> AddressMap:
        """The address map."""
        return address_sheet(self.plan)

    @cached_property
    def paths(self) -> Paths:
        """Names and time."""
        return paths_sheet(self.plan)

    @cached_property
    def section(self) -> SectionSheet:
        """The server in section."""
        return section_sheet(self.plan)

    @cached_property
    def cabinet(self) -> CabinetSheet:
        """The cabinet from the front."""
        return cabinet_sheet(self.plan)


DRAWERS: Mapping[str, Callable[[Told, Look], str]] = {
    "N-1": lambda told, look: owners_sheet(told.rooms, look),
    "N-2": lambda told, look: technicians_sheet(told.rooms, look),
    "N-3": lambda told, look: drawn_matrix(told.matrix, look),
    "N-4": lambda told, look: drawn_map(told.addresses, look),
    "N-5": lambda told, look: drawn_paths(told.paths, look),
    "S-1": lambda told, look: drawn_section(told.section, look),
    "P-1": lambda told, look: drawn_cabinet(told.cabinet, look),
}
"""Whatever else is drawn is a sheet of the door schedule."""
NOTES: Mapping[str, Callable[[Told], tuple[Phrase, ...]]] = {
    "N-1": lambda told: told.rooms.notes,
    "N-2": lambda told: told.rooms.technical_notes,
    "N-3": lambda told: told.matrix.notes,
    "N-4": lambda told: told.addresses.notes,
    "N-5": lambda told: told.paths.notes,
    "S-1": lambda told: told.section.notes,
    "P-1": lambda told: told.cabinet.notes,
}


def notes(told: Told, number: str) -> tuple[Phrase, ...]:
    """What stands under NOTES on a sheet: how it is read. Raises KeyError for a sheet that this plan has not."""
    return NOTES[number](told) if number in NOTES else told.schedules[number].notes


def drawings(plan: Plan, look: str = "day") -> dict[str, str]:
    """SVG by sheet number; only sheets for which the plan has something to show."""
    told = Told(plan)
    return {number: _one(told, number, LOOKS[look]) for number in drawn_sheets(plan)}


def one(plan: Plan | Told, number: str, look: str = "day") -> str:
    """One sheet alone as SVG text, the same bytes as among all. Raises KeyError for a sheet that this plan has not."""
    told = plan if isinstance(plan, Told) else Told(plan)
    if number not in drawn_sheets(told.plan):
        raise KeyError(number)
    return _one(told, number, LOOKS[look])


def _one(told: Told, number: str, look: Look) -> str:
    drawer = DRAWERS.get(number)
    return drawer(told, look) if drawer is not None else schedule_sheet(told.schedules[number], look)
