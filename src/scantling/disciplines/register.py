"""Register: one list of everything that was given to one thing alone, in both families, with hardware address and name.

Figures:
    register.all    every address by zone and holder
Findings:
Records: Page.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from scantling.figures import (
    Address, Address6, Desk, Every, Figure, Host, Name, Page, Prose, Reservation, Ruled, Zone, cell, cells,
)  # fmt: skip
from scantling.figures.units import ADDRESS, ADDRESS6
from scantling.handbook.keeping import every_address
from scantling.standing import Standing

SIXTH = 6
Given = dict[str, Figure[Any]]


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    standing: Standing, zones: Every[Zone], addresses: Every[Address], addresses6: Every[Address6],
    reservations: Every[Reservation], names: Every[Name], desk: Desk,
) -> Iterator[Page]:  # fmt: skip
    """Every holder with what it has, zone by zone."""
    fourth: Given = {_key(one): cell(one.allocation, _place(one), ADDRESS) for one in addresses}
    sixth: Given = {_key(one): cell(one.allocation, _place(one), ADDRESS6) for one in addresses6}
    hardware: Given = {}
    for one in reservations:
        if one.allocation is not None:
            group, unit = (sixth, ADDRESS6) if one.address.version == SIXTH else (fourth, ADDRESS)
            group[_key(one)] = cell(one.allocation, one.holder, unit)
        piece = standing.kit.get(one.holder)
        if piece is not None and piece.hardware_address is not None:
            hardware[_key(one)] = piece.hardware_address
    register = desk.figure("all", every_address.of(fourth=fourth, sixth=sixth, hardware=hardware), "Every address")
    holders: dict[str, tuple[str, list[Host]]] = {}
    every: list[Address | Address6 | Reservation] = [*addresses, *addresses6, *reservations]
    for given in every:
        holders.setdefault(_key(given), (given.holder, []))[1].append(given.address)
    rows: list[tuple[Figure[Any] | str, ...]] = []
    for zone in zones:
        for key, (holder, hosts) in sorted(holders.items(), key=lambda item: int(item[1][1][0])):
            if key.partition(" ")[0] == zone.slug:
                entry = cells(register)[key]
                rows.append((zone.name, holder, entry.fourth, entry.sixth, entry.hardware, _name(hosts, names)))
    yield Page("register", "N", "Every address", (
        Prose("One line for whatever has an address to itself. Whole runs stand on the address register, what is lent on the "
              "page of its pool."),
        Ruled("Given to one thing alone", ("zone", "what", "IPv4", "IPv6", "hardware address", "name"), rows),
    ), 5)  # fmt: skip


def _key(one: Address | Address6 | Reservation) -> str:
    """Zone and holder; a machine may be called as gateways are, so these go by their own name."""
    return f"{one.zone} {one.slug if one.slug == f'gateway-{one.zone}' else one.holder}"


def _place(one: Address | Address6) -> str:
    """Under what an address stands in its allocation: a gateway's under its zone."""
    return one.zone if cells(one.allocation).get(one.zone) == one.address else one.holder


def _name(hosts: Sequence[Host], names: Sequence[Name]) -> str:
    """The name that leads to one of the addresses."""
    return next((name.name for name in names if set(name.addresses) & set(hosts)), "")
