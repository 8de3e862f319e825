"""Zones: which devices share a network, and which must not.

Figures:
    zones.devices.<slug>.planned    devices of one kind with the house's spare
    zones.devices.<slug>.ports      switch ports they want
    zones.<slug>.number             the zone's network number
    zones.<slug>.now                devices in the zone today
    zones.<slug>.planned            devices in the zone with the house's spare
    zones.<slug>.ports              switch ports of the zone
    zones.ports                     switch ports of all zones
    zones.checks.terminals          payment terminals listed
    zones.checks.terminal-company   what else is in the zone of the payment terminals
    zones.checks.watched            cameras and controls among office devices
    zones.checks.visited            office devices among the visitors
Findings: Z-1 Z-2 Z-3 Z-4 Z-6 Z-5.
Records: Device, Zone, Port, Page.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scantling.brief import Given, Mapped, Section, asked, assumed, optional
from scantling.catalogue import Article, Catalogue, House, Practice
from scantling.catalogue.columns import FIXED, NAME, NUMBER, PORTS_EACH, POWERED_CLASS, SEALED, WATTS, WIRED
from scantling.figures import (
    Desk, Device, Every, Figure, Finding, Machine, Origin, Page, Port, Prose, Ruled, Visitors, Weight, Zone, cell,
    count_of, text, total,
)  # fmt: skip
from scantling.figures.spelled import titled
from scantling.figures.units import COUNT, RATIO, WORD, Count, Truth, Word
from scantling.handbook.keeping import kept_numbers
from scantling.handbook.sizing import beyond, both, heads_of, negated, with_spare
from scantling.handbook.switching import CLASS_WATTS, NO_CLASS
from scantling.standing import Standing

SPARE, MANAGEMENT_PORTS = Practice("zones.spare", RATIO), Practice("zones.management-ports", COUNT)
SERVER_PORTS, LARGEST = Practice("zones.server-ports", COUNT), Practice("zones.largest", COUNT)
MANAGEMENT, SERVERS = "management", "servers"
NONE = total((), COUNT)
TERMINAL = frozenset({"payment-terminal"})
OFFICE, WATCHED = frozenset({"pc", "laptop", "tablet"}), frozenset({"camera", "control"})


class Things(Section):
    """Devices of one kind."""

    name: Given[Word] | None = optional("What are they called?")
    kind: Given[Word] = asked("What kind of device?", among="device_kind")
    count: Given[Count] = asked("How many are there?", least="1", most="100000")
    zone: Given[Word] = asked("Which zone are they in?", among="zone_kind")


class Devices(Mapped[Things]):
    """Everything that plugs in or joins by radio."""

    key = "devices"
    default_whole = True


class Compliance(Section):
    """Facts that a law or a contract asks about."""

    key = "compliance"
    default_whole = True
    payment_cards: Given[Truth] = assumed("Are payment cards taken?", "zones.payment-cards")
    personal_data: Given[Truth] = assumed("Are personal data kept?", "zones.personal-data")


@dataclass(frozen=True)
class _Room:
    """What is in one zone."""

    row: Article
    devices: tuple[Device, ...]
    hosts: tuple[Machine, ...]
    machines: Figure[int]
    visitors: Mapping[str, Figure[int]]

    def of_kinds(self, kinds: frozenset[str]) -> dict[str, Figure[int]]:
        """How many devices of these kinds it holds."""
        return {device.slug: device.count for device in self.devices if device.kind in kinds}

    def besides(self, kinds: frozenset[str]) -> dict[str, Figure[int]]:
        """How many other things it holds."""
        others = {device.slug: device.count for device in self.devices if device.kind not in kinds}
        return {**others, **self.besides_devices()}

    def besides_devices(self) -> dict[str, Figure[int]]:
        """Machines and visitors, under names that no slug of the brief can have."""
        return {f"machines in {self.row.slug}": self.machines, **self.visitors}


def asks_devices(devices: Devices, catalogue: Catalogue, house: House, desk: Desk) -> Iterator[Device | Port]:
    """Every kind of device with the house's spare, and the switch ports it wants."""
    for at, slug, things in desk.each(devices.items, "devices"):
        row, zone = catalogue.pick("device_kind", things.kind), catalogue.pick("zone_kind", things.zone).slug
        name = text(things.name) if things.name is not None else titled(slug)
        planned = with_spare.of(count=things.count, spare=house[SPARE])
        planned = at.figure("planned", planned, f"{name} with the house's spare")
        yield Device(slug, name, row.slug, zone, things.count, planned, bool(row.get(WIRED)), bool(row.get(FIXED)))
        ports = heads_of.of(count=planned, share=row.figure(PORTS_EACH))
        fed, taken = _fed(row)
        yield Port(slug, zone, at.figure("ports", ports, f"{name}: switch ports"), fed, taken, name)
    yield Port(MANAGEMENT, MANAGEMENT, house[MANAGEMENT_PORTS])
    yield Port(SERVERS, SERVERS, house[SERVER_PORTS])


def _fed(row: Article) -> tuple[Figure[float] | None, Figure[float] | None]:
    """What a switch sets aside for one device of this kind, and what the device takes; neither where it is not fed."""
    if row.get(POWERED_CLASS) == NO_CLASS:
        return None, None
    return CLASS_WATTS.of(row.figure(POWERED_CLASS)), row.figure(WATTS)


def asks(  # noqa: PLR0913 - the trade's own sheet: every zone that anything names
    catalogue: Catalogue,
    devices: Every[Device],
    machines: Every[Machine],
    visitors: Every[Visitors],
    ports: Every[Port],
    standing: Standing,
    desk: Desk,
) -> Iterator[Zone | Page]:
    """Every zone that a device, a machine or a visitor names, and what is in it."""
    rooms = _rooms(catalogue, devices, machines, visitors)
    numbers = _numbers(rooms, standing)
    zones = [_zone(desk.under(room.row.slug), room, numbers[room.row.slug]) for room in rooms]
    yield from zones
    wanted = {zone.slug: _ports(desk.under(zone.slug), zone, ports) for zone in zones}
    desk.figure("ports", total(wanted, COUNT), "Switch ports of all zones")
    yield _page(zones, wanted, desk)


def _rooms(
    catalogue: Catalogue, devices: Iterable[Device], machines: Iterable[Machine], visitors: Iterable[Visitors]
) -> list[_Room]:
    """By zone number; the management and server zones are always there."""
    things, hosts, guests = tuple(devices), tuple(machines), tuple(visitors)
    named = {MANAGEMENT, SERVERS, *(thing.zone for thing in things), *(guest.zone for guest in guests)}
    named.update(zone for host in hosts for zone in host.zones)
    rows = [catalogue.pick("zone_kind", Figure(zone, WORD, Origin("catalogue", f"zone {zone}"))) for zone in named]
    return [_room(row, things, hosts, guests) for row in sorted(rows, key=lambda row: (row.get(NUMBER), row.slug))]


def _room(
    row: Article, things: tuple[Device, ...], hosts: tuple[Machine, ...], guests: tuple[Visitors, ...]
) -> _Room:
    inside = tuple(host for host in hosts if row.slug in host.zones)
    return _Room(
        row,
        tuple(thing for thing in things if thing.zone == row.slug),
        inside,
        count_of({host.slug: host.cores for host in inside}),
        {f"visitors {guest.slug}": guest.present for guest in guests if guest.zone == row.slug},
    )


def _numbers(rooms: list[_Room], standing: Standing) -> Mapping[str, Figure[int]]:
    """The catalogue's number of each zone; where zones were issued they keep theirs, and new ones keep clear of them."""
    usual = {room.row.slug: room.row.figure(NUMBER) for room in rooms}
    issued = {slug: zone.number for slug, zone in (standing.issued.zones or {}).items()}
    if not issued:
        return usual
    register = kept_numbers.of(usual=usual, issued=issued)
    return {slug: cell(register, slug, COUNT) for slug in usual}


def _zone(at: Desk, room: _Room, wanted: Figure[int]) -> Zone:
    name = str(room.row.get(NAME)).capitalize()
    now = {**{device.slug: device.now for device in room.devices}, **room.besides_devices()}
    at.figure("now", total(now, COUNT), f"{name}: devices today")
    planned = at.figure("planned", total(room.besides(frozenset()), COUNT), f"{name}: devices planned for")
    number = at.figure("number", wanted, f"{name}: network number")
    kinds = [(device.name, device.count) for device in room.devices]
    kinds += [("Visitors' devices", present) for present in room.visitors.values()]
    kinds += [("Machines", room.machines)] if room.hosts else []
    return Zone(room.row.slug, name, number, planned, bool(room.row.get(SEALED)), tuple(kinds))


def asks_size(house: House, zones: Every[Zone]) -> Iterator[Finding]:
    """A zone larger than one zone should be."""
    for zone in zones:
        yield Finding(
            "Z-5", Weight.NOTE, beyond.of(have=zone.devices, limit=house[LARGEST]),
            f"{zone.name} holds {{devices:device|devices}}, more than one zone should.",
            "Split it by floor, by hall or by kind of device: calls to everybody in so large a zone slow them all.",
            {"devices": zone.devices}, zone.slug,
        )  # fmt: skip


def _ports(at: Desk, zone: Zone, ports: Iterable[Port]) -> Figure[int]:
    wanted = total([port.count for port in ports if port.zone == zone.slug], COUNT)
    return at.figure("ports", wanted, f"{zone.name}: switch ports")


def asks_company(
    compliance: Compliance,
    catalogue: Catalogue,
    devices: Every[Device],
    machines: Every[Machine],
    visitors: Every[Visitors],
    desk: Desk,
) -> Iterator[Finding]:
    """Who must not share a zone with whom."""
    rooms, at = _rooms(catalogue, devices, machines, visitors), desk.under("checks")
    tills = [room for room in rooms if room.of_kinds(TERMINAL)]
    terminals = _sum(at, "terminals", "Payment terminals", (room.of_kinds(TERMINAL) for room in tills))
    company = (room.besides(TERMINAL) for room in tills)
    company_ = _sum(at, "terminal-company", "Other things in the zone of the payment terminals", company)
    yield Finding(
        "Z-1", Weight.MEND, beyond.of(have=company_, limit=NONE),
        "The payment terminals share their zone with {others} other things.",
        "Give the payment terminals a zone of their own. All that shares it falls under the card rules too.",
        {"others": company_, "terminals": terminals}, tills[0].row.slug if tills else "",
    )  # fmt: skip
    unlisted = both.of(one=compliance.payment_cards, other=negated.of(given=beyond.of(have=terminals, limit=NONE)))
    yield Finding(
        "Z-3", Weight.NOTE, unlisted, "Payment cards are taken, but no payment terminal is listed among the devices.",
        "Ask how the cards are read, and list the terminals in a zone of their own.",
        {"cards": compliance.payment_cards, "terminals": terminals},
    )  # fmt: skip
    yield Finding(
        "Z-6", Weight.NOTE, compliance.personal_data, "Personal data are kept here.",
        "Agree with the client who may see them, how long they are kept and how copies are destroyed. Ask somebody licensed about the law.",
        {"personal": compliance.personal_data},
    )  # fmt: skip
    yield from _mixed(at, rooms)


def _mixed(at: Desk, rooms: list[_Room]) -> Iterator[Finding]:
    """Office devices among cameras and controls, or among visitors."""
    offices = [room for room in rooms if room.of_kinds(OFFICE)]
    watched = _sum(
        at, "watched", "Cameras and controls among office devices", (room.of_kinds(WATCHED) for room in offices)
    )
    yield Finding(
        "Z-2", Weight.NOTE, beyond.of(have=watched, limit=NONE),
        "{watched:camera or control shares|cameras or controls share} a zone with office devices.",
        "Give them a zone of their own: they are seldom kept up to date, and one of them is a door to all others.",
        {"watched": watched}, next((room.row.slug for room in offices if room.of_kinds(WATCHED)), ""),
    )  # fmt: skip
    visited = _sum(
        at, "visited", "Office devices among visitors", (room.of_kinds(OFFICE) for room in rooms if room.visitors)
    )
    yield Finding(
        "Z-4", Weight.MEND, beyond.of(have=visited, limit=NONE), "{visited} office devices are among the visitors.",
        "Give the visitors a zone of their own with a way out and nothing else.", {"visited": visited},
        next((room.row.slug for room in offices if room.visitors), ""),
    )  # fmt: skip


def _sum(at: Desk, id_: str, label: str, many: Iterable[Mapping[str, Figure[int]]]) -> Figure[int]:
    every = {name: count for some in many for name, count in some.items()}
    return at.figure(id_, total(every, COUNT), label)


def _page(zones: list[Zone], ports: Mapping[str, Figure[int]], desk: Desk) -> Page:
    rows: list[tuple[Figure[Any] | str, ...]] = [
        (
            zone.name,
            zone.number,
            desk.under(zone.slug).kept("now", COUNT),
            zone.devices,
            ports[zone.slug],
            _note(zone),
        )
        for zone in zones
    ]
    rows.append(("all", "", "", "", desk.kept("ports", COUNT), ""))
    inside = [(zone.name, name, count) for zone in zones for name, count in zone.kinds]
    return Page("zones", "N", "Zones", (
        Prose("A zone holds devices that may see each other. Who may go from one to another is told on Who may reach whom and why."),
        Ruled("Zones", ("zone", "number", "today", "planned for", "switch ports", "note"), rows),
        Ruled("What is in each zone", ("zone", "what", "how many"), inside),
    ), 3)  # fmt: skip


def _note(zone: Zone) -> str:
    return "no way out but by leave" if zone.sealed else ""
