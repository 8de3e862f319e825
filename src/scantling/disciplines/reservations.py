"""Reservations: an address for every thing that stands and is known by its hardware address, and who is not known yet.

Figures:
    reservations.<slug>.<slug>     addresses of the things of one sort in a zone, or of all of them in IPv6
    reservations.to-read.<slug>    devices of one kind whose hardware address is not written down
    reservations.to-read           devices of all kinds whose is not
    reservations.without           things with a hardware address that get no address
    reservations.of-no-device      hardware addresses that no device can have
    reservations.made-up           hardware addresses that were made up
Findings: A-16 A-17 A-18.
Records: Reservation, Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scantling.figures import (
    Address, Address6, Desk, Device, Every, Figure, Finding, Page, Prefix, Prose, Range, Reservation, Ruled, Subnet, Weight,
    cell, cells, count_of, text, total,
)  # fmt: skip
from scantling.figures.units import ADDRESS, ADDRESS6, COUNT, NETWORK, NETWORK6, closed
from scantling.handbook.addressing import Run
from scantling.handbook.addressing6 import lacking, machines6
from scantling.handbook.hardware import changeable, for_one, made_up, of_no_device
from scantling.handbook.keeping import DOOR, called, places_in
from scantling.handbook.sizing import beyond
from scantling.standing import Doing, Piece, Standing

NONE, RUN = total((), COUNT), closed(Run)
STATIC = "static"
SIXTH = ".ipv6"
"""After a thing's own word, which holds no dot: its further reservation in IPv6."""


@dataclass(frozen=True)
class _Zone:
    """One zone as far as its addresses go, and the things in it."""

    subnet: Subnet
    prefix: Prefix
    runs: Mapping[str, Figure[Run]]
    held: Mapping[str, Figure[Any]]
    held6: Mapping[str, Figure[Any]]


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    standing: Standing, devices: Every[Device], subnets: Every[Subnet], prefixes: Every[Prefix], ranges: Every[Range],
    addresses: Every[Address], addresses6: Every[Address6], desk: Desk,
) -> Iterator[Reservation | Finding | Page]:  # fmt: skip
    """A reservation for every thing with a hardware address; a finding for what can't have one."""
    known = {slug: piece for slug, piece in standing.kit.items() if _stays(piece)}
    fit = {slug: piece for slug, piece in known.items() if for_one(text(_hardware(piece)))}
    nets, zones = {one.slug: one for one in prefixes}, _zones(fit, standing)
    made: list[Reservation] = []
    for subnet in subnets:
        things = {slug: fit[slug] for slug, zone in zones.items() if zone == subnet.slug}
        if things and subnet.slug in nets:
            zone = _zone(subnet, nets[subnet.slug], ranges, _held(subnet.slug, addresses, addresses6, standing))
            mine = [device for device in devices if device.zone == subnet.slug]
            made += _reserved(desk.under(subnet.slug), zone, things, mine)
    yield from made
    placed = {one.holder: one.zone for one in made}
    yield from _findings(known, {slug: _hardware(fit[slug]) for slug in fit if slug not in placed}, desk)
    unread = list(_lacking(devices, fit, placed, desk))
    yield _unread(unread, desk)
    if made or unread:
        yield _page(made, fit, unread)


def _stays(piece: Piece) -> bool:
    return piece.hardware_address is not None and text(piece.do) != Doing.RETIRE


def _hardware(piece: Piece) -> Figure[str]:
    assert piece.hardware_address is not None
    return piece.hardware_address


def _zones(things: Mapping[str, Piece], standing: Standing) -> dict[str, str]:
    """The zone of each: where the survey says it is, else where an address was issued to it."""
    issued = {text(one.holder): text(one.zone) for one in (standing.issued.addresses or {}).values()}
    said = {slug: text(piece.zone) for slug, piece in things.items() if piece.zone is not None}
    return {slug: said.get(slug, issued.get(slug, "")) for slug in things}


def _held(
    zone: str, addresses: Sequence[Address], addresses6: Sequence[Address6], standing: Standing
) -> tuple[dict[str, Figure[Any]], dict[str, Figure[Any]]]:
    """Who holds which address of a zone, planned or issued, in both families."""
    fourth: dict[str, Figure[Any]] = {
        name: cell(one.allocation, zone if name == DOOR else one.holder, ADDRESS)
        for one in addresses if one.zone == zone for name in [_name(one)]
    }  # fmt: skip
    sixth: dict[str, Figure[Any]] = {
        name: cell(one.allocation, zone if name == DOOR else one.holder, ADDRESS6)
        for one in addresses6 if one.zone == zone for name in [_name(one)]
    }  # fmt: skip
    for held, issued in ((fourth, standing.issued.addresses), (sixth, standing.issued.addresses6)):
        for slug, one in (issued or {}).items():
            if text(one.zone) == zone:
                holder = text(one.holder)
                held.setdefault(holder if holder not in held else f"{holder} ({slug})", one.address)
    return fourth, sixth


def _name(one: Address | Address6) -> str:
    """Who holds it; a machine may be called as gateways are."""
    return DOOR if cells(one.allocation).get(one.zone) == one.address else one.holder


def _zone(
    subnet: Subnet,
    prefix: Prefix,
    ranges: Sequence[Range],
    held: tuple[dict[str, Figure[Any]], dict[str, Figure[Any]]],
) -> _Zone:
    mine = [one for one in ranges if one.zone == subnet.slug]
    runs = {one.run: cell(one.layout, one.run, RUN) for one in mine if one.layout is not None}
    return _Zone(subnet, prefix, runs, *held)


def _reserved(at: Desk, zone: _Zone, things: Mapping[str, Piece], devices: Sequence[Device]) -> Iterator[Reservation]:
    """Sort by sort: what is of a kind that keeps addresses, and all else among switches and the like; what was issued stays."""
    slug, sorts = zone.subnet.slug, {one: _sort(piece, devices) for one, piece in things.items()}
    given: dict[str, Figure[Any]] = {}
    for sort in sorted(set(sorts.values())):
        mine = {one: _hardware(piece) for one, piece in things.items() if sorts[one] == sort}
        runs = {run: zone.runs[run] for run in called(sort, zone.runs)}
        register = at.figure(
            sort, places_in.of(runs=runs, held=zone.held, hardware=mine), f"Reserved in {slug}: {sort}"
        )
        given |= {holder: cell(register, holder, ADDRESS) for holder in cells(register)}
        for holder, address in cells(register).items():
            yield Reservation(holder, slug, holder, text(mine[holder]).lower(), address, register)
    if not given:
        return
    sixth = machines6.of(
        network=cell(zone.prefix.allocation, slug, NETWORK6), gateway=zone.held6[DOOR],
        subnet=cell(zone.subnet.allocation, slug, NETWORK), addresses=given, issued=zone.held6,
    )  # fmt: skip
    sixth = at.figure("sixth", sixth, f"IPv6 addresses reserved in {slug}")
    for holder, address6 in cells(sixth).items():
        yield Reservation(f"{holder}{SIXTH}", slug, holder, text(_hardware(things[holder])).lower(), address6, sixth)


def _sort(piece: Piece, devices: Sequence[Device]) -> str:
    """Among which addresses a thing gets its own, unless it has one: the name of the run."""
    device = _device(piece, devices)
    return f"kept-{device.slug}" if device is not None else STATIC


def _device(piece: Piece, devices: Sequence[Device]) -> Device | None:
    """Of which kind of device in its zone a thing is one: by the kind's own word, else by what kind it is."""
    kind = text(piece.kind).strip().lower().replace(" ", "-") if piece.kind is not None else ""
    kept = [device for device in devices if device.fixed]
    named = [device for device in kept if kind == device.slug] + [device for device in kept if kind == device.kind]
    return named[0] if named else None


def _findings(known: Mapping[str, Piece], without: Mapping[str, Figure[str]], desk: Desk) -> Iterator[Finding]:
    """Things that get no address, and hardware addresses that are none."""
    many = desk.figure("without", count_of(without), "Things with a hardware address that get no address")
    first = next(iter(without), "")
    yield Finding(
        "A-17", Weight.MEND, beyond.of(have=many, limit=NONE),
        f"{{many:thing that stands has|things that stand have}} a hardware address but no address to itself, {first} first.",
        "Write into the standing file in which zone each is. Where the zone is said, its run of addresses is full: make more "
        "room, or plan more devices of that kind.", {"many": many}, first,
    )  # fmt: skip
    hardware = {slug: _hardware(piece) for slug, piece in known.items()}
    none = of_no_device.of(addresses=hardware) if hardware else count_of(hardware)
    none = desk.figure("of-no-device", none, "Hardware addresses that no device can have")
    yield Finding(
        "A-18", Weight.MEND, beyond.of(have=none, limit=NONE), "{none} hardware addresses are of no single device.",
        "Read them off the labels again: the second digit of a device's own address is even, and not all digits are nought.",
        {"none": none},
    )  # fmt: skip
    made = changeable.of(addresses=hardware) if hardware else count_of(hardware)
    desk.figure("made-up", made, "Hardware addresses that were made up, not by a maker")


def _lacking(
    devices: Sequence[Device], things: Mapping[str, Piece], placed: Mapping[str, str], desk: Desk
) -> Iterator[tuple[Device, Figure[int]]]:
    """Of every kind that keeps addresses, how many hardware addresses are still to be read."""
    for device in (one for one in devices if one.fixed):
        mine = [one for one in devices if one.zone == device.zone]
        here = {slug: piece for slug, piece in things.items() if placed.get(slug) == device.zone}
        known = {slug: _hardware(piece) for slug, piece in here.items() if _device(piece, mine) is device}
        many = lacking.of(wanted=device.now, there=count_of(known))
        yield (
            device,
            desk.under("to-read").figure(device.slug, many, f"{device.name}: hardware addresses still to be read"),
        )


def _unread(unread: Sequence[tuple[Device, Figure[int]]], desk: Desk) -> Finding:
    """Who keeps an address and is not known yet (A-16)."""
    many = total({device.slug: count for device, count in unread}, COUNT)
    many = desk.figure(
        "to-read", many, "Devices that keep an address and whose hardware address nobody has written down"
    )
    return Finding(
        "A-16", Weight.NOTE, beyond.of(have=many, limit=NONE),
        "{many:device keeps|devices keep} an address, and nobody has written down their hardware addresses.",
        "Read them off the labels while the devices are unpacked, and write each into the standing file with its kind and zone; "
        "until then the address is set in the device by hand.", {"many": many},
    )  # fmt: skip


def _page(
    made: Sequence[Reservation], things: Mapping[str, Piece], unread: Sequence[tuple[Device, Figure[int]]]
) -> Page:
    sixth = {one.slug: str(one.address) for one in made}
    kept: list[tuple[Figure[Any] | str, ...]] = [
        (one.zone, _called(one.holder, things), str(one.address), sixth[f"{one.holder}{SIXTH}"], one.hardware_address, _note(one))
        for one in made if one.slug == one.holder
    ]  # fmt: skip
    still: list[tuple[Figure[Any] | str, ...]] = [(one.name, one.zone, one.now, many) for one, many in unread]
    return Page("reservations", "N", "Reservations", (
        Prose("The address server knows a device by its hardware address and gives it the same address each time. A device "
              "that makes up its hardware address must be told not to on this network, or it comes as a stranger."),
        Ruled("Reserved", ("zone", "what", "IPv4", "IPv6", "hardware address", "note"), kept),
        Ruled("Hardware addresses not yet known", ("what", "zone", "there are", "to read"), still),
    ), 5)  # fmt: skip


def _called(slug: str, things: Mapping[str, Piece]) -> str:
    name = things[slug].name
    return text(name) if name is not None else slug


def _note(one: Reservation) -> str:
    return "made up, not by a maker" if made_up(one.hardware_address) else ""
