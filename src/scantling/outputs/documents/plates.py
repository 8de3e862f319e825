"""What each drawing shows, in words, for those who can't see it: bound into the book beside the picture."""

from collections.abc import Iterator, Mapping

from scantling.figures import Array, Asking, Copy, Figure, Machine, Place, Server, Subnet, Zone
from scantling.figures.numbers import text
from scantling.outputs.documents.volume import Plate
from scantling.outputs.drawings.from_traffic import doors, traffic
from scantling.outputs.drawings.sheet_set import schedule_numbers, title
from scantling.plan.make import Plan


def plates(plan: Plan) -> Mapping[str, Plate]:
    """Title and words of every drawing, by sheet number."""
    return {**dict(_rooms(plan)), **dict(_network(plan)), **dict(_server(plan))}


def _rooms(plan: Plan) -> Iterator[tuple[str, Plate]]:
    rooms = ", ".join(zone.name for zone in plan.records(Zone))
    yield (
        "N-1",
        Plate(
            title(plan, "N-1"),
            f"Floor plan: each network zone is a room on a corridor, which is the firewall. Rooms: {rooms}. "
            f"{_doors(plan)} Their devices stand in the table of zones.",
        ),
    )
    yield (
        "N-2",
        Plate(
            title(plan, "N-2"),
            f"The same rooms with number, subnet, gateway and ranges, as in the address register: {rooms}.",
        ),
    )


def _doors(plan: Plan) -> str:
    """Which rooms have a door, and which none."""
    hung = doors(plan)
    if hung is None:
        return "Doors: not yet planned."
    into = {door.room: f"{door.number} into {door.name}" for door in hung if door.kind == "room"}
    without = [zone.name for zone in plan.records(Zone) if zone.slug not in into]
    street = [f"{door.number} is {door.name}" for door in hung if door.kind in {"out", "in"}]
    told = f"Doors: {', '.join([*street, *into.values()]) or 'none'}."
    closed = f" Without a door, hatched: {', '.join(without)}." if without else ""
    return f"{told}{closed} Who may use each stands under the plan, and in the sheet of who may reach whom."


def _network(plan: Plan) -> Iterator[tuple[str, Plate]]:
    told = traffic(plan)
    if told.flows:
        pairs = dict.fromkeys((flow.source.zone, flow.target.zone) for flow in told.accepted)
        order = sorted(pairs, key=lambda pair: (told.place(pair[0]), told.place(pair[1])))
        ways = [f"{told.name(who)} to {told.name(whom)}" for who, whom in order]
        yield (
            "N-3",
            Plate(
                title(plan, "N-3"),
                f"Matrix, rows begin and columns are reached. Beside what the network itself needs these ways are open: "
                f"{', '.join(ways) or 'none'}. All others are hatched.",
            ),
        )
    if plan.records(Subnet):
        sizes = ", ".join(_size(plan, zone) for zone in plan.records(Zone))
        yield (
            "N-4",
            Plate(
                title(plan, "N-4"),
                f"Each zone's addresses as bricks: issued, kept, leased, spare. {sizes}. The same addresses stand in the register.",
            ),
        )
    if plan.records(Asking):
        yield "N-5", Plate(title(plan, "N-5"), f"House with pipes from the street to every room. {_answers(plan)}")
    for number in schedule_numbers(plan) if told.flows else ():
        yield (
            number,
            Plate(
                title(plan, number),
                "Every caller with whom it calls on, what for, hours, protocols, ports and rules, as in the sheet of who may reach whom.",
            ),
        )


def _size(plan: Plan, zone: Zone) -> str:
    size: Figure[int] | None = plan.figures.get(f"addresses.{zone.slug}.size")
    free: Figure[int] | None = plan.figures.get(f"addresses.{zone.slug}.free")
    if size is None or free is None:
        return zone.name
    return f"{zone.name} {text(free)} of {text(size)} spare"


def _answers(plan: Plan) -> str:
    """Which program answers where."""
    does = {"names": "the office's names", "lookups": "lookups", "time": "the time"}
    told = [f"{one.holder} for {does[one.does]}" for one in plan.records(Server) if one.does in does]
    return f"Who answers: {', '.join(told)}. Whom each zone asks stands in the sheet of names and time."


def _server(plan: Plan) -> Iterator[tuple[str, Plate]]:
    floors = ", ".join(machine.slug for machine in plan.records(Machine))
    arrays = ", ".join(f"{array.name} of {text(array.disks)} disks" for array in plan.records(Array))
    copies = ", ".join(copy.name for copy in plan.records(Copy)) or "none"
    stack = ", ".join(place.name for place in reversed(plan.records(Place)) if place.lowest is not None) or "nothing"
    yield (
        "S-1",
        Plate(
            title(plan, "S-1"),
            f"Section through the server. Machines as floors: {floors}. Arrays below: {arrays}. Copies beside it: {copies}. "
            "The same numbers stand in the tables of server, storage and backup.",
        ),
    )
    yield (
        "P-1",
        Plate(
            title(plan, "P-1"),
            f"What stands where the server stands, from above: {stack}. The same units, heights and weights stand in the register of "
            "places.",
        ),
    )
