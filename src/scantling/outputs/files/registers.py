"""The registers as comma-separated files, one a register: registers/<what>.csv."""

from collections.abc import Iterator

from scantling.outputs.files import Written
from scantling.outputs.files.register_rows import registers
from scantling.outputs.files.tables import separated
from scantling.plan.make import Plan


def write(plan: Plan) -> Iterator[Written]:
    """One file a register; one of which nothing is planned says so."""
    for one in registers(plan):
        yield Written(
            path=f"registers/{one.slug}.csv",
            content=separated(one.heads, one.lines()),
            what=f"{one.what} For programs; registers.xlsx holds all of them for people.",
            goes="Into the handover folder; nowhere on a machine.",
            load="Open it, or read it in with commas between the fields, all of them as text, in UTF-8.",
            undo="Nothing to undo: nothing is set by it.",
        )
