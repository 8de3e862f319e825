"""The verb weigh: what else could have been bought, what each demand costs, and why the rest is never chosen; kept in a file."""

import json
from pathlib import Path

from scantling import UserError
from scantling.figures.spelled import shown
from scantling.outputs.weighed import as_plain
from scantling.plan.make import Plan
from scantling.plan.telling import as_json, identity
from scantling.plan.weighing import Weighed, weighed

RECORD = "weighing.json"
MOST_BYTES = 16_000_000


def weigh(made: Plan) -> Weighed:
    """The purchase of a plan weighed: the ten next best sets, the price of every demand, what is never chosen, and why."""
    return weighed(made)


def weighed_json(made: Plan, told: Weighed) -> str:
    """The plan as canonical JSON, with what was weighed in a section of its own."""
    whole = {**as_json(made), "weighed": as_plain(told)}
    return json.dumps(whole, sort_keys=True, ensure_ascii=False, indent=1) + "\n"


def write_weighing(made: Plan, told: Weighed, folder: Path) -> Path:
    """Write what was weighed with the plan's identity. Raises UserError, and then the old file stays as it was."""
    from scantling.outputs.weighing_record import record  # noqa: PLC0415 - loaded when needed
    from scantling.outputs.writing import OutputError, write_all  # noqa: PLC0415 - as above

    try:
        write_all(folder, {RECORD: record(told, identity(made)).encode("ascii")})
    except OutputError as wrong:
        raise UserError(str(wrong)) from None
    return folder / RECORD


def read_weighing(path: Path) -> tuple[Weighed, str]:
    """What a file says was weighed, and the identity of the plan it is of. Raises UserError: what is wrong, what to do."""
    from scantling.outputs.reading_back import bytes_of  # noqa: PLC0415 - loaded when needed
    from scantling.outputs.weighing_record import read  # noqa: PLC0415 - as above

    name, raw = shown(path.name, 100), bytes_of(path, MOST_BYTES, "what was weighed")
    try:
        return read(raw.decode("ascii"), name)
    except UnicodeDecodeError as wrong:
        raise UserError(f"{name}: byte {wrong.start} is no text of a record; weigh again") from None
