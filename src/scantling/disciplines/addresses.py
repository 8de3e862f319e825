"""Addresses: an IPv4 subnet for every zone, the ranges in it, and pools that last through the busiest day.

Figures:
    addresses.block                     the private block of the office
    addresses.home-clashes              networks usual in homes that overlap it
    addresses.other-clashes             networks of outside parties that overlap it
    addresses.room                      the block, or the wider one that all zones would need
    addresses.register                  the subnet of every zone
    addresses.gateways                  the gateway of every zone
    addresses.visitors.hold             how long a visitor's address stays taken
    addresses.visitors.taken            visitors' addresses taken through the busiest day
    addresses.visitors.peak             visitors' addresses taken at the peak
    addresses.visitors.lease            how long an address is lent to a visitor
    addresses.visitors.renewed          when a visitor's device first asks to keep its address
    addresses.visitors.asks-anybody     when it asks any server, after no answer
    addresses.visitors.pool             addresses to lend to visitors
    addresses.visitors.cautious         the same by the cautious measure
    addresses.visitors.refused          share of visitors' devices refused at the peak
    addresses.visitors.without          visitors' devices without an address at the peak
    addresses.<slug>.reserved           addresses that are kept for one thing each
    addresses.<slug>.lent               addresses to lend, visitors' included
    addresses.<slug>.needed             addresses the subnet must have
    addresses.<slug>.prefix             prefix length of the subnet
    addresses.<slug>.size               addresses of the subnet
    addresses.<slug>.subnet             the subnet
    addresses.<slug>.ranges             the ranges inside it
    addresses.<slug>.machines           addresses of the machines in it
    addresses.<slug>.free               addresses that nobody has yet
Findings: A-1 A-2 A-3 A-4 A-5 A-6 G-1.
Records: Subnet, Pool, Range, Address, Lasting, Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scantling.brief import Given, LastingChoices, Section, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    Address, Candidate, Desk, Device, Every, Facts, Figure, Finding, Lasting, Machine, Page, Pool, Prose, Range,
    Ruled, Subnet, Visitors, Weight, Zone, cell, cells, count_of, missing, peak, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, HOUR, NETWORK, RATIO, Count, Hours, Network
from scantling.handbook.addressing import (
    Run, addresses_in, addresses_needed, apart, asks_anybody_after, clashes, gateways, lent_to, one_each, prefix_for,
    private, ranges, renewed_after, room_for, room_left, subnets, too_small,
)  # fmt: skip
from scantling.handbook.days import bound_for, held
from scantling.handbook.queues import erlang_b, smallest_pool, smallest_pool_by_tail, turned_away
from scantling.handbook.sizing import beyond, holds, negated, shorter

BLOCKS, HOMES = Practice("addresses.blocks", NETWORK), Practice("addresses.homes", NETWORK)
STATIC, GROWTH = Practice("addresses.static", COUNT), Practice("addresses.growth", RATIO)
LEAST_PREFIX = Practice("addresses.least-prefix", COUNT)
MARGIN, LEAST_LENT = Practice("addresses.margin", RATIO), Practice("addresses.least-lent", COUNT)
REFUSALS, GUEST_LIMIT = Practice("addresses.refusals", RATIO), Practice("addresses.guest-limit", COUNT)
GUEST_LEASES, STAFF_LEASE = Practice("addresses.guest-leases", HOUR), Practice("addresses.staff-lease", HOUR)
NONE = total((), COUNT)
Things = tuple[Every[Device], Every[Machine], Every[Visitors]]
PURPOSES = {"static": "switches and the like", "machines": "machines", "lent": "lent"}


class Numbers(Section):
    """What is already known about the office's networks."""

    key = "network"
    default_whole = True
    block: Given[Network] | None = optional("Which private block, if one is in use or agreed?")
    guest_pool: Given[Count] | None = optional("How many addresses are kept for visitors, if fixed?", least="1")
    guest_lease: Given[Hours] | None = optional("How long are they lent, if fixed?", least="5 min", most="30 day")
    others: dict[str, Given[Network]] | None = optional("Which outside parties' networks are reached from here?")


def asks_block(network: Numbers, lasting: LastingChoices, house: House, desk: Desk) -> Iterator[Lasting | Finding]:
    """The office's block: as given, or the first of the house's that clashes with nobody."""
    homes, others = {text(home): home for home in house.every(HOMES)}, network.others or {}
    if network.block is not None:
        block = desk.figure("block", network.block, "The office's private block")
    else:
        candidates: list[Candidate[Network]] = [
            Candidate(one, clashes.of(block=one, others={**homes, **others})) for one in house.every(BLOCKS)
        ]
        because = "the first of the house's blocks that clashes with no home and no outside party"
        block = desk.choose("block", NETWORK, candidates, "least", because, "The office's private block")
    confirmed = lasting.items.get("address-plan")
    unconfirmed = missing(confirmed.by if confirmed is not None else None, "lasting.address-plan")
    yield Lasting("address-plan", "The address plan", block, negated.of(given=unconfirmed))
    yield Finding(
        "G-1", Weight.MEND, unconfirmed, "Nobody has confirmed the address plan, block {block}.",
        "Show the address register to the client and write down who agreed and when: once addresses are set in "
        "devices and printed on them, a change means a visit to each.", {"block": block}, "address-plan",
    )  # fmt: skip
    yield from _block_findings(block, homes, others, desk)


def _block_findings(
    block: Figure[Network], homes: Mapping[str, Figure[Network]], others: Mapping[str, Figure[Network]], desk: Desk
) -> Iterator[Finding]:
    with_homes = desk.figure(
        "home-clashes", clashes.of(block=block, others=homes), "Networks of homes that overlap it"
    )
    yield Finding(
        "A-2", Weight.MEND, beyond.of(have=with_homes, limit=NONE), "{block} overlaps {many} networks of homes.",
        "Choose a block that no home box comes set to, or leave it out of the brief and take the house's: who works "
        "from such a home can't reach the office.", {"block": block, "many": with_homes},
    )  # fmt: skip
    with_others = clashes.of(block=block, others=others)
    with_others = desk.figure("other-clashes", with_others, "Outside parties' networks that overlap it")
    yield Finding(
        "A-4", Weight.STOP, beyond.of(have=with_others, limit=NONE), "{block} overlaps {many} outside networks.",
        "Choose another block: two networks with the same numbers can't reach each other.",
        {"block": block, "many": with_others},
    )  # fmt: skip
    yield Finding(
        "A-5", Weight.STOP, negated.of(given=private.of(block=block)), "{block} is not set aside for private use.",
        "Take a block inside 10.0.0.0/8, 172.16.0.0/12 or 192.168.0.0/16: these numbers belong to somebody else.",
        {"block": block},
    )  # fmt: skip


def asks_visitors(network: Numbers, house: House, visitors: Every[Visitors], desk: Desk) -> Iterator[Finding]:
    """How long an address is lent to visitors, and how many are enough on the busiest day."""
    for guest in visitors:
        at = desk.under(guest.slug)
        lease = _lease(at, guest, network, house)
        hold = at.figure("hold", bound_for.of(stay=guest.stay, lease=lease))
        taken = at.figure("taken", held.of(arrivals=guest.arrivals, hold=hold), "Visitors' addresses taken by time")
        most = at.figure("peak", peak(taken), "Visitors' addresses taken at the peak")
        at.figure("renewed", renewed_after.of(lease=lease))
        at.figure("asks-anybody", asks_anybody_after.of(lease=lease))
        enough = smallest_pool.of(offered=most, refusals=house[REFUSALS])
        pool = at.figure(
            "pool", enough if network.guest_pool is None else network.guest_pool, "Addresses to lend to visitors"
        )
        cautious = smallest_pool_by_tail.of(mean=most, refusals=house[REFUSALS])
        at.figure("cautious", cautious, "Addresses to lend to visitors by the cautious measure")
        refused = at.figure(
            "refused", erlang_b.of(servers=pool, offered=most), "Visitors' devices refused at the peak"
        )
        without = turned_away.of(offered=most, refused=refused)
        without = at.figure("without", without, "Visitors' devices without an address at the peak")
        yield Finding(
            "A-1", Weight.STOP, beyond.of(have=refused, limit=house[REFUSALS]),
            "The visitors' pool of {pool} addresses runs dry on the busiest day: {peak} wanted, {without} get none.",
            "Set aside {need} addresses, or lend them for a shorter time.".replace("{need}", text(enough)),
            {"pool": pool, "peak": most, "without": without}, guest.zone,
        )  # fmt: skip


def _lease(at: Desk, guest: Visitors, network: Numbers, house: House) -> Figure[float]:
    """As given, or the longest of the house's steps whose pool stays within the limit."""
    leases = list(house.every(GUEST_LEASES)) if network.guest_lease is None else [network.guest_lease]
    limit = network.guest_pool if network.guest_pool is not None else house[GUEST_LIMIT]
    candidates: list[Candidate[float]] = []
    because = "the longest whose pool stays within the limit" if network.guest_lease is None else "as the brief says"
    for lease in reversed(leases):
        hold = bound_for.of(stay=guest.stay, lease=lease)
        pool = smallest_pool.of(offered=peak(held.of(arrivals=guest.arrivals, hold=hold)), refusals=house[REFUSALS])
        fits = holds.of(have=limit, need=pool)
        candidates.append(Candidate(lease, apart.of(one=limit, other=pool), fits))
    return at.choose("lease", HOUR, candidates, "least", because, "An address is lent to a visitor for")


@dataclass(frozen=True)
class _Cell:
    """One zone with what it must hold."""

    zone: Zone
    at: Desk
    kept: Mapping[str, Figure[int]]
    hosts: Mapping[str, Machine]
    reserved: Figure[int]
    lent: Figure[int]
    wanted: Figure[float]
    lease: Figure[float]
    needed: Figure[int]
    prefix: Figure[int]
    size: Figure[int]


def design(
    house: House,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    visitors: Every[Visitors],
    desk: Desk,
) -> Iterator[Subnet | Pool | Range | Address | Finding | Page]:
    """A subnet for every zone, and every address in it."""
    planned = [_cell(desk, zone, (devices, machines, visitors), house) for zone in zones]
    block, prefixes = desk.kept("block", NETWORK), {one.zone.slug: one.prefix for one in planned}
    numbers = {zone.slug: zone.number for zone in zones}
    room = desk.figure("room", room_for.of(block=block, prefixes=prefixes, numbers=numbers))
    yield Finding(
        "A-3", Weight.STOP, too_small.of(block=block, room=room), "{block} does not hold all zones; {room} would.",
        "Take a wider block, or fewer and smaller zones. The register is drawn as if the wider block were given.",
        {"block": block, "room": room},
    )  # fmt: skip
    register = desk.figure("register", subnets.of(block=room, prefixes=prefixes, numbers=numbers), "All subnets")
    nets = {one.zone.slug: one.at.figure("subnet", cell(register, one.zone.slug, NETWORK)) for one in planned}
    doors = desk.figure("gateways", gateways.of(networks=nets))
    rows, given = [], []
    for one in planned:
        slug, subnet, gateway = one.zone.slug, nets[one.zone.slug], cells(doors)[one.zone.slug]
        runs = ranges.of(network=subnet, static=house[STATIC], lent=one.lent, reserved=one.kept)
        runs = one.at.figure("ranges", runs, f"{one.zone.name}: ranges")
        yield Subnet(slug, cells(register)[slug], gateway, register)
        yield Address(f"gateway-{slug}", slug, "gateway", gateway, doors)
        yield from _ranges(one, cells(runs))
        made = list(_machines(one, subnet, house))
        yield from made
        yield _cramped(one, subnet)
        given += [(address.holder, one.zone.name, str(address.address)) for address in made]
        rows.append(_row(one, subnet, cells(runs), house))
    yield _page(rows, given, [("The office's block", block)])


def _cell(desk: Desk, zone: Zone, things: Things, house: House) -> _Cell:
    """How many addresses a zone keeps, lends and needs, and the prefix that holds them."""
    (devices, machines, visitors), at = things, desk.under(zone.slug)
    mine = [device for device in devices if device.zone == zone.slug]
    hosts = {machine.slug: machine for machine in machines if zone.slug in machine.zones}
    kept = {f"kept-{device.slug}": device.count for device in mine if device.fixed}
    kept = {"machines": count_of({slug: host.cores for slug, host in hosts.items()}), **kept}
    loose = total({device.slug: device.count for device in mine if not device.fixed}, COUNT)
    guests = [desk.under(guest.slug) for guest in visitors if guest.zone == zone.slug]
    parts: dict[str, Figure[int]] = {guest.path: guest.kept("pool", COUNT) for guest in guests}
    if any(not device.fixed for device in mine):
        parts["devices"] = lent_to.of(devices=loose, margin=house[MARGIN], least=house[LEAST_LENT])
    peaks: dict[str, Figure[float]] = {guest.path: guest.kept("peak", RATIO) for guest in guests}
    wanted = total({"devices": loose, **peaks}, RATIO)
    reserved = at.figure("reserved", total(kept, COUNT), f"{zone.name}: addresses kept for one thing each")
    lent = at.figure("lent", total(parts, COUNT), f"{zone.name}: addresses to lend")
    needed = addresses_needed.of(static=house[STATIC], lent=lent, reserved=reserved, growth=house[GROWTH])
    needed = at.figure("needed", needed, f"{zone.name}: addresses needed")
    prefix = prefix_for.of(addresses=needed, least=house[LEAST_PREFIX])
    prefix = at.figure("prefix", prefix, f"{zone.name}: prefix length")
    lease = guests[0].kept("lease", HOUR) if guests else house[STAFF_LEASE]
    size = at.figure("size", addresses_in.of(prefix=prefix), f"{zone.name}: addresses of the subnet")
    return _Cell(zone, at, kept, hosts, reserved, lent, wanted, lease, needed, prefix, size)


def _ranges(one: _Cell, runs: Mapping[str, Run]) -> Iterator[Range | Pool]:
    """What each run of addresses is for, and the pool."""
    for name, run in runs.items():
        if name == "lent":
            yield Pool(one.zone.slug, run.first, run.last, one.lent, one.wanted, one.lease)
        if name != "gateway":
            purpose = PURPOSES.get(name, "kept for " + name.removeprefix("kept-").replace("-", " "))
            yield Range(f"{one.zone.slug}-{name}", one.zone.slug, purpose, run.first, run.last)


def _machines(one: _Cell, subnet: Figure[Network], house: House) -> Iterator[Address]:
    """An address for every machine in the zone, in the order of their names."""
    if not one.hosts:
        return
    holders = {slug: one.hosts[slug].cores for slug in sorted(one.hosts)}
    given = one_each.of(network=subnet, static=house[STATIC], holders=holders)
    given = one.at.figure("machines", given, f"{one.zone.name}: addresses of machines")
    for slug, address in cells(given).items():
        first = one.hosts[slug].zones[0] == one.zone.slug
        yield Address(slug if first else f"{slug}-{one.zone.slug}", one.zone.slug, slug, address, given)


def _cramped(one: _Cell, subnet: Figure[Network]) -> Finding:
    """A subnet pinned too small."""
    return Finding(
        "A-6", Weight.STOP, shorter.of(have=one.size, need=one.needed),
        f"The subnet {{subnet}} of {one.zone.name} is smaller than the {{needed}} addresses it needs.",
        "Let the prefix be computed, or pin a shorter one.", {"subnet": subnet, "needed": one.needed}, one.zone.slug,
    )  # fmt: skip


def _row(one: _Cell, subnet: Figure[Network], runs: Mapping[str, Run], house: House) -> tuple[Figure[Any] | str, ...]:
    free = room_left.of(addresses=one.size, static=house[STATIC], kept=one.reserved, lent=one.lent)
    free = one.at.figure("free", free, f"{one.zone.name}: addresses nobody has yet")
    return (
        one.zone.name, one.zone.number, subnet, str(runs["gateway"]), str(runs.get("static", "none")), one.reserved,
        str(runs.get("lent", "none")), one.lease if "lent" in runs else "", free,
    )  # fmt: skip


def _page(
    rows: list[tuple[Figure[Any] | str, ...]], given: list[tuple[str, str, str]], facts: list[tuple[str, Figure[Any]]]
) -> Page:
    heads = ("zone", "number", "subnet", "gateway", "switches and the like", "kept", "lent", "for", "free")
    return Page("addresses", "N", "Address register", (
        Prose("The third number of a subnet is its zone's number wherever it fits. Kept addresses follow the static "
              "range; lent ones stand at the end of the subnet, and both grow towards each other."),
        Facts(facts), Ruled("Subnets", heads, rows), Ruled("Machines", ("machine", "zone", "address"), given),
    ), 4)  # fmt: skip
