"""Two invented offices as view models, the smallest and the largest, for the tests of the drawings."""

from scantling.outputs.drawings.model import (
    Count,
    Holder,
    PencilNote,
    Room,
    RoomsSheet,
    RoomTechnical,
    StreetLine,
    Text,
    TitleBlock,
    plain,
)


def technical(third: int, prefix: int, lease: str = "") -> RoomTechnical:
    """A room of the block 10.44.0.0/16."""
    start = f"10.44.{third}."
    leased = Text(f"{start}40 \u2013 {start}199", f"addresses.pools.{third}.range") if lease else Text("")
    return RoomTechnical(
        Text(f"{start}0/{prefix}", f"addresses.subnets.{third}.network"),
        Text(f"{start}1"),
        Text(f"{start}2 \u2013 {start}19"),
        Text(f"{start}20 \u2013 {start}39"),
        leased,
        Text(lease, f"addresses.pools.{third}.lease") if lease else Text(""),
    )


def block(sheet: str, place: str, title: str, client: str, planned: str) -> TitleBlock:
    """A title block."""
    return TitleBlock(client, title, planned, sheet, place, "A", "2026-11-25", "Scantling", "")


FELL = "Fold & Fell Surveyors", "5 people"
MILL = "The Millrace Arts Centre", "24 staff, 40 volunteers, 450 visitors"

SMALL_ROOMS = RoomsSheet(
    block=block("N-1", "1 of 3", "Network by rooms", *FELL),
    technical_block=block("N-2", "2 of 3", "Room schedule", *FELL),
    corridor="Firewall",
    street=(StreetLine("Fibre", ((Text("250 down, 50 up, Mbit/s", "line.fibre.down"),),)),),
    rooms=(
        Room(
            "management",
            "Management",
            10,
            1,
            (Count("1", "server"), Count("1", "switch")),
            (),
            technical(10, 27),
            (Holder("server", Text("10.44.10.2")),),
        ),
        Room(
            "servers",
            "Servers",
            20,
            1,
            (Count("4", "machines", "machines.count"),),
            (),
            technical(20, 26),
            (
                Holder("directory-1", Text("10.44.20.10")),
                Holder("files-1", Text("10.44.20.11")),
                Holder("copies-1", Text("10.44.20.12")),
            ),
        ),
        Room(
            "staff",
            "Staff",
            30,
            2,
            (
                Count("5", "people", "people.heads"),
                Count("5", "workstations"),
                Count("4", "field laptops"),
                Count("2", "plotter and printer"),
            ),
            (),
            technical(30, 25, "8 h"),
            (),
            (2,),
        ),
        Room(
            "guests",
            "Guests",
            60,
            1,
            (Count("6", "visitors' devices at most", "people.visitors.peak"),),
            (plain("the way out only"),),
            technical(60, 25, "1 h"),
        ),
    ),
    pencil=(
        PencilNote(
            1,
            "note",
            plain("One line to the outside and none standing by: when it fails, nobody works with the outside."),
            plain("A radio line standing by."),
            "L-1",
        ),
        PencilNote(
            2,
            "mend",
            (Text("The lease of "), Text("8 h", "addresses.pools.30.lease"), Text(" keeps addresses over night.")),
            plain("Shorten the lease to 4 h."),
            "A-1",
        ),
    ),
    notes=(
        plain("People and devices are those of the last year planned for."),
        plain("A figure underlined with dots leads to its working."),
    ),
    technical_notes=(plain("Every subnet is cut from 10.44.0.0/16."),),
    size_note="up to 10, up to 40, and more devices",
    outside_findings=(1,),
)

_LARGE = (
    (
        "management",
        "Management",
        10,
        1,
        (("1", "server"), ("4", "switches"), ("6", "access points"), ("1", "battery")),
        (),
    ),
    ("servers", "Servers", 20, 1, (("9", "machines"),), ()),
    (
        "staff",
        "Staff",
        30,
        3,
        (
            ("24", "people"),
            ("14", "office PCs"),
            ("6", "box office PCs"),
            ("8", "laptops"),
            ("3", "printers"),
            ("4", "ticket printers"),
        ),
        (3,),
    ),
    ("phones", "Phones", 40, 2, (("18", "desk telephones"),), ()),
    ("cameras", "Cameras", 50, 1, (("9", "cameras"), ("1", "recorder")), ()),
    ("guests", "Guests", 60, 3, (("338", "visitors' devices at the worst hour"),), (1,)),
    ("payments", "Payments", 70, 1, (("5", "payment terminals"),), ()),
    ("stage", "Stage", 80, 2, (("18", "stage control nodes"), ("2", "desks")), ()),
    ("control", "Building control", 85, 1, (("7", "heating controllers"), ("2", "lift telephones")), ()),
    ("workshop", "Workshop", 90, 1, (("3", "saws and routers"),), ()),
    ("other", "Other", 95, 1, (("2", "clocks"),), (2, 4)),
)
_REMARKS = {"stage": (plain("never touched during a show"),), "guests": (plain("two shows on Saturdays"),)}
_MACHINES = (
    "firewall-1",
    "directory-1",
    "files-1",
    "tickets-1",
    "tickets-db-1",
    "print-1",
    "wireless-1",
    "monitor-1",
    "filter-1",
)

LARGE_ROOMS = RoomsSheet(
    block=block("N-1", "1 of 3", "Network by rooms", *MILL),
    technical_block=block("N-2", "2 of 3", "Room schedule", *MILL),
    corridor="Firewall",
    street=(
        StreetLine("Fibre", ((Text("500 down, 100 up, Mbit/s", "line.fibre.down"),),)),
        StreetLine(
            "Radio line", (plain("60 down, 15 up, Mbit/s"), plain("payments and telephones only")), standby=True
        ),
    ),
    rooms=tuple(
        Room(
            slug,
            name,
            number,
            size,  # type: ignore[arg-type]
            tuple(
                Count(count, label, f"zones.{slug}.{label}" if place == 0 else "")
                for place, (count, label) in enumerate(counts)
            ),
            _REMARKS.get(slug, ()),
            technical(number, 24, "8 h" if slug in {"staff", "guests"} else ""),
            tuple(Holder(machine, Text(f"10.44.20.{10 + place}")) for place, machine in enumerate(_MACHINES))
            if slug == "servers"
            else (),
            findings,
        )
        for slug, name, number, size, counts, findings in _LARGE
    ),
    pencil=(
        PencilNote(
            1,
            "stop",
            (
                Text("Guests run out of addresses on a Saturday: "),
                Text("338", "people.visitors.peak"),
                Text(" wanted, "),
                Text("160", "addresses.pools.60.size"),
                Text(" to lend."),
            ),
            plain("Lend for 30 min, or give the guests a larger room."),
            "A-1",
        ),
        PencilNote(2, "note", plain("Two clocks have no maker's support left after 2027."), (), "Z-4"),
        PencilNote(
            3,
            "mend",
            plain("Ticket printers share a room with office PCs; one careless click can stop ticket sales."),
            plain("Give the box office a room of its own before handover."),
            "Z-2",
        ),
        PencilNote(
            4, "note", plain("Nobody is named who looks after these devices."), plain("Ask the house manager."), "M-7"
        ),
    ),
    notes=SMALL_ROOMS.notes,
    technical_notes=SMALL_ROOMS.technical_notes,
    size_note=SMALL_ROOMS.size_note,
)
