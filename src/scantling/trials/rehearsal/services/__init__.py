"""The servers of a planned office, each run by an adapter: a module of this folder that says what it SERVES; found by listing it."""

import importlib
import pkgutil
import select
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import cast

from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Adapter, Job, Running
from scantling.trials.rehearsal.trees import Tree

PATIENCE = 30.0
"""Seconds until a server must answer; a busy machine is slow."""
PAUSE = 0.004
"""Seconds between two rounds of asking, so that those who are asked get on with it."""

Trees = Callable[[str], Tree]
Rooms = Callable[[str], Room]


@cache
def adapters() -> tuple[Adapter, ...]:
    """All of them, each after those whose programs it waits for, else by name."""
    names = sorted(one.name for one in pkgutil.iter_modules(__path__))
    modules = [importlib.import_module(f"{__name__}.{name}") for name in names]
    waiting = [cast("Adapter", one) for one in modules if hasattr(one, "SERVES")]
    sorted_by_need: list[Adapter] = []
    while waiting:
        programs = {one.PROGRAM for one in waiting}
        one = next((one for one in waiting if not programs & set(one.AFTER)), waiting[0])
        waiting.remove(one)
        sorted_by_need.append(one)
    return tuple(sorted_by_need)


def jobs(office: Office, plan: Plan, files: Iterable[Written]) -> list[Job]:
    """Every server that a plan asks for. Raises RehearsalError when a file is missing."""
    by_path = {one.path: one for one in files}
    return [job for adapter in adapters() for job in adapter.wanted(office, plan, by_path)]


def adapter_of(job: Job) -> Adapter:
    """The one that a job is for. Raises StopIteration for a job of nobody's."""
    return next(one for one in adapters() if job.service == one.SERVES)


def interfaces(many: Iterable[Job]) -> Mapping[str, str]:
    """Machines whose port must bear a certain name, and that name."""
    return {job.machine: job.interface for job in many if job.interface}


def checked(many: Sequence[Job], tree_of: Trees, room_of: Rooms) -> list[Checked]:
    """What the real parsers say of every file, each file once, by path. Raises RehearsalError."""
    found: dict[str, Checked] = {}
    for job in many:
        if not set(job.paths) <= found.keys():
            for one in adapter_of(job).check(job, tree_of(job.machine), room_of(job.machine)):
                found.setdefault(one.path, one)
    return [found[path] for path in sorted(found)]


def started(job: Job, tree: Tree, room: Room) -> Running:
    """The real program, or what stands in for it where it isn't installed. Raises RehearsalError."""
    adapter = adapter_of(job)
    return adapter.start(job, tree, room) if tree.has(job.program) else adapter.standin(job, tree, room)


class Rising:
    """Servers on their way up, in waves: each is started when those that it needs answer. Between two waves other things may be done."""

    def __init__(self, many: Sequence[Job], tree_of: Trees, room_of: Rooms) -> None:
        self.left, self.tree_of, self.room_of = waves(many), tree_of, room_of
        self.running: list[Running] = []
        self.silent: list[Running] = []
        """Those that haven't answered yet."""

    def further(self) -> None:
        """Start the next wave, once those that it needs answer. Raises RehearsalError."""
        wave = self.left.pop(0) if self.left else []
        needed = {program for job in wave for program in adapter_of(job).AFTER}
        awaited([one for one in self.silent if one.job.program in needed])
        self.silent = [one for one in self.silent if one.job.program not in needed]
        for job in wave:
            self.running.append(started(job, self.tree_of(job.machine), self.room_of(job.machine)))
            self.silent.append(self.running[-1])

    def up(self) -> None:
        """Start all that are left, and wait until everyone answers. Raises RehearsalError."""
        while self.left:
            self.further()
        awaited(self.silent)
        self.silent = []


def waves(many: Sequence[Job]) -> list[list[Job]]:
    """First those that need nobody, then those that need only these, and so on; in each wave first whom others wait for."""
    place: dict[str, int] = {}
    for adapter in adapters():
        if any(job.service == adapter.SERVES for job in many):
            place[adapter.PROGRAM] = 1 + max((place[one] for one in adapter.AFTER if one in place), default=-1)
    found: list[list[Job]] = [[] for _ in range(max(place.values(), default=-1) + 1)]
    waited_for = {program for adapter in adapters() for program in adapter.AFTER}
    for job in sorted(many, key=lambda job: job.program not in waited_for):
        found[place[adapter_of(job).PROGRAM]].append(job)
    return found


def risen(many: Sequence[Job], tree_of: Trees, room_of: Rooms) -> list[Running]:
    """All of them started, each when those that it needs answer, and all answering. Raises RehearsalError; then none is left."""
    rising = Rising(many, tree_of, room_of)
    try:
        rising.up()
    except BaseException:
        stopped(rising.running)
        raise
    return rising.running


def awaited(running: Sequence[Running], patience: float = PATIENCE) -> None:
    """Ask until each has answered. Raises RehearsalError when one ends by itself or doesn't answer in time, with its last lines."""
    until = time.monotonic() + patience
    waiting = list(running)
    while waiting := [one for one in waiting if not adapter_of(one.job).ready(one)]:
        if time.monotonic() > until:
            late = waiting[0]
            raise RehearsalError(
                f"{late.job.program} on {late.job.machine} doesn't answer after {patience:g} s; its last lines: "
                f"{late.said() or 'none'}"
            )
        select.select([], [], [], PAUSE)


def reconfigured(running: Running, job: Job) -> Running:
    """The same server with other files. Raises RehearsalError."""
    return adapter_of(job).reconfigure(running, job)


def stopped(running: Iterable[Running]) -> None:
    """End them all."""
    for one in running:
        adapter_of(one.job).stop(one)
