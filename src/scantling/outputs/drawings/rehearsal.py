"""Every drawing of a rehearsal by its sheet number."""

from scantling.outputs.drawings.busiest import days_sheet
from scantling.outputs.drawings.drill import drill_sheet
from scantling.outputs.drawings.paper import LOOKS
from scantling.outputs.drawings.rehearsal_model import RehearsalSheets
from scantling.outputs.drawings.tries import tries_sheet

TRIES, DRILL, DAYS = "T-1", "T-2", "T-3"


def rehearsal_drawings(sheets: RehearsalSheets, look: str = "day") -> dict[str, str]:
    """SVG by sheet number; only sheets on which the rehearsal has something to show."""
    inks = LOOKS[look]
    made = {}
    if sheets.tries is not None:
        made[TRIES] = tries_sheet(sheets.tries, inks)
    if sheets.drill is not None:
        made[DRILL] = drill_sheet(sheets.drill, inks)
    if sheets.days is not None:
        made[DAYS] = days_sheet(sheets.days, inks)
    return made
