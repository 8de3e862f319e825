"""What a first sheet needs and no plan is needed for, loaded while the plan is being made."""

from scantling import api
from scantling.outputs.drawings.lettering import LABEL, capital
from scantling.web.rendering import surroundings

TEMPLATES = (
    "frame.html.j2", "sheet_list.html.j2", "state_line.html.j2", "changes.html.j2", "pencil.html.j2", "job_strip.html.j2",
    "title_block.html.j2", "drawing.html.j2", "blocks.html.j2", "job_rows.html.j2",
)  # fmt: skip
"""Those of a sheet with a drawing."""


def load_trades() -> None:
    """The trades, of whose classes a plan is made: before a worker sends one, since two threads should not load them at once."""
    api.known_sections()


def load_sheet() -> None:
    """The templates of a sheet, and the widths of a drawing's letters."""
    for name in TEMPLATES:
        surroundings().get_template(name)
    capital(LABEL)
