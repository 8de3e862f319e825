"""Addresses: who makes offers in each zone, to whom; whether the server renews; what the provider lends; what the firewall announces."""

import select
import socket
from collections.abc import Iterator, Sequence
from time import monotonic

from scantling.figures import FIREWALL, OUTSIDE, Host
from scantling.trials.rehearsal.addressing import LISTEN
from scantling.trials.rehearsal.announcements import ANNOUNCEMENT, SOLICITATION
from scantling.trials.rehearsal.announcing import EVERY_ROUTER, ON_THE_LINK, only
from scantling.trials.rehearsal.asking import asked4, asked6
from scantling.trials.rehearsal.building import SIXTH, door_addresses
from scantling.trials.rehearsal.hunt import Offer, hunted
from scantling.trials.rehearsal.noticing.watch import Watch
from scantling.trials.rehearsal.noticing.straight import renewed
from scantling.trials.rehearsal.office import Segment, Sort, Station
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.signs import Gathering, Seen, What
from scantling.trials.rehearsal.stations import hardware
from scantling.trials.rehearsal.wire import closed

FILTER, LONGEST = 1, 2048
HUNT = 0.06
"""Seconds for which offers are gathered at least, for a second server's may come after the first's."""
SOLICIT = bytes([SOLICITATION, 0, 0, 0, 0, 0, 0, 0])
"""A solicitation of routers without options; the kernel writes its sum (RFC 4861 section 4.1)."""


def offer_signs(watch: Watch) -> Seen:
    """A hunt in each zone, by those who are known and by a newcomer, all at once."""
    found = Gathering()
    rooms = watch.living.built.rooms
    known = [*watch.asking()]
    new = dict.fromkeys(zone for zone, _ in known)
    first = {zone: next(one for other, one in known if other == zone) for zone in new}
    calls = [(rooms[one.slug], one.hardware) for _, one in known]
    calls += [(rooms[first[zone].slug], watch.newcomer(zone)) for zone in new]
    heard = hunted(calls, HUNT, watch.patience)
    for (zone, one), offers in zip(known, heard, strict=False):
        _offered(watch, (zone, one), offers, found)
    for zone, offers in zip(new, heard[len(known) :], strict=True):
        found.look(What.NO_NEWCOMER, zone, seen=not any(_is_ours(watch, offer) for offer in offers))
    return found.seen()


def _offered(watch: Watch, who: tuple[str, Station], offers: Sequence[Offer], found: Gathering) -> None:
    """What one known device was offered."""
    zone, station = who
    segment = watch.living.office.segment(zone)
    ours = [offer for offer in offers if _is_ours(watch, offer)]
    others = [offer for offer in offers if not _is_ours(watch, offer)]
    elsewhere = [offer for offer in ours if offer.address not in segment.network4]
    found.look(What.NO_OFFER, zone, seen=not ours)
    found.look(What.FOREIGN, zone, seen=bool(others), detail=", ".join(_sender(watch, offer) for offer in others))
    found.look(
        What.ELSEWHERE,
        station.slug,
        seen=bool(elsewhere),
        detail=", ".join(str(offer.address) for offer in elsewhere),
    )
    astray = [offer for offer in ours if offer not in elsewhere and offer.router != segment.gateway4]
    found.look(What.WRONG_TOLD, zone, seen=bool(astray), detail=", ".join(str(offer.router) for offer in astray))


def _is_ours(watch: Watch, offer: Offer) -> bool:
    """Whether an offer names the plan's own server."""
    return any(offer.server in map(str, one.addresses) for one in watch.serving("addresses"))


def _sender(watch: Watch, offer: Offer) -> str:
    """Whose hardware address an offer came from, where the plan knows it."""
    known = {one.hardware: one.slug for one in watch.living.office.stations}
    return known.get(offer.hardware, offer.hardware)


def renewal_signs(watch: Watch) -> Seen:
    """Of each zone one asks its server straight for more time, past the relay."""
    found, doors = Gathering(), door_addresses(watch.living.office)
    first: dict[str, Station] = {}
    for zone, one in watch.asking():
        if one.slug in watch.given and zone not in watch.known.at(What.UNRENEWED):
            first.setdefault(zone, one)
    rooms = watch.living.built.rooms
    many = [(one, rooms[one.slug], watch.given[one.slug], doors[zone]) for zone, one in first.items()]
    for zone, given in zip(first, renewed(many, watch.patience), strict=True):
        found.look(What.UNRENEWED, zone, seen=given.address is None, detail=given.refused)
    return found.seen()


def sixth_signs(watch: Watch) -> Seen:
    """Of each zone in which addresses are given over IPv6, one asks."""
    found = Gathering()
    if not watch.living.built.sixth:
        return found.seen()
    first: dict[str, Station] = {}
    for zone, many in watch.stations.items():
        for one in many:
            by_hand = any(host.version == SIXTH for host in one.fixed)
            if watch.living.office.segment(zone).given6 and one.sort in LISTEN and not by_hand:
                first.setdefault(zone, one)
    places = [(one, watch.living.built.rooms[one.slug]) for one in first.values()]
    for zone, given in zip(first, asked6(places, watch.patience), strict=True):
        found.look(What.NO_OFFER6, zone, seen=given.address is None)
    return found.seen()


def lending_signs(watch: Watch) -> Seen:
    """Whether the provider lends the firewall its address on each line where it did."""
    found = Gathering()
    room = watch.living.built.rooms[FIREWALL]
    asking = [
        (
            Station(
                way.slug, way.slug, Sort.FIREWALL, OUTSIDE, FIREWALL, hardware(0, 0x80 + place), port=way.interface
            ),
            room,
        )
        for place, way in enumerate(watch.living.office.ways, 1)
        if way.slug in watch.living.lent
    ]
    for given in asked4(asking, watch.patience):
        found.look(What.NOT_LENT, given.station, seen=given.address is None)
    return found.seen()


def announcement_signs(watch: Watch) -> Seen:
    """Whether the firewall announces itself in each zone with IPv6 when it is asked to."""
    found = Gathering()
    if not watch.living.built.sixth:
        return found.seen()
    places = [*_listeners(watch)]
    ears = [_asked(watch.living.built.rooms[one.slug], watch.living.built.interfaces[one.slug]) for _, one in places]
    try:
        heard = _heard(ears, watch.patience)
    finally:
        closed(ears)
    for (segment, _), said in zip(places, heard, strict=True):
        found.look(What.NO_NEWS, segment.slug, seen=not said)
    return found.seen()


def _listeners(watch: Watch) -> Iterator[tuple[Segment, Station]]:
    """In each zone with IPv6 somebody who has an address of that version."""
    for segment in watch.living.office.segments:
        ready = (one for one in watch.stations[segment.slug] if _has_sixth(watch, one))
        one = next(ready, None)
        if segment.network6 is not None and one is not None:
            yield segment, one


def _has_sixth(watch: Watch, one: Station) -> Host | None:
    return watch.source(one, SIXTH)


def _asked(room: Room, name: str) -> socket.socket:
    """A socket that has asked all routers of a link, and hears their announcements."""
    ear = room.socket(socket.AF_INET6, socket.SOCK_RAW, socket.IPPROTO_ICMPV6)
    ear.settimeout(0)
    ear.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, name.encode())
    ear.setsockopt(socket.IPPROTO_ICMPV6, FILTER, only(ANNOUNCEMENT))
    ear.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, ON_THE_LINK)
    with room.entered():
        index = socket.if_nametoindex(name)
    ear.sendto(SOLICIT, (str(EVERY_ROUTER), 0, 0, index))
    return ear


def _heard(ears: Sequence[socket.socket], seconds: float) -> list[bool]:
    """Whether each has heard an announcement by then."""
    waiting = {ear.fileno(): place for place, ear in enumerate(ears)}
    found = [False] * len(ears)
    end = monotonic() + seconds
    with select.epoll() as poll:
        for number in waiting:
            poll.register(number, select.EPOLLIN)
        while not all(found) and (left := end - monotonic()) > 0:
            for number, _ in poll.poll(left):
                found[waiting[number]] = True
                poll.unregister(number)
    return found
