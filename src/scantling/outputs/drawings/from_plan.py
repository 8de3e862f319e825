"""From a plan to what its drawings are told: every number comes from a record, none is computed here."""

from collections.abc import Iterable, Mapping, Sequence
from ipaddress import IPv4Address
from dataclasses import dataclass
from typing import Any, Literal

from scantling.catalogue.columns import NAME
from scantling.figures import (
    Address, Array, Copy, Crowd, Device, Figure, Hosts, Line, Machine, Place, Pool, Range, Service, Subnet, Visitors, Zone,
)  # fmt: skip
from scantling.figures import Weight as FindingWeight
from scantling.figures.numbers import number, text
from scantling.figures.units import GIB, TB, convert
from scantling.outputs.drawings.model import (
    Amount, Count, Floor, Foundation, Holder, Host, Joists, Outbuilding, Paper, PencilNote, Room, RoomsSheet, RoomTechnical,
    SectionSheet, StreetLine, Text, TitleBlock, Weight, plain,
)  # fmt: skip
from scantling.plan.make import Plan

STEPS = (6, 20)
WEIGHTS: Mapping[FindingWeight, Weight] = {
    FindingWeight.STOP: "stop",
    FindingWeight.MEND: "mend",
    FindingWeight.NOTE: "note",
}
SHEETS: Mapping[str, type[Any]] = {"N-1": Zone, "N-2": Zone, "S-1": Machine, "P-1": Place}
"""Each sheet of the set, and the kind of record without which it is left out."""
MOST_HOLDERS = 14
SWITCHES, LENT, MOST_LETTERS = "switches and the like", "lent", 75


@dataclass(frozen=True)
class Pencil:
    """Findings numbered through the whole set, and which numbers belong to which thing."""

    notes: tuple[PencilNote, ...]
    by_about: Mapping[str, tuple[int, ...]]

    def about(self, *slugs: str) -> tuple[int, ...]:
        """Numbers of the notes about any of these."""
        return tuple(sorted({n for slug in slugs for n in self.by_about.get(slug, ())}))

    def on(self, numbers: Iterable[int]) -> tuple[PencilNote, ...]:
        """The notes of these numbers."""
        wanted = set(numbers)
        return tuple(note for note in self.notes if note.number in wanted)


def pencilled(plan: Plan) -> Pencil:
    """Every finding that nobody has declined, numbered by weight."""
    notes, by_about = [], dict[str, tuple[int, ...]]()
    for place, told in enumerate([t for t in plan.findings if not t.declined], 1):
        finding = told.finding
        notes.append(
            PencilNote(place, WEIGHTS[finding.weight], plain(told.says), plain(finding.remedy), finding.code)
        )
        if finding.about:
            by_about[finding.about] = (*by_about.get(finding.about, ()), place)
    return Pencil(tuple(notes), by_about)


def paper(plan: Plan) -> Paper:
    """A3, or its inch neighbour where the brief asks for letter."""
    return "tabloid" if text(plan.office.paper) == "letter" else "A3"


def planned_for(plan: Plan) -> str:
    """Who it is for, in one line."""
    roles = [f"{text(crowd.heads)} {_small(crowd.name)}" for crowd in plan.records(Crowd)]
    few = sum(map(len, roles)) <= MOST_LETTERS
    parts = roles if few else [f"{text(plan.figures['people.heads'])} people in {len(roles)} roles"]
    parts += [f"{text(visitors.present)} visitors' devices at the peak" for visitors in plan.records(Visitors)]
    return ", ".join(parts) or "nobody yet"


TWO_SERVERS = plain(
    "Two equal servers, drawn as one: memory and arrays are those of each, parts are counted for both. Either can start all machines."
)
NUMBERING = plain("Triangles bear the numbers of the findings in the book; those of other sheets are left out here.")


def drawn_sheets(plan: Plan) -> tuple[str, ...]:
    """Numbers of the sheets for which the plan has something to show, in the order of the set."""
    return tuple(sheet for sheet, kind in SHEETS.items() if plan.records(kind))


def title_block(plan: Plan, title: str, sheet: str) -> TitleBlock:
    """The title block of one sheet."""
    drawn = drawn_sheets(plan)
    of = f"{drawn.index(sheet) + 1} of {len(drawn)}"
    date = text(plan.office.as_of)
    return TitleBlock(
        text(plan.office.name), title, planned_for(plan), sheet, of, "A", date, "scantling", paper=paper(plan)
    )


def figure_text(figure: Figure[Any], words: str = "") -> Text:
    """A figure as it is printed, or in other words, with its id."""
    return Text(words or text(figure), figure.id)


def amount(figure: Figure[float], unit: Any) -> Amount:
    """A figure drawn to scale in a unit, printed in its own."""
    return Amount(float(convert(figure.value, figure.unit, unit)), text(figure), figure.id)


def rooms_sheet(plan: Plan) -> RoomsSheet:
    """The network by rooms, owner's and technician's layers together."""
    pencil = pencilled(plan)
    zones = sorted(plan.records(Zone), key=lambda zone: zone.number.value)
    rooms = tuple(_room(plan, zone, pencil) for zone in zones)
    street = tuple(_street(line) for line in plan.records(Line))
    outside = pencil.about(*(line.slug for line in plan.records(Line)), "line", "lines")
    shown = {number for room in rooms for number in room.findings} | set(outside) | set(pencil.about("address-plan"))
    notes = (
        plain("Doors: not yet planned. Until they are, take every room as closed to every other."),
        plain("Devices are counted as they are today; the address plan has room for more."),
    )
    technical = (
        plain(
            "Gateway of every zone: the firewall. Static addresses are set by hand, reserved ones by hardware address."
        ),
        plain("Leases are renewed at half their time (RFC 2131)."),
    )
    return RoomsSheet(
        title_block(plan, "Network by rooms", "N-1"), title_block(plan, "Network by rooms, technician's layer", "N-2"), "firewall",
        street, rooms,
        pencil.on(shown), (*notes, *((NUMBERING,) if shown else ())), technical,
        f"up to {STEPS[0]}, up to {STEPS[1]}, and more devices", outside,
    )  # fmt: skip


def _street(line: Line) -> StreetLine:
    speeds = ((figure_text(line.down), Text(" down")), (figure_text(line.up), Text(" up")))
    return StreetLine(line.name, speeds, line.standby)


def _room(plan: Plan, zone: Zone, pencil: Pencil) -> Room:
    devices = [device for device in plan.records(Device) if device.zone == zone.slug]
    counts = [Count(number(device.now.value), _small(device.name), device.now.id) for device in devices]
    machines = [machine for machine in plan.records(Machine) if zone.slug in machine.zones]
    if machines:
        counts.append(Count(str(len(machines)), "machines" if len(machines) > 1 else "machine"))
    here = [visitors for visitors in plan.records(Visitors) if visitors.zone == zone.slug]
    counts += [Count(number(v.present.value), "visitors' devices at the peak", v.present.id) for v in here]
    total = int(zone.devices.value)
    size: Literal[1, 2, 3] = 1 if total <= STEPS[0] else 2 if total <= STEPS[1] else 3
    findings = pencil.about(zone.slug, *(machine.slug for machine in machines))
    lines = (plain("no way out but by leave"),) if zone.sealed else ()
    holders = tuple(_holders(plan, zone))
    kept = holders[:MOST_HOLDERS]
    return Room(
        zone.slug, zone.name, int(zone.number.value), size, tuple(counts), lines, _technical(plan, zone), kept, findings
    )  # fmt: skip


def _small(name: str) -> str:
    """A name in the middle of a list: its first letter small, unless the word is written in capitals."""
    first = name.split(" ", maxsplit=1)[0]
    return name if first[1:] != first[1:].lower() or len(first) == 1 else name[:1].lower() + name[1:]


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
