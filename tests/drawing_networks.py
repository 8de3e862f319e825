"""View models of the network sheets for tests: doors, the matrix, the address map, names and time; small, large and strained."""

from dataclasses import replace

from drawing_offices import LARGE_ROOMS, SMALL_ROOMS
from drawing_stress import hostile_block, hostile_rooms
from scantling.outputs.drawings.address_model import AddressMap, Run, Sixth, ZoneMap
from scantling.outputs.drawings.door_schedule import DoorsSheet
from scantling.outputs.drawings.matrix_model import Crossing, Matrix, Whereabout
from scantling.outputs.drawings.model import (
    Caller, Count, Door, Passage, PencilNote, Room, RoomsSheet, StreetLine, Text, TitleBlock, plain,
)  # fmt: skip
from scantling.outputs.drawings.paths_model import Asked, Paths, Station, Tap

PORTS = "tcp 80, 443, 3268\u20133269, 49152\u201365535; udp 53, 123; icmp 8"
PENCIL = PencilNote(
    3, "stop", plain("The rules let through what nobody asks for."), plain("Take the line away."), "proof"
)


def hours(place: int) -> str:
    """Every fourth line holds in some hours only."""
    return "mon-fri 08:00-18:00" if place % 4 == 3 else ""


def callers(count: int) -> tuple[Caller, ...]:
    """So many callers of one door, some in certain hours only."""
    wants = "files, print service, monitoring"
    return tuple(
        Caller(f"machine caller-{place}", plain(wants[: 9 + place * 7 % 24]), hours(place)) for place in range(count)
    )


def passages(count: int) -> tuple[Passage, ...]:
    """The same for technicians."""
    return tuple(
        Passage(
            f"machine caller-{place}", "machines in servers", "files, print service", hours(place), PORTS[: 8 + place * 9 % 50],
            f"6200{place % 10}\u201362{place % 10}99", "yes" if place == 2 else "no",
        )
        for place in range(count)
    )  # fmt: skip


def doors(model: RoomsSheet, each: int) -> tuple[Door, ...]:
    """A way out, a way in, a door into every other room; what has none."""
    rooms = [
        Door("room", str(room.number), room.slug, room.name, callers(each), passages(each))
        for room in model.rooms[1::2]
    ]
    return (
        Door("out", "1", "", "the way out", callers(each + 2), passages(each + 2)),
        Door("in", "2", "", "the way in", callers(1), passages(1)),
        *rooms,
        Door("corridor", "", "", "the firewall itself", callers(each), passages(each)),
        Door("never", "", "", "never", callers(2), passages(2)),
        Door("always", "", "", "what every room needs", (), passages(3)),
    )


def doored(model: RoomsSheet, each: int) -> RoomsSheet:
    """A plan of rooms with doors planned."""
    return replace(model, doors=doors(model, each), schedule="N-6", block=replace(model.block, proof="proved"))


def schedule(model: RoomsSheet, found: tuple[Door, ...]) -> DoorsSheet:
    """The technician's schedule on one sheet."""
    return DoorsSheet(replace(model.block, sheet="N-6"), found, (plain("One line a caller."),), (PENCIL,))


def matrix(model: RoomsSheet, count: int = 0) -> Matrix:
    """Who may reach whom: every third pair open, one with a difference, one forbidden altogether."""
    places = [Whereabout(room.slug, room.name, str(room.number)) for room in model.rooms]
    places += [Whereabout(f"more-{place}", f"More {place}", str(300 + place)) for place in range(count)]
    places += [Whereabout("outside", "Outside"), Whereabout("firewall", "Firewall")]
    words = ("directory", "files", "print service", "business application", "names", "time", "housekeeping")
    crossings = []
    for row, who in enumerate(places):
        for column, whom in enumerate(places):
            if row != column and (row + 2 * column) % 3 == 0:
                many = 1 + (row + column) % len(words)
                rules = f"6{row}001\u20136{row}0{column + 10}"
                crossings.append(
                    Crossing(who.slug, whom.slug, many, words[:many], rules, f"{many} rules", column % 2, (3,) if row == 1 else ())
                )  # fmt: skip
    crossings.append(Crossing("outside", "firewall", 0, (), "\u2013", "\u2013", 2))
    totals = (Text("19", "rules.open"), Text(" of "), Text("72", "rules.pairs"), Text(" pairs are open."))
    return Matrix(
        replace(model.block, sheet="N-3"), tuple(places), tuple(crossings), totals, (plain("Rows begin."),), (PENCIL,)
    )


def zone(number: int, prefix: int, issued: int = 6) -> ZoneMap:
    """A zone of 10.44.0.0/16 of any size: gateway, kept, issued, leased, spare."""
    size = 2 ** (32 - prefix)
    runs = [Run("issued", 1, 1), Run("kept", 2, min(19, size // 4))]
    if size >= 64:
        runs += [Run("issued", 20, 19 + issued), Run("kept", 20 + issued, 30), Run("leased", size // 2, size - 2)]
    used = {
        use: sum(run.last - run.first + 1 for run in runs if run.use == use) for use in ("issued", "kept", "leased")
    }
    starts = tuple(
        f"{number + place // 256}.{place % 256}" if size > 256 else str(place) for place in range(0, size, 32)
    )
    counts = tuple(Count(str(many), use) for use, many in used.items())
    spare = Count(str(size - 2 - sum(used.values())), "spare", f"addresses.zone-{number}.free")
    said = ", ".join(f".{20 + place} machine-{place}" for place in range(issued))
    told = plain(f"Issued: .1 gateway, {said}. Kept: .2\u2013.19 switches and the like.")
    sixth = Sixth(
        Text(f"2001:db8:44:{number}::/64"), issued + 1, plain("7 issued: ::1 gateway. Devices make their own.")
    )
    return ZoneMap(
        f"zone-{number}", f"Zone {number}", str(number), Text(f"10.44.{number}.0/{prefix}", "addresses.register"), size, 0, tuple(runs),
        starts, (*counts, spare), told, sixth, (3,) if number == 20 else (),
    )  # fmt: skip


def address_map(block: TitleBlock, prefixes: tuple[int, ...], issued: int = 6) -> AddressMap:
    """A map of so many zones."""
    zones = tuple(zone(10 * (place + 1), prefix, issued) for place, prefix in enumerate(prefixes))
    return AddressMap(replace(block, sheet="N-4"), zones, (plain("Bricks."),), (PENCIL,))


def _tap(room: Room, place: int, station: str) -> Tap:
    """A room that asks; the fourth looks nothing up, every second asks one clock alone."""
    names = () if place == 3 else (Asked(station, f"10.44.{room.number}.254"),)
    times = Asked("one", f"10.44.{room.number}.1"), Asked("two", "10.44.20.24")
    return Tap(room.slug, room.name, str(room.number), names, times[: 1 + (place + 1) % 2])


def paths(model: RoomsSheet, resolvers: int = 2) -> Paths:
    """Names and time: so many resolvers, a machine that holds the names, two clocks."""
    names = (
        [Station("firewall", "firewall", "looks names up", (), (("filter", "all names"),))] if resolvers > 1 else []
    )
    copy, outside = "its own copy of the office's names", ("203.0.113.53", "203.0.113.54")
    names += [
        Station("filter", "filter", "looks names up", outside, (("names", "the office's own names"),), copy),
        Station("names", "directory", "holds the office's names, ad.millrace.example"),
    ]
    clocks = (
        Station("one", "firewall", "tells the time", ("ntp.harbourline.example", "clock.college.example")),
        Station("two", "directory", "tells the time", ("ntp.harbourline.example", "clock.college.example")),
    )
    taps = tuple(_tap(room, place, names[place % resolvers].slug) for place, room in enumerate(model.rooms))
    down = (
        plain("Staff: The machine filter answers from its copy, for 21 days. " * 3),
        plain("Guests: The firewall answers."),
    )
    return Paths(
        replace(model.block, sheet="N-5"),
        tuple(names),
        clocks,
        taps,
        down,
        (plain("A pipe leads to whoever is asked."),),
    )


def hostile_doored(text: str) -> RoomsSheet:
    """The small office with one text wherever a client can type one, doors with it."""
    model = hostile_rooms(text)
    caller, passage = Caller(text, (Text(text),), text), Passage(text, text, text, text, text, text, text)
    found = [Door("room", text, room.slug, text, (caller,) * 3, (passage,) * 2) for room in model.rooms[::2]]
    found += [
        Door(kind, text, "", text, (caller,), (passage,)) for kind in ("out", "in", "corridor", "never", "always")
    ]
    return replace(model, doors=tuple(found), schedule=text)


def hostile_matrix(text: str) -> Matrix:
    """The matrix with one text in every place."""
    places = tuple(Whereabout(f"place-{place}", text, text) for place in range(5))
    ways = [("place-0", "place-1"), ("place-1", "place-2"), ("place-3", "place-0"), ("place-2", "place-4")]
    crossings = tuple(Crossing(who, whom, 3, (text, text), text, text, 1, (12,)) for who, whom in ways)
    block = hostile_block(replace(SMALL_ROOMS.block, sheet="N-3"), text)
    return Matrix(
        block, places, crossings, (Text(text, "a.figure"),), (plain(text),), (PencilNote(12, "stop", plain(text)),)
    )


def hostile_map(text: str) -> AddressMap:
    """The address map with one text in every place."""
    one = replace(
        zone(20, 25), name=text, number=text, network=Text(text, "a.figure"), starts=(text,) * 4, says=plain(text)
    )
    counts = tuple(replace(count, number=text) for count in one.counts)
    one = replace(one, counts=counts, sixth=Sixth(Text(text, "b.figure"), 3, plain(text)), findings=(12,))
    block = hostile_block(replace(SMALL_ROOMS.block, sheet="N-4"), text)
    return AddressMap(
        block, (one, replace(one, slug="other")), (plain(text),), (PencilNote(12, "mend", plain(text)),)
    )


def hostile_paths(text: str) -> Paths:
    """Names and time with one text in every place."""
    names = (
        Station("a", text, text, (text,) * 5, (("b", text),), text),
        Station("b", text, text),
    )
    taps = tuple(
        Tap(f"room-{place}", text, text, (Asked("a", text),), (Asked("c", text), Asked("d", text)))
        for place in range(4)
    )
    clocks = (Station("c", text, text, (text,)), Station("d", text, text, (text, text)))
    block = hostile_block(replace(SMALL_ROOMS.block, sheet="N-5"), text)
    return Paths(block, names, clocks, taps, (plain(text), plain(text)), (plain(text),))


_INCH = replace(LARGE_ROOMS.block, paper="tabloid")
_INCHES = replace(LARGE_ROOMS, block=_INCH, technical_block=replace(LARGE_ROOMS.technical_block, paper="tabloid"))
_MANY = tuple(
    PencilNote(number, "mend", plain("Something is not as it should be here. " * 3)) for number in range(1, 26)
)
_FOUND = replace(
    LARGE_ROOMS, pencil=_MANY, outside_findings=(1, 2, 3),
    rooms=tuple(replace(room, findings=tuple(range(1, 26))) for room in LARGE_ROOMS.rooms),
)  # fmt: skip
_FULL = replace(
    LARGE_ROOMS,
    rooms=tuple(
        replace(room, counts=tuple(Count(str(n), "kinds of things with a long name") for n in range(9))) for room in LARGE_ROOMS.rooms
    ),
)  # fmt: skip
_LINES = replace(
    SMALL_ROOMS, street=(*LARGE_ROOMS.street, StreetLine("Third", (plain("all still goes out"),), standby=True))
)

DOORED = {
    "doors small": doored(SMALL_ROOMS, 2), "doors large": doored(LARGE_ROOMS, 5), "doors many lines": doored(LARGE_ROOMS, 40),
    "doors one room": doored(replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[:1]), 1),
    "doors no rooms": doored(replace(SMALL_ROOMS, rooms=()), 1), "doors none": replace(SMALL_ROOMS, doors=()),
    "doors inch paper": doored(_INCHES, 5), "doors all findings": doored(_FOUND, 3), "doors full rooms": doored(_FULL, 6),
    "doors three lines": doored(_LINES, 2),
    "doors four digits": doored(replace(SMALL_ROOMS, rooms=tuple(replace(r, number=4000 + r.number) for r in SMALL_ROOMS.rooms)), 3),
}  # fmt: skip
MATRICES = {
    "small": matrix(SMALL_ROOMS), "large": matrix(LARGE_ROOMS), "inch paper": matrix(_INCHES), "many places": matrix(LARGE_ROOMS, 9),
    "no rooms": matrix(replace(SMALL_ROOMS, rooms=())),
}  # fmt: skip
_PREFIXES = (26, 26, 25, 26, 26, 22, 26, 26, 24, 27, 29)
MAPS = {
    "small": address_map(SMALL_ROOMS.block, (26, 26, 25)), "large": address_map(LARGE_ROOMS.block, _PREFIXES),
    "one": address_map(SMALL_ROOMS.block, (24,)), "wide": address_map(SMALL_ROOMS.block, (16, 26, 20)),
    "many": address_map(LARGE_ROOMS.block, (24,) * 26), "inch paper": address_map(_INCH, (26, 26, 25, 24, 23, 26, 27, 28)),
    "eight": address_map(LARGE_ROOMS.block, (26, 26, 23, 24, 26, 22, 26, 25), 11),
}  # fmt: skip
PATHS = {
    "small": paths(SMALL_ROOMS, 1), "large": paths(LARGE_ROOMS), "inch paper": paths(_INCHES),
    "one room": paths(replace(SMALL_ROOMS, rooms=SMALL_ROOMS.rooms[:1])), "no rooms": paths(replace(SMALL_ROOMS, rooms=())),
    "many rooms": paths(replace(LARGE_ROOMS, rooms=(*LARGE_ROOMS.rooms, *(replace(r, slug=f"{r.slug}-2") for r in LARGE_ROOMS.rooms[:9])))),
}  # fmt: skip
