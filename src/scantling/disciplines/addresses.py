"""Addresses: an IPv4 subnet for every zone, the ranges in it, and pools that last through the busiest day.

Figures:
    addresses.block                     the private block of the office
    addresses.home-clashes              networks usual in homes that overlap it
    addresses.other-clashes             networks of outside parties that overlap it
    addresses.room                      the block, or the wider one that all zones would need
    addresses.register                  the subnet of every zone
    addresses.gateways                  the gateway of every zone
    addresses.visitors.joining          visitors' devices that join, those that come back as new ones among them
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
    addresses.<slug>.visited            of an issued zone: things to visit when its subnet changes
    addresses.<slug>.unplaced           addresses for which the issued subnet has no place
    addresses.<slug>.ways               where it finds more room while nothing moves
    addresses.<slug>.widening.hours     work of a new mask on every device
    addresses.<slug>.widening.price     its price
    addresses.<slug>.splitting.price    price of a second subnet
    addresses.<slug>.renumbering.hours  work of new addresses for all
    addresses.<slug>.renumbering.price  its price
    addresses.renumbering.price         price of new addresses for every issued zone
Findings: A-1 A-2 A-3 A-4 A-5 A-6 A-7 A-8 G-1.
Records: Subnet, Pool, Range, Address, Lasting, Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from ipaddress import IPv4Address
from re import sub
from typing import Any

from scantling.brief import Given, LastingChoices, Section, optional
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import LABOUR_RATE
from scantling.figures import (
    Address, Candidate, Desk, Device, Every, Facts, Figure, Finding, Lasting, Machine, Page, Pool, Prose, Range,
    Ruled, Subnet, Visitors, Weight, Zone, cell, cells, count_of, missing, peak, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, EXPECTED, HOUR, MONEY, NETWORK, RATIO, Count, Hours, Network, Network6
from scantling.handbook.addressing import (
    Run, addresses_in, addresses_needed, apart, as_written, asks_anybody_after, clashes, gateways, lent_to, one_each, prefix_for,
    private, ranges, renewed_after, room_for, room_left, subnets, too_small,
)  # fmt: skip
from scantling.handbook.days import bound_for, held
from scantling.handbook.hardware import joining_anew
from scantling.handbook.keeping import (
    REGISTER, called, differs, kept_gateways, kept_room, kept_subnets, laid_out, more_room, prefix_of, visiting,
)  # fmt: skip
from scantling.handbook.money import labour_price
from scantling.handbook.queues import erlang_b, smallest_pool, smallest_pool_by_tail, turned_away
from scantling.handbook.sizing import beyond, holds, negated, shorter
from scantling.standing import Standing
from scantling.standing.inside import Inside, inside

BLOCKS, HOMES = Practice("addresses.blocks", NETWORK), Practice("addresses.homes", NETWORK)
STATIC, GROWTH = Practice("addresses.static", COUNT), Practice("addresses.growth", RATIO)
LEAST_PREFIX = Practice("addresses.least-prefix", COUNT)
MARGIN, LEAST_LENT = Practice("addresses.margin", RATIO), Practice("addresses.least-lent", COUNT)
REFUSALS, GUEST_LIMIT = Practice("addresses.refusals", RATIO), Practice("addresses.guest-limit", COUNT)
GUEST_LEASES, STAFF_LEASE = Practice("addresses.guest-leases", HOUR), Practice("addresses.staff-lease", HOUR)
MASK_HOURS, MOVE_HOURS = Practice("addresses.hours-mask", HOUR), Practice("addresses.hours-move", HOUR)
ZONE_HOURS, ANEW = Practice("addresses.hours-zone", HOUR), Practice("addresses.anew", RATIO)
NONE = total((), COUNT)
Things = tuple[Every[Device], Every[Machine], Every[Visitors]]
NO_LONGER = "no longer in the brief"
WAYS = {
    "widening": "a new mask on every device", "splitting": "a second subnet", "renumbering": "new addresses for all",
}  # fmt: skip
PURPOSES = {"static": "switches and the like", "machines": "machines", "lent": "lent"}


class Numbers(Section):
    """What is already known about the office's networks."""

    key = "network"
    default_whole = True
    block: Given[Network] | None = optional("Which private block, if one is in use or agreed?")
    guest_pool: Given[Count] | None = optional("How many addresses are kept for visitors, if fixed?", least="1")
    guest_lease: Given[Hours] | None = optional("How long are they lent, if fixed?", least="5 min", most="30 day")
    others: dict[str, Given[Network]] | None = optional("Which outside parties' networks are reached from here?")
    homes: dict[str, Given[Network]] | None = optional("Which networks have those at home who work from there?")
    prefix6: Given[Network6] | None = optional("Which IPv6 prefix does the provider give, if any?")


def asks_block(
    network: Numbers, lasting: LastingChoices, house: House, standing: Standing, desk: Desk
) -> Iterator[Lasting | Finding]:
    """The office's block: as issued, as given, or the first of the house's that clashes with nobody."""
    homes = {**{text(home): home for home in house.every(HOMES)}, **(network.homes or {})}
    others = network.others or {}
    known = network.block if standing.issued.block is None else standing.issued.block
    if known is not None:
        block = desk.figure("block", known, "The office's private block")
    else:
        candidates: list[Candidate[Network]] = [
            Candidate(one, clashes.of(block=one, others={**homes, **others})) for one in house.every(BLOCKS)
        ]
        because = "the first of the house's blocks that clashes with no home and no outside party"
        block = desk.choose("block", NETWORK, candidates, "least", because, "The office's private block")
    confirmed = lasting.items.get("address-plan")
    unconfirmed = missing(confirmed.by if confirmed is not None else None, "lasting.address-plan")
    agreed = negated.of(given=unconfirmed)
    yield Lasting("address-plan", "The address plan", block, agreed)
    if network.prefix6 is not None:
        yield Lasting("prefix6", "The provider's IPv6 prefix", network.prefix6, agreed)
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
        "A-2", Weight.MEND, beyond.of(have=with_homes, limit=NONE), "{block} overlaps {many:network|networks} of homes.",
        "Choose a block that no home box comes set to, or leave it out of the brief and take the house's: who works "
        "from such a home can't reach the office.", {"block": block, "many": with_homes},
    )  # fmt: skip
    with_others = clashes.of(block=block, others=others)
    with_others = desk.figure("other-clashes", with_others, "Outside parties' networks that overlap it")
    yield Finding(
        "A-4", Weight.STOP, beyond.of(have=with_others, limit=NONE), "{block} overlaps {many:outside network|outside networks}.",
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
        joining = joining_anew.of(arrivals=guest.arrivals, anew=house[ANEW])
        joining = at.figure("joining", joining, "Visitors' devices that join, or join again as new ones")
        taken = at.figure("taken", held.of(arrivals=joining, hold=hold), "Visitors' addresses taken by time")
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
            "refused", erlang_b.of(servers=pool, offered=most), "Share of visitors' devices refused at the peak"
        )
        without = turned_away.of(offered=most, refused=refused)
        without = at.figure("without", without, "Visitors' devices without an address at the peak")
        yield Finding(
            "A-1", Weight.STOP, beyond.of(have=refused, limit=house[REFUSALS]),
            "The visitors' pool of {pool:address|addresses} runs dry on the busiest day: {peak} wanted, {without:gets|get} none.",
            "Set aside {need} addresses, or lend them for a shorter time.".replace("{need}", text(enough)),
            {"pool": pool, "peak": most, "without": without}, guest.zone,
        )  # fmt: skip


def _lease(at: Desk, guest: Visitors, network: Numbers, house: House) -> Figure[float]:
    """As given, or the longest of the house's steps whose pool stays within the limit."""
    leases = list(house.every(GUEST_LEASES)) if network.guest_lease is None else [network.guest_lease]
    limit = network.guest_pool if network.guest_pool is not None else house[GUEST_LIMIT]
    candidates: list[Candidate[float]] = []
    joining = joining_anew.of(arrivals=guest.arrivals, anew=house[ANEW])
    because = "the longest whose pool stays within the limit" if network.guest_lease is None else "as the brief says"
    for lease in reversed(leases):
        hold = bound_for.of(stay=guest.stay, lease=lease)
        pool = smallest_pool.of(offered=peak(held.of(arrivals=joining, hold=hold)), refusals=house[REFUSALS])
        fits = holds.of(have=limit, need=pool)
        candidates.append(Candidate(lease, apart.of(one=limit, other=pool), fits))
    return at.choose("lease", HOUR, candidates, "least", because, "An address is lent to a visitor for")


@dataclass(frozen=True)
class _Cell:
    """One zone with what it must hold, and what was issued in it."""

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
    was: Inside | None


@dataclass(frozen=True)
class _Laid:
    """One zone laid out in its subnet."""

    subnet: Figure[Network]
    size: Figure[int]
    runs: Figure[Mapping[str, Run]]
    machines: Figure[Mapping[str, IPv4Address]] | None
    free: Figure[int]


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    house: House,
    standing: Standing,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    visitors: Every[Visitors],
    desk: Desk,
) -> Iterator[Subnet | Pool | Range | Address | Finding | Page]:
    """A subnet for every zone, and every address in it; what was issued stays as it is."""
    issued, things = standing.issued, (devices, machines, visitors)
    planned = [_cell(desk, zone, things, house, inside(issued, zone.slug)) for zone in zones]
    block = desk.kept("block", NETWORK)
    nets, register = _register(planned, standing, desk)
    room = desk.kept("room", NETWORK)
    yield Finding(
        "A-3", Weight.STOP, too_small.of(block=block, room=room), "{block} does not hold all zones; {room} would.",
        "Take a wider block, or fewer and smaller zones. The register is drawn as if the wider block were given.",
        {"block": block, "room": room},
    )  # fmt: skip
    known = {slug: zone.gateway for slug, zone in (issued.zones or {}).items() if slug in nets}
    doors = kept_gateways.of(networks=nets, issued=known) if known else gateways.of(networks=nets)
    doors = desk.figure("gateways", doors)
    rows, given, gone = [], [], list(_gone_zones(standing, nets))
    for one in planned:
        slug, gateway = one.zone.slug, cells(doors)[one.zone.slug]
        laid = _fresh(one, nets[slug], house) if one.was is None else _kept(one, one.was, nets[slug], house)
        yield Subnet(slug, cells(register)[slug], gateway, register)
        yield Address(f"gateway-{slug}", slug, "gateway", gateway, doors)
        yield from _ranges(one, laid.runs)
        made = list(_machines(one, laid))
        yield from made
        if one.was is None:
            yield _cramped(one, laid)
        given += [(address.holder, one.zone.name, str(address.address)) for address in made]
        gone += _gone(one, standing)
        rows.append(_row(one, laid, str(gateway)))
    yield _page(rows, given, [("The office's block", block)], gone)


def _register(
    planned: list[_Cell], standing: Standing, desk: Desk
) -> tuple[Mapping[str, Figure[Network]], Figure[Mapping[str, Network]]]:
    """The subnet of every zone, in the block or the wider one that all zones need. Raises OverflowError where one has none."""
    block, prefixes = desk.kept("block", NETWORK), {one.zone.slug: one.prefix for one in planned}
    numbers = {one.zone.slug: one.zone.number for one in planned}
    issued = {slug: zone.network for slug, zone in (standing.issued.zones or {}).items()}
    if not issued:
        room = desk.figure("room", room_for.of(block=block, prefixes=prefixes, numbers=numbers))
        given = subnets.of(block=room, prefixes=prefixes, numbers=numbers)
    else:
        room = kept_room.of(block=block, prefixes=prefixes, numbers=numbers, issued=issued)
        room = desk.figure("room", room)
        given = kept_subnets.of(block=room, prefixes=prefixes, numbers=numbers, issued=issued)
    if lost := sorted(prefixes.keys() - cells(given).keys()):
        raise OverflowError(f"{text(room)} has no place for {', '.join(lost)}")
    nets = {slug: desk.under(slug).figure("subnet", cell(given, slug, NETWORK)) for slug in cells(given)}
    return nets, desk.figure("register", as_written.of(networks=nets), "All subnets")


def _cell(desk: Desk, zone: Zone, things: Things, house: House, was: Inside | None) -> _Cell:
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
    peaks: dict[str, Figure[float]] = {guest.path: guest.kept("peak", EXPECTED) for guest in guests}
    wanted = total({"devices": loose, **peaks}, EXPECTED)
    reserved = at.figure("reserved", total(kept, COUNT), f"{zone.name}: addresses kept for one thing each")
    lent = at.figure("lent", total(parts, COUNT), f"{zone.name}: addresses to lend")
    needed = addresses_needed.of(static=house[STATIC], lent=lent, reserved=reserved, growth=house[GROWTH])
    needed = at.figure("needed", needed, f"{zone.name}: addresses needed")
    if was is None:
        prefix = prefix_for.of(addresses=needed, least=house[LEAST_PREFIX])
    else:
        prefix = prefix_of.of(network=was.network)
        visited = total({**{device.slug: device.now for device in mine}, "machines": kept["machines"]}, COUNT)
        at.figure("visited", visited, f"{zone.name}: things to visit when its subnet changes")
    prefix = at.figure("prefix", prefix, f"{zone.name}: prefix length")
    lease = guests[0].kept("lease", HOUR) if guests else house[STAFF_LEASE]
    return _Cell(zone, at, kept, hosts, reserved, lent, wanted, lease, needed, prefix, was)


def _fresh(one: _Cell, subnet: Figure[Network], house: House) -> _Laid:
    """A zone in which nothing was issued."""
    at, name = one.at, one.zone.name
    size = at.figure("size", addresses_in.of(prefix=one.prefix), f"{name}: addresses of the subnet")
    runs = ranges.of(network=subnet, static=house[STATIC], lent=one.lent, reserved=one.kept)
    runs = at.figure("ranges", runs, f"{name}: ranges")
    given, holders = None, _holders(one)
    if holders:
        addresses = one_each.of(network=subnet, static=house[STATIC], holders=holders)
        given = at.figure("machines", addresses, f"{name}: addresses of machines")
    free = room_left.of(addresses=size, static=house[STATIC], kept=one.reserved, lent=one.lent)
    return _Laid(subnet, size, runs, given, at.figure("free", free, f"{name}: addresses nobody has yet"))


def _kept(one: _Cell, was: Inside, subnet: Figure[Network], house: House) -> _Laid:
    """A zone that was issued: everything stays, what is new takes free places."""
    at, name, holders = one.at, one.zone.name, _holders(one)
    prefix = prefix_of.of(network=subnet)
    size = at.figure("size", addresses_in.of(prefix=prefix), f"{name}: addresses of the subnet")
    many = {purpose: count for purpose, count in one.kept.items() if purpose != "machines"}
    many = {"static": house[STATIC], **many, "lent": one.lent}
    laid = laid_out.of(
        network=subnet, wanted=many, holders=holders, firsts=was.firsts, lasts=was.lasts, held=was.held
    )
    runs = at.figure("ranges", cell(laid, "ranges", REGISTER), f"{name}: ranges")
    given = (
        at.figure("machines", cell(laid, "machines", REGISTER), f"{name}: addresses of machines") if holders else None
    )
    at.figure("unplaced", cell(laid, "unplaced", COUNT), f"{name}: addresses for which its subnet has no place")
    free = at.figure("free", cell(laid, "free", COUNT), f"{name}: addresses nobody has yet")
    return _Laid(subnet, size, runs, given, free)


def _holders(one: _Cell) -> Mapping[str, Figure[int]]:
    """The machines in the zone, in the order of their names."""
    return {slug: one.hosts[slug].cores for slug in sorted(one.hosts)}


def _ranges(one: _Cell, layout: Figure[Mapping[str, Run]]) -> Iterator[Range | Pool]:
    """What each run of addresses is for, and the pool."""
    runs, zone, written = cells(layout), one.zone.slug, one.was.written if one.was is not None else {}
    for name, run in runs.items():
        if name in called("lent", runs):
            pool = zone if name == "lent" else f"{zone}-{name}"
            yield Pool(pool, run.first, run.last, one.lent, one.wanted, one.lease)
        if name != "gateway":
            slug, purpose = written.get(name, (f"{zone}-{name}", _purpose(name)))
            yield Range(slug, zone, purpose, run.first, run.last, layout, name)


def _purpose(name: str) -> str:
    """What a run is for, by its name; further runs serve the same."""
    first = sub(r"^more-[0-9]+-", "", name)
    return PURPOSES.get(first, "kept for " + first.removeprefix("kept-").replace("-", " "))


def _machines(one: _Cell, laid: _Laid) -> Iterator[Address]:
    """An address for every machine in the zone."""
    for slug, address in cells(laid.machines).items() if laid.machines is not None else ():
        first = one.hosts[slug].zones[0] == one.zone.slug
        assert laid.machines is not None
        yield Address(slug if first else f"{slug}-{one.zone.slug}", one.zone.slug, slug, address, laid.machines)


def _cramped(one: _Cell, laid: _Laid) -> Finding:
    """A subnet pinned too small."""
    return Finding(
        "A-6", Weight.STOP, shorter.of(have=laid.size, need=one.needed),
        f"The subnet {{subnet}} of {one.zone.name} is smaller than the {{needed:address|addresses}} it needs.",
        "Let the prefix be computed, or pin a shorter one.", {"subnet": laid.subnet, "needed": one.needed}, one.zone.slug,
    )  # fmt: skip


def _gone_zones(standing: Standing, nets: Mapping[str, Figure[Network]]) -> Iterator[tuple[Figure[Any] | str, ...]]:
    """Zones that were issued and are no longer in the brief."""
    for slug, zone in (standing.issued.zones or {}).items():
        if slug not in nets:
            yield f"the zone {slug}", "", zone.network, NO_LONGER


def _gone(one: _Cell, standing: Standing) -> Iterator[tuple[Figure[Any] | str, ...]]:
    """What keeps its addresses in a zone although the brief does not ask for it (any more)."""
    if one.was is None:
        return
    wanted = {run for name in (*PURPOSES, *one.kept) for run in called(name, one.was.firsts)}
    for name, first in one.was.firsts.items():
        if name not in wanted:
            yield one.was.written[name][1], one.zone.name, f"{text(first)} to {text(one.was.lasts[name])}", NO_LONGER
    for name, holder in one.was.holders.items():
        if name not in one.hosts:
            note = "stands" if holder in standing.kit else NO_LONGER
            yield f"kept for {holder}", one.zone.name, one.was.held[name], note


def _row(one: _Cell, laid: _Laid, gateway: str) -> tuple[Figure[Any] | str, ...]:
    runs = cells(laid.runs)
    static, lent = (", ".join(str(runs[run]) for run in called(name, runs)) for name in ("static", "lent"))
    return (
        one.zone.name, one.zone.number, laid.subnet, gateway, static or "none", one.reserved, lent or "none",
        one.lease if lent else "", laid.free,
    )  # fmt: skip


def _page(
    rows: list[tuple[Figure[Any] | str, ...]],
    given: list[tuple[str, str, str]],
    facts: list[tuple[str, Figure[Any]]],
    gone: list[tuple[Figure[Any] | str, ...]],
) -> Page:
    heads = ("zone", "number", "subnet", "gateway", "switches and the like", "kept", "lent", "for", "free")
    kept = [Ruled("Kept as issued", ("what", "zone", "addresses", "note"), gone)] if gone else []
    return Page("addresses", "N", "Address register", (
        Prose("The third number of a subnet is its zone's number wherever it fits. Kept addresses follow the static "
              "range; lent ones stand at the end of the subnet, and both grow towards each other."),
        Facts(facts), Ruled("Subnets", heads, rows), Ruled("Machines", ("machine", "zone", "address"), given), *kept,
    ), 4)  # fmt: skip


def design_changes(  # noqa: PLR0913 - as above
    network: Numbers, catalogue: Catalogue, house: House, standing: Standing, subnets: Every[Subnet],
    zones: Every[Zone], desk: Desk,
) -> Iterator[Finding | Page]:  # fmt: skip
    """What it would cost to move what was issued, and where it is too small: told, never done."""
    issued, names = standing.issued.zones or {}, {zone.slug: zone.name for zone in zones}
    rate = next(row for row in catalogue.every("labour") if row.slug == "consultant").figure(LABOUR_RATE)
    nets = {one.slug: desk.under(one.slug).kept("subnet", NETWORK) for one in subnets}
    every = {**{slug: zone.network for slug, zone in issued.items()}, **nets}
    rows: list[tuple[Figure[Any] | str, ...]] = []
    prices = {}
    for slug in [slug for slug in nets if slug in issued]:
        at = desk.under(slug)
        prices[slug] = _prices(at, names[slug], rate, house)
        others = {other: net for other, net in every.items() if other != slug}
        ways = more_room.of(
            network=nets[slug], addresses=at.kept("needed", COUNT), block=desk.kept("room", NETWORK), others=others
        )
        ways = at.figure("ways", ways, f"{names[slug]}: where it finds more room while nothing moves")
        yield _full(at, names[slug], slug, cells(ways))
        yield _against(at, names[slug], slug)
        rows.append((names[slug], nets[slug], ways, *(at.kept(f"{way}.price", MONEY) for way in WAYS)))
    if standing.issued.block is not None:
        whole = desk.figure("renumbering.price", total(prices, MONEY), "Renumbering all zones that were issued")
        yield _asked(network.block, standing.issued.block, whole)
    if rows:
        yield Page("issued", "N", "What was issued", (
            Prose("What was issued stays as it is. Moving it is a choice, and this is its price in work."),
            Ruled("Price of a change", ("zone", "subnet", "more room at", "new mask", "second subnet", "renumbering"), rows),
        ), 5)  # fmt: skip


def _prices(at: Desk, name: str, rate: Figure[Decimal], house: House) -> Figure[Decimal]:
    """Three ways out of a subnet that is too small, in hours and money; renumbering is handed back."""
    work, visited = {"splitting": house[ZONE_HOURS]}, at.kept("visited", COUNT)
    for way, each in (("widening", house[MASK_HOURS]), ("renumbering", house[MOVE_HOURS])):
        hours = visiting.of(devices=visited, each=each, besides=house[ZONE_HOURS])
        work[way] = at.figure(f"{way}.hours", hours, f"{name}: {WAYS[way]}, hours")
    for way, hours in work.items():
        at.figure(f"{way}.price", labour_price.of(hours=hours, rate=rate), f"{name}: {WAYS[way]}")
    return at.kept("renumbering.price", MONEY)


def _full(at: Desk, name: str, slug: str, ways: Mapping[str, Network]) -> Finding:
    """A subnet as issued that has no place for what is needed now (A-7)."""
    lacking = at.kept("unplaced", COUNT)
    wider = f" Widening it to {ways['wider']} costs {{widening}} of work." if "wider" in ways else ""
    second = f" A second subnet at {ways['second']} costs {{splitting}}." if "second" in ways else ""
    return Finding(
        "A-7", Weight.MEND, beyond.of(have=lacking, limit=NONE),
        f"{{subnet}}, issued to {name}, has no place for {{lacking:address|addresses}}.{wider}{second} Renumbering costs {{renumbering}}.",
        f"Widen it by a pin on {at.path}.prefix where that is offered, and give every device its new mask; or split the zone. "
        "Nothing that was issued moves by itself.",
        {"subnet": at.kept("subnet", NETWORK), "lacking": lacking, **{way: at.kept(f"{way}.price", MONEY) for way in WAYS}}, slug,
    )  # fmt: skip


def _against(at: Desk, name: str, slug: str) -> Finding:
    """A prefix length pinned that what was issued does not have (A-8)."""
    asked, subnet = at.kept("prefix", COUNT), at.kept("subnet", NETWORK)
    other = apart.of(one=asked, other=prefix_of.of(network=subnet))
    return Finding(
        "A-8", Weight.MEND, beyond.of(have=other, limit=NONE),
        f"{name} is asked to have the prefix length {{asked}}, but {{subnet}} was issued and stays. Renumbering costs {{price}}.",
        "Take the pin off: a shorter one holds only where nothing else lies, a longer one would cut off what was issued.",
        {"asked": asked, "subnet": subnet, "price": at.kept("renumbering.price", MONEY)}, slug,
    )  # fmt: skip


def _asked(asked: Figure[Network] | None, issued: Figure[Network], price: Figure[Decimal]) -> Finding:
    """Another block in the brief than the one that was issued (A-8)."""
    wanted = issued if asked is None else asked
    return Finding(
        "A-8", Weight.MEND, differs.of(one=wanted, other=issued),
        "The brief asks for the block {asked}, but {issued} was issued and stays. Renumbering all zones costs {price}.",
        "Write the issued block into the brief. If the office is to be renumbered, plan it as a job of its own and write a new "
        "standing file when it is done.",
        {"asked": wanted, "issued": issued, "price": price}, "address-plan",
    )  # fmt: skip
