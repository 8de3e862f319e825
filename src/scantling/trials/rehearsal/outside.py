"""The world outside: one room that bears every address, with a name server, clocks, and the provider's address server on each line."""

import time
from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address
from typing import Self

from scantling.trials.rehearsal.attending import Attendant, Counter, Ends
from scantling.trials.rehearsal.dhcp import CALLS_AT
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.outside_clock import told
from scantling.trials.rehearsal.outside_lending import BACK, line
from scantling.trials.rehearsal.outside_names import World
from scantling.trials.rehearsal.rooms import Room

NAMES, CLOCK, LENDING, AHEAD = "names", "clock", "lending", "ahead"
NAMES_AT, CLOCK_AT = 53, 123
ANYBODY = IPv4Address(0)


class Outside:
    """All that answers beyond the lines, in a process of its own; the room must bear every address already."""

    def __init__(self, office: Office, room: Room, ports: Mapping[str, str]) -> None:
        """`ports`: by slug of a line, what the provider's end of it is called in the room."""
        self.room = room
        self.counters = list(counters(office, ports))
        self.attendant: Attendant | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self) -> None:
        """Begin to answer. Raises RehearsalError when a port can't be had."""
        self.attendant = Attendant(self.room, "the world outside", self.counters)

    def stop(self) -> None:
        """End it all."""
        if self.attendant is not None:
            self.attendant.end()
            self.attendant = None

    def stop_names(self) -> None:
        """Nobody outside answers for names any more."""
        self._there().shut(NAMES)

    def start_names(self) -> None:
        """Somebody does again."""
        self._there().open(NAMES)

    def stop_lending(self, way: str) -> None:
        """The provider lends no address any more on a line."""
        self._there().shut(f"{LENDING} {way}")

    def start_lending(self, way: str) -> None:
        """It does again."""
        self._there().open(f"{LENDING} {way}")

    def clock_off(self, seconds: float) -> None:
        """Every clock outside is ahead by so many seconds from now on; behind where it is less than nought."""
        self._there().set(AHEAD, seconds)

    def _there(self) -> Attendant:
        assert self.attendant is not None, "nobody is outside yet"
        return self.attendant


def counters(office: Office, ports: Mapping[str, str]) -> Iterator[Counter]:
    """All that is answered outside."""
    world = World(office.outside_names)
    yield Counter(NAMES, NAMES_AT, lambda said, ends, _: world.answered(said, ends.at), streams=True)
    yield Counter(CLOCK, CLOCK_AT, _clock)
    for way in office.ways:
        lent = line(way)
        if lent is not None and way.slug in ports:
            yield Counter(
                f"{LENDING} {way.slug}", CALLS_AT, lent.answered, hosts=(ANYBODY,), device=ports[way.slug], back=BACK
            )


def _clock(said: bytes, ends: Ends, settings: Mapping[str, float]) -> bytes | None:
    del ends  # every clock outside tells the same
    now = time.time()
    return told(said, now, time.time(), off=settings.get(AHEAD, 0.0))
