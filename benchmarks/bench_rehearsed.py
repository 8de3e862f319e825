"""Whole rehearsals of offices of four sizes, everyone in them: seconds inside and of the whole command, and memory of all processes.

The readable references, one process a station that asks and one call of ip a step, stand in bench_addresses and bench_rehearsal.
Sizes are those of the example with other numbers of devices and visitors. Measured on a machine that is shared: the median of some.
"""

import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median
from time import perf_counter, sleep

sys.path.append(str(Path(__file__).parent.parent / "tests"))

from measuring import Row
from offices import BRIEFS, planned
from scantling.plan.make import Plan
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Sort
from scantling.trials.rehearsal.rehearsing import rehearsed
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.wish import Wish

SIZES = {60: (0.45, 20), 200: (1.7, 68), 500: (3.72, 265), 900: (6.34, 533)}
"""By devices: how many times those of the example, and people who come to an event."""
GOALS = {60: 0.6, 200: 1.3, 500: 3.0, 900: 6.0}
"""Seconds inside, in IPv4 alone; with both families under twice that."""
MOST_MEMORY, OFFICE_OF_MEMORY = 200, 200
"""MiB of all processes together, at so many devices."""
REPEATS = {60: 7, 200: 5, 500: 3, 900: 3}
FAMILIES = {"IPv4 alone": (4,), "both families": (4, 6)}
HERE = Path("/proc")
PAUSE = 0.05
"""Between two looks at the memory, seconds."""
MARKS = {Sort.DEVICE, Sort.VISITOR, Sort.KIT}


def brief(devices: int) -> str:
    """The example with so many devices, visitors among them."""
    times, people = SIZES[devices]
    text = BRIEFS["millrace"].read_text("utf-8")
    more = re.sub(r"count: (\d+),", lambda found: f"count: {max(1, round(int(found[1]) * times))},", text)
    return re.sub(r"people: \d+, days", f"people: {people}, days", more)


def bench_rehearsals() -> Iterator[Row]:
    """Each size, in IPv4 alone and in both families."""
    for devices in SIZES:
        plan = planned(brief(devices))
        many = sum(one.sort in MARKS for one in designed(plan, everyone=True).stations)
        for name, families in FAMILIES.items():
            inside, tries = _inside(plan, families, REPEATS[devices])
            whole = _whole(devices, families, REPEATS[devices])
            goal = GOALS[devices] * len(families)
            label = f"{many} devices, {name}, {tries} tries"
            yield Row(label, inside, "the whole command", whole, f"under {goal:g} s")


def _inside(plan: Plan, families: tuple[int, ...], repeats: int) -> tuple[float, int]:
    """Seconds inside, the median of some, and how many tries that were."""
    found = [_rehearsed(plan, families) for _ in range(repeats)]
    seconds = median(sum(taken for _, taken in one.seconds) for one in found)
    return seconds, sum(cell.tried for cell in found[0].cells)


def _rehearsed(plan: Plan, families: tuple[int, ...]) -> Rehearsed:
    found = rehearsed(plan, Wish(everyone=True, families=families), lambda _: None)
    assert found.stations, found.why_not
    assert not [cell for cell in found.cells if cell.wrong], found.mismatches
    return found


def _whole(devices: int, families: tuple[int, ...], repeats: int) -> float:
    """Seconds of the whole command with all that comes before and after, the median of some."""
    times = []
    for _ in range(repeats):
        began = perf_counter()
        with _commanded(devices, families, writes=False) as command:
            command.wait()
        times.append(perf_counter() - began)
    return median(times)


@contextmanager
def _commanded(
    devices: int, families: tuple[int, ...], *, writes: bool = True
) -> Iterator["subprocess.Popen[bytes]"]:
    """The command as one types it, under way; it must end well. With `writes` the record and the drawings too, as for the book."""
    with tempfile.TemporaryDirectory() as folder:
        where = Path(folder, "brief.yaml")
        where.write_text(brief(devices), "utf-8")
        family = "4" if families == (4,) else "both"
        words = ["rehearse", str(where), "--everyone", "--family", family]
        words += ["--json", "--out", str(Path(folder, "out"))] if writes else []
        with subprocess.Popen([sys.executable, "-m", "scantling", *words], stdout=subprocess.DEVNULL) as command:
            yield command
        assert not command.returncode, f"it ended with {command.returncode}"


def bench_memory() -> Iterator[Row]:
    """Memory of all processes together, the command's own and those of servers too, shared pages counted once: the most at any time."""
    for devices in SIZES:
        most = 0.0
        with _commanded(devices, (4,)) as command:
            while command.poll() is None:
                most = max(most, sum(map(_memory, _family_of(str(command.pid)))))
                sleep(PAUSE)
        goal = f"under {MOST_MEMORY} MiB" if devices == OFFICE_OF_MEMORY else ""
        yield Row(f"memory at {devices} devices, IPv4 alone", most, goal=goal, unit="MiB")


def _family_of(process: str) -> Iterator[str]:
    """A process and all that come from it."""
    yield process
    try:
        tasks = [*(HERE / process / "task").iterdir()]
        children = [number for task in tasks for number in (task / "children").read_text("utf-8").split()]
    except (FileNotFoundError, ProcessLookupError):  # it has ended meanwhile
        return
    for number in children:
        yield from _family_of(number)


def _memory(process: str) -> float:
    """MiB of a process, its share of what it has together with others: smaps_rollup of proc(5)."""
    try:
        said = (HERE / process / "smaps_rollup").read_text("utf-8")
    except (FileNotFoundError, ProcessLookupError):  # it has ended meanwhile
        return 0.0
    found = re.search(r"^Pss:\s+(\d+) kB", said, re.MULTILINE)
    return int(found[1]) / 1024 if found else 0.0
