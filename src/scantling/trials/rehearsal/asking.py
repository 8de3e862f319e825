"""Stations ask for their addresses as devices do: every one of them on its own wire, all of them in one loop."""

from collections.abc import Callable, Sequence

from scantling.trials.rehearsal.asking4 import Discovering, Renewing, Talk4, let_go
from scantling.trials.rehearsal.asking6 import Informing, Soliciting, Talk6
from scantling.trials.rehearsal.exchanges import WINDOW, carried, quiet
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.office import Station
from scantling.trials.rehearsal.rooms import Room

__all__ = ["Given", "asked4", "asked6", "informed6", "released4", "renewed4"]
PATIENCE = 3.0
LEAST_AT_ONCE, HEARD_AT_ONCE = 16, 40_000
Places = Sequence[tuple[Station, Room]]
Told = Callable[[int, int], None]
"""Told how many are over, of how many."""


def asked4(stations: Places, patience: float = PATIENCE, tell: Told = quiet) -> list[Given]:
    """What each station is given in IPv4, in their order; nothing is set by that. `patience`: seconds that each one waits."""
    return _talked([Discovering(station, room, patience) for station, room in stations], tell)


def asked6(stations: Places, patience: float = PATIENCE, tell: Told = quiet) -> list[Given]:
    """What each station is given in IPv6, in their order: each asks from its own address on the link; nothing is set by that."""
    return _talked([Soliciting(station, room, patience) for station, room in stations], tell)


def informed6(stations: Places, patience: float = PATIENCE, tell: Told = quiet) -> list[Given]:
    """What each station is told that makes its own IPv6 address: resolvers, clocks and the search name; `address` is None."""
    return _talked([Informing(station, room, patience) for station, room in stations], tell)


def renewed4(stations: Places, had: Sequence[Given], patience: float = PATIENCE, tell: Told = quiet) -> list[Given]:
    """What each station that has an address is given when it asks its server straight for more time; the address must be set."""
    before = {one.station: one for one in had if one.address is not None}
    asking = [
        Renewing(station, room, patience, before[station.slug])
        for station, room in stations
        if station.slug in before
    ]
    return _talked(asking, tell)


def released4(stations: Places, had: Sequence[Given]) -> list[Given]:
    """Each station gives its address back and has none; `refused` says when that couldn't be told. Its address must be set."""
    before = {one.station: one for one in had if one.address is not None}
    return [let_go(station, room, before[station.slug]) for station, room in stations if station.slug in before]


def _talked(talks: Sequence[Talk4] | Sequence[Talk6], tell: Told) -> list[Given]:
    carried(talks, tell, window(len(talks)))
    return [one.given for one in talks]


def window(stations: int) -> int:
    """How many ask at one time: every call is heard by all of them, and the kernel's queues hold only so much (measured)."""
    return max(LEAST_AT_ONCE, min(WINDOW, HEARD_AT_ONCE // max(1, stations)))
