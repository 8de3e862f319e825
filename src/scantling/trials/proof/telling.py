"""Numbers of headers as words again: who is at an address, what is carried, when, and where a line of the brief stands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from ipaddress import IPv4Address, IPv6Address

from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Figure, Flow, Host, Machine, Origin, Party, Range, Transport, Zone,
)  # fmt: skip
from scantling.figures.calendar import DAY_NAMES, clock
from scantling.figures.traffic import ANY_PROTOCOL, LAST_PORT, LAST_TYPE, Window
from scantling.handbook.hours import written_hours
from scantling.plan.make import Plan
from scantling.trials.proof.headers import CODES, DAY, INVALID, MINUTE, NAMES, NEW, PORTS, Ground, Header, host
from scantling.trials.proof.spans import Spans, both, joined

MESSAGES = (1, 58)
FEW = 3


def transport_of(first: int, last: int) -> Transport:
    """A run of carried numbers of one protocol as a transport, or as any where it is all of them."""
    number, whole = first // PORTS, (0, 2**24 - 1)
    if (first, last) == whole:
        return Transport(ANY_PROTOCOL)
    name = NAMES.get(number, str(number))
    low, high = first % PORTS, last % PORTS
    if number in MESSAGES:
        return Transport(name, low // CODES, high // CODES)
    return Transport(name, low, high)


def transports(carried: Spans) -> tuple[Transport, ...]:
    """Runs of carried numbers as transports, protocol by protocol; protocols that are whole and in a row keep their range."""
    found: list[Transport] = []
    for first, last in carried:
        if (first, last) == (0, 2**24 - 1):
            return (Transport(ANY_PROTOCOL),)
        for number in range(first // PORTS, last // PORTS + 1):
            low, high = max(first, number * PORTS), min(last, number * PORTS + PORTS - 1)
            found.append(transport_of(low, high))
    return tuple(found)


def carried_words(carried: Spans) -> str:
    """As people write it: tcp 445, udp 5060-5061; many protocols in a row in short."""
    if (runs := [(first // PORTS, last // PORTS) for first, last in carried]) and any(b - a > FEW for a, b in runs):
        whole = carried == ((0, 2**24 - 1),)
        return "any protocol" if whole else "any protocol but some"
    return ", ".join(bare(one) for one in transports(carried))


def bare(one: Transport) -> str:
    """A transport without ports that mean nothing."""
    if (
        one.protocol in {"tcp", "udp", "icmp", "icmpv6", ANY_PROTOCOL}
        or one.first
        or one.last not in {LAST_PORT, LAST_TYPE}
    ):
        words = str(one)
        return "any protocol" if one.protocol == ANY_PROTOCOL else words
    return f"protocol {one.protocol}" if one.protocol.isdecimal() else one.protocol


def when(second: int) -> str:
    """Fri 21:00."""
    return f"{DAY_NAMES[second // DAY]} {clock(second % DAY // MINUTE)}"


def hours_words(spans: Spans) -> str:
    """Runs of seconds of the week as days and hours; always where it is the whole week."""
    by_hours: dict[Spans, list[int]] = {}
    for day in range(len(DAY_NAMES)):
        here = both(spans, ((day * DAY, day * DAY + DAY - 1),))
        if here:
            by_hours.setdefault(tuple((a - day * DAY, b - day * DAY) for a, b in here), []).append(day)
    return "; ".join(_hours(tuple(days), runs) for runs, days in by_hours.items())


def _hours(days: tuple[int, ...], runs: Spans) -> str:
    """Some days with the hours that are theirs; seconds only where they count."""
    told = [written_hours(Window(days, first // MINUTE, last // MINUTE)) for first, last in runs]
    odd = any(first % MINUTE or (last + 1) % MINUTE for first, last in runs)
    return ", ".join(told) + (" (to the second)" if odd else "")


@dataclass(frozen=True)
class Names:
    """Who is at which address, and what zones are called."""

    plan: Plan

    @cached_property
    def zones(self) -> Mapping[str, str]:
        """Names of zones, the outside and the firewall by their slugs."""
        return {zone.slug: zone.name for zone in self.plan.records(Zone)} | {
            OUTSIDE: "the outside", FIREWALL: "the firewall",
        }  # fmt: skip

    @cached_property
    def holders(self) -> Mapping[Host, str]:
        """Machines and devices by their own addresses."""
        machines = {machine.slug for machine in self.plan.records(Machine)}
        given: list[tuple[Host, str, str, str]] = [
            *((one.address, one.holder, one.slug, one.zone) for one in self.plan.records(Address)),
            *((one.address, one.holder, one.slug, one.zone) for one in self.plan.records(Address6)),
        ]
        return {
            address: f"machine {holder}" if holder in machines else holder
            for address, holder, slug, zone in given
            if slug != f"gateway-{zone}"
        }

    def likely(self, ground: Ground) -> Spans:
        """Addresses that belong to somebody, in one family."""
        return joined((int(host), int(host)) for host in self.holders if host.version == ground.family)

    @cached_property
    def kept(self) -> Sequence[Range]:
        """Runs of addresses that are kept for devices."""
        return [one for one in self.plan.records(Range) if "kept-" in one.slug]

    @cached_property
    def flows(self) -> Mapping[str, Flow]:
        """Intents by their slugs."""
        return {flow.slug: flow for flow in self.plan.records(Flow)}

    def zone(self, slug: str) -> str:
        """The name of a zone."""
        return self.zones.get(slug, slug)

    def at(self, number: int, ground: Ground, zone: str) -> str:
        """Who is at an address of a zone, and the address."""
        if both(((number, number),), ground.symbols):
            return self._symbol(number, ground)
        address = host(number, ground.family)
        who = (
            self.holders.get(address) or self._kept_for(address) or (self._party(address) if zone == OUTSIDE else "")
        )
        if who:
            return f"{who} ({address})"
        if zone == FIREWALL and not both(((number, number),), ground.own):
            return f"all on a link ({address})"
        return f"{self.zone(zone)} ({address})"

    def _symbol(self, number: int, ground: Ground) -> str:
        for party in ground.moving:
            if ground.moving_address(party) == number:
                return f"{party} (whatever its names answer)"
        return "the firewall's address outside, which the provider lends"

    def _party(self, address: Host) -> str:
        """An outside party by the networks that are listed for it."""
        return next((one.name for one in self.plan.records(Party) if any(address in net for net in one.networks)), "")

    def _kept_for(self, address: Host) -> str:
        found = next((one for one in self.kept if _holds(one, address)), None)
        return found.slug.partition("kept-")[2] if found is not None else ""

    def source(self, header: Header, ground: Ground) -> str:
        """Who sends a packet; where it comes in, if that is elsewhere."""
        zone = ground.zone_at(header.place)
        if zone == FIREWALL:
            return "the firewall"
        there = both(ground.behind(zone), ((header.source, header.source),))
        who = self.at(header.source, ground, zone)
        if there or (zone == OUTSIDE and not both(ground.inside, ((header.source, header.source),))):
            return who
        return f"somebody in {self.zone(zone)} who calls itself {host(header.source, ground.family)}"

    def target(self, header: Header, ground: Ground) -> str:
        """Who is meant by a packet."""
        return self.at(header.target, ground, ground.zone_of(header.target))

    def line(self, flow: str) -> str:
        """The lines of the brief that an intent rests on, with their places; empty where it rests on none."""
        one = self.flows.get(flow)
        lines = list(dict.fromkeys(rests_on(one.cause))) if one is not None else []
        more = f" and {len(lines) - FEW} more lines" if len(lines) > FEW + 1 else ""
        return ", ".join(lines[: FEW if more else FEW + 1]) + more

    def intent(self, flow: str) -> str:
        """An intent by its name and slug."""
        one = self.flows.get(flow)
        return f'"{one.name}" ({one.slug})' if one is not None else flow


def _holds(run: Range, address: Host) -> bool:
    return isinstance(address, IPv4Address) and run.first <= address <= run.last


def rests_on(figure: Figure[object]) -> list[str]:
    """The lines of the brief that a figure rests on, by their words and places; answers that were assumed are none."""
    found: dict[str, None] = {}
    waiting, seen = [figure], set[int]()
    while waiting:
        one = waiting.pop(0)
        if id(one) in seen:
            continue
        seen.add(id(one))
        waiting += one.parents()
        if isinstance(one.how, Origin) and one.how.kind == "brief" and not one.how.assumed:
            word = one.id.removeprefix("brief.") or one.how.where
            found.setdefault(f"{word} ({one.how.place})" if one.how.place else word)
    return list(found)


def packet_words(header: Header, ground: Ground) -> str:
    """A packet as it is asked for: who, what, to whom; every word of it is read again."""
    zone = ground.zone_at(header.place)
    behind = both(ground.behind(zone), ((header.source, header.source),))
    source = _address(header.source, ground)
    who = "firewall" if zone == FIREWALL else source if behind else f"{source}@{zone}"
    one = transport_of(header.carried, header.carried)
    ported = one.protocol in {"tcp", "udp", "sctp", "dccp", "udplite", "icmp", "icmpv6"}
    to = f"{_target(header, ground)}:{one.first}" if ported else _target(header, ground)
    state = {NEW: "", INVALID: " stray"}.get(header.state, " reply")
    return f"{who} {one.protocol} {to}{state} at {when(header.second)} v{ground.family}"


def _address(number: int, ground: Ground) -> str:
    address = host(number, ground.family)
    return f"[{address}]" if isinstance(address, IPv6Address) else str(address)


def _target(header: Header, ground: Ground) -> str:
    number = header.target
    for party in ground.moving:
        if ground.moving_address(party) == number:
            return party
    if both(((number, number),), ground.symbols):
        return FIREWALL
    return _address(number, ground)
