"""Faults of machines and devices: an address taken by another, nobody listening, a wrong way out; the firewall's announcements silent."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from ipaddress import IPv4Address

from scantling.figures import Host
from scantling.trials.rehearsal.building import EVERYTHING4, EVERYTHING6, introduced
from scantling.trials.rehearsal.faults.cables import plain_machine
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap
from scantling.trials.rehearsal.faults.mending import forget_neighbours
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Segment, Station
from scantling.trials.rehearsal.session import Living


def address_taken(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Another device on the link bears a machine's address."""
    living, station = ground.living, plain_machine(ground.living)
    host = next((one for one in station.fixed if isinstance(one, IPv4Address)), None) if station else None
    others = [one for one in living.office.stations if station and one.zone == station.zone and one != station]
    if station is None or host is None or not others:
        yield LeftOut("address-taken", "no machine shares its zone with anybody")
        return
    yield Mishap(
        f"address-taken-{station.slug}", f"{others[-1].slug} bears the address of {station.slug}, too",
        f"address of {station.slug}", partial(_borne, living, others[-1], host),
    )  # fmt: skip


@contextmanager
def _borne(living: Living, thief: Station, host: Host) -> Iterator[None]:
    name, length = living.built.interfaces[thief.slug], 32
    with Netlink(living.built.rooms[thief.slug]) as link:
        link.address(name, host, length, route=False)
    forget_neighbours(living)
    try:
        yield
    finally:
        with Netlink(living.built.rooms[thief.slug]) as link:
            link.unaddress(name, host, length)
        forget_neighbours(living)
        if living.built.crowded:
            introduced(
                living.built, [one for one in living.office.stations if one.slug in living.built.ports], living.held
            )


def nobody_listens(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """All that runs on a machine has ended, while the machine itself is well."""
    station, responders = plain_machine(ground.living), ground.trial.responders
    if station is None:
        yield LeftOut("nobody-listens", "the server has no machine")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        responders.mute(station.slug)
        try:
            yield
        finally:
            responders.unmute(station.slug)

    yield Mishap(
        f"nobody-listens-{station.slug}",
        f"nothing runs on {station.slug} any more",
        f"service on {station.slug}",
        lasts,
    )


def wrong_gateway(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """A machine goes out by an address at which nobody is."""
    living, station = ground.living, plain_machine(ground.living)
    if station is None:
        yield LeftOut("wrong-gateway", "the server has no machine")
        return
    segment = living.office.segment(station.zone)

    @contextmanager
    def lasts() -> Iterator[None]:
        right = [door for door in (segment.gateway4, segment.gateway6) if door is not None]
        _gone_by(living, station, [(door, nobody(segment, door)) for door in right])
        try:
            yield
        finally:
            _gone_by(living, station, [(nobody(segment, door), door) for door in right])
            forget_neighbours(living, (station.slug,))

    yield Mishap(
        f"wrong-gateway-{station.slug}",
        f"{station.slug} has a wrong gateway set",
        f"gateway set on {station.slug}",
        lasts,
    )


def nobody(segment: Segment, door: Host) -> Host:
    """An address in a zone that is nobody's: the last but one."""
    network = segment.network4 if isinstance(door, IPv4Address) else segment.network6
    assert network is not None, "the zone has a gateway of this version"
    return network.broadcast_address - 1


def _gone_by(living: Living, station: Station, ways: list[tuple[Host, Host]]) -> None:
    """The station goes out by other addresses than before."""
    name = living.built.interfaces[station.slug]
    with Netlink(living.built.rooms[station.slug]) as link:
        for before, after in ways:
            everything = EVERYTHING4 if isinstance(before, IPv4Address) else EVERYTHING6
            link.unroute(everything, via=before, name=name)
            link.route(everything, via=after, name=name)


def announcements_silent(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """The firewall's announcer ends."""
    announcer = ground.living.announcer
    if announcer is None:
        yield LeftOut("announcements-silent", "devices have no IPv6 here")
        return

    @contextmanager
    def lasts() -> Iterator[None]:
        announcer.stop()
        try:
            yield
        finally:
            announcer.start()

    yield Mishap(
        "announcements-silent", "the firewall announces nothing over IPv6 any more", "announcements of the firewall", lasts
    )  # fmt: skip


SORTS = (address_taken, nobody_listens, wrong_gateway, announcements_silent)
