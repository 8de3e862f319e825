"""What is wrong in the registers of what was issued: subnets that no office can have, names, ports and prefixes given twice."""

from collections.abc import Callable, Iterator, Mapping
from ipaddress import IPv4Network, IPv6Network
from typing import TypeVar

from scantling.figures import text
from scantling.standing import Issued, IssuedName, IssuedPort

WIDEST, NARROWEST = 8, 30
"""Prefix lengths of a zone: the largest private block (RFC 1918) down to two devices."""
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
    """What is no IPv6 prefix, and those that overlap (RFC 4291)."""
    seen: dict[str, IPv6Network] = {}
    for slug, one in (issued.prefixes or {}).items():
        path = f"issued.prefixes.{slug}.prefix"
        try:
            prefix = IPv6Network(text(one.prefix))
        except ValueError:
            yield path, "this is no IPv6 prefix; write one like fd12:3456:789a:10::/64"
            continue
        if first := next((other for other, net in seen.items() if net.overlaps(prefix)), ""):
            yield path, f"{prefix} overlaps {seen[first]} of {first}"
        seen[slug] = prefix
