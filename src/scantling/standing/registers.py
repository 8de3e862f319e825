"""What is wrong in the registers of what was issued: subnets that no office can have, names, ports and prefixes given twice."""

from collections.abc import Callable, Iterator, Mapping
from ipaddress import IPv4Network, IPv6Address, IPv6Network
from typing import TypeVar

from scantling.figures import text
from scantling.figures.spelled import nearest, quoted
from scantling.standing import Issued, IssuedName, IssuedPort

WIDEST, NARROWEST = 8, 30
"""Prefix lengths of a zone: the largest private block (RFC 1918) down to two devices."""
ZONE_LENGTH = 64
FOR_NO_DEVICE = {
    IPv4Network("0.0.0.0/8"): "machines without an address yet (RFC 6890)",
    IPv4Network("127.0.0.0/8"): "each machine itself (RFC 6890)",
    IPv4Network("224.0.0.0/4"): "groups of receivers (RFC 5771)",
    IPv4Network("240.0.0.0/4"): "later use (RFC 6890)",
}
T = TypeVar("T", IssuedName, IssuedPort)


def wrong_registers(issued: Issued) -> Iterator[tuple[str, str]]:
    """Path and sentence of everything in the registers that can't be."""
    yield from _subnets(issued)
    yield from _twice("names", issued.names or {}, "name", lambda one: text(one.name).lower())
    yield from _twice("ports", issued.ports or {}, "number", lambda one: f"{text(one.switch)} {one.number.value}")
    yield from _prefixes(issued)
    yield from _addresses6(issued)


def _subnets(issued: Issued) -> Iterator[tuple[str, str]]:
    for slug, zone in (issued.zones or {}).items():
        network = zone.network.value
        if not WIDEST <= network.prefixlen <= NARROWEST:
            says = f"{network} is no subnet of a zone; from /{WIDEST} to /{NARROWEST} is accepted"
            yield f"issued.zones.{slug}.network", says
        for kept, what in FOR_NO_DEVICE.items():
            if network.subnet_of(kept):
                yield f"issued.zones.{slug}.network", f"{network} is set aside for {what}; no device can have it"


def _twice(register: str, given: Mapping[str, T], answer: str, key: Callable[[T], str]) -> Iterator[tuple[str, str]]:
    """What only one can hold and two do."""
    seen: dict[str, tuple[str, str]] = {}
    for slug, one in given.items():
        first, holder = seen.setdefault(key(one), (slug, text(one.holder)))
        if holder != text(one.holder):
            yield f"issued.{register}.{slug}.{answer}", f"{first} has it too, for another holder"


def _prefixes(issued: Issued) -> Iterator[tuple[str, str]]:
    """Prefixes that no zone can have, and those that overlap (RFC 4291)."""
    seen: dict[str, IPv6Network] = {}
    for slug, one in (issued.prefixes or {}).items():
        path, prefix = f"issued.prefixes.{slug}.prefix", one.prefix.value
        if prefix.prefixlen != ZONE_LENGTH:
            yield path, f"{prefix} is no network of a zone, which is a /{ZONE_LENGTH} (RFC 4291 section 2.5.4)"
        if first := next((other for other, net in seen.items() if net.overlaps(prefix)), ""):
            yield path, f"{prefix} overlaps {seen[first]} of {first}"
        seen[slug] = prefix
        if one.gateway is not None and one.gateway.value not in prefix:
            yield f"issued.prefixes.{slug}.gateway", f"the gateway {one.gateway.value} lies outside {prefix}"


def _addresses6(issued: Issued) -> Iterator[tuple[str, str]]:
    """IPv6 addresses outside their zone's prefix, and those that two things have."""
    prefixes = issued.prefixes or {}
    seen: dict[IPv6Address, str] = {
        one.gateway.value: f"the gateway of {slug}" for slug, one in prefixes.items() if one.gateway is not None
    }
    for slug, one in (issued.addresses6 or {}).items():
        path, address, zone = f"issued.addresses6.{slug}", one.address.value, text(one.zone)
        if zone not in prefixes:
            near = nearest(zone, prefixes)
            yield (
                f"{path}.zone",
                f"no prefix of a zone {quoted(zone)} is issued" + (f"; did you mean {near}?" if near else ""),
            )
        elif address not in prefixes[zone].prefix.value:
            yield f"{path}.address", f"{address} lies outside {prefixes[zone].prefix.value} of {zone}"
        if address in seen:
            yield f"{path}.address", f"{seen[address]} has {address} too"
        seen.setdefault(address, slug)
