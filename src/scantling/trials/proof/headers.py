"""Every packet that can come to the firewall, as numbers: what a header has, and where each address lies."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address, IPv6Address, ip_network
from typing import NamedTuple

from scantling.figures import FIREWALL, OUTSIDE, Host, Leg, Net, Transport
from scantling.figures.traffic import ANY_PROTOCOL, LAST_PORT, LAST_TYPE, Window
from scantling.trials.proof.spans import Spans, both, joined, less, of_networks

FAMILIES = (IPV4, IPV6) = (4, 6)
LAST_ADDRESS = {IPV4: 2**32 - 1, IPV6: 2**128 - 1}
PORTS = 2**16
"""Port numbers there are; a message has type and code in their place."""
CODES = 2**8
MINUTE, HOUR, DAY, WEEK = 60, 3600, 86400, 604800
NEW, REPLY, RELATED, INVALID = range(4)
STATES = ("new", "reply", "related", "invalid")
NUMBERS: Mapping[str, int] = {
    "icmp": 1, "igmp": 2, "ipencap": 4, "tcp": 6, "udp": 17, "ipv6": 41, "gre": 47, "esp": 50, "ah": 51, "icmpv6": 58,
    "ipv6-icmp": 58, "comp": 108, "sctp": 132, "udplite": 136, "dccp": 33, "vrrp": 112, "ospf": 89, "pim": 103, "l2tp": 115,
}  # fmt: skip
"""Protocols by number (IANA's list of assigned Internet protocol numbers)."""
NAMES = {number: name for name, number in reversed([*NUMBERS.items()])}
MESSAGES = {"icmp": IPV4, "icmpv6": IPV6}
UNTRACKED = ((130, 136), (143, 143))
"""ICMPv6 messages of the link, which belong to no connection: the kernel calls them untracked, an intent calls them new
(RFC 4861, 2710, 3810; net/netfilter/nf_conntrack_proto_icmpv6.c, from memory)."""
LINK: tuple[Net, ...] = tuple(
    ip_network(one) for one in ("224.0.0.0/4", "255.255.255.255/32", "ff00::/8", "fe80::/10")
)
"""Targets that stay on one link: multicast, broadcast, link-local (RFC 5771, 919, 4291)."""
SYMBOLS = {IPV4: int(IPv4Address("240.0.0.0")), IPV6: int(IPv6Address("100::"))}
"""Where addresses are taken from that stand for others (RFC 1112 section 4, RFC 6666): nobody is ever there."""
SET, LENT = 0x10000, 0x20000


class Header(NamedTuple):
    """One packet as it comes in, before anything is changed in it; a box has runs of numbers in the same order."""

    state: int
    place: int
    """The port of the firewall it comes in by, by its place among the legs; one more: the firewall itself sends it."""
    target: int
    source: int
    carried: int
    """Protocol, then target port, or message type and code: protocol * 65536 + port."""
    second: int
    """Of the week, from Monday midnight."""
    line: int
    """The port it would leave by, by its place among the legs; counts where the target alone does not say it."""
    source_port: int


FIELDS = Header._fields
Box = tuple[Spans, ...]


@dataclass(frozen=True)
class Ground:
    """The legs of the firewall and the sets of names, in one family: what each number of a header stands for."""

    family: int
    legs: tuple[Leg, ...]
    moving: tuple[str, ...] = ()
    """Slugs of the parties known by names, whose addresses move: each has one address that stands for them all."""

    @cached_property
    def last(self) -> Header:
        """The largest number of each field."""
        address = LAST_ADDRESS[self.family]
        return Header(
            len(STATES) - 1,
            len(self.legs),
            address,
            address,
            2**24 - 1,
            WEEK - 1,
            max(0, len(self.legs) - 1),
            PORTS - 1,
        )

    @cached_property
    def whole(self) -> Box:
        """Every packet."""
        return tuple(((0, last),) for last in self.last)

    def box(self, **fields: Spans) -> tuple[Box, ...]:
        """One box of the fields given, whole in all others; none where a field holds nothing."""
        if not all(fields.values()):
            return ()
        return (tuple(fields.get(name, whole) for name, whole in zip(FIELDS, self.whole, strict=True)),)

    # ---------------------------------------------------------------------------------------------- places

    @property
    def itself(self) -> int:
        """The place of what the firewall sends."""
        return len(self.legs)

    def places(self, zone: str) -> Spans:
        """Where packets of a zone come in."""
        if zone == FIREWALL:
            return ((self.itself, self.itself),)
        return joined((place, place) for place, leg in enumerate(self.legs) if leg.zone == zone)

    @property
    def doors(self) -> Spans:
        """Every port: where packets come in that the firewall does not send itself."""
        return ((0, len(self.legs) - 1),) if self.legs else ()

    def zone_at(self, place: int) -> str:
        """The zone behind a place."""
        return FIREWALL if place == self.itself else self.legs[place].zone

    # ------------------------------------------------------------------------------------------- addresses

    @property
    def addresses(self) -> Spans:
        """Every address."""
        return ((0, LAST_ADDRESS[self.family]),)

    def moving_address(self, party: str) -> int:
        """The address that stands for whatever a party's names answer."""
        return SYMBOLS[self.family] + SET + self.moving.index(party)

    def _lent_address(self, place: int) -> int:
        """The address that stands for the one that the provider lends."""
        return SYMBOLS[self.family] + LENT + place

    @cached_property
    def symbols(self) -> Spans:
        """All addresses that stand for others."""
        sets = [self.moving_address(party) for party in self.moving]
        lent = [self._lent_address(place) for place in range(len(self.legs)) if self._is_lent(place)]
        return joined((one, one) for one in [*sets, *lent])

    def _is_lent(self, place: int) -> bool:
        leg = self.legs[place]
        return leg.zone == OUTSIDE and not any(host.version == self.family for host in leg.own)

    def networks(self, networks: Iterable[Net]) -> Spans:
        """The networks of this family as they are written; what stands for another address is in none of them."""
        return less(of_networks(networks, self.family), self.symbols)

    def own_at(self, place: int) -> Spans:
        """The firewall's own addresses at one port, or what stands for the one that is lent."""
        if self._is_lent(place):
            return ((self._lent_address(place),) * 2,)
        return joined((int(host), int(host)) for host in self.legs[place].own if host.version == self.family)

    @cached_property
    def own(self) -> Spans:
        """All of the firewall's own addresses."""
        return joined(span for place in range(len(self.legs)) for span in self.own_at(place))

    @cached_property
    def link(self) -> Spans:
        """Targets that stay on one link."""
        return of_networks(LINK, self.family)

    @cached_property
    def firewall(self) -> Spans:
        """Where what comes in goes to the firewall itself."""
        return joined([*self.own, *self.link])

    @cached_property
    def inside(self) -> Spans:
        """All addresses of the office's networks."""
        return self.networks(network for leg in self.legs for network in leg.networks)

    @cached_property
    def outside(self) -> Spans:
        """Where what comes in goes out."""
        return less(self.addresses, joined([*self.firewall, *self.inside]))

    def behind(self, zone: str) -> Spans:
        """The networks behind the ports of a zone."""
        return self.networks(network for leg in self.legs if leg.zone == zone for network in leg.networks)

    @cached_property
    def zones(self) -> Mapping[str, Spans]:
        """Targets by where they lie: with the firewall, in each zone, outside; each address in one of them."""
        found, taken = {FIREWALL: self.firewall}, self.firewall
        for zone in dict.fromkeys(leg.zone for leg in self.legs if leg.zone != OUTSIDE):
            found[zone] = less(self.behind(zone), taken)
            taken = joined([*taken, *found[zone]])
        return {**found, OUTSIDE: self.outside}

    def toward(self, zone: str) -> Spans:
        """Targets that lie in a zone, outside, or with the firewall; none of a zone that the firewall has no port to."""
        return self.zones.get(zone, ())

    def zone_of(self, target: int) -> str:
        """Where a target lies."""
        return next(zone for zone, spans in self.zones.items() if both(spans, ((target, target),)))

    # ------------------------------------------------------------------------------------ nothing is like this

    @cached_property
    def never(self) -> tuple[Box, ...]:
        """Headers that no packet has: the firewall to itself; outside by a port that does not lead there."""
        lines = self.places(OUTSIDE)
        elsewhere = less(((0, self.last.line),), lines)
        return (
            *self.box(place=self.places(FIREWALL), target=self.own),
            *self.box(target=self.outside, line=elsewhere),
        )


def narrowed(box: Box, **fields: Spans) -> Box:
    """The same box with other runs in some fields."""
    return tuple(fields.get(name, spans) for name, spans in zip(FIELDS, box, strict=True))


def real(boxes: Iterable[Box]) -> tuple[Box, ...]:
    """The boxes that hold something."""
    return tuple(box for box in boxes if all(box))


def carried(one: Transport) -> Spans:
    """A protocol and its ports or message types as numbers. Raises KeyError for a protocol without a number."""
    if one.protocol == ANY_PROTOCOL or not one.protocol:
        return ((0, 2**24 - 1),)
    start = NUMBERS[one.protocol] * PORTS
    if one.protocol in MESSAGES:
        return ((start + one.first * CODES, start + min(one.last, LAST_TYPE) * CODES + CODES - 1),)
    return ((start + one.first, start + min(one.last, LAST_PORT)),)


def seconds(window: Window | None) -> Spans:
    """The hours of a window as seconds of the week, its last minute whole; all of them where there is none."""
    if window is None:
        return ((0, WEEK - 1),)
    return joined(
        (day * DAY + window.first * MINUTE, day * DAY + window.last * MINUTE + MINUTE - 1) for day in window.days
    )


def host(number: int, family: int) -> Host:
    """An address from its number."""
    return IPv4Address(number) if family == IPV4 else IPv6Address(number)


def grounds(legs: Sequence[Leg], moving: Sequence[str]) -> tuple[Ground, ...]:
    """The same office in both families."""
    ordered = tuple(sorted(legs, key=lambda leg: (leg.zone == OUTSIDE, leg.interface)))
    return tuple(Ground(family, ordered, tuple(sorted(moving))) for family in FAMILIES)
