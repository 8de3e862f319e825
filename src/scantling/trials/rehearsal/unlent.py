"""Addresses set by hand where the address server isn't installed: those that are kept for a station, else the next of the pool."""

from collections.abc import Iterator, Sequence

from scantling.figures import Host, Pool
from scantling.trials.rehearsal.given import Given, nothing
from scantling.trials.rehearsal.office import Office, Station
from scantling.trials.rehearsal.services.adapter import Running

PROGRAMS = {4: "kea-dhcp4", 6: "kea-dhcp6"}
USED_UP = "every address of its pool is set on others"


def lends_nobody(running: Sequence[Running], family: int) -> bool:
    """Whether the plan has an address server of a family, and only a stand-in for it is here."""
    mine = [one for one in running if one.job.program == PROGRAMS[family]]
    return bool(mine) and all(one.process is None for one in mine)


def by_hand(office: Office, stations: Sequence[Station], pools: Sequence[Pool], family: int) -> list[Given]:
    """What each station bears in place of what it would be lent. In IPv6, where nothing is lent from a pool, what is kept for it."""
    taken = {host for one in office.stations for host in (*one.fixed, *one.kept)}
    found: list[Given] = []
    for one in stations:
        kept = (host for host in one.kept if host.version == family)
        host = next(kept, None) or next(_free(office, pools, one.zone, taken) if family == 4 else iter(()), None)  # noqa: PLR2004 - the version
        if host is not None:
            taken.add(host)
            found.append(_given(one, host))
        elif family == 4:  # noqa: PLR2004 - the version
            found.append(nothing(one.slug, one.zone, family, USED_UP))
    return found


def _free(office: Office, pools: Sequence[Pool], zone: str, taken: set[Host]) -> Iterator[Host]:
    """Addresses that a zone's pool has left."""
    network = office.segment(zone).network4
    for pool in pools:
        if pool.first in network:
            count = int(pool.last) - int(pool.first) + 1
            yield from (host for host in (pool.first + step for step in range(count)) if host not in taken)


def _given(station: Station, host: Host) -> Given:
    return Given(station.slug, station.zone, host.version, host, host.max_prefixlen, None, (), (), "", "", 0, "")


def told(family: int, borne: Sequence[Given]) -> str:
    """What was done, and what can't be judged for that, in a sentence."""
    many = sum(one.address is not None for one in borne)
    without = f", and {len(borne) - many} have none, for {USED_UP}" if many < len(borne) else ""
    stations = f"{many} station{'s' if many != 1 else ''}"
    bear = f"what is kept for {stations} or comes next in a pool was set by hand{without}"
    if family == 6:  # noqa: PLR2004 - the version
        bear = f"stations bear what they made from the announcements, and what is kept for {stations} was set by hand"
    return (
        f"{PROGRAMS[family]} isn't installed, so nobody lends IPv{family} addresses: {bear}; "
        "whether each is lent the right one, through the relay, was not tried."
    )
