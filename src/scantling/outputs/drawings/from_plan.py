"""From a plan to what its drawings of rooms and server are told: every number comes from a record, none is computed here."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from ipaddress import IPv4Address
from typing import Literal

from scantling.catalogue.columns import NAME
from scantling.figures import (
    OUTSIDE, Address, Array, Copy, Device, Hosts, Line, Machine, Pool, Range, Service, Subnet, Visitors, Zone,
)  # fmt: skip
from scantling.figures.numbers import number, text
from scantling.figures.units import GIB, TB
from scantling.outputs.drawings.from_traffic import doors, small, traffic
from scantling.outputs.drawings.model import (
    Amount, Count, Door, Floor, Foundation, Holder, Host, Joists, Outbuilding, Phrase, Room, RoomsSheet, RoomTechnical,
    SectionSheet, StreetLine, Text, plain,
)  # fmt: skip
from scantling.outputs.drawings.sheet_set import (
    NUMBERING, SCHEDULE, Pencil, amount, figure_text, pencilled, title_block,
)  # fmt: skip
from scantling.plan.make import Plan

STEPS = (6, 20)
MOST_HOLDERS = 14
SWITCHES, LENT, SHARED = "switches and the like", "lent", "shared"
TWO_SERVERS = plain(
    "Two equal servers, drawn as one: memory and arrays are those of each, parts are counted for both. Either can start all machines."
)


def rooms_sheet(plan: Plan) -> RoomsSheet:
    """The network by rooms, owner's and technician's layers together."""
    pencil, hung = pencilled(plan), doors(plan)
    zones = sorted(plan.records(Zone), key=lambda zone: zone.number.value)
    rooms = tuple(_room(plan, zone, pencil, hung) for zone in zones)
    street = tuple(_street(plan, line, hung) for line in plan.records(Line))
    outside = pencil.about(*(line.slug for line in plan.records(Line)), "line", "lines")
    shown = {number for room in rooms for number in room.findings} | set(outside) | set(pencil.about("address-plan"))
    technical = (
        plain(
            "Gateway of every zone: the firewall. Static addresses are set by hand, reserved ones by hardware address."
        ),
        plain("Leases are renewed at half their time (RFC 2131)."),
    )
    return RoomsSheet(
        title_block(plan, "Network by rooms", "N-1"), title_block(plan, "Network by rooms, technician's layer", "N-2"), "firewall",
        street, rooms,
        pencil.on(shown), (*_notes(hung), *((NUMBERING,) if shown else ())), technical,
        f"up to {STEPS[0]}, up to {STEPS[1]}, and more devices", outside, hung, SCHEDULE if hung is not None else "",
    )  # fmt: skip


def _notes(hung: Sequence[Door] | None) -> Iterator[Phrase]:
    """How the plan is read."""
    if hung is None:
        yield plain("Doors: not yet planned. Until they are, take every room as closed to every other.")
        yield plain("Devices are counted as they are today; the address plan has room for more.")
        return
    yield plain(
        "A door bears its room's number and swings into the room that may be called on; the schedule says who may use it. Answers "
        "come back the same way."
    )
    yield plain("Hatched: no door, nobody may call on this room. The way out opens outward only.")
    yield plain("What things in one room say to each other, the corridor never sees.")
    yield plain("Devices are counted as they are today.")


def _street(plan: Plan, line: Line, hung: Sequence[Door] | None) -> StreetLine:
    """A line with its speeds; what still works on one that stands by, once doors are planned."""
    speeds: list[Phrase] = [(figure_text(line.down), Text(" down")), (figure_text(line.up), Text(" up"))]
    if line.standby and hung is not None:
        needed = plan.figures.get("line.standby-needed")
        speeds.append(plain("all still goes out"))
        speeds += [(Text("needed: "), figure_text(needed))] if needed is not None else []
        inward = any(door.kind == "in" for door in hung)
        speeds += [plain("nobody comes in by it")] if inward and text(line.handoff) == SHARED else []
    return StreetLine(line.name, tuple(speeds), line.standby, line.slug)


def _room(plan: Plan, zone: Zone, pencil: Pencil, hung: Sequence[Door] | None) -> Room:
    devices = [device for device in plan.records(Device) if device.zone == zone.slug]
    counts = [Count(number(device.now.value), small(device.name), device.now.id) for device in devices]
    machines = [machine for machine in plan.records(Machine) if zone.slug in machine.zones]
    if machines:
        counts.append(Count(str(len(machines)), "machines" if len(machines) > 1 else "machine"))
    here = [visitors for visitors in plan.records(Visitors) if visitors.zone == zone.slug]
    counts += [Count(number(v.present.value), "visitors' devices at the peak", v.present.id) for v in here]
    total = int(zone.devices.value)
    size: Literal[1, 2, 3] = 1 if total <= STEPS[0] else 2 if total <= STEPS[1] else 3
    findings = pencil.about(zone.slug, *(machine.slug for machine in machines))
    lines = (plain("no way out but by leave"),) if zone.sealed else ()
    lines = (plain(_uses(plan, zone, hung)),) if hung is not None else lines
    holders = tuple(_holders(plan, zone))
    kept = holders[:MOST_HOLDERS]
    return Room(
        zone.slug, zone.name, int(zone.number.value), size, tuple(counts), lines, _technical(plan, zone), kept, findings
    )  # fmt: skip


def _uses(plan: Plan, zone: Zone, hung: Sequence[Door]) -> str:
    """By which doors whoever is in the room may call on others."""
    targets = {flow.target.zone for flow in traffic(plan).accepted if flow.source.zone == zone.slug}
    numbers = [
        door.number
        for door in hung
        if (door.room in targets and door.room) or (door.kind == "out" and OUTSIDE in targets)
    ]
    if not numbers:
        return "may use no door"
    *most, last = numbers
    return f"may use doors {', '.join(most)} and {last}" if most else f"may use door {last}"


def _holders(plan: Plan, zone: Zone) -> Iterable[Holder]:
    gateways = {subnet.gateway for subnet in plan.records(Subnet)}
    for address in plan.records(Address):
        if address.zone == zone.slug and address.address not in gateways:
            yield Holder(address.holder, Text(str(address.address), address.allocation.id))


def _technical(plan: Plan, zone: Zone) -> RoomTechnical | None:
    subnet = next((s for s in plan.records(Subnet) if s.slug == zone.slug), None)
    if subnet is None:
        return None
    kept = [held for held in plan.records(Range) if held.zone == zone.slug]
    static = [held for held in kept if held.purpose == SWITCHES]
    reserved = [held for held in kept if held.purpose not in (SWITCHES, LENT)]
    pool = next((p for p in plan.records(Pool) if p.slug == zone.slug), None)
    lent = _run([held for held in kept if held.purpose == LENT])
    leased = Text(lent, pool.size.id) if pool is not None else Text("")
    lease = figure_text(pool.lease) if pool is not None else Text("")
    return RoomTechnical(
        Text(str(subnet.network), subnet.allocation.id), Text(str(subnet.gateway)), Text(_run(static)),
        Text(_run(reserved)), leased, lease,
    )  # fmt: skip


def _run(kept: Sequence[Range]) -> str:
    """The run of addresses, those that adjoin as one; how many there are where they lie apart. Empty where there is none."""
    joined: list[tuple[IPv4Address, IPv4Address]] = []
    for held in sorted(kept, key=lambda held: held.first):
        adjoins = joined and int(held.first) == int(joined[-1][1]) + 1
        joined.append((joined.pop()[0] if adjoins else held.first, held.last))
    return f"{len(joined)} runs, see book" if len(joined) > 1 else "".join(f"{a} - {b}" for a, b in joined)


def section_sheet(plan: Plan) -> SectionSheet:
    """The server in section."""
    pencil = pencilled(plan)
    names = {service.slug: service.name for service in plan.records(Service)}
    floors = tuple(_floor(machine, names, pencil) for machine in plan.records(Machine))
    arrays = tuple(_joists(plan, array, pencil) for array in plan.records(Array))
    copies = tuple(_outbuilding(copy, pencil) for copy in plan.records(Copy))
    host = _host(plan, pencil)
    foundation = _foundation(plan, pencil)
    marked = [
        host.findings,
        *(f.findings for f in floors),
        *(a.findings for a in arrays),
        *(c.findings for c in copies),
    ]
    marked += [foundation.findings] if foundation is not None else []
    shown = {number for numbers in marked for number in numbers}
    marks = tuple(
        (label, amount(plan.figures[id_], GIB))
        for label, id_ in (
            ("floors", "host.memory.floors"),
            ("expected", "host.memory.expected"),
            ("ceilings", "host.memory.ceilings"),
        )
        if id_ in plan.figures
    )
    fitted = plan.figures.get("host.memory.bought")
    notes = (
        plain(
            "Machines are drawn with their memory to scale: floor, expected, ceiling. Cores are strokes, one each."
        ),
        plain("An array is not a copy."),
        *((TWO_SERVERS,) if plan.records(Hosts) else ()),
    )
    return SectionSheet(
        title_block(plan, "The server in section", "S-1"), host, floors,
        amount(fitted, GIB) if fitted is not None else Amount(0.0, "none"), marks, "GiB", arrays, copies, foundation,
        pencil.on(shown), notes,
    )  # fmt: skip


def bought(plan: Plan, slot: str) -> str:
    """The articles of a slot by their names."""
    picked = plan.purchase.chosen.options.get(slot)
    if picked is None:
        return "none"
    return (
        " and ".join(f"{count} × {row.get(NAME)}" if count > 1 else str(row.get(NAME)) for row, count in picked.parts)
        or "none"
    )


def _host(plan: Plan, pencil: Pencil) -> Host:
    chosen = plan.purchase.chosen
    line = tuple(
        part
        for slot, lead in (("processor", ""), ("memory", ", "))
        if slot in chosen.picked
        for part in (Text(lead), Text(bought(plan, slot), f"purchase.{slot}"))
        if part.text
    )
    return Host(bought(plan, "host"), line, pencil.about("host"))


def _floor(machine: Machine, names: Mapping[str, str], pencil: Pencil) -> Floor:
    named = [names[role] for role in machine.roles if names[role].lower() != machine.slug]
    roles = ", ".join(named)
    cores = Amount(float(machine.cores.value), text(machine.cores), machine.cores.id)
    floor, expected, ceiling = (amount(figure, GIB) for figure in (machine.floor, machine.expected, machine.ceiling))
    return Floor(machine.slug, machine.slug, roles, cores, floor, expected, ceiling, pencil.about(machine.slug))


def _joists(plan: Plan, array: Array, pencil: Pencil) -> Joists:
    usable, now, then = (amount(figure, TB) for figure in (array.usable, array.filled_now, array.filled_horizon))
    count = int(array.disks.value)
    when = f"in {text(plan.office.horizon)}"
    disks = (Text(bought(plan, array.slug), f"purchase.{array.slug}"),)
    findings = pencil.about(array.slug)
    return Joists(array.slug, array.name, array.level, disks, count, usable, now, then, when, findings)


def _outbuilding(copy: Copy, pencil: Pencil) -> Outbuilding:
    road = (figure_text(copy.window), Text(f" {copy.how}; everything back in "), figure_text(copy.restore))
    capacity = (
        figure_text(copy.capacity, f"room {text(copy.capacity)}"),
        Text(", needed "),
        figure_text(copy.needed),
    )
    place = "off site" if copy.off_site else "at hand"
    note = plain("out of the network's reach") if copy.off_line else ()
    return Outbuilding(copy.slug, copy.name, place, capacity, road, note, copy.off_site, pencil.about(copy.slug))


def _foundation(plan: Plan, pencil: Pencil) -> Foundation | None:
    lasts, stop = plan.figures.get("power.lasts"), plan.figures.get("power.stop")
    if lasts is None or stop is None:
        return None
    line = (
        Text("carries all for "),
        figure_text(lasts),
        Text(" at the end of its life; shutting down takes "),
        figure_text(stop),
    )
    return Foundation(bought(plan, "ups"), line, pencil.about("ups"))
