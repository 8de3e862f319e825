"""View models of the sheets of a rehearsal for tests: who tried whom, the drill, the busiest day; small, large and strained."""

from dataclasses import replace
from typing import Literal

from drawing_offices import LARGE_ROOMS, SMALL_ROOMS
from drawing_stress import hostile_block
from scantling.outputs.drawings.matrix_model import Whereabout
from scantling.outputs.drawings.model import PencilNote, RoomsSheet, TitleBlock, plain
from scantling.outputs.drawings.rehearsal_model import (
    Curve, DaysSheet, DrillSheet, FaultLine, Goal, Tried, TriesSheet,
)  # fmt: skip

NOTES = tuple(
    plain(words)
    for words in (
        "Columns try, rows are tried. One of each row of devices tried; as the office is today.",
        "What was rehearsed is the generated files, not the box that will be installed.",
    )
)
PENCIL = (
    PencilNote(
        3, "stop",
        plain('guest-3 (10.44.60.23) reached files by tcp 445, and no intent asks for it: let through by rule "oops".'),
        plain("Look at brief.yaml:14 traffic.allow.oops."), "rehearsal",
    ),
    PencilNote(14, "stop", plain("files (10.44.20.25) asked for names, but nobody answers there."), (), "rehearsal"),
)  # fmt: skip


def block(model: RoomsSheet, sheet: str, title: str) -> TitleBlock:
    """The title block of an office's sheet."""
    return replace(model.block, sheet=sheet, title=title, checked="as meant", proof="proved")


def tries(model: RoomsSheet, machines: int, *, wrong: bool = False, more: int = 0) -> TriesSheet:
    """Every third pair open; in red pencil one that was let through and one that was kept out, if something is wrong."""
    rooms = [Whereabout(room.slug, room.name, str(room.number)) for room in model.rooms]
    rooms += [Whereabout(f"more-{place}", f"More {place}", str(300 + place)) for place in range(more)]
    ends = [Whereabout("outside", "Outside"), Whereabout("firewall", "Firewall")]
    goals: list[Goal] = []
    for place, room in enumerate(rooms):
        goals.append(Goal(room.slug, room.name, room.number))
        names = [f"machine-{number}" for number in range(machines if place == 1 else 0)]
        goals += [Goal(f"{room.slug}/{name}", name, "", room.slug) for name in names]
    goals += [Goal(end.slug, end.name) for end in ends]
    tried = []
    for column, who in enumerate([*rooms, *ends]):
        for row, goal in enumerate(goals):
            if who.slug not in {goal.slug, goal.room} and (row, column) != (2, 2):
                through = 7 * row + 13 * column if (row + column) % 3 == 0 else 0
                tried.append(Tried(who.slug, goal.slug, through, 20 + 131 * column * row % 4000))
    if wrong:
        tried[1] = replace(tried[1], wrong=2, differs=(3,))
        tried[4] = replace(tried[4], wrong=1, differs=(3, 14))
        tried[7] = replace(tried[7], wrong=9)
    return TriesSheet(
        block(model, "T-1", "The rehearsal"), (*rooms, *ends), tuple(goals), tuple(tried),
        plain("10,851 tries with real packets: 1,163 let through, 9,688 kept out."), NOTES, PENCIL if wrong else (),
    )  # fmt: skip


FAULTS = (
    ("address server killed", "address server on directory", "no offer in any zone"),
    ("outside names dead", "name server outside", "names never asked before stay without an answer"),
    (
        "cable of the file server out",
        "port of files",
        "let through, and nobody answers; its hardware address is gone",
    ),
    ("rogue address server in guests", "guests", "a second server offers"),
    ("clock off by an hour", "clock on directory", "time differs by 3,600 s"),
)


def drill(model: RoomsSheet, count: int, *, wrong: bool = False) -> DrillSheet:
    """So many faults; one that was not noticed, one found elsewhere, one that did not heal, if something is wrong."""
    lines = []
    for place in range(count):
        what, put, sign = FAULTS[place % len(FAULTS)]
        lines.append(FaultLine(f"{what} ({place})" if place >= len(FAULTS) else what, put, put, sign, healed=True))
    if wrong:
        lines[0] = replace(lines[0], found="", sign="", differs=(3,))
        lines[2] = replace(lines[2], found="relay on the firewall", differs=(14,))
        lines[3] = replace(lines[3], healed=False, differs=(14,))
    told = plain(f"{count - 2 * wrong} of {count} faults found where they were put.")
    return DrillSheet(block(model, "T-2", "Fault drill"), tuple(lines), told, NOTES, PENCIL if wrong else ())


def day(lease: float, pool: int, held: tuple[tuple[float, int], ...], refused: int = 0) -> Curve:
    """One day's curve with its words."""
    most = max((amount for _, amount in held), default=0)
    return Curve(
        f"Lent for {lease:g} h", pool, held, f"{pool:,} addresses to lend", f"{most:,} held at most, at 19:15",
        f"none left: {refused:,} turned away" if refused else "",
        (plain("603 came; 327 were there at once at most."), plain(f"Turned away by the real server: {refused:,}.")),
    )  # fmt: skip


def _share(place: int, *, late: bool) -> float:
    """How much of a pool is held so many quarters of an hour after one."""
    return min(1.0, place / 4) * 0.7 + max(0.0, (place - 20) / 4) * (0.5 if late else 0.1)


def show_night(pool: int, scale: float, *, late: bool = False) -> tuple[tuple[float, int], ...]:
    """A house that fills twice; with a long lease the second comers find the first still held."""
    return tuple((13 + place / 4, min(pool, int(pool * _share(place, late=late) * scale))) for place in range(28))


def days(model: RoomsSheet, *curves: Curve) -> DaysSheet:
    """The busiest day with each lease time."""
    return DaysSheet(block(model, "T-3", "The busiest day"), curves, NOTES)


TRIES = {
    "small": tries(SMALL_ROOMS, 3),
    "large": tries(LARGE_ROOMS, 8),
    "wrong": tries(SMALL_ROOMS, 3, wrong=True),
    "large wrong": tries(LARGE_ROOMS, 8, wrong=True),
    "crowded": tries(LARGE_ROOMS, 16, wrong=True, more=5),
    "one room": replace(
        tries(SMALL_ROOMS, 0), places=(Whereabout("a", "A", "10"),), goals=(Goal("a", "A", "10"),), tries=()
    ),
}
DRILLS = {
    "small": drill(SMALL_ROOMS, 5),
    "large": drill(LARGE_ROOMS, 24),
    "wrong": drill(SMALL_ROOMS, 20, wrong=True),
    "crowded": drill(LARGE_ROOMS, 70, wrong=True),
    "one": drill(SMALL_ROOMS, 1),
}
FEW = tuple((float(hour), min(3, hour - 8)) for hour in range(8, 19))
DAYS = {
    "small": days(SMALL_ROOMS, day(2, 30, FEW), day(8, 30, FEW)),
    "large": days(
        LARGE_ROOMS, day(2, 3880, show_night(3880, 1)), day(8, 3880, show_night(3880, 1, late=True), refused=2150)
    ),
    "full all day": days(
        LARGE_ROOMS, day(2, 5, ((9.0, 5), (23.5, 5), (26.0, 5)), refused=70), day(8, 5, ((9.0, 5),))
    ),
    "falling": days(LARGE_ROOMS, day(1, 60, ((9.0, 58), (12.0, 59), (15.0, 2)))),
    "nothing": days(SMALL_ROOMS, day(2, 0, ()), day(8, 0, ((9.0, 0), (9.0, 0)))),
    "five": days(LARGE_ROOMS, *(day(lease, 90, show_night(90, 0.9)) for lease in range(1, 6))),
}
Kind = Literal["T-1", "T-2", "T-3"]


def hostile_tries(text: str) -> TriesSheet:
    """One text wherever a client's words may stand."""
    model = tries(SMALL_ROOMS, 3, wrong=True)
    return replace(
        model, block=hostile_block(model.block, text), places=tuple(replace(one, name=text) for one in model.places),
        goals=tuple(replace(one, name=text) for one in model.goals), totals=plain(text), notes=(plain(text),),
        pencil=hostile_pencil(text),
    )  # fmt: skip


def hostile_pencil(text: str) -> tuple[PencilNote, ...]:
    """Notes of nothing else."""
    return tuple(PencilNote(one.number, "stop", plain(text), plain(text), text) for one in PENCIL)


def hostile_drill(text: str) -> DrillSheet:
    """The same for the drill."""
    model = drill(SMALL_ROOMS, 5, wrong=True)
    lines = tuple(FaultLine(text, text, text, text, healed=False, differs=one.differs) for one in model.faults)
    return replace(
        model, block=hostile_block(model.block, text), faults=lines, totals=plain(text), notes=(plain(text),),
        pencil=hostile_pencil(text),
    )  # fmt: skip


def hostile_days(text: str) -> DaysSheet:
    """The same for the busiest day."""
    model = DAYS["large"]
    curves = tuple(
        replace(one, title=text, pool_label=text, held_label=text, full_label=text, lines=(plain(text),) * 3)
        for one in model.curves
    )
    return replace(model, block=hostile_block(model.block, text), curves=curves, notes=(plain(text),))
