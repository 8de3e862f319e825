"""Faults of cables: a line cut, a machine unplugged, a zone cut off, a device in a wrong socket."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial

from scantling.figures import OUTSIDE
from scantling.trials.rehearsal.building import SWITCH, free_bridge
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.faults.mending import carries, forget_neighbours, remembered, restored
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office, Segment, Sort, Station
from scantling.trials.rehearsal.session import Living


def line_cut(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The cable of the line that the office goes out by."""
    ways = [(place, way) for place, way in enumerate(ground.living.office.ways, 1) if not way.standby]
    if not ways:
        yield LeftOut("line-cut", "the office has no line")
    for place, way in ways[:1]:
        yield Mishap(
            f"line-cut-{way.slug}", f"line {way.slug} is cut", f"line {way.slug}", partial(_cut, ground.living, place)
        )


@contextmanager
def _cut(living: Living, place: int) -> Iterator[None]:
    """The provider's end is down: what it bears is remembered, for the kernel forgets addresses and ways with it."""
    room, name = living.built.rooms[OUTSIDE], f"line-{place}"
    with Netlink(room) as link:
        before = remembered(link, name)
        link.down(name)
    try:
        yield
    finally:
        with Netlink(room) as link:
            link.up(name)
            carries(link, name)
            restored(link, before)
        forget_neighbours(living)


def machine_unplugged(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The cable of a machine that serves nothing else than itself."""
    station = plain_machine(ground.living)
    if station is None:
        yield LeftOut("machine-unplugged", "the server has no machine")
        return
    yield Mishap(
        f"unplugged-{station.slug}", f"the cable of {station.slug} is out", f"cable of {station.slug}",
        partial(unplugged, ground.living, ground.living.built.ports[station.slug], (station.slug,)),
    )  # fmt: skip


def plain_machine(living: Living) -> Station | None:
    """A machine on which none of the office's own servers runs, the file server before others."""
    busy = {one.job.machine for one in living.running if one.job.hosts}
    machines = [one for one in living.office.stations if one.sort is Sort.MACHINE]
    plain = sorted((one for one in machines if one.slug not in busy), key=lambda one: one.slug != "files")
    return next(iter([*plain, *machines]), None)


def zone_cut_off(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The cable between the switch and the firewall that a zone goes by: of a zone with devices, and of the servers'."""
    for segment in zones_to_cut(ground.living.office):
        stations = tuple(one.slug for one in ground.living.office.stations if one.zone == segment.slug)
        yield Mishap(
            f"zone-cut-off-{segment.slug}", f"the cable between zone {segment.slug} and the firewall is out",
            f"cable of zone {segment.slug}", partial(unplugged, ground.living, f"fw-{segment.number}", stations),
        )  # fmt: skip


def zones_to_cut(office: Office) -> Iterator[Segment]:
    """The last zone in which addresses are lent, and the one that most machines are in."""
    lending = [one for one in office.segments if one.lends]
    machines = [one.zone for one in office.stations if one.sort is Sort.MACHINE]
    servers = [
        one for one in office.segments if machines and one.slug == max(sorted(set(machines)), key=machines.count)
    ]
    yield from dict.fromkeys((*lending[-1:], *servers))


@contextmanager
def unplugged(living: Living, port: str, stations: tuple[str, ...]) -> Iterator[None]:
    """A port of the switch is down; afterwards it is up, and those who may have missed somebody ask anew."""
    with Netlink(living.built.rooms[SWITCH]) as switch:
        switch.down(port)
    try:
        yield
    finally:
        with Netlink(living.built.rooms[SWITCH]) as switch:
            switch.up(port)
            carries(switch, port)
        forget_neighbours(living, stations)


def wrong_socket(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A device is plugged into a socket of another zone in which addresses are lent."""
    living = ground.living
    lending = [one for one in living.office.segments if one.lends]
    asking = [one for one in living.office.stations if one.asks and one.zone in {zone.slug for zone in lending}]
    station = next(iter(asking), None)
    other = next((zone for zone in reversed(lending) if station is not None and zone.slug != station.zone), None)
    if station is None or other is None:
        yield LeftOut("wrong-socket", "addresses are lent in fewer than two zones")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        port, own = living.built.ports[station.slug], living.office.segment(station.zone)
        _plugged(living, port, other)
        try:
            yield
        finally:
            _plugged(living, port, own)
            forget_neighbours(living, (station.slug,))

    yield Mishap(
        "wrong-socket", f"{station.slug} is plugged into a socket of zone {other.slug}", f"socket of {station.slug}", lasts
    )  # fmt: skip


def _plugged(living: Living, port: str, zone: Segment) -> None:
    with Netlink(living.built.rooms[SWITCH]) as switch:
        switch.master(port, free_bridge(living.built, switch, zone.number))


SORTS = (line_cut, machine_unplugged, zone_cut_off, wrong_socket)
