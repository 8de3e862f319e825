"""The slip of a room: who and what is in it, who may call on it; for technicians its network, addresses and leases."""

from collections.abc import Iterator, Mapping

from scantling.figures import (
    OUTSIDE, Device, Machine, Pool, Prefix, Range, Reservation, Service, Subnet, Visitors, Zone, text,
)  # fmt: skip
from scantling.figures.pages import Block, Facts, Prose, Ruled
from scantling.outputs.drawings.from_traffic import small
from scantling.plan.make import Plan
from scantling.plan.same import Same
from scantling.web.slips.slip import TECHNICIAN, Slip, facts, filled, held, red_pencil, told_doors, told_traffic

LENT = "lent"


def names(plan: Plan) -> Mapping[str, str]:
    """Every room by its slug."""
    return {zone.slug: f"Room {text(zone.number)}, {zone.name}" for zone in plan.records(Zone)}


def slip(plan: Plan, slug: str, layer: str) -> Slip:
    """What is told of a room."""
    zone = next(one for one in plan.records(Zone) if one.slug == slug)
    machines = [machine.slug for machine in plan.records(Machine) if slug in machine.zones]
    blocks = [_within(plan, zone), *_servers(plan, slug), *_doors(plan, slug)]
    blocks += _network(plan, zone) if layer == TECHNICIAN else _leased_plainly(plan, slug)
    return Slip(names(plan)[slug], filled([*blocks, *red_pencil(plan, slug, *machines)]))


def _within(plan: Plan, zone: Zone) -> Facts:
    """Devices by kind and count, visitors."""
    rows = [(device.name, device.now) for device in plan.records(Device) if device.zone == zone.slug]
    rows += [("Visitors' devices at the peak", v.present) for v in plan.records(Visitors) if v.zone == zone.slug]
    return Facts(rows, "In this room")


def _servers(plan: Plan, slug: str) -> Iterator[Block]:
    """Machines, and what each does."""
    rows = []
    for machine in plan.records(Machine):
        if slug in machine.zones:
            does = [service.name for service in plan.records(Service) if service.machine == machine.slug]
            rows.append((machine.slug, ", ".join(does)))
    yield Facts(rows, "Machines")


def _doors(plan: Plan, slug: str) -> Iterator[Block]:
    """Who may call on it, and on whom it may call."""
    hung = told_doors(Same(plan))
    if not hung:
        yield Prose("Doors: not yet planned.")
        return
    own = next((door for door in hung if door.kind == "room" and door.room == slug), None)
    callers = own.callers if own is not None else ()
    rows = [
        (one.who, "".join(part.text for part in one.wants) + (f" ({one.hours})" if one.hours else ""))
        for one in callers
    ]
    yield Facts(rows, "Who may call on it") if rows else Prose("It has no door: nobody may call on this room.")
    told = told_traffic(Same(plan))
    wants: dict[str, dict[str, None]] = {}
    for flow in told.accepted:
        if flow.source.zone == slug:
            wants.setdefault(flow.target.zone, {})[small(flow.name)] = None
    out = sorted(wants, key=told.place)
    yield Facts(
        [("the outside" if zone == OUTSIDE else told.name(zone), ", ".join(wants[zone])) for zone in out],
        "It may call on",
    )


def _leased_plainly(plan: Plan, slug: str) -> Iterator[Block]:
    """Owner's layer: whether an address is lent to everybody who comes."""
    for pool in plan.records(Pool):
        if pool.slug == slug:
            yield facts("Addresses lent to who comes", ("to lend", pool.size), ("wanted at the peak", pool.peak))


def _network(plan: Plan, zone: Zone) -> Iterator[Block]:
    """Technician's layer."""
    subnet = next((one for one in plan.records(Subnet) if one.slug == zone.slug), None)
    prefix = next((one for one in plan.records(Prefix) if one.slug == zone.slug), None)
    yield facts(
        "Network", ("VLAN", zone.number), ("subnet", str(subnet.network) if subnet is not None else ""),
        ("gateway", str(subnet.gateway) if subnet is not None else ""),
        ("IPv6 network", str(prefix.network) if prefix is not None else ""),
        ("IPv6 gateway", str(prefix.gateway) if prefix is not None else ""),
        ("addresses nobody has yet", plan.figures.get(f"addresses.{zone.slug}.free")),
        ("switch ports", plan.figures.get(f"zones.{zone.slug}.ports")),
    )  # fmt: skip
    yield Ruled("Fixed addresses", ("who", "address"), fixed(plan, zone.slug))
    yield from leased(plan, zone.slug)


def fixed(plan: Plan, slug: str) -> list[tuple[str, str]]:
    """Who bears which address of a zone for good, both families, in the order of the addresses."""
    given = [(one.address, one.holder) for one in held(plan) if one.zone == slug]
    kept = [
        (one.address, f"{one.holder}, kept for {one.hardware_address}")
        for one in plan.records(Reservation)
        if one.zone == slug
    ]
    known = {address for address, _ in kept}
    both = [(address, who) for address, who in given if address not in known] + kept
    return [(who, str(address)) for address, who in sorted(both, key=lambda one: (one[0].version, int(one[0])))]


def leased(plan: Plan, slug: str) -> Iterator[Block]:
    """The ranges that are lent, for how long, and who waits at the peak."""
    pool = next((one for one in plan.records(Pool) if one.slug == slug), None)
    if pool is None:
        yield Prose("No addresses are lent here.")
        return
    runs = [f"{one.first} to {one.last}" for one in plan.records(Range) if one.zone == slug and one.purpose == LENT]
    enough = pool.peak.value <= pool.size.value
    yield facts(
        "Leased", ("range", ", ".join(runs)), ("addresses to lend", pool.size), ("wanted at the peak", pool.peak),
        ("lent for", pool.lease), ("who waits", "nobody, at the peak that is planned for" if enough else "some, at the peak"),
    )  # fmt: skip
