"""Tries everything: in waves from the rooms of the sources, what is meant to pass first, what was not answered once more."""

import resource
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple, Protocol

from scantling.figures import Host
from scantling.trials.probe.probing import Expected, Heard, Kind, Probe, Seen
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wave import SILENCE, Outcome, Wave

MOST, SPARE, LEAST = 6000, 64, 16
"""Tries at one time; descriptors that are left for everything else; below so many nothing is tried."""


class Again(NamedTuple):
    """How tries that were not answered are made once more."""

    pause: float
    """Seconds before it."""
    group: int
    """How many at one time."""
    patient: float
    """Seconds without any event after which nothing more is awaited."""


AGAIN = (Again(0, 64, 0.1), Again(1.0, 16, 0.4))
IN_VAIN = 2
"""After so many groups without a single answer, the rest is not tried once more."""


@dataclass(frozen=True)
class Manner:
    """How tries are made."""

    names: Mapping[str, str] = field(default_factory=dict)
    """By station, what it asks a real name server for."""
    again: tuple[Again, ...] = AGAIN
    """How what was not answered is tried once more; nothing: not at all."""


class Recorded(Protocol):
    """What the firewall's recorder noted."""

    def entered(self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0) -> bool:
        """Whether it came to the firewall."""

    def left(
        self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0
    ) -> tuple[Host, int] | None:
        """Where to it left."""

    def taken(
        self, source: Host, number: int, kind: Kind, target: Host | None = None, at: int = 0
    ) -> tuple[Host, int] | None:
        """At which of its own addresses the firewall took it."""


class Recording(Protocol):
    """The firewall's recorder."""

    def clear(self) -> None:
        """Forget everything."""

    def read(self) -> Recorded:
        """What was noted since."""


def tried(
    probes: Sequence[Probe],
    rooms: Mapping[str, Room],
    ports: Mapping[int, int],
    recorder: Recording,
    tell: Callable[[int, int], None],
    manner: Manner = Manner(),
) -> list[Seen]:
    """What was seen of every probe, in their order.

    `rooms` by station, all those outside share one. `ports`: source port or echo number by the probe's number. `tell`: how many
    are done, of how many. Raises OSError.
    """
    wave, prober = Wave(rooms, ports, manner.names), _Prober(ports)
    recorder.clear()
    ordered = sorted(probes, key=lambda one: (one.expected is not Expected.ALLOWED, one.source))
    many = waves(len(ordered))
    for place in range(0, len(ordered), many):
        prober.take(wave.made(ordered[place : place + many]), ordered[place : place + many])
        tell(min(place + many, len(ordered)), len(ordered))
    noted = recorder.read()
    for again in manner.again:
        waiting = [one for one in probes if prober.unsettled(one, noted)]
        if waiting:
            time.sleep(again.pause)
            prober.once_more(wave, waiting, again)
            noted = recorder.read()
    return [prober.seen(one, noted) for one in probes]


def waves(many: int) -> int:
    """How many tries at one time, by the files that one process may hold open. Raises OSError where that is too few."""
    soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    free = soft - sum(1 for _ in Path("/proc/self/fd").iterdir()) - SPARE
    if free < min(many, LEAST):
        raise OSError(f"this process may hold {soft} files open, and all are in use: raise the limit of open files")
    return max(1, min(MOST, free))


class _Prober:
    """What was heard so far of every probe."""

    def __init__(self, ports: Mapping[int, int]) -> None:
        self.ports = ports
        self.outcomes: dict[int, Outcome] = {}
        self.tries: dict[int, int] = {}

    def take(self, found: Mapping[int, Outcome], batch: Sequence[Probe]) -> int:
        """Note what was heard of a batch. How many were answered."""
        for one in batch:
            self.tries[one.id] = self.tries.get(one.id, 0) + 1
            self.outcomes[one.id] = found.get(one.id, SILENCE)
        return sum(self.outcomes[one.id].heard is Heard.ANSWER for one in batch)

    def unsettled(self, probe: Probe, noted: Recorded) -> bool:
        """Whether another try may show something else: whoever should have answered did not, or it never came."""
        if self.outcomes[probe.id].heard is not Heard.SILENCE:
            return False
        if not self._noted(probe, noted.entered):
            return True
        return bool(probe.answers) and self._passed(probe, noted) is not None

    def once_more(self, wave: Wave, waiting: Sequence[Probe], again: Again) -> None:
        """Small groups, in each something of everything; none any more when nothing is heard of several in a row."""
        vain = 0
        for group in groups(waiting, again.group):
            answered = self.take(wave.made(group, again.patient, again.patient), group)
            vain = 0 if answered else vain + 1
            if vain == IN_VAIN:
                return

    def seen(self, probe: Probe, noted: Recorded) -> Seen:
        """All that was seen of a probe."""
        outcome, end = self.outcomes[probe.id], self._passed(probe, noted)
        left = end is not None
        if probe.expected is Expected.ALLOWED and end is not None:
            left = meant(probe, end)
        heard = outcome.heard
        if outcome.gone and left:
            heard = Heard.SILENCE  # the message tells of the target, not of the filter
        return Seen(
            probe.id, heard, *outcome.answer, entered=self._noted(probe, noted.entered), left=left, tries=self.tries[probe.id],
        )  # fmt: skip

    def _noted(self, probe: Probe, asked: Callable[..., object]) -> bool:
        return bool(asked(*self._key(probe)))

    def _passed(self, probe: Probe, noted: Recorded) -> tuple[Host, int] | None:
        key = self._key(probe)
        return noted.left(*key) or noted.taken(*key)

    def _key(self, probe: Probe) -> tuple[Host, int, Kind, Host, int]:
        number = probe.port if probe.kind is Kind.RAW else self.ports[probe.id]
        return probe.source_address, number, probe.kind, probe.address, probe.port


def meant(probe: Probe, end: tuple[Host, int]) -> bool:
    """Whether a probe left toward its target, with the target changed where that is meant."""
    wanted = probe.arrives or (probe.address, probe.port)
    return end[0] == wanted[0] and (probe.kind in {Kind.ECHO, Kind.RAW} or end[1] == wanted[1])


def groups(waiting: Sequence[Probe], many: int) -> Iterator[list[Probe]]:
    """Groups in each of which there is something from all over."""
    count = -(-len(waiting) // many)
    yield from ([*waiting[place::count]] for place in range(count))
