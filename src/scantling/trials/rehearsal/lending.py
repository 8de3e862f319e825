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
        if not kept and not any(pool.first <= one.address <= pool.last for pool in pools):
            yield f"{one.address} lies in no pool"
        if one.router != segment.gateway4:
            yield f"it was sent to {one.router} as the way out, not to {segment.gateway4}"
    elif segment.network6 is None or one.address not in segment.network6:
        yield f"{one.address} is none of {segment.label}"
    told, planned = set(one.resolvers), {host for host in segment.resolvers if host.version == one.family}
    if told != planned:
        yield f"it was told to ask {_list(told)} for names, not {_list(planned)}"
    if one.domain != segment.domain and planned:
        yield f"it was told the domain {one.domain or 'none'}, not {segment.domain or 'none'}"


def _list(hosts: set[Host]) -> str:
    return ", ".join(map(str, sorted(hosts, key=int))) or "nobody"


def held(built: Built, given: Sequence[Given]) -> None:
    """Each station bears what it was given."""
    for one in given:
        if one.address is not None:
            segment = built.office.segment(one.zone)
            with Netlink(built.rooms[one.station]) as link:
                name = built.interfaces[one.station]
                if isinstance(one.address, IPv4Address):
                    addressed(link, name, segment, one.address)
                else:
                    link.address(name, one.address, 128, route=False)


def lent_outside(built: Built) -> dict[str, Host]:
    """What the provider lends the firewall on each line that has no address of its own, by the line's slug."""
    asking = [
        Station(way.slug, way.slug, Sort.FIREWALL, OUTSIDE, FIREWALL, hardware(0, 0x80 + place), port=way.interface)
        for place, way in enumerate(built.office.ways, 1)
        if way.lent
    ]
    given = asked4([(one, built.rooms[FIREWALL]) for one in asking])
    return {one.station: one.address for one in given if one.address is not None}
