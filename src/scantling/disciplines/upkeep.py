"""Upkeep: what the network itself needs to work: neighbours, addresses, names, time, echoes, and the firewall's own calls.

Figures:
    upkeep.intents.<slug>    what an intent carries
Records: Flow.
"""

from collections.abc import Iterator

from scantling.catalogue import House, Practice
from scantling.figures import (
    Address, Address6, Asking, Desk, Device, Every, Flow, Leg, Machine, Server, Service, Visitors, Zone, text,
)  # fmt: skip
from scantling.figures.units import WORD
from scantling.handbook.intents import asked_for
from scantling.handbook.plant import Need, Plant
from scantling.handbook.upkeep import needs
from scantling.handbook.whereabouts import Whereabouts

QUIET = Practice("traffic.quiet", WORD)
MANAGEMENT = "management"


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    house: House,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    visitors: Every[Visitors],
    addresses: Every[Address],
    addresses6: Every[Address6],
    asking: Every[Asking],
    servers: Every[Server],
    legs: Every[Leg],
    desk: Desk,
) -> Iterator[Flow]:
    """An intent for everything that the network itself needs."""
    where = Whereabouts(zones, devices, machines, services, (), visitors, addresses, addresses6)
    silent = {text(kind) for kind in house.every(QUIET)}
    sealed = {zone.slug for zone in zones if zone.sealed and zone.slug != MANAGEMENT}
    plant = Plant(
        legs, asking, servers, frozenset(_quiet(where, silent)), frozenset(sealed | set(where.guests())),
        {zone.slug: end for zone in zones for end in where.hosted(zone.slug)}, {zone.slug: zone.name for zone in zones},
    )  # fmt: skip
    held = {zone.slug: zone.devices for zone in zones}
    for need in needs(plant) if legs else ():
        among = {need.zone: held[need.zone]} if need.zone in held else {}
        cause = desk.under("intents").figure(
            need.slug, asked_for.of(carried=need.ruled(), wanted={}, among=among), _label(need)
        )
        yield Flow(need.slug, need.name, need.source, need.target, need.carried, need.why, cause, need.group)


def _quiet(where: Whereabouts, silent: set[str]) -> Iterator[str]:
    """Zones that hold no device but those that ask for nothing."""
    for zone in where.zones:
        kinds = {one.kind for one in where.devices if one.zone == zone.slug}
        if kinds and kinds <= silent and zone.slug not in where.guests():
            yield zone.slug


def _label(need: Need) -> str:
    return f"{need.name}: {need.source.label} to {need.target.label}"
