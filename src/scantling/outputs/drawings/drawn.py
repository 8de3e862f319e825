"""Every drawing of a plan by its sheet number."""

from scantling.figures import Asking, Flow, Machine, Place, Subnet, Zone
from scantling.outputs.drawings.address_map import address_sheet as drawn_map
from scantling.outputs.drawings.cabinet import cabinet_sheet as drawn_cabinet
from scantling.outputs.drawings.door_schedule import schedule_sheet
from scantling.outputs.drawings.from_addresses import address_sheet
from scantling.outputs.drawings.from_network import matrix_sheet, schedule_sheets
from scantling.outputs.drawings.from_paths import paths_sheet
from scantling.outputs.drawings.from_places import cabinet_sheet
from scantling.outputs.drawings.from_plan import rooms_sheet, section_sheet
from scantling.outputs.drawings.matrix import matrix_sheet as drawn_matrix
from scantling.outputs.drawings.paper import LOOKS
from scantling.outputs.drawings.paths import paths_sheet as drawn_paths
from scantling.outputs.drawings.rooms import owners_sheet
from scantling.outputs.drawings.schedule import technicians_sheet
from scantling.outputs.drawings.section import section_sheet as drawn_section
from scantling.plan.make import Plan


def drawings(plan: Plan, look: str = "day") -> dict[str, str]:
    """SVG by sheet number; only sheets for which the plan has something to show."""
    inks = LOOKS[look]
    made = {}
    if plan.records(Zone):
        model = rooms_sheet(plan)
        made["N-1"] = owners_sheet(model, inks)
        made["N-2"] = technicians_sheet(model, inks)
    if plan.records(Flow):
        made["N-3"] = drawn_matrix(matrix_sheet(plan), inks)
    if plan.records(Subnet):
        made["N-4"] = drawn_map(address_sheet(plan), inks)
    if plan.records(Asking):
        made["N-5"] = drawn_paths(paths_sheet(plan), inks)
    made |= {number: schedule_sheet(sheet, inks) for number, sheet in schedule_sheets(plan).items()}
    if plan.records(Machine):
        made["S-1"] = drawn_section(section_sheet(plan), inks)
    if plan.records(Place):
        made["P-1"] = drawn_cabinet(cabinet_sheet(plan), inks)
    return made
