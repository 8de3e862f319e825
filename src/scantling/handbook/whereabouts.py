"""Where everything is: the ends of intents, found from the words that people use for zones, machines, devices and parties."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from ipaddress import ip_network, summarize_address_range

from scantling.figures import (
    BOXED, FIREWALL, OUTSIDE, Address, Address6, Box, Device, End, Host, Leg, Machine, Net, Party, Range, Service, Visitors,
    Zone,
)  # fmt: skip
from scantling.figures.spelled import nearest, quoted

PEOPLES = frozenset({"pc", "laptop", "tablet"})
"""Kinds of device that people sit at."""
GATE = "firewall"
"""Profile of the service that is the firewall itself."""
VISITED = "guests"
"""The zone that is the visitors' even when none are counted."""


@lru_cache(8192)  # the same addresses come up in every plan of an office, many times
def net_of(host: Host) -> Net:
    """The network of one address."""
    return ip_network(host)


@lru_cache(1024)
def _summed(first: Host, last: Host) -> tuple[Net, ...]:
    return tuple(summarize_address_range(first, last))


@dataclass(frozen=True)
class Whereabouts:
    """What the office holds, and where: records as other trades made them."""

    zones: Sequence[Zone]
    devices: Sequence[Device]
    machines: Sequence[Machine]
    services: Sequence[Service]
    boxes: Sequence[Box] = ()
    visitors: Sequence[Visitors] = ()
    addresses: Sequence[Address] = ()
    addresses6: Sequence[Address6] = ()
    ranges: Sequence[Range] = ()
    parties: Sequence[Party] = ()
    legs: Sequence[Leg] = ()

    def zone(self, slug: str) -> End:
        """All of a zone, the outside, or the firewall."""
        names = {one.slug: one.name for one in self.zones} | {OUTSIDE: "the outside", FIREWALL: "the firewall"}
        return End(slug, names[slug])

    def gate(self) -> str:
        """The machine that is the firewall; empty where it is a box."""
        return self._gate

    @cached_property
    def _gate(self) -> str:
        return next((one.machine for one in self.services if one.profile == GATE), "")

    def machine(self, slug: str) -> tuple[End, ...]:
        """A machine in each of its zones; the machine that is the firewall is the firewall."""
        if slug == self._gate:
            return (self.zone(FIREWALL),)
        return self._held.get(slug, ())

    @cached_property
    def _held(self) -> dict[str, tuple[End, ...]]:
        """Every holder of addresses in each of its zones."""
        found: dict[str, dict[str, list[Net]]] = {}
        every: tuple[Address | Address6, ...] = (*self.addresses, *self.addresses6)
        for one in every:
            if (
                one.slug != f"gateway-{one.zone}"
            ):  # the firewall's own address there, whatever machine is called gateway
                found.setdefault(one.holder, {}).setdefault(one.zone, []).append(net_of(one.address))
        return {
            holder: tuple(End(zone, f"machine {holder}", tuple(nets), holder) for zone, nets in zones.items())
            for holder, zones in found.items()
        }

    def device(self, one: Device) -> End:
        """Devices of one kind: their kept addresses; the whole zone where it holds nothing else, or they have none."""
        if self.alone(one):
            return End(one.zone, one.name, (), one.slug)
        kept = [run for run in self.ranges if run.zone == one.zone and run.slug.endswith(f"kept-{one.slug}")]
        nets: list[Net] = [net for run in kept for net in _summed(run.first, run.last)]
        return End(one.zone, one.name, tuple(nets), one.slug)

    def alone(self, one: Device) -> bool:
        """Whether a zone holds nothing but devices of one entry."""
        return (
            all(other.slug == one.slug for other in self.devices if other.zone == one.zone)
            and all(one.zone not in machine.zones for machine in self.machines)
            and all(guest.zone != one.zone for guest in self.visitors)
        )

    def party(self, one: Party) -> End:
        """An outside party, by its networks or the names that stand for them."""
        return End(OUTSIDE, one.name, one.networks, one.slug, one.named, one.listed)

    def guests(self) -> tuple[str, ...]:
        """Zones of visitors."""
        held = {VISITED, *(guest.zone for guest in self.visitors)}
        return tuple(zone.slug for zone in self.zones if zone.slug in held)

    def people(self) -> tuple[str, ...]:
        """Zones where people sit at devices of the office; not those that are sealed or the visitors'."""
        held = {one.zone for one in self.devices if one.kind in PEOPLES} - set(self.guests())
        return tuple(zone.slug for zone in self.zones if zone.slug in held and not zone.sealed)

    def door(self, zone: str) -> End:
        """The firewall's own addresses in a zone."""
        own = tuple(net_of(host) for leg in self.legs if leg.zone == zone for host in leg.own)
        return End(FIREWALL, "the firewall", own)

    def key(self, end: End) -> str:
        """A word for an end that no other end of this office has; a machine in several zones is told by zone."""
        zones = [zone for one in self.machines if one.slug == end.holder for zone in one.zones]
        return f"{end.holder}-{end.zone}" if len(zones) > 1 else end.holder or end.zone

    def hosted(self, zone: str) -> tuple[End, ...]:
        """The machines in a zone."""
        ends = [end for one in self.machines for end in self.machine(one.slug) if end.zone == zone]
        return together(ends, f"machines in {zone}")

    def doing(self, profile: str) -> tuple[End, ...]:
        """The machines and boxes that do services of one profile, each in the service's own zone."""
        found: list[End] = []
        for service in self.services:
            if service.profile == profile:
                found += [end for end in self.holders(service) if end not in found]
        return tuple(found)

    def holders(self, service: Service) -> tuple[End, ...]:
        """What does one service: its machine in the service's zone, or its box; nothing where others do it."""
        if service.profile == GATE:
            return (self.zone(FIREWALL),)
        if service.machine == BOXED:
            boxes = {box.slug for box in self.boxes if service.slug in box.roles}
            return tuple(self.device(one) for one in self.devices if one.slug in boxes)
        ends = self.machine(service.machine)
        mine = tuple(end for end in ends if end.zone in {service.zone, FIREWALL})
        return mine or ends

    def called(self, word: str) -> tuple[End, ...]:
        """The ends that a word of the brief means. Raises ValueError naming the nearest right word."""
        zone, slash, device = word.partition("/")
        found = self._in_zone(zone, device) if slash else self._called(word)
        if not found:
            known = list(self.words())
            near = nearest(word, known)
            hint = f"did you mean {near}?" if near else f"known are {', '.join(known)}"
            raise ValueError(f"{quoted(word)} is no zone, machine, device or party of this plan; {hint}")
        return found

    def _in_zone(self, zone: str, device: str) -> tuple[End, ...]:
        return tuple(self.device(one) for one in self.devices if one.slug == device and one.zone == zone)

    def _called(self, word: str) -> tuple[End, ...]:
        if word in {OUTSIDE, FIREWALL, *(one.slug for one in self.zones)}:
            return (self.zone(word),)
        service = [end for one in self.services if one.slug == word for end in self.holders(one)]
        device = [self.device(one) for one in self.devices if one.slug == word]
        party = [self.party(one) for one in self.parties if one.slug == word]
        return tuple(self.machine(word) or service or device or party)

    def words(self) -> Iterator[str]:
        """Every word that `called` knows."""
        yield from (OUTSIDE, FIREWALL)
        yield from (one.slug for one in self.zones)
        yield from (one.slug for one in self.machines)
        yield from (one.slug for one in self.services)
        yield from (one.slug for one in self.devices)
        yield from (one.slug for one in self.parties)
        yield from (f"{one.zone}/{one.slug}" for one in self.devices)


def together(ends: Iterable[End], label: str) -> tuple[End, ...]:
    """Ends of one zone as one end; a whole zone takes in all else of it."""
    found: dict[str, list[End]] = {}
    for end in ends:
        found.setdefault(end.zone, []).append(end)
    return tuple(_one(zone, many, label) for zone, many in found.items())


def _one(zone: str, many: Sequence[End], label: str) -> End:
    if len(many) == 1:
        return many[0]
    whole = any(not end.networks and not end.named for end in many)
    nets = () if whole else tuple(dict.fromkeys(net for end in many for net in end.networks))
    return End(zone, label, nets, "", () if whole else tuple(name for end in many for name in end.named))
