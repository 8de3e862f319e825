"""Everything with a port inside the office: the firewall, the server's machines, devices, visitors, and a spare in every zone."""

from collections.abc import Iterator, Mapping, Sequence
from ipaddress import IPv4Address
from math import ceil

from scantling.figures import (
    FIREWALL, Address, Address6, Device, Host, Machine, Name, Pool, Range, Reservation, Visitors,
)  # fmt: skip
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Segment, Sort, Station

FEW_VISITORS = 2
SPARE6 = 0xFFEE
STATIC = "switches and the like"
MARK = "02:16"


def inside(plan: Plan, segments: Sequence[Segment], *, everyone: bool, year: int) -> Iterator[Station]:
    """All of them: the firewall first, then the machines, then zone by zone."""
    yield Station("firewall", "the firewall", Sort.FIREWALL, FIREWALL, FIREWALL, hardware(0, 1))
    yield from _machines(plan, segments)
    for segment in segments:
        number = 0x100
        for one in _zone(plan, segment, everyone=everyone, year=year):
            number += 1
            yield one if one.hardware else _with_hardware(one, segment, number)


def _with_hardware(one: Station, segment: Segment, number: int) -> Station:
    given = hardware(segment.number, number)
    return Station(
        one.slug, one.label, one.sort, one.zone, one.group, given, one.fixed, one.kept, one.names
    )  # dataclasses.replace is four times slower, and there may be a thousand


def hardware(zone: int, number: int) -> str:
    """A hardware address of nobody's make (locally administered, IEEE 802), the same every time."""
    return f"{MARK}:{zone >> 8:02x}:{zone & 0xFF:02x}:{number >> 8:02x}:{number & 0xFF:02x}"


def is_firewall(machine: Machine) -> bool:
    """Whether a machine is the firewall itself."""
    return FIREWALL in machine.roles or machine.slug == FIREWALL


def _machines(plan: Plan, segments: Sequence[Segment]) -> Iterator[Station]:
    """The server's machines; one with ports in several zones is there once in each."""
    numbers = {one.slug: one.number for one in segments}
    held: list[Address | Address6] = [*plan.records(Address), *plan.records(Address6)]
    for place, machine in enumerate((one for one in plan.records(Machine) if not is_firewall(one)), 1):
        for zone in machine.zones:
            hosts = tuple(
                one.address
                for one in held
                if one.holder == machine.slug and one.zone == zone and one.slug != f"gateway-{zone}"
            )
            slug = machine.slug if zone == machine.zones[0] else f"{machine.slug}-{zone}"
            if zone in numbers and hosts:
                yield Station(
                    slug, f"machine {machine.slug}", Sort.MACHINE, zone, machine.slug, hardware(numbers[zone], place), hosts,
                    names=_names(plan, hosts),
                )  # fmt: skip


def _names(plan: Plan, hosts: Sequence[Host]) -> tuple[str, ...]:
    found = [one for one in plan.records(Name) if any(host in one.addresses for host in hosts)]
    return tuple(name for one in found for name in (one.name, *one.aliases))


def _zone(plan: Plan, segment: Segment, *, everyone: bool, year: int) -> Iterator[Station]:
    kept = {one.address: one for one in plan.records(Reservation) if one.zone == segment.slug}
    served: set[str] = set()
    for device in plan.records(Device):
        if device.zone == segment.slug:
            for station in _devices(plan, device, kept, everyone=everyone, year=year):
                served.update(str(host) for host in station.kept)
                yield station
    yield from _kit(plan, segment, served)
    for visitors in plan.records(Visitors):
        if visitors.zone == segment.slug:
            for number in range(1, (ceil(visitors.present.value) if everyone else FEW_VISITORS) + 1):
                yield Station(
                    f"{visitors.slug}-{number:04}", f"visitor {number}", Sort.VISITOR, segment.slug, visitors.slug, ""
                )
    yield from _spare(plan, segment)


def _count(plan: Plan, device: Device, year: int) -> int:
    """How many there are after some years, evenly from now to the horizon."""
    horizon = max(1, round(plan.office.horizon.value))
    return int(device.now.value) + ceil(
        (int(device.count.value) - int(device.now.value)) * min(year, horizon) / horizon
    )


def _devices(
    plan: Plan, device: Device, kept: Mapping[Host, Reservation], *, everyone: bool, year: int
) -> Iterator[Station]:
    """A row of devices: those with addresses of their own have them by hand, or by the address server where it knows them."""
    called = [one for one in plan.records(Name) if one.holder == device.slug]
    room = [
        one
        for one in plan.records(Range)
        if one.zone == device.zone and one.slug == f"{device.zone}-kept-{device.slug}"
    ]
    for number in range(1, (_count(plan, device, year) if everyone else 1) + 1):
        name = called[number - 1] if number <= len(called) else None
        hosts: tuple[Host, ...] = name.addresses if name else ()
        if not hosts and device.fixed and room and room[0].first + number - 1 <= room[0].last:
            hosts = (room[0].first + number - 1,)
        known = next((kept[host] for host in hosts if host in kept), None)
        slug = name.slug if name else f"{device.slug}-{number:02}"
        label = f"{device.name} {number}"
        if known is not None:
            mine = tuple(host for host, one in kept.items() if one.hardware_address == known.hardware_address)
            yield Station(
                slug,
                label,
                Sort.DEVICE,
                device.zone,
                device.slug,
                known.hardware_address,
                (),
                mine,
                _names(plan, hosts),
            )
        else:
            yield Station(slug, label, Sort.DEVICE, device.zone, device.slug, "", hosts, (), _names(plan, hosts))


def _kit(plan: Plan, segment: Segment, served: set[str]) -> Iterator[Station]:
    """What stands already and has an address kept for it, but is in no row of devices."""
    by_hardware: dict[str, list[Reservation]] = {}
    for one in plan.records(Reservation):
        if one.zone == segment.slug and str(one.address) not in served:
            by_hardware.setdefault(one.hardware_address, []).append(one)
    for address, many in by_hardware.items():
        hosts = tuple(one.address for one in many)
        yield Station(
            many[0].holder,
            many[0].holder,
            Sort.KIT,
            segment.slug,
            many[0].holder,
            address,
            (),
            hosts,
            _names(plan, hosts),
        )


def _spare(plan: Plan, segment: Segment) -> Iterator[Station]:
    """A technician's own device with an address set by hand that is nobody's: it tries what no device of the office would."""
    held: list[Address | Reservation] = [*plan.records(Address), *plan.records(Reservation)]
    taken: set[Host] = {one.address for one in held}
    taken |= {host for one in plan.records(Name) for host in one.addresses}
    ranges = [one for one in plan.records(Range) if one.zone == segment.slug and one.purpose == STATIC]
    pools = [one for one in plan.records(Pool) if one.first in segment.network4]
    free = (
        IPv4Address(number)
        for one in ranges
        for number in range(int(one.last), int(one.first) - 1, -1)
        if IPv4Address(number) not in taken
        and not any(pool.first <= IPv4Address(number) <= pool.last for pool in pools)
    )
    mine = next(free, None)
    if mine is not None:
        sixth = segment.network6
        hosts: tuple[Host, ...] = (mine, *((sixth.network_address + SPARE6,) if sixth else ()))
        yield Station(
            f"spare-{segment.slug}",
            f"a technician's device in {segment.label}",
            Sort.DEVICE,
            segment.slug,
            "spare",
            "",
            hosts,
        )
