"""Arrays: what was bought to hold the data, how full it gets, how likely it is to be lost.

Figures:
    arrays.<slug>.usable        room of an array
    arrays.<slug>.rebuild       time to rebuild one disk
    arrays.<slug>.lost          chance that the whole array is lost over the horizon
    arrays.<slug>.lost-high     the same at the failure rates seen in the field
    arrays.<slug>.files         chance that some files must come back from a copy
    arrays.<slug>.files-high    the same at the failure rates seen in the field
    arrays.<slug>.now           filled today
    arrays.<slug>.filled        filled at the horizon
    arrays.<slug>.free          share still free at the horizon
    arrays.boot.count           boot disks bought
    arrays.confirmed            whether the client confirmed the array levels
Findings: S-1 S-2 S-3 S-4 S-6 G-1.
Records: Volume, Array, Lasting, Page.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scantling.brief import LastingChoices, Office
from scantling.catalogue import House, Practice
from scantling.catalogue.columns import BOOT_TAKEN, FAILURES, RATE, READ_ERRORS, SIZE
from scantling.figures import (
    Array, Chosen, Dataset, Desk, Every, Figure, Finding, Hosts, Lasting, Machine, Of, Page, Prose, Ruled, Sum, Volume, Weight,
    missing, text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, HOUR, RATIO, SHARE, TB
from scantling.handbook.arrays import (
    DISKS, KEPT, LEVEL, Level, array_capacity, array_loss, files_lost, rebuild_time,
)  # fmt: skip
from scantling.handbook.sizing import beyond, free_share, negated, scaled, shorter
from scantling.handbook.twins import PAIR, whole_on_each

REBUILD_SHARE, REBUILD_LIMIT = Practice("storage.rebuild-share", SHARE), Practice("storage.rebuild-limit", HOUR)
LOSS, FREE = Practice("storage.loss", SHARE), Practice("storage.free", SHARE)
FILES = Practice("storage.files", SHARE)
FIELD, BOOT_ROOM, BOOT_DISKS = (
    Practice("storage.field-factor", RATIO),
    Practice("storage.boot-room", TB),
    Practice("storage.boot-least", COUNT),
)
FULL = "months until full (120: not within ten years)"
NAMES = {"fast": "Fast array", "bulk": "Bulk array"}


@dataclass(frozen=True)
class _Told:
    """An array with the figures of its page."""

    record: Array
    rebuild: Figure[float]
    lost: tuple[Figure[float], Figure[float]]
    files: tuple[Figure[float], Figure[float]]
    free: Figure[float]


def design(  # noqa: PLR0913 - a sheet reads what it shows
    office: Office,
    house: House,
    chosen: Chosen,
    machines: Every[Machine],
    hosts: Every[Hosts],
    bodies: Every[Dataset],
    desk: Desk,
) -> Iterator[Volume | Array | Finding | Page]:
    """Every array as bought, what lies on it, and what is wrong with it; of two servers, those of each."""
    if not chosen.has("fast"):
        return
    bodies = Every(body for body in bodies if any(body.service in machine.roles for machine in machines))
    without_bulk = chosen.options["bulk"].slug == "none"
    told = []
    for slug in ("fast",) if without_bulk else ("fast", "bulk"):
        here = [b for b in bodies if without_bulk or b.quick == (slug == "fast")]
        volumes = [Volume(b.slug, b.name, slug, b.size, b.horizon, b.room) for b in here]
        systems = [
            Volume(m.slug, f"system of {m.slug}", slug, m.disk, m.disk, m.disk) for m in machines if slug == "fast"
        ]
        yield from (*volumes, *systems)
        one = _told(slug, chosen, house, office, (*volumes, *systems), desk.under(slug))
        told.append(one)
        yield one.record
        yield from _findings(one, house)
    boot = _boot(chosen, house, hosts, desk.under("boot"))
    yield boot
    single = shorter.of(have=boot.disks, need=house[BOOT_DISKS])
    yield Finding(
        "S-2", Weight.MEND, single, "The server starts from {disks} boot disk; when it fails, everything stops.",
        "Buy two alike and mirror them.", {"disks": boot.disks}, "boot",
    )  # fmt: skip
    yield _page(told, boot, bodies)


def design_lasting(chosen: Chosen, lasting: LastingChoices, desk: Desk) -> Iterator[Lasting | Finding]:
    """Array levels are hard to change later: has the client said yes?"""
    if not chosen.has("fast"):
        return
    said = lasting.items.get("array-levels")
    not_given = missing(said.by if said is not None else None, "lasting.array-levels")
    confirmed = desk.figure("confirmed", negated.of(given=not_given), "Array levels confirmed by the client")
    for slot in [slot for slot in ("fast", "bulk") if chosen.options[slot].slug != "none"]:
        yield Lasting(slot, f"level and disks of the {slot} array", chosen.picked[slot], confirmed)
    yield Finding(
        "G-1", Weight.MEND, not_given, "Nobody has confirmed the array levels, which can't be changed without emptying the disks.",
        "Show the client the storage sheet, and write who confirmed it and when under lasting: array-levels.", {}, "fast",
    )  # fmt: skip


def _told(slug: str, chosen: Chosen, house: House, office: Office, volumes: Sequence[Volume], at: Desk) -> _Told:
    disks, kept = chosen.of(Of(slug, DISKS)), chosen.of(Of(slug, KEPT))
    size, level = chosen.of(Of(slug, SIZE)), chosen.of(Of(slug, LEVEL))
    capacity = array_capacity.of(disks=disks, parity=kept, size=size)
    usable = at.figure("usable", capacity, f"Room of the {slug} array")
    rate, failures = chosen.of(Of(slug, RATE)), chosen.of(Of(slug, FAILURES))
    rebuild = at.figure(
        "rebuild", rebuild_time.of(size=size, rate=rate, share=house[REBUILD_SHARE]), "Time to rebuild one disk"
    )
    years, errors = office.horizon, chosen.of(Of(slug, READ_ERRORS))
    field = scaled.of(amount=failures, factor=house[FIELD])
    lost, files = [], []
    for suffix, rate_ in (("", failures), ("-high", field)):
        gone = array_loss.of(level=level, disks=disks, failures=rate_, rebuild=rebuild, years=years)
        lost.append(
            at.figure(f"lost{suffix}", gone, f"Chance of losing the {slug} array{', field rates' if suffix else ''}")
        )
        some = files_lost.of(level=level, disks=disks, size=size, failures=rate_, errors=errors, years=years)
        files.append(
            at.figure(f"files{suffix}", some, f"Chance of files back from a copy{', field rates' if suffix else ''}")
        )
    now = at.figure("now", total({v.slug + " " + v.name: v.now for v in volumes}, TB), "Filled today")
    filled = at.figure(
        "filled", total({v.slug + " " + v.name: v.horizon for v in volumes}, TB), "Filled at the horizon"
    )
    free = at.figure("free", free_share.of(whole=usable, used=filled), "Share still free at the horizon")
    record = Array(slug, NAMES[slug], text(level), disks, usable, now, filled)
    return _Told(record, rebuild, (lost[0], lost[1]), (files[0], files[1]), free)


def _boot(chosen: Chosen, house: House, hosts: Every[Hosts], at: Desk) -> Array:
    many = chosen.of(Sum(BOOT_TAKEN))
    for both in hosts:
        many = whole_on_each.of(amount=many, hosts=both.count)
    count = at.figure("count", many, "Boot disks of each server" if hosts else "Boot disks bought")
    usable = at.figure("usable", chosen.of(Of("boot", SIZE)), "Room on the boot disks")
    room = house[BOOT_ROOM]
    alike = sum(n for _, n in chosen.parts("boot")) // (PAIR if hosts else 1)
    level = Level.MIRROR if alike > 1 else Level.SINGLE_DISK
    return Array("boot", "Boot disks", str(level), count, usable, room, room)


def _findings(one: _Told, house: House) -> Iterator[Finding]:
    slug, name = one.record.slug, one.record.name.lower()
    yield Finding(
        "S-1", Weight.MEND, beyond.of(have=one.rebuild, limit=house[REBUILD_LIMIT]),
        f"The {name} takes {{rebuild}} to rebuild after a disk fails; {{limit}} is the limit.",
        "Take smaller or faster disks, or a level that survives two failures.",
        {"rebuild": one.rebuild, "limit": house[REBUILD_LIMIT]}, slug,
    )  # fmt: skip
    yield Finding(
        "S-3", Weight.MEND, shorter.of(have=one.free, need=house[FREE]),
        f"At the horizon only {{free}} of the {name} is free; {{floor}} should stay free.",
        "Take larger disks, add some, or agree what is moved away and when.",
        {"free": one.free, "floor": house[FREE]}, slug,
    )  # fmt: skip
    yield Finding(
        "S-6", Weight.MEND, beyond.of(have=one.files[0], limit=house[FILES]),
        f"After a disk fails in the {name}, some files may have to come back from a copy: a chance of {{files}} over the horizon.",
        "Take a level that survives two failures, smaller disks, or disks with fewer read errors.",
        {"files": one.files[0]}, slug,
    )  # fmt: skip
    yield Finding(
        "S-4", Weight.MEND, beyond.of(have=one.lost[0], limit=house[LOSS]),
        f"The {name} is lost over the horizon with a chance of {{lost}}; {{limit}} is the limit.",
        "Take a level that survives more, disks that rebuild sooner, or tell the client and lean on the copies.",
        {"lost": one.lost[0], "limit": house[LOSS]}, slug,
    )  # fmt: skip


def _page(told: Sequence[_Told], boot: Array, bodies: Every[Dataset]) -> Page:
    arrays: list[tuple[Cell, ...]] = [
        (o.record.name, o.record.level, o.record.disks, o.record.usable, o.record.filled_now, o.record.filled_horizon, o.free)
        for o in told
    ]  # fmt: skip
    arrays.append((boot.name, boot.level, boot.disks, boot.usable, "", "", ""))
    safety = [(o.record.name, o.rebuild, *o.lost, *o.files) for o in told]
    data = [(b.name, b.size, b.horizon, b.room, b.full) for b in bodies]
    return Page(
        "storage", "S", "Storage",
        (
            Ruled("Arrays", ("array", "level", "disks", "room", "filled today", "at the horizon", "free"), arrays),
            Ruled("Bodies of data", ("data", "today", "at the horizon", "room set aside", FULL), data),
            Ruled("What can go wrong over the horizon",
                  ("array", "rebuild", "array lost", "lost, field rates", "files from a copy", "files, field rates"), safety),
            Prose("An array lost means everything on it comes back from a copy. Files from a copy means that a disk failed and one "
                  "sector of another could not be read. The second figure of each pair takes the failure rates that large fleets "
                  "report instead of the rated ones. An array is not a copy: it does not help against deletion, fire or theft."),
        ), 3,
    )  # fmt: skip
