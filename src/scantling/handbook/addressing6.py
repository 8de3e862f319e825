"""IPv6 address plans: a prefix of the office's own, a /64 for every zone, and addresses that read like those of IPv4."""

from collections.abc import Iterator, Mapping
from datetime import date
from hashlib import sha1
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from itertools import chain
from math import exp
from typing import Annotated

from scantling.figures import Source, method, rule
from scantling.figures.units import (
    Address,
    Address6,
    Count,
    Date,
    Hours,
    Network,
    Network6,
    Ratio,
    Truth,
    Word,
    closed,
)

UNIQUE = Source("RFC 4193 section 3.2.2")
CHANCE = Source("RFC 4193 section 3.2.3")
SIXTY_FOUR = Source("RFC 4291 section 2.5.4")
RENEWAL = Source("RFC 8415 section 21.4")
SPECIAL = Source("RFC 4291 section 2.4 and RFC 6890")
KEEPING = Source("what was issued stays; a new zone takes its own number as the subnet's", "own derivation")
ARITHMETIC = Source("arithmetic", "common practice")
READABLE = Source("common practice, no source", "common practice")
ZONE_BITS, ALL_BITS = 64, 128
UNIQUE_LOCAL = IPv6Network("fc00::/7")
LOCAL = IPv6Network("fd00::/8")
"""The half of them that an office assigns itself (RFC 4193 section 3.1: L = 1)."""
GLOBAL = IPv6Network("2000::/3")
GLOBAL_ID_BYTES, OWN_LENGTH = 5, 48
FIRST_NTP_YEAR, SECONDS_A_DAY, NTP_SECONDS = 1900, 86_400, 2**32
BESIDE = 0x10000
"""Added to a machine's interface number that the gateway has already."""
GATEWAY = 1

Register6 = Annotated[Mapping[str, IPv6Network], closed(Mapping)]
Addresses6 = Annotated[Mapping[str, IPv6Address], closed(Mapping)]


def ntp_time(day: date) -> bytes:
    """Midnight of a day in the 64-bit format of RFC 5905: seconds since 1900, and no fraction of one."""
    seconds = (day - date(FIRST_NTP_YEAR, 1, 1)).days * SECONDS_A_DAY % NTP_SECONDS
    return seconds.to_bytes(4, "big") + bytes(4)


@method(
    UNIQUE, says="fd, then the last 40 bits of the SHA-1 of the day's midnight in the 64-bit format of NTP and the office's "
    "name, which stands for the identifier that a node has to itself",
)  # fmt: skip
def unique_local(name: Word, day: Date) -> Network6:
    """The office's own unique local prefix, a /48: the same name and day give the same."""
    key = sha1(ntp_time(day) + name.encode(), usedforsecurity=False).digest()
    return IPv6Network((LOCAL.network_address.packed[:1] + key[-GLOBAL_ID_BYTES:] + bytes(10), OWN_LENGTH))


@rule(CHANCE, rises="sites")
def same_by_chance(sites: Count, *, bits: int = 40) -> Ratio:
    """How likely it is that two of so many sites, once joined, have made the same prefix: 1 - exp(-N^2 / 2^(L + 1))."""
    return 1 - exp(-pow(sites, 2) / pow(2, bits + 1))


@method(
    SPECIAL, says="inside 2000::/3, whose addresses hold everywhere, or inside fc00::/7, whose hold inside offices"
)
def for_offices(block: Network6) -> Truth:
    """Whether an office can be given addresses of this prefix."""
    return block.subnet_of(GLOBAL) or block.subnet_of(UNIQUE_LOCAL)


@method(SPECIAL, says="as given where an office can have it, else the office's own")
def fit_prefix(given: Network6, own: Network6) -> Network6:
    """The prefix that the office's networks are cut from."""
    return given if for_offices(given) else own


@method(KEEPING, says="the /48 around the lowest unique local network that was issued, else the one made now")
def kept_local(made: Network6, issued: Mapping[str, Network6]) -> Network6:
    """The office's own unique local prefix, kept once it was issued."""
    local = sorted(one for one in issued.values() if one.subnet_of(UNIQUE_LOCAL) and one.prefixlen >= OWN_LENGTH)
    return local[0].supernet(new_prefix=OWN_LENGTH) if local else made


@method(SPECIAL, says="inside fc00::/7")
def is_local(block: Network6) -> Truth:
    """Whether a prefix is local to the office and its like, so that nothing outside answers to it."""
    return block.subnet_of(UNIQUE_LOCAL)


@method(SIXTY_FOUR, says="those that do not lie in the prefix")
def strangers(block: Network6, networks: Mapping[str, Network6]) -> Count:
    """How many networks lie outside a prefix."""
    return sum(not network.subnet_of(block) for network in networks.values())


@method(SIXTY_FOUR, says="2 to the power of 64 less the prefix length; none where it is longer than 64")
def room_for_zones(block: Network6) -> Count:
    """How many networks of a zone (each a /64) a prefix holds."""
    return 1 << (ZONE_BITS - block.prefixlen) if block.prefixlen <= ZONE_BITS else 0


@rule(ARITHMETIC, rises="wanted", falls="there")
def lacking(wanted: Count, there: Count) -> Count:
    """How many are wanted beyond those that there are."""
    return max(wanted - there, 0)


@method(
    KEEPING, says="as issued; a new zone its own number as the subnet's, written as it reads (20 as :20:), where that lies in "
    "the prefix and is free, else the first free one; what has no place in the first prefix gets one in the second",
)  # fmt: skip
def zone_prefixes(
    block: Network6, spare: Network6, numbers: Mapping[str, Count], issued: Mapping[str, Network6]
) -> Register6:
    """The /64 of every zone; `issued` holds those of zones that are no more, too.

    `block` is the provider's prefix, `spare` the office's own; they may be the same.
    """
    given, taken = {zone: issued[zone] for zone in numbers if zone in issued}, set(issued.values())
    for zone in sorted(numbers.keys() - given.keys(), key=lambda zone: (numbers[zone], zone)):
        places = chain(_places(block, numbers[zone]), _places(spare, numbers[zone]))
        free = next((place for place in places if not any(place.overlaps(other) for other in taken)), None)
        if free is not None:
            given[zone] = free
            taken.add(free)
    return {zone: given[zone] for zone in sorted(given, key=lambda zone: (numbers[zone], zone))}


@method(SIXTY_FOUR, says="zone by zone, with whatever is pinned")
def as_written6(networks: Mapping[str, Network6]) -> Register6:
    """The IPv6 networks of all zones, gathered."""
    return dict(networks)


def _places(block: IPv6Network, number: int) -> Iterator[IPv6Network]:
    """Networks of one zone in a prefix: that of the number first, then from 1 on, and the very first at last."""
    room = room_for_zones(block)
    start, own = int(block.network_address), int(str(abs(number)), 16)
    order = chain([own] if 0 < own < room else [], range(1, min(room, BESIDE)), [0] if room else [])
    yield from (IPv6Network((start + (place << ZONE_BITS), ZONE_BITS)) for place in order)


@method(READABLE, says="as issued; of a new network the first address (::1)")
def gateways6(networks: Mapping[str, Network6], issued: Mapping[str, Address6]) -> Addresses6:
    """The IPv6 address of every zone's gateway."""
    return {zone: issued.get(zone, network[GATEWAY]) for zone, network in networks.items()}


@method(
    READABLE, says="as issued; a new one bears the last numbers of the IPv4 address as they read, .22 as ::22, or what is free "
    "beside that",
)  # fmt: skip
def machines6(
    network: Network6,
    gateway: Address6,
    subnet: Network,
    addresses: Mapping[str, Address],
    issued: Mapping[str, Address6],
) -> Addresses6:
    """The IPv6 addresses of what has an IPv4 address of its own in one zone.

    `issued` holds those of whoever is no more, too.
    """
    taken = {network.network_address, gateway, *issued.values()}
    given = {holder: issued[holder] for holder in addresses if holder in issued}
    for holder, address in addresses.items():
        if holder not in given:
            given[holder] = next(place for place in _readable(network, subnet, address) if place not in taken)
            taken.add(given[holder])
    return {holder: given[holder] for holder in addresses}


def _readable(network: IPv6Network, subnet: IPv4Network, address: IPv4Address) -> Iterator[IPv6Address]:
    """Addresses whose digits read like the place of the IPv4 address in its subnet, then others beside them."""
    number = int(str(abs(int(address) - int(subnet.network_address))), 16)
    yield from (network[number + beside * BESIDE] for beside in range(BESIDE))


@rule(RENEWAL, rises="lease")
def asks_again6(lease: Hours, *, share: float = 0.5) -> Hours:
    """When a device first asks to keep its IPv6 address (T1)."""
    return lease * share


@rule(RENEWAL, rises="lease")
def asks_anybody6(lease: Hours, *, share: float = 0.8) -> Hours:
    """When a device that got no answer asks any server (T2)."""
    return lease * share
