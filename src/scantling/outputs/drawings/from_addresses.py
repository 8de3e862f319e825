"""From a plan's address records to what the address map is told: every address once, by what it is for."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from ipaddress import IPv4Network

from scantling.figures import Address, Address6, Figure, Host, Pool, Prefix, Range, Reservation, Subnet, Zone, text
from scantling.outputs.drawings.address_model import AddressMap, Run, Sixth, Use, ZoneMap
from scantling.outputs.drawings.from_traffic import DASH
from scantling.outputs.drawings.model import Count, Phrase, Text, plain
from scantling.outputs.drawings.sheet_set import NUMBERING, Pencil, pencilled, title_block
from scantling.outputs.files.leases6 import lent
from scantling.outputs.files.leasing import FOURTH, SIXTH, served
from scantling.plan.make import Plan

LENT, STEP = "lent", 32
LAST_OCTET, OCTET = 24, 256
KEPT_FOR = "kept for "
ABOUT = ("A-",)
"""Findings that this sheet shows, by the beginning of their codes."""


def address_sheet(plan: Plan) -> AddressMap:
    """The addresses of all zones that have a subnet, in the order of their numbers."""
    pencil = pencilled(plan)
    zones = sorted(plan.records(Zone), key=lambda zone: (zone.number.value, zone.slug))
    nets = {subnet.slug: subnet for subnet in plan.records(Subnet)}
    maps = tuple(_zone(plan, zone, nets[zone.slug], pencil) for zone in zones if zone.slug in nets)
    shown = {number for one in maps for number in one.findings}
    notes = (
        plain(
            "Issued: one thing bears it. Kept: set aside for switches, machines or devices. Leased: lent for a time. Spare: nobody's."
        ),
        plain("The first and the last address of a subnet are struck out: nobody can bear them."),
        plain("IPv6: a course broken off; every zone has 2\u2076\u2074 addresses, which no scale shows."),
        *((NUMBERING,) if shown else ()),
    )
    return AddressMap(title_block(plan, "Address map", "N-4"), maps, notes, pencil.on(shown))


def _zone(plan: Plan, zone: Zone, subnet: Subnet, pencil: Pencil) -> ZoneMap:
    net: IPv4Network = subnet.network
    bearers = _bearers(plan, zone.slug)
    runs = tuple(_runs(plan, zone.slug, net, [address for address, _ in bearers if address in net]))
    used = {
        use: sum(run.last - run.first + 1 for run in runs if run.use == use) for use in ("issued", "kept", "leased")
    }
    spare = net.num_addresses - 2 - sum(used.values())
    counts = [
        Count(str(used["issued"]), "issued"), Count(str(used["kept"]), "kept"),
        _count(plan, f"addresses.{zone.slug}.lent", used["leased"], "leased"),
        _count(plan, f"addresses.{zone.slug}.free", spare, "spare"),
    ]  # fmt: skip
    about = pencil.about(zone.slug)
    findings = tuple(note.number for note in pencil.on(about) if note.code.startswith(ABOUT))
    return ZoneMap(
        zone.slug, zone.name, str(int(zone.number.value)), Text(str(net), subnet.allocation.id), net.num_addresses,
        int(net.network_address) % OCTET, runs,
        tuple(_short(net[place], net).lstrip(".") for place in range(0, net.num_addresses, STEP)), tuple(counts),
        tuple(_says(plan, zone.slug, net, bearers)), _sixth(plan, zone.slug), findings,
    )  # fmt: skip


def _count(plan: Plan, id_: str, number: int, label: str) -> Count:
    """A count, with its figure where the plan has one of the same value."""
    figure: Figure[int] | None = plan.figures.get(id_)
    return Count(str(number), label, id_ if figure is not None and figure.value == number else "")


def _bearers(plan: Plan, zone: str) -> list[tuple[Host, str]]:
    """IPv4 addresses that one thing bears, with its name, in their order; the gateway first."""
    held: dict[Host, str] = {one.address: one.holder for one in plan.records(Address) if one.zone == zone}
    kept = {
        one.address: one.holder
        for one in plan.records(Reservation)
        if one.zone == zone and one.address.version == FOURTH
    }
    return sorted((kept | held).items(), key=lambda entry: int(entry[0]))


def _runs(plan: Plan, zone: str, net: IPv4Network, issued: Sequence[Host]) -> Iterator[Run]:
    """Issued addresses, and what is left of the ranges beside them."""
    uses: dict[int, Use] = {}
    start = int(net.network_address)
    for held in plan.records(Range):
        if held.zone == zone:
            use: Use = "leased" if held.purpose == LENT else "kept"
            uses |= dict.fromkeys(range(int(held.first) - start, int(held.last) - start + 1), use)
    uses |= dict.fromkeys((int(address) - start for address in issued), "issued")
    places = sorted(place for place in uses if 0 <= place < net.num_addresses)
    first = None
    for at, place in enumerate(places):
        first = place if first is None else first
        follows = places[at + 1] if at + 1 < len(places) else -1
        if follows != place + 1 or uses[follows] != uses[place]:
            yield Run(uses[place], first, place)
            first = None


def _short(address: Host, net: IPv4Network) -> str:
    """The last part of an address, the last two where the subnet is wider than one."""
    parts = str(address).split(".")
    return "." + ".".join(parts[-1:] if net.prefixlen >= LAST_OCTET else parts[-2:])


def _says(plan: Plan, zone: str, net: IPv4Network, bearers: Iterable[tuple[Host, str]]) -> Iterator[Text]:
    """Who bears which address, what is kept for whom, what is lent for how long."""
    held = dict(bearers)
    told = ", ".join(f"{_short(address, net)} {name}" for address, name in held.items())
    yield Text(f"Issued: {told}. " if told else "Issued: none. ")
    ranges = [one for one in plan.records(Range) if one.zone == zone]
    kept = [
        f"{_span(one, net)} {one.purpose.removeprefix(KEPT_FOR)}"
        for one in ranges
        if one.purpose != LENT and not _all_held(one, held)
    ]
    if kept:
        yield Text(f"Kept: {', '.join(kept)}. ")
    leased = [one for one in ranges if one.purpose == LENT]
    pool = next((one for one in plan.records(Pool) if one.first in net), None)
    if leased and pool is not None:
        yield Text(f"Leased: {', '.join(_span(one, net) for one in leased)} for ")
        yield Text(text(pool.lease), pool.lease.id)
        yield Text(".")


def _all_held(kept: Range, held: Mapping[Host, str]) -> bool:
    """Whether every address of a range is borne by something already."""
    return (
        sum(kept.first <= address <= kept.last for address in held if address.version == kept.first.version)
        == int(kept.last) - int(kept.first) + 1
    )


def _span(held: Range, net: IPv4Network) -> str:
    first, last = _short(held.first, net), _short(held.last, net)
    return first if first == last else f"{first}{DASH}{last}"


def _sixth(plan: Plan, zone: str) -> Sixth | None:
    """The zone's network of the sixth version: who bears an address there, and how the others come by one."""
    prefix = next((one for one in plan.records(Prefix) if one.slug == zone), None)
    if prefix is None:
        return None
    held: dict[Host, str] = {one.address: one.holder for one in plan.records(Address6) if one.zone == zone}
    held |= {
        one.address: one.holder
        for one in plan.records(Reservation)
        if one.zone == zone and one.address.version == SIXTH
    }
    told = ", ".join(
        f"{_tail(str(address))} {name}" for address, name in sorted(held.items(), key=lambda e: int(e[0]))
    )
    given = next((one for one in served(plan) if one.slug == zone), None)
    words: Phrase = (Text(f"{len(held)} issued: {told}. " if told else ""),)
    if given is not None and given.managed:
        words = (*words, Text(f"Leased from {lent(prefix.network)} besides."))
    else:
        words = (*words, Text("Devices make their own."))
    return Sixth(
        Text(str(prefix.network), f"sixth.{zone}.network" if f"sixth.{zone}.network" in plan.figures else ""),
        len(held),
        words,
    )


def _tail(written: str) -> str:
    """What stands behind the zone's own part of an address."""
    return "::" + written.rpartition("::")[2]
