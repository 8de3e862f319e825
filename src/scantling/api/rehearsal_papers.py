"""What a rehearsal leaves on paper: its record and its drawings, written into a folder whole or not at all."""

import os
from dataclasses import dataclass
from pathlib import Path

from scantling import UserError
from scantling.plan.make import Plan
from scantling.trials.rehearsal.results import Rehearsed

RECORD = "rehearsal.json"


@dataclass(frozen=True)
class Papers:
    """What was written, and drawings of an earlier rehearsal in the same folder that this one has nothing for."""

    names: tuple[str, ...]
    left: tuple[str, ...] = ()


def write_rehearsal(made: Plan, found: Rehearsed, folder: Path) -> Papers:
    """Write the record and the drawings by day and by night. Raises UserError, and then the old ones stay as they were."""
    from scantling.outputs.writing import OutputError, write_all  # noqa: PLC0415 - drawing is heavy
    from scantling.trials.rehearsal.report import record  # noqa: PLC0415 - as above

    files = {RECORD: record(found).encode("ascii")}
    for look, ending in (("day", ""), ("night", "-night")):
        files |= {
            f"{number}{ending}.svg": svg.encode() for number, svg in rehearsal_drawings(made, found, look).items()
        }
    try:
        write_all(folder, files)
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    return Papers(tuple(sorted(files)), tuple(sorted({one.name for one in folder.glob("T-*.svg")} - files.keys())))


def may_write(folder: Path) -> None:
    """That a folder could be written now, so that nobody waits for nothing. Raises UserError."""
    place = next(one for one in (folder, *folder.absolute().parents) if one.exists())
    if not place.is_dir():
        raise UserError(f"can't write in {folder}: {place} is a file; name a folder with --out")
    if not os.access(place, os.W_OK | os.X_OK):
        raise UserError(f"can't write in {folder}: {place} may not be written by you; name another folder with --out")


def rehearsal_drawings(made: Plan, found: Rehearsed, look: str = "day") -> dict[str, str]:
    """The sheets T-1 to T-3 as SVG, by number; only those on which there is something to show."""
    from scantling.api.rehearsal_sheets import rehearsal_sheets  # noqa: PLC0415 - drawing is heavy
    from scantling.outputs.drawings.rehearsal import rehearsal_drawings as drawn  # noqa: PLC0415 - as above

    return drawn(rehearsal_sheets(made, found), look)


def read_rehearsal(path: Path) -> Rehearsed:
    """The rehearsal that a file records. Raises UserError: what is wrong with it, where, what to do."""
    from scantling.trials.rehearsal.recalled import read_file  # noqa: PLC0415 - loaded when needed

    return read_file(path)


def of_another_plan(made: Plan, found: Rehearsed) -> tuple[str, ...]:
    """Files of the plan that are not byte for byte those that were rehearsed: with any, the rehearsal was of another plan."""
    from scantling.api.filing import files  # noqa: PLC0415 - loaded when needed
    from scantling.trials.rehearsal.services.running import digest  # noqa: PLC0415 - as above

    rehearsed = {one.path: one.digest for one in found.checked}
    now = {one.path: digest(one.content) for one in files(made) if one.path in rehearsed}
    return tuple(sorted(path for path in rehearsed if now.get(path) != rehearsed[path]))
