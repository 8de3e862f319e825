"""Faults of names: the name server or a resolver gone, the office's names told wrongly, nobody outside who answers."""

import re
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from functools import partial

from scantling.figures import NameZone
from scantling.outputs.files.name_zones import file_of
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.faults.mending import ended_for_a_while, running_of
from scantling.trials.rehearsal.office import Sort
from scantling.trials.rehearsal.services import adapter_of, awaited
from scantling.trials.rehearsal.services.adapter import Job, Running
from scantling.trials.rehearsal.session import Living

HOLDS, LOOKS_UP = "nsd", "unbound"


def name_server_gone(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The server that holds the office's names ends."""
    running = running_of(ground.living, HOLDS)
    if running is None:
        yield LeftOut("name-server-gone", "no server holds names of the office")
        return
    where = f"name server on {running.job.machine}"
    yield Mishap("name-server-gone", f"the {where} ends", where, lambda: ended_for_a_while(ground.living, running))


def resolver_gone(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A resolver ends, on each machine that has one."""
    found = [one for one in ground.living.running if one.job.program == LOOKS_UP]
    if not found:
        yield LeftOut("resolver-gone", "no resolver runs")
    for one in found:
        machine = one.job.machine
        yield Mishap(
            f"resolver-gone-{machine}", f"the resolver on {machine} ends", f"lookups on {machine}",
            partial(_resolver_ended, ground.living, machine),
        )  # fmt: skip


def _resolver_ended(living: Living, machine: str) -> AbstractContextManager[None]:
    return ended_for_a_while(living, _running(living, machine))


def _running(living: Living, machine: str) -> Running:
    found = running_of(living, LOOKS_UP, machine)
    assert found is not None, "it was started anew after whatever happened before"
    return found


def names_wrong(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Somebody writes another address into the office's zone of names by hand, and has it read."""
    running = running_of(ground.living, HOLDS)
    changed = _with_another_address(ground.living, running.job) if running and running.process else None
    if running is None or changed is None:
        yield LeftOut("names-wrong", "no server holds names of the office")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        before = _now(ground.living)
        _taken(ground.living, before, changed)
        try:
            yield
        finally:
            _taken(ground.living, _now(ground.living), before.job)

    yield Mishap(
        "names-wrong",
        "a name of the office is told with another address",
        f"office names on {running.job.machine}",
        lasts,
    )


def _now(living: Living) -> Running:
    found = running_of(living, HOLDS)
    assert found is not None, "it was started anew after whatever happened before"
    return found


def _taken(living: Living, running: Running, job: Job) -> None:
    """The name server reads its files anew."""
    fresh = adapter_of(job).reconfigure(running, job)
    living.running[living.running.index(running)] = fresh
    awaited([fresh])


def _with_another_address(living: Living, job: Job) -> Job | None:
    """The job with one machine's address changed in the zone that tells it; its serial stays, as by hand it does."""
    machine = next((one for one in living.office.stations if one.sort is Sort.MACHINE and one.names), None)
    zone = next((one for one in living.plan.records(NameZone) if not one.reverse), None)
    if machine is None or zone is None:
        return None
    right = next(host for host in machine.fixed if host.version == 4)  # noqa: PLR2004 - the version
    path = f"names/{file_of(zone)}"
    wrong = re.compile(rb"\b" + re.escape(str(right).encode()) + rb"\b")
    files = tuple(
        replace(one, content=wrong.sub(str(right + 1).encode(), one.content)) if one.path == path else one
        for one in job.files
    )
    return replace(job, files=files) if files != job.files else None


def outside_names_gone(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Nobody outside answers for names; lines are well."""

    @contextmanager
    def lasts() -> Iterator[None]:
        ground.living.outside.stop_names()
        try:
            yield
        finally:
            ground.living.outside.start_names()
            afresh(ground.living)

    yield Mishap("outside-names-gone", "nobody outside answers for names any more", "names outside", lasts)


def afresh(living: Living) -> None:
    """The resolvers forget who didn't answer them; by themselves they do so after a quarter of an hour."""
    for place, one in enumerate(living.running):
        if one.job.program == LOOKS_UP:
            living.running[place] = adapter_of(one.job).reconfigure(one, one.job)
    awaited([one for one in living.running if one.job.program == LOOKS_UP])


SORTS = (name_server_gone, resolver_gone, names_wrong, outside_names_gone)
