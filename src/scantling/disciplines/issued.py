"""Issued: subnets that stand, held against the networks that people have at home and against the Internet.

Figures:
    issued.<slug>.homes     networks usual in homes that overlap the subnet
    issued.<slug>.public    whether the subnet is somebody's on the Internet
Findings: A-9 A-19.
"""

from collections.abc import Iterator

from scantling.catalogue import House, Practice
from scantling.figures import Desk, Every, Finding, Lasting, Weight, text, total
from scantling.figures.units import COUNT, NETWORK
from scantling.handbook.addressing import strays
from scantling.handbook.set_aside import is_public
from scantling.handbook.sizing import beyond
from scantling.standing import Standing

HOMES = Practice("addresses.homes", NETWORK)
ADDRESS_PLAN = "address-plan"
NONE = total((), COUNT)


def asks(house: House, standing: Standing, lasting: Every[Lasting], desk: Desk) -> Iterator[Finding]:
    """Every subnet that an office before this plan was given, outside the block of this plan."""
    block = next((choice.chosen for choice in lasting if choice.slug == ADDRESS_PLAN), None)
    if block is None:
        return
    homes = {text(home): home for home in house.every(HOMES)}
    for at, slug, zone in desk.each(standing.issued.zones or {}):
        many = strays.of(network=zone.network, block=block, others=homes)
        many = at.figure("homes", many, f"Networks of homes that overlap {text(zone.network)}")
        yield Finding(
            "A-9", Weight.NOTE, beyond.of(have=many, limit=NONE),
            f"The subnet {{subnet}} of {slug}, which stands, is one that {{many:home box comes|home boxes come}} set to.",
            "Who works from such a home can't reach it. Leave it where nobody reaches it from outside, or price its renumbering.",
            {"subnet": zone.network, "many": many}, slug,
        )  # fmt: skip


def asks_public(standing: Standing, desk: Desk) -> Iterator[Finding]:
    """Every subnet that an office before this plan was given."""
    for at, slug, zone in desk.each(standing.issued.zones or {}):
        public = at.figure("public", is_public.of(network=zone.network), f"{text(zone.network)} is public")
        yield Finding(
            "A-19", Weight.MEND, public,
            f"The subnet {{subnet}} of {slug}, which stands, is no private one: on the Internet it is somebody's.",
            "Unless the client owns it, renumber the zone: whoever has it outside is never reached from here, and whatever leaks is sent "
            "to them. If the client owns it, say so under declined.", {"subnet": zone.network}, slug,
        )  # fmt: skip
