"""Storage: how much, how fast, how safely, whatever arrays are bought; the arrays themselves are told by `arrays`.

Figures:
    storage.sets.<slug>.horizon    the body of data at the horizon
    storage.sets.<slug>.room       room it needs with snapshots and free space
    storage.sets.<slug>.full       months until that room is full
    storage.sets.<slug>.daily      how much of it changes in a day
    storage.system.needed          room for the machines' systems
    storage.fast.needed            room needed on the fast array
    storage.data.needed            room needed for all other data
    storage.operations.needed      disk operations a second in a busy hour
    storage.files.needed           disk operations a second of file work
    storage.boot.needed            room needed on the boot disks
    storage.writes.needed          data written to the fast array a day
Demands: storage.fast.usable storage.data.usable storage.operations.given storage.files.given storage.writes.allowed
    storage.fast.rebuild storage.bulk.rebuild storage.fast.loss storage.bulk.loss storage.fast.files
    storage.bulk.files storage.fast.lone-parity storage.bulk.lone-parity storage.boot.room storage.boot.disks
Findings: S-5.
Records: Dataset, Slot, Demand.
"""

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from scantling.brief import Given, Office, Section, asked, assumed, optional
from scantling.catalogue import Catalogue, CatalogueError, House, Practice
from scantling.catalogue.columns import (
    BOOT_TAKEN, CHANGE, COMPRESSION, ENDURANCE, FAILURES, MEDIUM, RATE, READ_ERRORS, SIZE, SPEED,
)  # fmt: skip
from scantling.figures import (
    Crowd, Dataset, Demand, Desk, Every, Figure, Finding, Hosts, Machine, Of, Option, Over, Service, Slot, Sum, Term,
    Weight, text, total,
)  # fmt: skip
from scantling.figures.spelled import shown
from scantling.figures.units import (
    COUNT, HOUR, IOPS, SHARE, TB, Count, PercentPerDay, PercentPerYear, Terabytes, TerabytesPerYear, Truth, Word,
)  # fmt: skip
from scantling.handbook.arrays import (
    DISKS, KEPT, LEFT_OUT, LEVEL, PENALTY, Level, array_capacity, array_loss, array_speed, files_lost, full_in_month, layouts, lone_parity,
    rebuild_time, room_for_data, room_needed, work_for_data, writes_allowed,
)  # fmt: skip
from scantling.handbook.sizing import changed_a_day, grown_data, negated, part_of, times, with_free_space
from scantling.handbook.twins import doubled, doubled_counts, on_each

FREE, SNAPSHOTS = Practice("storage.free", SHARE), Practice("storage.snapshots", SHARE)
WRITES, REBUILD_SHARE = Practice("storage.writes", SHARE), Practice("storage.rebuild-share", SHARE)
REBUILD_LIMIT, LOSS = Practice("storage.rebuild-limit", HOUR), Practice("storage.loss", SHARE)
FILE_WORK, SYSTEM_WRITES = Practice("storage.file-work", IOPS), Practice("storage.system-writes", SHARE)
BOOT_ROOM = Practice("storage.boot-room", TB)
FILES, LONE_PARITY = Practice("storage.files", SHARE), Practice("storage.lone-parity", TB)
NO_ARRAY = Option(
    "none", (),
    {DISKS: 0, LEVEL: Level.NONE, KEPT: 0, SIZE: 0.0, SPEED: 0.0, RATE: 1.0, FAILURES: 0.0, READ_ERRORS: 0.0, ENDURANCE: 0.0,
     MEDIUM: "none", LEFT_OUT: True},
)  # fmt: skip
BOOT_COUNTS: tuple[int, ...] = (1, 2)
FAST_LEVELS = (Level.MIRROR, Level.PAIRS, Level.SINGLE_PARITY, Level.DOUBLE_PARITY)


class Body(Section):
    """One body of data."""

    name: Given[Word] = asked("What is it?")
    kind: Given[Word] = asked("What kind of data is it?", among="data_kind")
    size: Given[Terabytes] = asked("How large is it today?")
    files: Given[Count] = asked("How many files is it, roughly?", most="1000000000")
    growth: Given[PercentPerYear] = assumed("How fast does it grow?", "storage.growth")
    adds: Given[TerabytesPerYear] = assumed("How much is added each year beside that?", "storage.adds")
    change: Given[PercentPerDay] | None = optional("How much of it changes in a day?")
    service: Given[Word] = asked("Which service keeps it?")
    copied: Given[Truth] = assumed("Is it to be backed up?", "storage.copied")
    later: Given[Truth] = assumed("May it come back after all else when the server is lost?", "storage.later")


class Data(Section):
    """What they keep."""

    key = "data"
    sets: dict[str, Body] = asked("What bodies of data are there?")
    boot_disks: Given[Count] = assumed("How many boot disks, alike?", "storage.boot-disks", least="1", most="2")


def _must_be_there(body: Body, services: Every[Service]) -> None:
    """A body of data names one of the brief's services. Raises CatalogueError with the line and the nearest."""
    word, names = text(body.service), [service.slug for service in services]
    if names and word not in names:
        near = get_close_matches(word, names, 1, 0.5)
        hint = f"; did you mean {near[0]}?" if near else ""
        place = getattr(body.service.how, "place", "")
        where = body.service.id.removeprefix("brief.")
        message = (
            f"{place}: {where}: the brief has no service called {shown(word)}{hint} There are: {', '.join(names)}"
        )
        raise CatalogueError(message)


def asks(
    data: Data, office: Office, catalogue: Catalogue, house: House, services: Every[Service], desk: Desk
) -> Iterator[Dataset | Finding]:
    """Each body of data now and at the horizon."""
    for at, slug, body in desk.each(data.sets, "sets"):
        _must_be_there(body, services)
        row = catalogue.pick("data_kind", body.kind)
        grown = grown_data.of(size=body.size, growth=body.growth, adds=body.adds, years=office.horizon)
        horizon = at.figure("horizon", grown, f"{text(body.name)} at the horizon")
        room = room_needed.of(size=horizon, snapshots=house[SNAPSHOTS], free=house[FREE])
        wanted = at.figure("room", room, f"Room for {text(body.name)}")
        full = full_in_month.of(size=body.size, growth=body.growth, adds=body.adds, room=wanted)
        months = at.figure("full", full, f"Months until {text(body.name)} fills its room")
        change = row.figure(CHANGE) if body.change is None else body.change
        daily = at.figure(
            "daily", changed_a_day.of(size=horizon, change=change), f"{text(body.name)} changed in a day"
        )
        yield Finding(
            "S-5", Weight.NOTE, negated.of(given=body.copied), f"Left out of the backup: {text(body.name)}.",
            "Ask the client once more, and write down who agreed that it is gone when the array is.", {"size": horizon}, slug,
        )  # fmt: skip
        yield Dataset(
            slug, text(body.name), row.slug, body.size, horizon, body.files, change, row.figure(COMPRESSION), text(body.service),
            wanted, daily, months, body.copied, body.later, row.slug == "database",
        )  # fmt: skip


def asks_arrays(
    house: House, machines: Every[Machine], bodies: Every[Dataset], crowds: Every[Crowd], desk: Desk
) -> Iterator[Demand]:
    """Room and work that the arrays must give; of two servers, those of each. Data kept elsewhere is not on them."""
    if not machines:
        return
    bodies = Every(body for body in bodies if any(body.service in machine.roles for machine in machines))
    system = desk.figure("system.needed", _system(house, machines), "Room for the machines' systems")
    quick = {b.slug: b.room for b in bodies if b.quick} | {"systems": system}
    fast = desk.figure("fast.needed", total(quick, TB), "Room needed on the fast array")
    rest = desk.figure(
        "data.needed", total({b.slug: b.room for b in bodies if not b.quick}, TB), "Room needed for other data"
    )
    usable, alone = {slot: _usable(slot) for slot in ("fast", "bulk")}, Of("bulk", LEFT_OUT)
    yield desk.demand("fast.usable", "Room on the fast array", usable["fast"], at_least=fast)
    room = room_for_data.over(bulk=usable["bulk"], fast=usable["fast"], system=fast, alone=alone)
    yield desk.demand("data.usable", "Room for other data", room, at_least=rest)

    work = desk.figure(
        "operations.needed", total({m.slug: m.operations for m in machines}, IOPS), "Disk operations, busy hour"
    )
    heads = total({c.slug: c.horizon for c in crowds}, COUNT)
    files = desk.figure("files.needed", times.of(count=heads, each=house[FILE_WORK]), "Disk operations of file work")
    speed = {slot: _speed(slot, house) for slot in ("fast", "bulk")}
    yield desk.demand("operations.given", "Operations of the fast array", speed["fast"], at_least=work)
    left = work_for_data.over(bulk=speed["bulk"], fast=speed["fast"], system=work, alone=alone)
    yield desk.demand("files.given", "Operations left for file work", left, at_least=files)

    daily = total({b.slug: b.daily for b in bodies if b.quick}, TB)
    written = desk.figure("writes.needed", _written(daily, system, house), "Data written to the fast array a day")
    disks, size, kept = Of("fast", DISKS), Of("fast", SIZE), Of("fast", KEPT)
    allowed = writes_allowed.over(disks=disks, parity=kept, size=size, endurance=Of("fast", ENDURANCE))
    yield desk.demand("writes.allowed", "Writes a day the fast array is rated for", allowed, at_least=written)


def _system(house: House, machines: Every[Machine]) -> Figure[float]:
    rooms = total({m.slug: m.disk for m in machines}, TB)
    return room_needed.of(size=rooms, snapshots=house[SNAPSHOTS], free=house[FREE])


def _written(daily: Figure[float], system: Figure[float], house: House) -> Figure[float]:
    own = part_of.of(amount=system, share=house[SYSTEM_WRITES])
    return total({"databases": daily, "systems": own}, TB)


def _arrays(catalogue: Catalogue) -> tuple[Option, ...]:
    """Every array that disks on offer make."""
    return tuple(layouts(catalogue.every("disk"), FAST_LEVELS))


def asks_disks(
    office: Office, catalogue: Catalogue, house: House, machines: Every[Machine], hosts: Every[Hosts], desk: Desk
) -> Iterator[Slot | Demand]:
    """The arrays on offer, and how safe each must be."""
    if not machines:
        return
    arrays = catalogue.once("arrays", _arrays)
    if hosts:
        arrays = catalogue.once("arrays, doubled", lambda rows: tuple(map(doubled, _arrays(rows))))
    yield Slot("fast", arrays, "Fast array")
    yield Slot("bulk", (NO_ARRAY, *arrays), "Bulk array")
    for slot in ("fast", "bulk"):
        rebuild = rebuild_time.over(size=Of(slot, SIZE), rate=Of(slot, RATE), share=house[REBUILD_SHARE])
        loss = array_loss.over(
            level=Of(slot, LEVEL),
            disks=Of(slot, DISKS),
            failures=Of(slot, FAILURES),
            rebuild=rebuild,
            years=office.horizon,
        )
        yield desk.demand(f"{slot}.rebuild", f"Rebuild time, {slot} array", rebuild, at_most=house[REBUILD_LIMIT])
        yield desk.demand(f"{slot}.loss", f"Chance of losing the {slot} array", loss, at_most=house[LOSS])
        files = files_lost.over(
            level=Of(slot, LEVEL), disks=Of(slot, DISKS), size=Of(slot, SIZE), failures=Of(slot, FAILURES),
            errors=Of(slot, READ_ERRORS), years=office.horizon,
        )  # fmt: skip
        alone = lone_parity.over(level=Of(slot, LEVEL), medium=Of(slot, MEDIUM), size=Of(slot, SIZE))
        label = f"Spinning disk kept by one parity disk, {slot} array"
        yield desk.demand(f"{slot}.lone-parity", label, alone, at_most=house[LONE_PARITY])
        yield desk.demand(f"{slot}.files", f"Chance of files from a copy, {slot} array", files, at_most=house[FILES])


def asks_start(  # what a server starts from
    data: Data, catalogue: Catalogue, house: House, machines: Every[Machine], hosts: Every[Hosts], desk: Desk
) -> Iterator[Slot | Demand]:
    """The boot disks: room, and how many alike."""
    if not machines:
        return
    counts = doubled_counts(BOOT_COUNTS) if hosts else BOOT_COUNTS
    yield Slot("boot", catalogue.options("boot_disk", counts=counts), "Boot disks")
    room = desk.figure(
        "boot.needed", with_free_space.of(size=house[BOOT_ROOM], free=house[FREE]), "Room needed on the boot disks"
    )
    yield desk.demand("boot.room", "Room on the boot disks", Of("boot", SIZE), at_least=room)
    taken: Term[Any] = Sum(BOOT_TAKEN)
    for both in hosts:
        taken = on_each.over(amount=taken, hosts=both.count)
    yield desk.demand("boot.disks", "Boot disks", taken, at_least=data.boot_disks)


def _usable(slot: str) -> Over[float]:
    return array_capacity.over(disks=Of(slot, DISKS), parity=Of(slot, KEPT), size=Of(slot, SIZE))


def _speed(slot: str, house: House) -> Over[float]:
    penalty = PENALTY.over(Of(slot, LEVEL))
    return array_speed.over(disks=Of(slot, DISKS), speed=Of(slot, SPEED), writes=house[WRITES], penalty=penalty)
