"""Tries everything: in waves from the rooms of the sources, what is meant to pass first, what was not answered once more."""

import resource
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple, Protocol

from scantling.figures import FIREWALL, Host
from scantling.trials.probe.probing import Expected, Heard, Kind, Probe, Seen
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wave import SILENCE, Outcome, Patience, Wave, nobody

MOST, SPARE, LEAST, A_ROOM = 6000, 32, 16, 4
"""Tries by sockets at one time; files left for everything else; below so many nothing is tried; files a room takes by hand."""


class Again(NamedTuple):
    """How tries that were not answered are made once more."""

    pause: float
    """Seconds before it."""
    group: int
    """How many at one time."""
    patient: float
    """Seconds without any event after which nothing more is awaited."""


FIRST = Patience(by_hand=True)
SOURCE = attrgetter("source")
AGAIN = (Again(0, 64, 0.1), Again(1.0, 16, 0.4))
IN_VAIN = 2
"""After so many groups without a single answer, the rest is not tried once more."""
LEAKS = 256
"""Tries that were let through against what is meant are made once more by sockets, to hear who answers: so many at most."""


@dataclass(frozen=True)
class Manner:
    """How tries are made."""

    names: Mapping[str, str] = field(default_factory=dict)
    """By station, what it asks a real name server for."""
    again: tuple[Again, ...] = AGAIN
    """How what was not answered is tried once more; nothing: not at all."""
    through: Callable[[], None] = nobody
    """Waits until those who answer are through with all that came to them; a busy machine is slow."""


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
    wave, prober = Wave(rooms, ports, manner.names, manner.through), _Prober(ports)
    recorder.clear()
    for batch in batches(probes):
        prober.take(wave.made(batch, FIRST), batch)
        tell(len(prober.tries), len(probes))
    prober.read(probes, recorder)
    leaked = [one for one in probes if prober.leaked(one)]
    if leaked:
        few = next(groups(leaked, LEAKS))
        prober.take(wave.made(few), few)
    for again in manner.again:
        waiting = [one for one in probes if prober.unsettled(one)]
        if waiting:
            time.sleep(again.pause)
            prober.once_more(wave, waiting, again, recorder)
            prober.read(probes, recorder)
    return [prober.seen(one) for one in probes]


def batches(probes: Sequence[Probe]) -> Iterator[list[Probe]]:
    """What is tried at one time: what is meant to pass first, and as much as files may be open; what is written by hand last.

    Raises OSError where too few files may be open.
    """
    allowed = sorted((one for one in probes if one.expected is Expected.ALLOWED), key=SOURCE)
    kept_out = sorted((one for one in probes if one.expected is Expected.KEPT_OUT), key=SOURCE)
    free = free_files()
    many = max(1, min(MOST, free // 2))
    parts = [allowed[place : place + many] for place in range(0, len(allowed), many)]
    rooms = [[*some] for _, some in groupby(kept_out, key=SOURCE)]
    few = max(1, free // 2 // A_ROOM)
    by_hand = [[one for room in rooms[place : place + few] for one in room] for place in range(0, len(rooms), few)]
    yield from parts[:-1]
    yield [one for part in (*parts[-1:], *by_hand[:1]) for one in part]
    yield from by_hand[1:]


def free_files() -> int:
    """How many files this process may still open. Raises OSError where that is too few."""
    soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    free = soft - sum(1 for _ in Path("/proc/self/fd").iterdir()) - SPARE
    if free < LEAST:
        raise OSError(f"this process may hold {soft} files open, and all are in use: raise the limit of open files")
    return free


class _Noted(NamedTuple):
    """What the recorder noted of a probe."""

    entered: bool
    end: tuple[Host, int] | None
    """Where it went from the firewall."""


class _Prober:
    """What was heard and noted so far of every probe."""

    def __init__(self, ports: Mapping[int, int]) -> None:
        self.ports = ports
        self.outcomes: dict[int, Outcome] = {}
        self.tries: dict[int, int] = {}
        self.noted: dict[int, _Noted] = {}

    def take(self, found: Mapping[int, Outcome], batch: Sequence[Probe]) -> int:
        """Note what was heard of a batch. How many were answered."""
        for one in batch:
            self.tries[one.id] = self.tries.get(one.id, 0) + 1
            self.outcomes[one.id] = found.get(one.id, SILENCE)
        return sum(self.outcomes[one.id].heard is Heard.ANSWER for one in batch)

    def read(self, probes: Sequence[Probe], recorder: Recording) -> None:
        """Read what the recorder noted of all of them. Raises OSError."""
        recorded = recorder.read()
        for one in probes:
            number = one.port if one.kind is Kind.RAW else self.ports[one.id]
            key = (one.source_address, number, one.kind, one.address, one.port)
            end = recorded.left(*key)
            if end is None and (one.target == FIREWALL or one.arrives):
                end = recorded.taken(*key)
            self.noted[one.id] = _Noted(end is not None or recorded.entered(*key), end)

    def leaked(self, probe: Probe) -> bool:
        """Whether a try was let through against what is meant, and nothing is heard of it."""
        kept_out = probe.expected is Expected.KEPT_OUT and probe.kind in {Kind.TCP, Kind.UDP}
        return kept_out and self.noted[probe.id].end is not None and self.outcomes[probe.id].heard is Heard.SILENCE

    def unsettled(self, probe: Probe) -> bool:
        """Whether another try may show something else: whoever should have answered did not, or it never came."""
        if self.outcomes[probe.id].heard is not Heard.SILENCE:
            return False
        noted = self.noted[probe.id]
        return not noted.entered or (bool(probe.answers) and noted.end is not None)

    def once_more(self, wave: Wave, waiting: Sequence[Probe], again: Again, recorder: Recording) -> None:
        """Small groups, in each something of everything; none any more when several in a row show nothing else."""
        vain = 0
        for group in groups(waiting, again.group):
            well = self.take(wave.made(group, Patience(again.patient, again.patient)), group)
            lost = [one for one in group if not self.noted[one.id].entered]
            if lost and not well:  # of what nobody should answer it is seen at the firewall alone
                self.read(lost, recorder)
                well = sum(self.noted[one.id].entered for one in lost)
            vain = 0 if well else vain + 1
            if vain == IN_VAIN:
                return

    def seen(self, probe: Probe) -> Seen:
        """All that was seen of a probe."""
        outcome, (entered, end) = self.outcomes[probe.id], self.noted[probe.id]
        left = end is not None and (probe.expected is Expected.KEPT_OUT or meant(probe, end))
        # an error that says nobody is there tells of the target, not of the filter
        heard = Heard.SILENCE if outcome.gone and left else outcome.heard
        return Seen(probe.id, heard, *outcome.answer, entered, left, self.tries[probe.id])


def meant(probe: Probe, end: tuple[Host, int]) -> bool:
    """Whether a probe left toward its target, with the target changed where that is meant."""
    wanted = probe.arrives or (probe.address, probe.port)
    return end[0] == wanted[0] and (probe.kind in {Kind.ECHO, Kind.RAW} or end[1] == wanted[1])


def groups(waiting: Sequence[Probe], many: int) -> Iterator[list[Probe]]:
    """Groups in each of which there is something from all over."""
    count = -(-len(waiting) // many)
    yield from ([*waiting[place::count]] for place in range(count))
