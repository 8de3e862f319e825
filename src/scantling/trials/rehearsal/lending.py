"""Every station asks for its address, over the real relay, from the real server; what it is given is held against the plan, and set."""

from collections.abc import Iterator, Mapping, Sequence
from ipaddress import IPv4Address

from scantling.figures import FIREWALL, OUTSIDE, Host, Pool
from scantling.trials.rehearsal.asking import Given, asked4
from scantling.trials.rehearsal.building import Built, addressed
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Segment, Sort, Station
from scantling.trials.rehearsal.results import Lease
from scantling.trials.rehearsal.stations import hardware

SECONDS_AN_HOUR = 3600


def leases(built: Built, pools: Sequence[Pool], given: Sequence[Given]) -> list[Lease]:
    """Each answer as a lease, with what is wrong with it."""
    stations = {one.slug: one for one in built.office.stations}
    twice = _twice(given)
    found: list[Lease] = []
    for one in given:
        station = stations[one.station]
        segment = built.office.segment(station.zone)
        wrongs = [*_wrong(one, station, segment, pools)]
        if one.address is not None and one.address in twice:
            wrongs.insert(0, f"{one.address} was given to {' and '.join(twice[one.address])}")
        found.append(
            Lease(
                one.station, station.zone, one.family, str(one.address or ""), one.server,
                f"{station.label}: {'; '.join(wrongs)}" if wrongs else "",
            )
        )  # fmt: skip
    return found


def _twice(given: Sequence[Given]) -> Mapping[Host, list[str]]:
    """Addresses that more than one station was given."""
    holders: dict[Host, list[str]] = {}
    for one in given:
        if one.address is not None:
            holders.setdefault(one.address, []).append(one.station)
    return {host: many for host, many in holders.items() if len(many) > 1}


def _wrong(one: Given, station: Station, segment: Segment, pools: Sequence[Pool]) -> Iterator[str]:
    """What is otherwise than planned."""
    kept = [host for host in station.kept if host.version == one.family]
    if one.address is None:
        yield one.refused or "no address was given"
        return
    if kept and one.address not in kept:
        yield f"{kept[0]} is kept for it, {one.address} was given"
    if isinstance(one.address, IPv4Address):
        yield from _wrong4(one, one.address, segment, (pools, bool(kept)))
    elif segment.network6 is None or one.address not in segment.network6:
        yield f"{one.address} is none of {segment.label}"
    yield from _told(one, segment)


def _wrong4(one: Given, address: IPv4Address, segment: Segment, where: tuple[Sequence[Pool], bool]) -> Iterator[str]:
    """Of IPv4: pool, mask, time, way out. `where`: the pools, and whether the address is kept for the station."""
    pools, kept = where
    if not kept and not any(pool.first <= address <= pool.last for pool in pools):
        yield f"{address} lies in no pool"
    if one.prefix != segment.network4.prefixlen:
        yield f"it was told a network of /{one.prefix}, not /{segment.network4.prefixlen}"
    pool = next((pool for pool in pools if pool.first <= address <= pool.last), None)
    if pool is not None and pool.first not in segment.network4:
        yield f"{address} lies in a pool of another zone"
    planned = round(pool.lease.value * SECONDS_AN_HOUR) if pool is not None else one.seconds
    if one.seconds != planned:
        yield f"it was lent for {one.seconds} s, not for {planned} s"
    if one.router != segment.gateway4:
        yield f"it was sent to {one.router} as the way out, not to {segment.gateway4}"


def _told(one: Given, segment: Segment) -> Iterator[str]:
    """Whom a station is to ask, and for which names."""
    told, asked = set(one.resolvers), {host for host in segment.resolvers if host.version == one.family}
    if told != asked:
        yield f"it was told to ask {_list(told)} for names, not {_list(asked)}"
    times = {host for host in segment.times if host.version == one.family}
    if set(one.times) != times:
        yield f"it was told to ask {_list(set(one.times))} for the time, not {_list(times)}"
    if one.domain != segment.domain and asked:
        yield f"it was told the domain {one.domain or 'none'}, not {segment.domain or 'none'}"


def _list(hosts: set[Host]) -> str:
    return ", ".join(map(str, sorted(hosts, key=int))) or "nobody"


def held(built: Built, given: Sequence[Given]) -> None:
    """Each station bears what it was given."""
    for one in given:
        if one.address is not None:
            _bears(built, one, one.address)


def _bears(built: Built, one: Given, address: Host) -> None:
    name = built.interfaces[one.station]
    with Netlink(built.rooms[one.station]) as link:
        if isinstance(address, IPv4Address):
            addressed(link, name, built.office.segment(one.zone), address)
        else:
            link.address(name, address, address.max_prefixlen, route=False)


def lent_outside(built: Built) -> dict[str, Host]:
    """What the provider lends the firewall on each line that has no address of its own, by the line's slug."""
    asking = [
        Station(way.slug, way.slug, Sort.FIREWALL, OUTSIDE, FIREWALL, hardware(0, 0x80 + place), port=way.interface)
        for place, way in enumerate(built.office.ways, 1)
        if way.lent
    ]
    given = asked4([(one, built.rooms[FIREWALL]) for one in asking])
    return {one.station: one.address for one in given if one.address is not None}
