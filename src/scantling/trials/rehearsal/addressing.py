"""Every station comes to its addresses: lent in IPv4, made from the announcements and given in IPv6, and held from then on."""

import time
from collections.abc import Iterator, Mapping, Sequence

from scantling.figures import Host
from scantling.trials.rehearsal.asking import asked4, asked6
from scantling.trials.rehearsal.building import SIXTH, introduced
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.lending import held, leases
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Sort, Station
from scantling.trials.rehearsal.results import Lease
from scantling.trials.rehearsal.session import Living, pools
from scantling.trials.rehearsal.unlent import by_hand, lends_nobody, told

PATIENCE, PAUSE = 12.0, 0.005
ASKING, A_SECOND = 6.0, 100
"""Seconds that a station waits for its address, and how many come to theirs in a second at the worst."""
LISTEN = frozenset({Sort.DEVICE, Sort.VISITOR, Sort.KIT})
"""Who makes addresses from announcements; machines have theirs set by hand."""
CROWDED = "With so many stations the kernel would forget who is where, so neighbours' hardware addresses were written down beforehand"


def addressed(living: Living) -> list[Lease]:
    """Ask, hold against the plan, set. Notes in `living` who holds what."""
    built, stations = living.built, living.office.stations
    given, set_by_hand = lent(living, 4, [one for one in stations if one.asks])
    found, made = leases(built, pools(living), given), dict[str, Host]()
    if built.sixth:
        more, further = lent(living, SIXTH, [one for one in stations if _is_given6(living, one)])
        given, set_by_hand = [*given, *more], [*set_by_hand, *further]
        found += leases(built, pools(living), more)
        made = own_addresses(living, {(one.station, one.address) for one in (*more, *further)})
        found += [_made(living, one, made.get(one.slug)) for one in stations if _listens(living, one)]
    living.given = given
    bear: dict[str, list[Host]] = {}
    for each in (*given, *set_by_hand):
        if each.address is not None:
            bear.setdefault(each.station, []).append(each.address)
    living.held = {one.slug: tuple(_held(living, one, bear, made)) for one in stations if one.slug in built.ports}
    if built.crowded:
        introduced(built, [one for one in stations if one.slug in built.ports], living.held)
        living.notes.append(f"{CROWDED}.")
    return found


def lent(living: Living, family: int, stations: Sequence[Station]) -> tuple[list[Given], list[Given]]:
    """What is lent to whoever asks, and borne from then on; and what is set by hand, where no address server is here."""
    if lends_nobody(living.running, family):
        borne = by_hand(living.office, stations, pools(living), family)
        held(living.built, borne)
        living.notes.append(told(family, borne))
        return [], borne
    asking = [(one, living.built.rooms[one.slug]) for one in stations]
    patience = ASKING + len(asking) / A_SECOND
    given = asked6(asking, patience) if family == SIXTH else asked4(asking, patience)
    held(living.built, given)
    return given, []


def _is_given6(living: Living, one: Station) -> bool:
    """Whether it asks for an address in IPv6: who has one by hand does not."""
    return _listens(living, one) and living.office.segment(one.zone).given6


def _listens(living: Living, one: Station) -> bool:
    by_hand = any(host.version == SIXTH for host in one.fixed)
    return one.sort in LISTEN and one.slug in living.built.ports and not by_hand


def own_addresses(living: Living, given: set[tuple[str, Host | None]]) -> dict[str, Host]:
    """By station, the address that it made from the announcements, none that it was given; those that made none are left out."""
    waiting = {one.slug: one for one in living.office.stations if _listens(living, one)}
    found: dict[str, Host] = {}
    end = time.monotonic() + PATIENCE
    while waiting and time.monotonic() < end:
        for slug, station in list(waiting.items()):
            network = living.office.segment(station.zone).network6
            with Netlink(living.built.rooms[slug]) as link:
                mine = [one.host for one in link.addresses(living.built.interfaces[slug])]
            own = (host for host in mine if network and host in network and (slug, host) not in given)
            made = next(own, None)
            if made is not None:
                found[slug] = made
                del waiting[slug]
        if waiting:
            time.sleep(PAUSE)
    return found


def _made(living: Living, one: Station, host: Host | None) -> Lease:
    wrong = (
        "" if host is not None else f"{one.label}: it heard no announcement of the firewall, and made no IPv6 address"
    )
    return Lease(one.slug, one.zone, SIXTH, str(host or ""), living.office.segment(one.zone).interface, wrong)


def _held(
    living: Living, one: Station, bear: Mapping[str, Sequence[Host]], made: Mapping[str, Host]
) -> Iterator[Host]:
    """What a station holds: by hand, given, made."""
    yield from (host for host in one.fixed if host.version in living.families)
    yield from bear.get(one.slug, ())
    if one.slug in made:
        yield made[one.slug]
