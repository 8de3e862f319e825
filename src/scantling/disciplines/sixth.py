"""Sixth: IPv6 beside IPv4, a /64 for every zone, from the provider's prefix or one of the office's own.

Figures:
    sixth.made               the unique local prefix that the office can make itself
    sixth.own                the one it has: kept once it was issued
    sixth.chance             how likely two joined sites have made the same one
    sixth.block              the prefix that the zones' networks are cut from
    sixth.room               networks of a zone that it holds
    sixth.register           the IPv6 network of every zone
    sixth.gateways           the IPv6 address of every zone's gateway
    sixth.zones              zones that want one
    sixth.without            zones for which it has no room
    sixth.elsewhere          zones that were issued another prefix although it has room
    sixth.<slug>.network     the network of a zone
    sixth.<slug>.machines    IPv6 addresses of the machines in it
Findings: A-10 A-11 A-12 A-13.
Records: Prefix, Address6, Page.
"""

from collections.abc import Iterator, Mapping
from ipaddress import IPv6Address
from typing import Any

from scantling.brief import Office
from scantling.catalogue import House, Practice
from scantling.figures import (
    Address, Address6, Desk, Every, Facts, Figure, Finding, Lasting, Page, Prefix, Prose, Ruled, Subnet, Weight, Zone, cell,
    cells, count_of, text, total,
)  # fmt: skip
from scantling.figures.units import ADDRESS, ADDRESS6, COUNT, NETWORK, NETWORK6, RATIO
from scantling.handbook.addressing6 import (
    as_written6, fit_prefix, for_offices, gateways6, is_local, kept_local, lacking, machines6, room_for_zones,
    same_by_chance, strangers, unique_local, zone_prefixes,
)  # fmt: skip
from scantling.handbook.sizing import beyond, both, negated
from scantling.standing import Standing

SITES = Practice("sixth.sites", COUNT)
PREFIX6 = "prefix6"
NONE = total((), COUNT)
ADDRESSES6 = gateways6.unit


def asks(
    office: Office, house: House, standing: Standing, zones: Every[Zone], lasting: Every[Lasting], desk: Desk
) -> Iterator[Prefix | Finding]:
    """The prefix of the office, and the /64 of every zone; what was issued stays."""
    issued = {slug: one.prefix for slug, one in (standing.issued.prefixes or {}).items()}
    made = unique_local.of(name=office.name, day=office.as_of)
    made = desk.figure("made", made, "The unique local prefix that the office can make itself")
    own = desk.figure("own", kept_local.of(made=made, issued=issued), "The office's own unique local prefix")
    desk.figure(
        "chance", same_by_chance.of(sites=house[SITES]), "Chance that two of the sites that may be joined share one"
    )
    given = next((choice.chosen for choice in lasting if choice.slug == PREFIX6), own)
    block = desk.figure("block", fit_prefix.of(given=given, own=own), "The office's IPv6 prefix")
    desk.figure("room", room_for_zones.of(block=block), "Networks of a zone that it holds")
    numbers = {zone.slug: zone.number for zone in zones}
    register = zone_prefixes.of(block=block, spare=own, numbers=numbers, issued=issued)
    nets = {slug: desk.under(slug).figure("network", cell(register, slug, NETWORK6)) for slug in cells(register)}
    register = desk.figure("register", as_written6.of(networks=nets), "IPv6 networks of all zones")
    known = {slug: one.gateway for slug, one in (standing.issued.prefixes or {}).items() if one.gateway is not None}
    doors = gateways6.of(networks=nets, issued={slug: known[slug] for slug in known if slug in nets})
    doors = desk.figure("gateways", doors, "IPv6 addresses of the gateways")
    for slug, network in cells(register).items():
        yield Prefix(slug, network, cells(doors)[slug], register)
    yield from _findings(given, nets, issued, desk)


def _findings(
    given: Figure[Any], nets: Mapping[str, Figure[Any]], issued: Mapping[str, Figure[Any]], desk: Desk
) -> Iterator[Finding]:
    """A prefix that no office can have, that is too long, that is the office's own, that is not the one issued."""
    block, room = desk.kept("block", NETWORK6), desk.kept("room", COUNT)
    well = both.of(one=for_offices.of(block=given), other=for_offices.of(block=block))
    yield Finding(
        "A-13", Weight.STOP, negated.of(given=well), "{given} is no prefix that an office can have.",
        "Ask the provider which prefix is delegated to this line, and write that. Until then the plan takes the office's own.",
        {"given": given}, PREFIX6,
    )  # fmt: skip
    zones = desk.figure("zones", count_of(nets), "Zones that want a network")
    without = desk.figure("without", lacking.of(wanted=zones, there=room), "Zones for which the prefix has no room")
    yield Finding(
        "A-10", Weight.MEND, beyond.of(have=without, limit=NONE),
        "The IPv6 prefix {block} holds {room:network|networks} and {zones:zone wants|zones want} one; "
        "the others get one of the office's own.",
        "Ask the provider for a /56 or a /48: RFC 6177 advises more than one /64 for every end site.",
        {"block": block, "room": room, "zones": zones}, PREFIX6,
    )  # fmt: skip
    yield Finding(
        "A-11", Weight.NOTE, is_local.of(block=block),
        "IPv6 holds inside the office alone: {block} is its own and nothing outside answers to it.",
        "Ask the provider for a prefix and write it into the brief as network.prefix6. This one is made from the office's name "
        "and the plan's day: keep it in the standing file before any device is set to it.", {"block": block}, PREFIX6,
    )  # fmt: skip
    old = strangers.of(block=block, networks={slug: net for slug, net in nets.items() if slug in issued})
    elsewhere = lacking.of(wanted=old, there=without)
    elsewhere = desk.figure(
        "elsewhere", elsewhere, "Zones that were issued another prefix although this one has room"
    )
    yield Finding(
        "A-12", Weight.MEND, beyond.of(have=elsewhere, limit=NONE),
        "{elsewhere:zone was|zones were} issued IPv6 networks outside the prefix {block}, and they stay.",
        "If the provider has changed, what lies in the old prefix has lost its way outside: plan the new networks as a job of "
        "its own and write them into the standing file when it is done.",
        {"elsewhere": elsewhere, "block": block}, PREFIX6,
    )  # fmt: skip


def design(
    standing: Standing, subnets: Every[Subnet], prefixes: Every[Prefix], addresses: Every[Address], desk: Desk
) -> Iterator[Address6 | Page]:
    """An IPv6 address for whatever has one of IPv4 to itself."""
    nets: dict[str, Prefix] = {one.slug: one for one in prefixes}
    rows: list[tuple[Figure[Any] | str, ...]] = []
    doors = desk.kept("gateways", ADDRESSES6)
    for subnet in subnets:
        at, prefix = desk.under(subnet.slug), nets[subnet.slug]
        rows.append((subnet.slug, at.kept("network", NETWORK6), str(prefix.gateway)))
        here = [one for one in addresses if one.zone == subnet.slug]
        for one in (one for one in here if one.address == subnet.gateway):
            yield Address6(one.slug, one.zone, one.holder, prefix.gateway, doors)
        mine = {one.holder: one for one in here if one.address != subnet.gateway}
        if mine:
            given = machines6.of(
                network=at.kept("network", NETWORK6), gateway=cell(doors, subnet.slug, ADDRESS6),
                subnet=cell(subnet.allocation, subnet.slug, NETWORK),
                addresses={holder: cell(one.allocation, holder, ADDRESS) for holder, one in mine.items()},
                issued=_held(standing, subnet.slug),
            )  # fmt: skip
            given = at.figure("machines", given, f"IPv6 addresses of machines in {subnet.slug}")
            for holder, address in cells(given).items():
                yield Address6(mine[holder].slug, subnet.slug, holder, address, given)
    yield _page(rows, desk)


def _held(standing: Standing, zone: str) -> Mapping[str, Figure[IPv6Address]]:
    """What was issued in a zone, by holder; further ones of the same holder under their own names."""
    held: dict[str, Figure[IPv6Address]] = {}
    for slug, one in (standing.issued.addresses6 or {}).items():
        if text(one.zone) == zone:
            holder = text(one.holder)
            held[holder if holder not in held else f"{holder} ({slug})"] = one.address
    return held


def _page(rows: list[tuple[Figure[Any] | str, ...]], desk: Desk) -> Page:
    return Page("sixth", "N", "IPv6", (
        Prose("Every zone has a /64 beside its subnet, so that every device finds its address by itself. The last group "
              "but four is the zone's number wherever it fits; a machine's last numbers are those of its IPv4 address."),
        Facts([
            ("The office's prefix", desk.kept("block", NETWORK6)), ("Networks that it holds", desk.kept("room", COUNT)),
            ("The office's own, if it needs one", desk.kept("own", NETWORK6)),
            ("Chance that two joined sites made the same", desk.kept("chance", RATIO)),
        ]),
        Ruled("Networks", ("zone", "network", "gateway"), rows),
    ), 4)  # fmt: skip
