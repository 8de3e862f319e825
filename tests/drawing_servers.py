"""Two invented servers as view models, the smallest and the largest, for the tests of the drawings."""

from drawing_offices import FELL, MILL, block
from scantling.outputs.drawings.model import (
    Amount,
    Floor,
    Foundation,
    Host,
    Joists,
    Outbuilding,
    PencilNote,
    SectionSheet,
    Text,
    plain,
)


def floor(slug: str, roles: str, numbers: tuple[int, int, int, int], findings: tuple[int, ...] = ()) -> Floor:
    """One machine: cores, then memory floor, expected and ceiling in GiB."""
    names = ("cores", "floor", "expected", "ceiling")
    cores, floor, expected, ceiling = (
        Amount(value, str(value), f"machines.{slug}.{name}") for value, name in zip(numbers, names, strict=True)
    )
    return Floor(slug, slug, roles, cores, floor, expected, ceiling, findings)


def joist(
    name: str, level: str, count: int, disks: str, filled: tuple[float, float, float], findings: tuple[int, ...] = ()
) -> Joists:
    """One array: disks, then terabytes usable, filled now and at the horizon."""
    usable, now, horizon = filled
    return Joists(
        name,
        f"{name} array",
        level,
        plain(disks),
        count,
        Amount(usable, f"{usable:g} TB", f"storage.arrays.{name}.usable"),
        Amount(now, f"{now:g}", f"storage.arrays.{name}.now"),
        Amount(horizon, f"{horizon:g}", f"storage.arrays.{name}.horizon"),
        "in 5 years",
        findings,
    )


SMALL_SECTION = SectionSheet(
    block=block("S-1", "3 of 3", "The server in section", *FELL),
    host=Host("host-1", (Text("one processor of 8 cores, tower, 64 GiB", "purchase.host"),)),
    floors=(
        floor("firewall-1", "firewall", (2, 2, 4, 4)),
        floor("directory-1", "directory, names and addresses", (2, 4, 6, 8)),
        floor("files-1", "files", (4, 6, 10, 16)),
        floor("copies-1", "backup", (2, 4, 6, 8), (1,)),
    ),
    memory_total=Amount(64, "64 GiB", "machines.memory.total"),
    memory_marks=(
        ("floors", Amount(16, "16", "machines.floors")),
        ("expected", Amount(26, "26", "machines.expected")),
        ("ceilings", Amount(36, "36", "machines.ceilings")),
    ),
    memory_unit="GiB",
    arrays=(
        joist("boot", "mirror", 2, "2 disks of 0.48 TB", (0.48, 0.1, 0.12)),
        joist("fast", "mirrored pairs", 4, "4 disks of 3.84 TB", (7.68, 2.9, 6.4)),
    ),
    copies=(
        Outbuilding(
            "near",
            "Backup box",
            "cupboard under the stairs",
            (Text("16 TB", "backup.near.capacity"), Text(", of which 9.2 TB filled in 5 years")),
            (Text("1 Gbit/s, "), Text("1.4 h", "backup.near.window"), Text(" a night")),
            plain("restores the server in 11 h"),
        ),
        Outbuilding(
            "away",
            "Two disks, turn about",
            "carried home by Ruth Fell",
            (Text("2 \u00d7 12 TB"),),
            plain("by hand, every Friday"),
            plain("off line"),
            off_site=True,
        ),
    ),
    foundation=Foundation(
        "Battery, 1500 VA",
        (
            Text("carries everything for "),
            Text("14 min", "power.runtime"),
            Text("; shutting down takes "),
            Text("6 min", "power.shutdown"),
        ),
    ),
    pencil=(
        PencilNote(
            1,
            "note",
            plain("The backup's machine and the firewall share one set of disks."),
            plain("Try a restore every quarter."),
            "B-6",
        ),
    ),
    notes=(
        plain(
            "Every machine can be given more memory up to its ceiling; all of them together may pass what is fitted."
        ),
    ),
)

LARGE_SECTION = SectionSheet(
    block=block("S-1", "3 of 3", "The server in section", *MILL),
    host=Host("host-1", (Text("two processors of 12 cores, full rack, "), Text("128 GiB", "machines.memory.total"))),
    floors=(
        floor("firewall-1", "firewall", (2, 4, 4, 8)),
        floor("directory-1", "directory, names and addresses", (2, 4, 6, 8)),
        floor("files-1", "files", (4, 8, 16, 24), (2,)),
        floor("tickets-1", "ticketing and membership", (4, 8, 12, 16)),
        floor("tickets-db-1", "ticketing database", (4, 12, 16, 32)),
        floor("print-1", "print", (2, 4, 4, 6)),
        floor("wireless-1", "wireless controller", (2, 4, 4, 6)),
        floor("monitor-1", "network monitor, content filter", (2, 4, 6, 8)),
        floor("recorder-1", "camera recorder", (4, 6, 8, 12)),
    ),
    memory_total=Amount(128, "128 GiB", "machines.memory.total"),
    memory_marks=(
        ("floors", Amount(54, "54", "machines.floors")),
        ("expected", Amount(76, "76", "machines.expected")),
        ("ceilings", Amount(120, "120", "machines.ceilings")),
    ),
    memory_unit="GiB",
    arrays=(
        joist("boot", "mirror", 2, "2 disks of 0.48 TB", (0.48, 0.1, 0.12)),
        joist("fast", "mirrored pairs", 4, "4 disks of 3.84 TB", (7.68, 2.9, 6.4)),
        joist("bulk", "double parity", 8, "8 disks of 12 TB", (72, 15.3, 79.4), (1, 3)),
    ),
    copies=(
        Outbuilding(
            "near",
            "Backup box",
            "plant room, first floor",
            (Text("64 TB", "backup.near.capacity"), Text(", of which 41 TB filled in 5 years")),
            (Text("10 Gbit/s, "), Text("5.2 h", "backup.near.window"), Text(" a night")),
            plain("restores the server in 31 h"),
            off_site=False,
            findings=(4,),
        ),
        Outbuilding(
            "away",
            "Tapes",
            "the county record office",
            (Text("36 TB"), Text(" a set, three sets")),
            plain("by hand, every Monday, 40 min"),
            plain("off line, never all in one place"),
            off_site=True,
        ),
    ),
    foundation=Foundation(
        "Battery, 3000 VA",
        (
            Text("carries everything for "),
            Text("11 min", "power.runtime"),
            Text("; shutting down takes "),
            Text("9 min", "power.shutdown"),
        ),
        (5,),
    ),
    pencil=(
        PencilNote(
            1,
            "stop",
            (
                Text("The bulk array is full in 54 months, before the horizon: "),
                Text("79.4 TB", "storage.arrays.bulk.horizon"),
                Text(" wanted of 72."),
            ),
            plain("Two more disks of 12 TB; the bays are there."),
            "S-3",
        ),
        PencilNote(2, "note", plain("files-1 is expected to use two thirds of its ceiling."), (), "M-6"),
        PencilNote(
            3,
            "mend",
            plain("Rebuilding one disk takes 31 h; until then the array bears one more loss only."),
            plain("Keep a spare disk in the cabinet."),
            "S-1",
        ),
        PencilNote(
            4,
            "mend",
            plain("The box stands in the same room as the server: one fire takes both."),
            plain("Put it in the store beyond the fire wall."),
            "B-4",
        ),
        PencilNote(
            5,
            "note",
            plain("The margin of the battery is 2 min."),
            plain("Replace its cells in the fourth year."),
            "E-1",
        ),
    ),
    notes=SMALL_SECTION.notes,
)
