"""What an address server must know of every zone, in both families, gathered from a plan's records."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network
from typing import Any

from scantling.figures import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, Address, Asking, Device, End, Flow, Host, Leg, Name, Pool, Prefix, Reservation, Server, Service,
    Subnet, Verdict, Visitors, Zone, text,
)  # fmt: skip
from scantling.handbook.naming import first_label
from scantling.handbook.numbering import own_numbers
from scantling.plan.make import Plan

PROFILE = "names-and-addresses"
FOURTH, SIXTH = 4, 6
ASKED_AT: Mapping[str, int] = {"resolvers": 53, "time_sources": 123}
"""Ports at which names (RFC 1035) and the time (RFC 5905) are asked for."""
SECONDS_AN_HOUR = 3600
PRINTABLE = " "


@dataclass(frozen=True, slots=True)
class Served:
    """One zone as its address server sees it."""

    slug: str
    name: str
    number: int
    interface: str
    subnet: IPv4Network
    prefix: IPv6Network
    doors: tuple[Host, ...]
    """The firewall's own addresses there."""
    pools: tuple[Pool, ...]
    reservations: tuple[Reservation, ...]
    asking: Asking | None
    direct: bool
    """Whether the server has a port in the zone; else the firewall passes its devices' calls on."""
    reached: frozenset[tuple[str, Host]]
    """Resolvers and clocks that devices of the zone may speak to: nobody is told of one that never answers."""
    managed: bool
    """Whether IPv6 addresses are given by the server too: where things are wired and nobody is a visitor."""

    def door(self, family: int) -> Host:
        """The firewall's address of a family."""
        return next(one for one in self.doors if one.version == family)

    def asked(self, many: str, family: int) -> tuple[Host, ...]:
        """Resolvers or time sources of a family."""
        hosts: tuple[Host, ...] = getattr(self.asking, many) if self.asking is not None else ()
        return tuple(one for one in hosts if one.version == family and (many, one) in self.reached)

    def seconds(self) -> int:
        """How long an address is lent; nought where none is."""
        return max((round(pool.lease.value * SECONDS_AN_HOUR) for pool in self.pools), default=0)


def holder(plan: Plan) -> str:
    """Slug of the machine that gives addresses, or FIREWALL."""
    said = [one.holder for one in plan.records(Server) if one.does == "addresses"]
    machines = {one.holder for one in plan.records(Address)}
    runs = [one.machine for one in plan.records(Service) if one.profile == PROFILE and one.machine in machines]
    return next(iter((*said, *runs)), FIREWALL)


def served(plan: Plan) -> list[Served]:
    """Every zone that has a subnet, a prefix and a port of the firewall, in the order of the zones."""
    return list(_served(plan))


def _served(plan: Plan) -> Iterator[Served]:
    zones = plan.records(Zone)
    numbers = own_numbers({zone.slug: int(zone.number.value) for zone in zones})
    inside = [leg for leg in plan.records(Leg) if leg.zone != OUTSIDE]  # a line may be called as a zone is
    legs, nets = _by_slug(inside), _by_slug(plan.records(Subnet))
    prefixes, asking = _by_slug(plan.records(Prefix)), _by_slug(plan.records(Asking))
    ports, managed = _ports(plan), _managed(plan)
    for zone in zones:
        slug = zone.slug
        if slug in legs and slug in nets and slug in prefixes:
            subnet: IPv4Network = nets[slug].network
            yield Served(
                slug, zone.name, numbers[slug], legs[slug].interface, subnet, prefixes[slug].network, legs[slug].own,
                tuple(one for one in plan.records(Pool) if one.first in subnet),
                tuple(one for one in plan.records(Reservation) if one.zone == slug),
                asking.get(slug), ports is None or slug in ports, _reached(plan, slug, asking.get(slug), legs[slug]), slug in managed,
            )  # fmt: skip


def _reached(plan: Plan, slug: str, asking: Asking | None, leg: Leg) -> frozenset[tuple[str, Host]]:
    """Whom all of a zone may ask: who is in it, and whoever an intent opens to the whole zone for that."""
    flows = [one for one in plan.records(Flow) if one.verdict is Verdict.ACCEPT and one.source.zone == slug]
    open_to_all = [one for one in flows if _is_whole(one.source, leg)]
    found: set[tuple[str, Host]] = set()
    for many, port in ASKED_AT.items():
        hosts: tuple[Host, ...] = getattr(asking, many) if asking is not None else ()
        for host in hosts:
            beside = host not in leg.own and any(host in net for net in leg.networks)
            if beside or not plan.records(Flow) or any(_opens(one, host, port) for one in open_to_all):
                found.add((many, host))
    return frozenset(found)


def _opens(flow: Flow, host: Host, port: int) -> bool:
    """Whether an intent lets a question through to a server."""
    carries = any(one.protocol in {"udp", ANY_PROTOCOL} and one.first <= port <= one.last for one in flow.carried)
    return carries and any(host in net for net in flow.target.networks)


def _is_whole(end: End, leg: Leg) -> bool:
    """Whether an end is all of its zone."""
    return not end.networks or set(leg.networks) <= set(end.networks)


def _by_slug(records: Sequence[Any]) -> Mapping[str, Any]:
    return {one.slug: one for one in records}


def _ports(plan: Plan) -> set[str] | None:
    """Zones in which the server has a port; None for all of them."""
    who = holder(plan)
    return None if who == FIREWALL else {one.zone for one in plan.records(Address) if one.holder == who}


def _managed(plan: Plan) -> set[str]:
    visited = {one.zone for one in plan.records(Visitors)}
    wired = {one.zone for one in plan.records(Device) if one.wired} | {one.zone for one in plan.records(Reservation)}
    return wired - visited


def interfaces(zones: Sequence[Served]) -> list[str]:
    """The server's own ports."""
    return [zone.interface for zone in zones if zone.direct]


def label(names: Sequence[Name], address: Host) -> str:
    """The host's own part of the name that leads to an address; empty where none does."""
    return next((first_label(one.name) for one in names if address in one.addresses), "")


def longest(zones: Sequence[Served]) -> int:
    """The longest time for which an address is lent anywhere, seconds; for things that have a reservation where nothing is lent."""
    return max((zone.seconds() for zone in zones), default=0)


def head(plan: Plan, what: str) -> str:
    """Office, day, what it is, and what to edit, on one line."""
    made = f"{text(plan.office.name)}, {text(plan.office.as_of)}, made by scantling"
    return plainly(f"{made}. {what} Edit the brief, not this file.")


def plainly(words: str) -> str:
    """Words as a remark inside a file: what is not a printable letter of ASCII becomes a question mark."""
    return "".join(one if PRINTABLE <= one <= "~" else "?" for one in words)
