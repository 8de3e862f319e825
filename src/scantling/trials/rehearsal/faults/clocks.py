"""Faults of the time: a clock gone, a clock wrong, every clock outside wrong."""

import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial

from scantling.trials.rehearsal.attending import Attendant, Counter, Ends
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.faults.mending import ended_for_a_while
from scantling.trials.rehearsal.outside_clock import told
from scantling.trials.rehearsal.services.adapter import Running
from scantling.trials.rehearsal.session import Living

GIVES = "chronyd"
HOUR = 3600.0


def clock_gone(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A clock that devices go by ends, each in its turn."""
    clocks = giving(ground.living)
    if not clocks:
        yield LeftOut("clock-gone", "nobody in the office gives the time")
    for one in clocks:
        machine = one.job.machine
        yield Mishap(
            f"clock-gone-{machine}", f"the clock on {machine} ends", f"clock on {machine}",
            partial(_gone, ground.living, machine),
        )  # fmt: skip


@contextmanager
def _gone(living: Living, machine: str) -> Iterator[None]:
    with ended_for_a_while(living, _clock(living, machine)):
        yield


def clock_wrong(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A clock that devices go by is an hour ahead: one that is takes the place of the right one."""
    clocks = giving(ground.living)
    if not clocks:
        yield LeftOut("clock-wrong", "nobody in the office gives the time")
    for one in clocks[:1]:
        machine = one.job.machine
        yield Mishap(
            f"clock-wrong-{machine}", f"the clock on {machine} is an hour ahead", f"clock on {machine}",
            partial(_wrong, ground.living, machine),
        )  # fmt: skip


@contextmanager
def _wrong(living: Living, machine: str) -> Iterator[None]:
    right = _clock(living, machine)
    counter = Counter("time", right.job.port, an_hour_ahead, hosts=right.job.hosts)
    with ended_for_a_while(living, right), Attendant(right.room, f"a wrong clock on {machine}", [counter]):
        yield


def an_hour_ahead(said: bytes, ends: Ends, settings: Mapping[str, float]) -> bytes | None:
    """What a clock tells that is an hour ahead."""
    del ends, settings
    now = time.time()
    return told(said, now, time.time(), off=HOUR)


def outside_clocks_wrong(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Every clock outside is an hour behind."""

    @contextmanager
    def lasts() -> Iterator[None]:
        ground.living.outside.clock_off(-HOUR)
        try:
            yield
        finally:
            ground.living.outside.clock_off(0)

    if not any(name for one in ground.living.running if one.job.program == GIVES for name in one.job.hosts):
        yield LeftOut("outside-clocks-wrong", "nobody in the office goes by a clock outside")
        return
    yield Mishap("outside-clocks-wrong", "every clock outside is an hour behind", "clocks outside", lasts)


def giving(living: Living) -> list[Running]:
    """Clocks that answer others, those on machines first."""
    found = [one for one in living.running if one.job.program == GIVES and one.job.hosts]
    return sorted(
        found, key=lambda one: one.job.machine not in {station.slug for station in living.office.stations[1:]}
    )


def _clock(living: Living, machine: str) -> Running:
    """The clock that runs there by now."""
    return next(one for one in giving(living) if one.job.machine == machine)


SORTS = (clock_gone, clock_wrong, outside_clocks_wrong)
