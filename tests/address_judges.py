"""Judges of address plans, by ipaddress and netaddr: what was issued stays, nothing overlaps, everything has a place."""

from collections.abc import Mapping
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from typing import Any

import netaddr
from ruamel.yaml import YAML

from address_plans import Addressed
from scantling.figures import (
    Address, Address6, Finding, Leg, Machine, Page, Pool, Prefix, Range, Reservation, Ruled, Subnet, Zone, text,
)  # fmt: skip


def read(stands: str) -> Mapping[str, Any]:
    """A standing file as another program reads it."""
    issued: Mapping[str, Any] = YAML(typ="safe").load(stands)["issued"]
    return issued


def holds(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """Everything that was issued is where it was; what the brief no longer asks for is held free."""
    zones = {zone.slug: zone.number.value for zone in plan.records(Zone)}
    for slug, zone in issued["zones"].items():
        if slug in zones:
            (subnet,) = [one for one in plan.records(Subnet) if one.slug == slug]
            assert (str(subnet.network), str(subnet.gateway)) == (zone["network"], zone["gateway"])
            assert zones[slug] == zone["number"]
    for slug, run in issued.get("ranges", {}).items():
        if run["zone"] in zones:
            (there,) = [one for one in plan.records(Range) if one.slug == slug]
            assert (there.zone, str(there.first), str(there.last)) == (run["zone"], run["first"], run["last"])
    wanted = {(machine.slug, zone) for machine in plan.records(Machine) for zone in machine.zones}
    held = {(one.holder, one.zone, str(one.address)) for one in plan.records(Address)}
    given = {str(one.address): one.holder for one in plan.records(Address)}
    for one in issued.get("addresses", {}).values():
        if (one["holder"], one["zone"]) in wanted:
            assert (one["holder"], one["zone"], one["address"]) in held
        else:
            assert one["address"] not in given


def apart(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """No two networks overlap, issued ones of zones that are gone among them; no two runs, no two addresses."""
    nets = {one.slug: netaddr.IPNetwork(str(one.network)) for one in plan.records(Subnet)}
    nets |= {slug: netaddr.IPNetwork(zone["network"]) for slug, zone in issued["zones"].items()}
    assert netaddr.IPSet(nets.values()).size == sum(net.size for net in nets.values())
    assert len({zone.number.value for zone in plan.records(Zone)}) == len(plan.records(Zone))
    gone = {
        zone["number"] for slug, zone in issued["zones"].items() if slug not in {z.slug for z in plan.records(Zone)}
    }
    assert not gone & {zone.number.value for zone in plan.records(Zone)}
    spans = [netaddr.IPRange(str(run.first), str(run.last)) for run in plan.records(Range)]
    assert netaddr.IPSet(spans).size == sum(span.size for span in spans)
    for run in plan.records(Range):
        inside = [ip_address(str(run.first)), ip_address(str(run.last))]
        net = ip_network(str(nets[run.zone].cidr))
        assert all(host in net and host not in (net.network_address, net.broadcast_address) for host in inside)
    new = [
        netaddr.IPRange(str(run.first), str(run.last))
        for run in plan.records(Range)
        if run.slug not in issued.get("ranges", {})
    ]
    assert not [one for one in issued.get("addresses", {}).values() if one["address"] in netaddr.IPSet(new)]
    addresses = [str(one.address) for one in plan.records(Address)]
    assert len(set(addresses)) == len(addresses)
    pools = netaddr.IPSet([netaddr.IPRange(str(pool.first), str(pool.last)) for pool in plan.records(Pool)])
    assert not any(address in pools for address in addresses)
    machines = netaddr.IPSet(
        [s for s, run in zip(spans, plan.records(Range), strict=True) if run.purpose == "machines"]
    )
    gateways = {str(one.gateway) for one in plan.records(Subnet)}
    assert all(address in machines for address in addresses if address not in gateways)


def holds_sixth(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """Every IPv6 network, gateway, address and name that was issued is where it was."""
    nets = {one.slug: one for one in plan.records(Prefix)}
    for slug, one in issued.get("prefixes", {}).items():
        if slug in nets:
            assert str(nets[slug].network) == one["prefix"]
            assert str(nets[slug].gateway) == one.get("gateway", str(netaddr.IPNetwork(one["prefix"])[1]))
    doors = {one.gateway for one in plan.records(Prefix)}
    single = [one for one in plan.records(Address6) if one.address not in doors]
    given = {(one.holder, one.zone): str(one.address) for one in single}
    given |= {
        (one.holder, one.zone): str(one.address) for one in plan.records(Reservation) if one.address.version == 6
    }
    everyone = {address: who for who, address in given.items()}
    for one in issued.get("addresses6", {}).values():
        who = (one["holder"], one["zone"])
        assert given.get(who, one["address"]) == one["address"]
        assert everyone.get(one["address"], who) == who
    kept = {(one.holder, one.zone): str(one.address) for one in plan.records(Reservation) if one.address.version == 4}
    for one in issued.get("addresses", {}).values():
        assert kept.get((one["holder"], one["zone"]), one["address"]) == one["address"]


def apart_sixth(plan: Addressed, issued: Mapping[str, Any]) -> None:
    """Every zone has a /64 of its own, clear of those that were issued; every address lies in its zone's, and none twice."""
    zones = {zone.slug for zone in plan.records(Zone)}
    nets = {one.slug: netaddr.IPNetwork(str(one.network)) for one in plan.records(Prefix)}
    assert set(nets) == zones
    assert {net.prefixlen for net in nets.values()} == {64}
    nets |= {slug: netaddr.IPNetwork(one["prefix"]) for slug, one in issued.get("prefixes", {}).items()}
    assert netaddr.IPSet(nets.values()).size == sum(net.size for net in nets.values())
    kept = [(one.zone, one.holder, one.address) for one in plan.records(Reservation)]
    sixth = {(one.zone, one.holder, one.address) for one in plan.records(Address6)}
    sixth |= {(zone, holder, address) for zone, holder, address in kept if isinstance(address, IPv6Address)}
    assert len({address for *_, address in sixth}) == len(sixth)
    assert all(netaddr.IPAddress(str(address)) in nets[zone] for zone, _, address in sixth)
    assert not any(netaddr.IPAddress(str(address)) == nets[zone][0] for zone, _, address in sixth)
    assert {one.slug for one in plan.records(Address6)} == {one.slug for one in plan.records(Address)}
    given = {(one.zone, one.holder, one.address) for one in plan.records(Address)}
    given |= {(zone, holder, address) for zone, holder, address in kept if isinstance(address, IPv4Address)}
    assert len({address for *_, address in given}) == len(given)
    singles = {str(address) for *_, address in given}
    pools = netaddr.IPSet([netaddr.IPRange(str(pool.first), str(pool.last)) for pool in plan.records(Pool)])
    assert not any(address in pools for address in singles)
    for leg in plan.records(Leg):
        assert [str(net) for net in leg.networks][1] == str(nets[leg.zone])
        gateways, others = leg.own[: len(leg.networks)], leg.own[len(leg.networks) :]
        assert all(address in net for address, net in zip(gateways, leg.networks, strict=True))
        # where the firewall is a machine, it bears that machine's addresses too
        itself = {str(one.address) for one in plan.records(Address) if one.holder == "firewall"}
        itself |= {str(one.address) for one in plan.records(Address6) if one.holder == "firewall"}
        assert set(map(str, others)) <= itself
    assert {leg.zone for leg in plan.records(Leg)} == zones
    assert len({leg.interface for leg in plan.records(Leg)}) == len(zones)


def enough(plan: Addressed) -> None:
    """Every machine and every device that keeps its address has a place, or the plan says that there is none (A-7, A-3)."""
    lacking = {finding.about for finding in plan.records(Finding) if finding.code == "A-7" and finding.when.value}
    held = {(one.holder, one.zone) for one in plan.records(Address)}
    missing = {
        zone for machine in plan.records(Machine) for zone in machine.zones if (machine.slug, zone) not in held
    }
    assert missing <= lacking
    for zone in {run.zone for run in plan.records(Range)} - lacking:
        lent = plan.ledger.figures[f"addresses.{zone}.lent"].value
        pools = [run for run in plan.records(Range) if run.zone == zone and run.purpose == "lent"]
        assert sum(int(run.last) - int(run.first) + 1 for run in pools) >= lent
        reserved = plan.ledger.figures[f"addresses.{zone}.reserved"].value
        kept = [
            run for run in plan.records(Range) if run.zone == zone and run.purpose.startswith(("kept", "machines"))
        ]
        assert sum(int(run.last) - int(run.first) + 1 for run in kept) >= reserved


def facts(plan: Addressed, kind: type[Any], words: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """The named fields of every record of a kind, by slug."""
    return {one.slug: tuple(str(getattr(one, word)) for word in words) for one in plan.records(kind)}


def sheet(plan: Addressed) -> str:
    """All rows of the address sheets as words."""
    blocks = [block for page in plan.records(Page) if page.slug in ("addresses", "issued") for block in page.blocks]
    rows = [row for block in blocks if isinstance(block, Ruled) for row in block.rows]
    return "\n".join(" ".join(cell if isinstance(cell, str) else text(cell) for cell in row) for row in rows)
