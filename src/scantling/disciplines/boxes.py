"""Boxes: services that run on a device of their own instead of the server, such as a gateway with the firewall in it.

Figures:
    boxes.services.<slug>.ways  kinds of box that can do a service
    boxes.hours                 work on them
    boxes.<kind>.users          people who use what a box does
    boxes.<kind>.speed-needed   speed it must carry
    boxes.<kind>.ports-needed   network ports it must have
    boxes.<kind>.room-needed    room for the data that it keeps itself
    boxes.<kind>.down           the shortest time that one of its services may be down
    boxes.<kind>.fee            its yearly fee
Demands: boxes.gateway.speed boxes.gateway.ports boxes.recorder.speed boxes.recorder.room
Findings: F-1 F-2.
Records: Box, Device, Port, Slot, Demand, Cost, Task, Fee, Page.
"""

from collections.abc import Iterator, Mapping, Sequence

from scantling.brief import Office
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import KIND, PORTS, ROOM, THROUGHPUT, YEARLY_FEE
from scantling.figures import (
    BOXED, Box, Chosen, Cost, Dataset, Demand, Desk, Device, Every, Fee, Figure, Finding, Line, Of, Option, Page, Port, Prose,
    Ruled, Service, Slot, Task, Weight, count_of, largest, smallest, text, total,
)  # fmt: skip
from scantling.figures.pages import Block, Cell
from scantling.figures.units import COUNT, HOUR, MBIT_PER_S, TB, WORD
from scantling.handbook.copies import over_years
from scantling.handbook.sizing import beyond, negated, shorter, times

GATEWAY, RECORDER, CONTROLLER = "gateway", "recorder", "controller"
DOES = {
    GATEWAY: Practice("boxes.gateway", WORD), RECORDER: Practice("boxes.recorder", WORD),
    CONTROLLER: Practice("boxes.controller", WORD),
}  # fmt: skip
CAMERA_SPEED, INSIDE = Practice("boxes.camera", MBIT_PER_S), Practice("boxes.inside-ports", COUNT)
REPLACED, HOURS = Practice("boxes.replaced", HOUR), Practice("boxes.hours", HOUR)
CAMERA = "camera"
NONE = total((), COUNT)


def asks(house: House, services: Every[Service], desk: Desk) -> Iterator[Box | Device | Port | Finding]:
    """Services in boxes, those that one box does together; each box is a device with an address and a switch port."""
    groups: dict[str, list[Service]] = {}
    for service in [service for service in services if service.machine == BOXED]:
        ways = _ways(service, house)
        many = desk.under("services", service.slug).figure(
            "ways", count_of(ways), f"Boxes that can do {service.name}"
        )
        yield Finding(
            "F-1", Weight.STOP, negated.of(given=beyond.of(have=many, limit=NONE)),
            f"{service.name} can't stand in a box of its own: no kind of box does it.",
            "Let it run on the server, or leave it with others where there is an offer for it.", {"ways": many}, service.slug,
        )  # fmt: skip
        for kind in list(ways)[:1]:
            groups.setdefault(kind, []).append(service)
    for kind, group in groups.items():
        box = _box(kind, group, desk.under(kind))
        yield box
        one = count_of({box.slug: box.users})
        zone = group[0].zone
        yield Device(box.slug, box.name, "box", zone, one, one, wired=True, fixed=True)
        yield Port(box.slug, zone, one)


def _ways(service: Service, house: House) -> Mapping[str, Figure[str]]:
    """Which kinds of box do what the service does, as the house says."""
    rules = ((kind, rule) for kind, practice in DOES.items() for rule in house.every(practice))
    return {kind: rule for kind, rule in rules if text(rule) == service.profile}


def _box(kind: str, group: list[Service], at: Desk) -> Box:
    users = at.figure("users", largest({one.slug: one.users for one in group}, COUNT), "People who use what it does")
    at.figure("down", smallest({one.slug: one.down for one in group}, HOUR), "The shortest time it may be down")
    return Box(f"box-{kind}", f"{kind.capitalize()} box", kind, tuple(one.slug for one in group), users)


def asks_bought(  # noqa: PLR0913 - a trade's signature is what it reads
    office: Office,
    catalogue: Catalogue,
    house: House,
    boxes: Every[Box],
    lines: Every[Line],
    devices: Every[Device],
    bodies: Every[Dataset],
    desk: Desk,
) -> Iterator[Slot | Demand | Cost | Task]:
    """What each box must carry, and the boxes on offer with their makers' fees."""
    if boxes:
        hours = times.of(count=count_of({box.slug: box.users for box in boxes}), each=house[HOURS])
        yield Task("boxes", "Boxes set up", desk.figure("hours", hours, "Work on the boxes"))
    for box in boxes:
        at = desk.under(box.kind)
        offers = tuple(Option(row.slug, ((row, 1),)) for row in catalogue.every("box") if row.get(KIND) == box.kind)
        yield Slot(box.slug, offers, box.name)
        fees = over_years.over(yearly=Of(box.slug, YEARLY_FEE), years=office.horizon)
        yield Cost(f"boxes.{box.kind}.fees", f"Fees of the {box.kind} box", fees)
        if box.kind == GATEWAY:
            yield from _at_the_gate(box, lines, house, at)
        if box.kind == RECORDER:
            yield from _recorded(box, devices, house, at)
        kept = {body.slug: body.room for body in bodies if body.service in box.roles}
        if kept:
            room = at.figure("room-needed", total(kept, TB), "Room for the data that it keeps itself")
            yield at.demand("room", f"Room on the {box.kind} box", Of(box.slug, ROOM), at_least=room)


def _at_the_gate(box: Box, lines: Every[Line], house: House, at: Desk) -> Iterator[Demand]:
    """All lines in use at full speed, looked into; a port for each line and one inside."""
    ways = {
        "to the office": total({line.slug: line.down for line in lines if not line.standby}, MBIT_PER_S),
        "from the office": total({line.slug: line.up for line in lines if not line.standby}, MBIT_PER_S),
        **{line.slug: line.down for line in lines if line.standby},
    }
    speed = at.figure("speed-needed", largest(ways, MBIT_PER_S), "Speed it must look into: the lines in use together")
    yield at.demand("speed", "Speed with inspection of the gateway box", Of(box.slug, THROUGHPUT), at_least=speed)
    outside = count_of({line.slug: line.down for line in lines})
    ports = at.figure("ports-needed", total({"lines": outside, "inside": house[INSIDE]}, COUNT), "Ports it must have")
    yield at.demand("ports", "Ports of the gateway box", Of(box.slug, PORTS), at_least=ports)


def _recorded(box: Box, devices: Every[Device], house: House, at: Desk) -> Iterator[Demand]:
    """Every camera all the time."""
    cameras = total({device.slug: device.count for device in devices if device.kind == CAMERA}, COUNT)
    speed = at.figure(
        "speed-needed", times.of(count=cameras, each=house[CAMERA_SPEED]), "Speed that all cameras send"
    )
    yield at.demand("speed", "Speed that the recorder box records", Of(box.slug, THROUGHPUT), at_least=speed)


def design(
    house: House, chosen: Chosen, boxes: Every[Box], services: Every[Service], desk: Desk
) -> Iterator[Fee | Finding | Page]:
    """Each box as bought: its yearly fee, and how long the office waits for another one."""
    if not boxes:
        return
    names, rows = {service.slug: service.name for service in services}, []
    for box in boxes:
        at = desk.under(box.kind)
        fee = at.figure("fee", chosen.of(Of(box.slug, YEARLY_FEE)), f"{box.name}: its maker's yearly fee")
        yield Fee(box.slug, box.name, fee)
        down = at.kept("down", HOUR)
        yield Finding(
            "F-2", Weight.NOTE, shorter.of(have=down, need=house[REPLACED]),
            f"There is one {box.kind} box and no spare: another takes {{replaced}}, and the client can bear {{down}}.",
            "Keep a second one on the shelf with the settings in it, or agree the longer time and write it down.",
            {"replaced": house[REPLACED], "down": down}, box.slug,
        )  # fmt: skip
        does = ", ".join(names[role] for role in box.roles)
        rows.append((box.name, chosen.picked[box.slug], does, box.users, fee))
    yield Page("boxes", "S", "Boxes", _blocks(rows), 4)


def _blocks(rows: Sequence[tuple[Cell, ...]]) -> tuple[Block, ...]:
    return (
        Prose("Each stands beside the server, or instead of it: a device of its own with its own power, address and maker. Services "
              "that one kind of box does together share one. Keep a copy of its settings with the handover book."),
        Ruled("Boxes", ("box", "article", "does", "people", "fee a year"), rows),
    )  # fmt: skip
