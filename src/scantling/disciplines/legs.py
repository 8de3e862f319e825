"""Legs: the firewall's port into every zone, what it is called and what lies behind it.

Figures:
    legs.ports      what the port into each zone is called
    legs.doubled    zones that can't have their network number to themselves
    legs.shared     zones whose networks overlap
Findings: A-14 A-15.
Records: Leg.
"""

from collections.abc import Iterator

from scantling.figures import (
    FIREWALL, Address, Address6, Desk, Every, Finding, Leg, Machine, Prefix, Subnet, Weight, Zone, cell, cells, total,
)  # fmt: skip
from scantling.figures.units import COUNT, NETWORK, NETWORK6
from scantling.handbook.numbering import doubled, overlapping, port_names
from scantling.handbook.sizing import beyond

NONE = total((), COUNT)


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    zones: Every[Zone], subnets: Every[Subnet], prefixes: Every[Prefix], machines: Every[Machine], addresses: Every[Address],
    addresses6: Every[Address6], desk: Desk,
) -> Iterator[Leg | Finding]:  # fmt: skip
    """A port for every zone, by its network number; where the firewall is a machine, it bears that machine's addresses too."""
    numbers = {zone.slug: zone.number for zone in zones}
    names = desk.figure("ports", port_names.of(numbers=numbers), "What the firewall's ports are called")
    fourth, sixth = {one.slug: one for one in subnets}, {one.slug: one for one in prefixes}
    itself = {one.slug for one in machines if FIREWALL in one.roles}
    held: list[Address | Address6] = [*addresses, *addresses6]
    given = [one for one in held if one.holder in itself]
    for slug, name in cells(names).items():
        if slug in fourth and slug in sixth:
            old, new = fourth[slug], sixth[slug]
            named = tuple(one.address for one in given if one.zone == slug)
            yield Leg(slug, slug, name, (old.network, new.network), (old.gateway, new.gateway, *named))
    many = desk.figure("doubled", doubled.of(numbers=numbers), "Zones without a network number to themselves")
    yield Finding(
        "A-14", Weight.STOP, beyond.of(have=many, limit=NONE),
        "{many:zone has|zones have} a network number that another zone has, or that no network can have.",
        "Take the pin off the zone's number, or pin one from 1 to 4094 that no other zone has (IEEE 802.1Q).", {"many": many},
    )  # fmt: skip
    shared = overlapping.of(
        fourth={slug: cell(one.allocation, slug, NETWORK) for slug, one in fourth.items()},
        sixth={slug: cell(one.allocation, slug, NETWORK6) for slug, one in sixth.items()},
    )
    shared = desk.figure("shared", shared, "Zones whose networks overlap")
    yield Finding(
        "A-15", Weight.STOP, beyond.of(have=shared, limit=NONE), "{shared:zone has|zones have} addresses that another zone has too.",
        "Take off the pin that lays one network over another: no packet would find its way.", {"shared": shared},
    )  # fmt: skip
