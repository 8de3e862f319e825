"""IPv4 address plans: blocks, subnets, the ranges inside a subnet, and how long an address is lent."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network
from typing import Annotated

from scantling.figures import Source, method, rule
from scantling.figures.rounding import whole_up
from scantling.figures.units import Count, Hours, Network, Ratio, Truth, closed

CIDR = Source("RFC 4632")
PRIVATE = Source("RFC 1918 section 3")
RENEWAL = Source("RFC 2131 section 4.4.5")
HABIT = Source("common practice, no source", "common practice")
OWN = Source("first free place on the subnet's own boundary", "own derivation")
ADDRESS_BITS, OCTET = 32, 256
NARROWEST = 30  # two addresses for devices
WIDEST = 8  # no zone gets more than this: beyond it the device count is a slip of the pen
RESERVED_BLOCKS = tuple(IPv4Network(block) for block in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"))


@dataclass(frozen=True, slots=True)
class Run:
    """Addresses that follow each other, both ends included."""

    first: IPv4Address
    last: IPv4Address

    def __len__(self) -> int:
        return int(self.last) - int(self.first) + 1

    def __str__(self) -> str:
        return f"{self.first} to {self.last}" if self.first != self.last else str(self.first)

    def as_plain(self) -> str:
        """For canonical JSON."""
        return str(self)


NetworkRegister = Annotated[Mapping[str, IPv4Network], closed(Mapping)]
AddressRegister = Annotated[Mapping[str, IPv4Address], closed(Mapping)]
RunRegister = Annotated[Mapping[str, Run], closed(Mapping)]


def usable(prefix: int) -> int:
    """A prefix length that a zone can have: a pinned one outside 8 to 30 is taken as the nearest of these."""
    return max(WIDEST, min(NARROWEST, prefix))


@method(PRIVATE, says="inside 10.0.0.0/8, 172.16.0.0/12 or 192.168.0.0/16")
def private(block: Network) -> Truth:
    """Whether a block is set aside for private use."""
    return any(block.subnet_of(reserved) for reserved in RESERVED_BLOCKS)


@method(CIDR, says="two networks clash when one holds the other")
def clashes(block: Network, others: Mapping[str, Network]) -> Count:
    """How many other networks overlap a block."""
    return sum(block.overlaps(other) for other in others.values())


@method(CIDR, says="nought inside the block, which is judged as a whole; else as many as hold it or lie in it")
def strays(network: Network, block: Network, others: Mapping[str, Network]) -> Count:
    """How many other networks overlap a subnet that stands outside the office's block."""
    return 0 if network.subnet_of(block) else sum(network.overlaps(other) for other in others.values())


@method(CIDR, says="2 to the power of 32 less the prefix length, which is 8 to 30 for a zone", falls="prefix")
def addresses_in(prefix: Count) -> Count:
    """Addresses that a prefix length holds, network and broadcast address included."""
    return 1 << (ADDRESS_BITS - usable(prefix))


@method(CIDR, says="the longest prefix whose 2^(32 - prefix) addresses are enough", falls="addresses", rises="least")
def prefix_for(addresses: Count, least: Count) -> Count:
    """Prefix of the smallest subnet that holds so many addresses, never smaller than the house allows.

    `least` is the house's longest prefix. Raises ValueError for a negative number.
    """
    if addresses < 0:
        message = f"{addresses} addresses: the number may not be negative"
        raise ValueError(message)
    return max(WIDEST, min(least, ADDRESS_BITS - max(0, addresses - 1).bit_length()))


@rule(HABIT, rises="static lent reserved growth")
def addresses_needed(static: Count, lent: Count, reserved: Count, growth: Ratio, *, ends: int = 2) -> Count:
    """Addresses of a zone: both ends of the subnet, the static range, and the others with room to grow."""
    return ends + static + whole_up((lent + reserved) * (1 + growth))


@rule(HABIT, rises="devices margin least")
def lent_to(devices: Count, margin: Ratio, least: Count) -> Count:
    """Addresses to lend to devices that keep none: their number and a margin, never fewer than the house's least."""
    return max(whole_up(devices * margin), least)


def first_free(block: IPv4Network, taken: Iterable[IPv4Network], prefix: int) -> IPv4Network | None:
    """The first place for a subnet in a block that overlaps none taken; None when there is none.

    Raises nothing; a prefix shorter than the block's own has no place.
    """
    size = 1 << (ADDRESS_BITS - prefix)
    at = int(block.network_address)
    if prefix < block.prefixlen:
        return None
    for other in sorted(taken):
        if at + size <= int(other.network_address):
            break
        at = max(at, -(-(int(other.broadcast_address) + 1) // size) * size)
    end = int(block.broadcast_address)
    return IPv4Network((at, prefix)) if at + size - 1 <= end else None


@method(CIDR, says="one after the other in the order given, each at the first free place on its own boundary")
def first_fit(block: Network, prefixes: Mapping[str, Count]) -> NetworkRegister:
    """Subnets in a block in the order asked for; those for which there is no room are left out."""
    given: dict[str, IPv4Network] = {}
    for name, prefix in prefixes.items():
        place = first_free(block, given.values(), prefix)
        if place is not None:
            given[name] = place
    return given


def _numbered(block: IPv4Network, number: int, prefix: int) -> IPv4Network | None:
    """The subnet whose third octet is the zone's number, if that is on its boundary and inside the block."""
    start = int(block.network_address) // OCTET**2 * OCTET**2 + number * OCTET
    if number >= OCTET or start % (1 << (ADDRESS_BITS - prefix)) or prefix < block.prefixlen:
        return None
    place = IPv4Network((start, prefix))
    return place if place.subnet_of(block) else None


@method(
    OWN, says="third octet = the zone's number where that is free and on the subnet's boundary; "
    "the others after them, widest first, at the first free place",
)  # fmt: skip
def subnets(block: Network, prefixes: Mapping[str, Count], numbers: Mapping[str, Count]) -> NetworkRegister:
    """A subnet for every zone; those for which the block has no room are left out."""
    lengths = {zone: usable(prefix) for zone, prefix in prefixes.items()}
    given = placed(block, lengths, numbers, {})
    return {name: given[name] for name in sorted(given, key=lambda zone: (numbers[zone], zone))}


def placed(
    block: IPv4Network, lengths: Mapping[str, int], numbers: Mapping[str, int], taken: Mapping[str, IPv4Network]
) -> dict[str, IPv4Network]:
    """What is taken, and beside it a subnet for every other zone that has a place by its number or its width."""
    given = dict(taken)
    for name in sorted(lengths, key=lambda zone: (numbers[zone], zone)):
        place = _numbered(block, numbers[name], lengths[name])
        if place is not None and not any(place.overlaps(other) for other in given.values()):
            given[name] = place
    for name in sorted(lengths.keys() - given.keys(), key=lambda zone: (lengths[zone], numbers[zone], zone)):
        place = first_free(block, given.values(), lengths[name])
        if place is not None:
            given[name] = place
    return given


@method(CIDR, says="zone by zone, with whatever is pinned")
def as_written(networks: Mapping[str, Network]) -> NetworkRegister:
    """The subnets of all zones, gathered."""
    return dict(networks)


@method(OWN, says="the block itself, doubled until every zone has a place")
def room_for(block: Network, prefixes: Mapping[str, Count], numbers: Mapping[str, Count]) -> Network:
    """The block, or the smallest network around it that holds all zones."""
    wider = block
    while wider.prefixlen > 0 and len(subnets(wider, prefixes, numbers)) < len(prefixes):
        wider = wider.supernet()
    return wider


@rule(CIDR)
def too_small(block: Network, room: Network) -> Truth:
    """The block does not hold all zones."""
    return block != room


@rule(HABIT)
def apart(one: Count, other: Count) -> Count:
    """How far two numbers lie apart."""
    return max(one - other, other - one)


@method(HABIT, says="the first address of each subnet")
def gateways(networks: Mapping[str, Network]) -> AddressRegister:
    """The gateway of every zone."""
    return {name: network.network_address + 1 for name, network in networks.items()}


@method(
    HABIT, says="the gateway first, then the static range, then what keeps its address in the order given; "
    "what is lent stands at the end, so that both can grow towards each other",
)  # fmt: skip
def ranges(network: Network, static: Count, lent: Count, reserved: Mapping[str, Count]) -> RunRegister:
    """The ranges inside one zone's subnet; what does not fit into it is cut off at its end.

    `static` counts the gateway in.
    """
    at, last = network.network_address + 1, network.broadcast_address - 1
    runs = {"gateway": Run(at, at)}
    for name, count in {"static": static - 1, **reserved}.items():
        end = min(at + count, last)
        if end > at:
            runs[name] = Run(at + 1, end)
            at = end
    if lent > 0 and at < last:
        runs["lent"] = Run(max(at, network.broadcast_address - lent - 1) + 1, last)
    return runs


@method(HABIT, says="one address each in the order given, after the static range")
def one_each(network: Network, static: Count, holders: Mapping[str, Count]) -> AddressRegister:
    """The addresses of machines in a zone."""
    return {name: network.network_address + static + place for place, name in enumerate(holders, 1)}


@rule(HABIT, rises="addresses", falls="static kept lent")
def room_left(addresses: Count, static: Count, kept: Count, lent: Count, *, ends: int = 2) -> Count:
    """Addresses of the subnet that nobody has yet, its two ends not counted."""
    return addresses - ends - static - kept - lent


@rule(RENEWAL, rises="lease")
def renewed_after(lease: Hours, *, share: float = 0.5) -> Hours:
    """When a device first asks to keep its address (T1)."""
    return lease * share


@rule(RENEWAL, rises="lease")
def asks_anybody_after(lease: Hours, *, share: float = 0.875) -> Hours:
    """When a device that got no answer asks any server (T2)."""
    return lease * share
