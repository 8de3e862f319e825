"""The busiest day, hastened: a crowd on one port and the real address server, with the planned lease and with a longer one beside it."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network
from math import ceil, inf
from time import monotonic
from typing import Any

from scantling.outputs.files.leases import times
from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.crowd import Clock, Crowd, Guest
from scantling.trials.rehearsal.results import Day
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.stations import hardware
from scantling.trials.rehearsal.visiting import QUARTER, Busy, Held, comers, curve, foreseen, most

PACE = 3.0
"""Seconds that an hour takes, at least: a server counts in whole seconds, and shorter hours would be too coarse."""
LAG = 0.5
"""A lease lasts so much longer on average than it says, seconds: it begins at some part of a second and ends when a second is over."""
HOW = (
    "The busiest day is hastened: an hour takes a few seconds, leases are shortened alike, and all visitors come through one port; their "
    "renewals are called to all and go over the relay. Who finds no address goes away and doesn't try again."
)
FIRST_NUMBER = 0x4000
"""Hardware addresses of the crowd are counted from here, above those of the office's stations."""
Configure = Callable[[Mapping[str, Any]], object]
"""Gives the server other settings while it runs, and raises RehearsalError when it takes them not."""


@dataclass(frozen=True, slots=True)
class Doorway:
    """The port through which the crowd comes."""

    room: Room
    interface: str
    number: int
    """Of the zone."""


def quiet(_words: str) -> None:
    """Tell nobody."""


def pace_for(lease: float, least: float = PACE) -> float:
    """Seconds that an hour takes, so that the lease is a whole number of them and the half that it lasts longer."""
    return (max(1, ceil(least * lease - LAG)) + LAG) / lease


def bare(settings: Any) -> Any:
    """Settings without remarks, which the server takes from a file but not from its control socket."""
    if isinstance(settings, dict):
        return {key: bare(value) for key, value in settings.items() if key != "comment"}
    return [bare(one) for one in settings] if isinstance(settings, list) else settings


def hastened(settings: bytes, day: Busy, lease: float, pace: float) -> dict[str, Any]:
    """The server's generated settings with the visitors' lease hastened, and a memory of its own that begins empty; else as they are."""
    whole: dict[str, Any] = bare(json.loads(settings))
    fourth = whole["Dhcp4"]
    fourth["lease-database"] = {"type": "memfile", "persist": False}
    for subnet in fourth["subnet4"]:
        if day.first in IPv4Network(subnet["subnet"]):
            subnet.update(times(round(lease * pace - LAG)))
    return whole


def busiest_days(
    day: Busy,
    door: Doorway,
    settings: bytes,
    configure: Configure,
    least: float = PACE,
    tell: Callable[[str], None] = quiet,
) -> tuple[Day, ...]:
    """The day with each of its leases in turn; afterwards the server has its own settings, and its memory, again.

    Raises RehearsalError when the server doesn't take its settings, OSError when the port is gone.
    """
    found: list[Day] = []
    try:
        for lease in day.leases:
            tell(f"living the busiest day, addresses lent for {lease:g} h")
            found.append(lived(day, door, lease, (settings, configure), least))
    finally:
        configure(bare(json.loads(settings)))
    return tuple(found)


def lived(day: Busy, door: Doorway, lease: float, server: tuple[bytes, Configure], least: float = PACE) -> Day:
    """The day with one lease, from its first comer until a little after its last. `server`: its settings, and how it is given others."""
    settings, configure = server
    pace, there = pace_for(lease, least), comers(day.joining, day.stay)
    configure(hastened(settings, day, lease, pace))
    if not there:
        return Day(lease, day.pool, 0, 0, 0, day.steady(lease), 0, 0, ())
    guests = [Guest(one, dhcp.as_bytes(hardware(door.number, FIRST_NUMBER + one.number))) for one in there]
    first, last = there[0].arrives - QUARTER, there[-1].arrives + QUARTER
    clock = Clock(monotonic(), first, pace)
    Crowd(door.room, door.interface, guests, clock, day.again(lease)).live(last)
    spans = held_by(guests, clock)
    return Day(
        lease, day.pool, len(there), sum(one.refused for one in guests), foreseen(there, day.pool, day.hold(lease)).refused,
        day.steady(lease), most([Held(one.arrives, one.leaves) for one in there]), most(spans), curve(spans, first, last),
    )  # fmt: skip


def held_by(guests: Sequence[Guest], clock: Clock) -> list[Held]:
    """What was held from when to when; at the latest until somebody else was given the same address."""
    following: dict[IPv4Address, float] = {}
    spans: list[Held] = []
    for one in sorted(guests, key=lambda guest: guest.since, reverse=True):
        if one.address is not None:
            until = min(one.until + LAG, following.get(one.address, inf))
            following[one.address] = one.since
            spans.append(Held(clock.hour(one.since), clock.hour(until)))
    return spans
