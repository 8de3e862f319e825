"""The configuration files of a plan, and the list of them: made, and written into a folder whole or not at all."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from scantling import UserError
from scantling.outputs.files import FilesError, Written, written
from scantling.outputs.files.listing import listed
from scantling.outputs.files.tables import plain
from scantling.outputs.writing import OutputError, write_all
from scantling.plan.make import Plan

LIST = "files.csv"


@dataclass(frozen=True)
class Filed:
    """What was written, and what an earlier list of the same folder names that this plan has no more."""

    files: tuple[Written, ...]
    left: tuple[str, ...]


def files(made: Plan) -> tuple[Written, ...]:
    """Every file of a plan with the list of them, by path. Raises UserError where one can't be written."""
    try:
        found = written(made)
    except FilesError as wrong:
        raise UserError(str(wrong)) from None
    return tuple(sorted([*found, *listed(made, found)], key=lambda one: one.path))


def write_files(made: Plan, folder: Path) -> Filed:
    """Write them all into a folder. Raises UserError, and then the old files stand as they were.

    Files of an earlier plan that this one has no more are left alone, and told.
    """
    every = files(made)
    before = set(_listed_before(folder / LIST)) - {one.path for one in every}
    try:
        write_all(folder, {one.path: one.content for one in every})
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    return Filed(every, tuple(sorted(path for path in before if (folder / path).is_file())))


def _listed_before(file: Path) -> Iterator[str]:
    """Paths inside the folder that an earlier list names; of a list that can't be read, none."""
    try:
        rows = csv.reader(io.StringIO(file.read_text(encoding="utf-8"), newline=""))
        paths = [plain(row[0]) for row in rows if row][1:]
    except (OSError, UnicodeDecodeError, csv.Error):
        return
    yield from (path for path in paths if path and _inside(PurePosixPath(path)))


def _inside(path: PurePosixPath) -> bool:
    return not path.is_absolute() and ".." not in path.parts
