"""Backup: what is copied, how often, how large the copies grow, and how long a run and a restore take.

Figures:
    backup.sets.<slug>.size             of a body of data, what goes into the backup
    backup.sets.<slug>.daily            of it, changed in a day
    backup.sets.<slug>.repository       room its copies take over the retention
    backup.systems.repository           room the copies of the machines' systems take
    backup.repository.needed            room for all copies, with headroom
    backup.full.needed                  room for one whole copy, compressed
    backup.nightly                      data moved in a nightly run
    backup.looking                      time to look at every file
    backup.window                       length of the nightly window
    backup.lost                         the least loss that any service allows
    backup.interval                     time between runs
    backup.expected                     time of a run, as far as the network decides
    backup.worst                        work lost at worst
    backup.<copy>.rate                  rate of a copy, with the network's limit
    backup.<copy>.run                   time of a nightly run, or of a whole copy where it is carried
    backup.<copy>.seed                  time of the first whole run
    backup.sets.<slug>.job              time of its nightly job
    backup.night                        when each job of the night runs
    backup.<copy>.file                  time to bring back one file
    backup.<copy>.machine               time to bring back the largest machine
    backup.<copy>.server                time to bring back everything
    backup.fee                          yearly fee of the copy elsewhere
Demands: backup.near.room backup.near.kind backup.near.window backup.away.room backup.away.kind
Findings: B-1 B-2 B-4 B-5 B-6.
Records: Slot, Demand, Cost, Copy, Fee, Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from scantling.brief import Given, Office, Section, assumed
from scantling.catalogue import Catalogue, House, Practice
from scantling.catalogue.columns import (
    CHANGE, COMPRESSION, FEE_PER_TB, KIND, MONTHLY_FEE, NAME, OFF_LINE, OFF_SITE, PLACE, RATE, READ_RATE, ROOM,
)  # fmt: skip
from scantling.figures import (
    Candidate, Chosen, Copy, Cost, Dataset, Demand, Desk, Every, Facts, Fee, Figure, Finding, Line, Machine, Of, Option, Over, Page, Prose,
    Ruled, Service, Slot, Source, Table, Weight, cells, largest, smallest, text, total,
)  # fmt: skip
from scantling.figures.calendar import ClockSpan, Span
from scantling.figures.units import COUNT, HOUR, MBIT_PER_S, PER_SECOND, SHARE, TB, TRUTH, Count
from scantling.handbook.copies import (
    counted,
    counted_files, night_plan,
    over_years, payload, repository, restore_time, run_time, scan_time, slower, stored, transfer_time, vault_fee,
    window_length, worst_loss,
)  # fmt: skip
from scantling.handbook.sizing import added, beyond, both, changed_a_day, holds, same, with_headroom

GRANDFATHER = Source("three copies, two kinds of media, one off site: US-CERT, Data Backup Options, 2012")
HEADROOM, INTERVALS = Practice("backup.headroom", SHARE), Practice("backup.intervals", HOUR)
NETWORK, PACE = Practice("backup.network", MBIT_PER_S), Practice("backup.pace", PER_SECOND)
FIND, MOUNT = Practice("backup.find", HOUR), Practice("backup.mount", HOUR)
ONE_FILE = Practice("backup.one-file", TB)
FETCH, CARRY = Practice("backup.fetch", HOUR), Practice("backup.carry", HOUR)
Things = tuple[Every[Dataset], Every[Machine]]
CARRIED, NIGHTLY = ("disks", "tape"), "every night"


class Near(StrEnum):
    """Where the copy at hand is kept."""

    BOX = "box"
    SAME_ARRAY = "same array"
    NONE = "none"


class Away(StrEnum):
    """How the copy elsewhere is kept."""

    DISKS = "disks"
    TAPE = "tape"
    ONLINE = "online"
    NONE = "none"


NO_NEAR = Table(GRANDFATHER, "no copy at hand", TRUTH, {Near.BOX: False, Near.SAME_ARRAY: True, Near.NONE: True})
NO_AWAY = Table(
    GRANDFATHER, "no copy elsewhere", TRUTH,
    {Away.DISKS: False, Away.TAPE: False, Away.ONLINE: False, Away.NONE: True},
)  # fmt: skip
ON_ARRAY = Table(
    GRANDFATHER, "copy on the array it should save", TRUTH, {Near.BOX: False, Near.SAME_ARRAY: True, Near.NONE: False}
)


class Backup(Section):
    """How copies are kept."""

    key = "backup"
    default_whole = True
    near: Given[Near] = assumed("Where is the copy at hand kept?", "backup.near")
    away: Given[Away] = assumed("How is the copy elsewhere kept?", "backup.away")
    window: Given[ClockSpan] = assumed("When may copies run?", "backup.hours")
    daily: Given[Count] = assumed("How many daily copies are kept?", "backup.daily", most="366")
    weekly: Given[Count] = assumed("How many weekly copies are kept?", "backup.weekly", most="260")
    monthly: Given[Count] = assumed("How many monthly copies are kept?", "backup.monthly", most="240")


def asks(  # noqa: PLR0913 - a sheet reads what it shows
    backup: Backup, office: Office, catalogue: Catalogue, house: House, bodies: Every[Dataset], machines: Every[Machine],
    services: Every[Service], lines: Every[Line], desk: Desk,
) -> Iterator[Slot | Demand | Cost]:  # fmt: skip
    """Room and time the copies need, what they can be kept on, and the fees that go with it."""
    if not bodies and not services:
        return
    needed, full = _room(backup, catalogue, house, bodies, machines, desk)
    network = _way(house, machines, lines).to
    _night(backup, house, bodies, services, network, desk)
    if text(backup.near) == Near.BOX:
        yield Slot("near", _targets(catalogue, "near"), "Copy at hand")
        yield desk.fit(
            "near.kind",
            "The copy at hand is of the kind asked for",
            same.over(one=Of("near", KIND), other=backup.near),
        )
        yield desk.demand("near.room", "Room for copies at hand", Of("near", ROOM), at_least=needed)
        yield desk.demand(
            "near.window", "Time of a nightly run", _run("near", network, desk), at_most=desk.kept("window", HOUR)
        )
    if text(backup.away) != Away.NONE:
        yield Slot("away", _targets(catalogue, "away"), "Copy elsewhere")
        yield desk.fit(
            "away.kind",
            "The copy elsewhere is of the kind asked for",
            same.over(one=Of("away", KIND), other=backup.away),
        )
        yield desk.demand("away.room", "Room for the copy elsewhere", Of("away", ROOM), at_least=full)
        yield Cost(
            "backup.fees", "Fees of the copy elsewhere", over_years.over(yearly=_fee(full), years=office.horizon)
        )


def _targets(catalogue: Catalogue, place: str) -> tuple[Option, ...]:
    return tuple(Option(row.slug, ((row, 1),)) for row in catalogue.every("backup") if row.get(PLACE) == place)


def _fee(full: Figure[float]) -> Over[Decimal]:
    return vault_fee.over(base=Of("away", MONTHLY_FEE), each=Of("away", FEE_PER_TB), size=full)


def _room(
    backup: Backup, catalogue: Catalogue, house: House, bodies: Every[Dataset], machines: Every[Machine], desk: Desk
) -> tuple[Figure[float], Figure[float]]:
    """Room for everything kept, and for one whole copy."""
    kept = {"days": backup.daily, "weeks": backup.weekly, "months": backup.monthly}
    rooms, fulls = {}, {}
    for at, body in desk.every("sets", bodies):
        size = at.figure("size", counted.of(size=body.horizon, copied=body.copied), f"{body.name}, of it copied")
        daily = at.figure("daily", counted.of(size=body.daily, copied=body.copied), f"{body.name}, copied each night")
        room = repository.of(full=size, daily=daily, **kept, compression=body.compression)
        rooms[body.slug] = at.figure("repository", room, f"Room for the copies of {body.name}")
        fulls[body.slug] = stored.of(size=size, compression=body.compression)
    row = next(row for row in catalogue.every("data_kind") if row.slug == "system")
    systems, compression = total({m.slug: m.disk for m in machines}, TB), row.figure(COMPRESSION)
    changed = changed_a_day.of(size=systems, change=row.figure(CHANGE))
    room = repository.of(full=systems, daily=changed, **kept, compression=compression)
    rooms["systems"] = desk.figure("systems.repository", room, "Room for the copies of the systems")
    fulls["systems"] = stored.of(size=systems, compression=compression)
    every = with_headroom.of(amount=total(rooms, TB), headroom=house[HEADROOM])
    one = with_headroom.of(amount=total(fulls, TB), headroom=house[HEADROOM])
    needed = desk.figure("repository.needed", every, "Room for all copies")
    return needed, desk.figure("full.needed", one, "Room for one whole copy")


@dataclass(frozen=True)
class _Way:
    """What the network lets through: to a copy, and from it back to where the data lie."""

    to: Figure[float]
    back: Figure[float]


def _way(house: House, machines: Every[Machine], lines: Every[Line]) -> _Way:
    """The network inside; where no machine stands here all data come and go by the lines in use, which may be slower."""
    used = [line for line in lines if not line.standby]
    if machines or not used:
        return _Way(house[NETWORK], house[NETWORK])
    down, up = (
        total({one.slug: one.down for one in used}, MBIT_PER_S),
        total({one.slug: one.up for one in used}, MBIT_PER_S),
    )
    inside = house[NETWORK]
    return _Way(
        smallest({"network": inside, "lines": down}, MBIT_PER_S),
        smallest({"network": inside, "lines": up}, MBIT_PER_S),
    )


def _night(
    backup: Backup, house: House, bodies: Every[Dataset], services: Every[Service], network: Figure[float], desk: Desk
) -> None:
    """What a nightly run moves, how long its window is, and how often it must run."""
    daily = {b.slug: counted.of(size=b.daily, copied=b.copied) for b in bodies}
    desk.figure("nightly", total(daily, TB), "Data moved in a nightly run")
    files = {b.slug: counted_files.of(files=b.files, copied=b.copied) for b in bodies}
    looking = scan_time.of(files=total(files, COUNT), pace=house[PACE])
    desk.figure("looking", looking, "Time to look at every file")
    desk.figure("window", window_length.of(window=backup.window), "Length of the nightly window")
    moved = transfer_time.of(size=desk.kept("nightly", TB), rate=payload.of(line=network))
    expected = run_time.of(moving=moved, looking=desk.kept("looking", HOUR))
    run = desk.figure("expected", expected, "Time of a run, as far as the network decides")
    least = desk.figure(
        "lost", smallest({s.slug: s.lost for s in services}, HOUR), "The least loss that any service allows"
    )
    steps: list[Candidate[float]] = [
        Candidate(step, step, holds.of(have=least, need=worst_loss.of(interval=step, run=run)))
        for step in house.every(INTERVALS)
    ]
    because = "the longest time between runs that keeps the loss within what every service allows"
    desk.choose("interval", HOUR, steps, "most", because, "Time between runs", otherwise="least")


def _rate(slot: str, network: Figure[float]) -> Over[float]:
    return slower.over(one=Of(slot, RATE), other=payload.of(line=network))


def _run(slot: str, network: Figure[float], desk: Desk) -> Over[float]:
    moving = transfer_time.over(size=desk.kept("nightly", TB), rate=_rate(slot, network))
    return run_time.over(moving=moving, looking=desk.kept("looking", HOUR))


def design(  # noqa: PLR0913 - a sheet reads what it shows
    backup: Backup,
    house: House,
    chosen: Chosen,
    bodies: Every[Dataset],
    machines: Every[Machine],
    lines: Every[Line],
    desk: Desk,
) -> Iterator[Copy | Fee | Finding | Page]:
    """Each copy as bought, and whether anything meets what the client can bear."""
    if not bodies and not machines:
        return
    way = _way(house, machines, lines)
    slots = [slot for slot in ("near", "away") if chosen.has(slot)]
    # what is carried is filled from the copy at hand, by the network inside
    ways = [way, _Way(house[NETWORK], way.back)] if len(slots) > 1 else [way]
    things = bodies, machines
    copies = [_copy(slot, house, chosen, things, one, desk) for slot, one in zip(slots, ways, strict=False)]
    yield from copies
    if chosen.has("away"):
        fee = desk.figure("fee", chosen.of(_fee(desk.kept("full.needed", TB))), "Yearly fee of the copy elsewhere")
        yield Fee("away", "Copy elsewhere", fee)
    yield from _about(backup)
    if not copies:
        yield _page(backup, copies, {}, {}, desk)
        return
    run, least = desk.kept(f"{copies[0].slug}.run", HOUR), desk.kept("lost", HOUR)
    between = desk.kept("interval", HOUR) if copies[0].how == NIGHTLY else house[CARRY]
    worst = desk.figure("worst", worst_loss.of(interval=between, run=run), "Work lost at worst")
    yield Finding(
        "B-6", Weight.MEND, beyond.of(have=worst, limit=least), "At worst {worst} of work is lost; the client can bear {lost}.",
        "Run copies more often, look at fewer files in a run, or agree a longer time and write it down.", {"worst": worst, "lost": least},
    )  # fmt: skip
    if chosen.has("near"):
        run, window = chosen.met("backup.near.window"), desk.kept("window", HOUR)
        yield Finding(
            "B-5", Weight.MEND, beyond.of(have=run, limit=window), "A nightly run takes {run}; the window is {window}.",
            "Widen the window, copy less, or take a faster target.", {"run": run, "window": window}, "near",
        )  # fmt: skip
    night = _night_plan(backup, house, chosen, bodies, way.to, desk) if chosen.has("near") else {}
    yield _page(backup, copies, night, {body.slug: body.name for body in bodies}, desk)


def _night_plan(
    backup: Backup, house: House, chosen: Chosen, bodies: Every[Dataset], network: Figure[float], desk: Desk
) -> Mapping[str, Span]:
    """When each body of data is copied in the night: looked at and moved, one after the other."""
    rate = chosen.of(_rate("near", network))
    jobs = {}
    for at, body in desk.every("sets", [body for body in bodies if text(body.copied) == "yes"]):
        size, files = (
            counted.of(size=body.daily, copied=body.copied),
            counted_files.of(files=body.files, copied=body.copied),
        )
        moving, looking = transfer_time.of(size=size, rate=rate), scan_time.of(files=files, pace=house[PACE])
        jobs[body.slug] = at.figure("job", run_time.of(moving=moving, looking=looking), f"{body.name}, nightly job")
    plan = desk.figure("night", night_plan.of(window=backup.window, jobs=jobs), "When each job of the night runs")
    return cells(plan)


def _about(backup: Backup) -> Iterator[Finding]:
    """What is wrong with the copies whatever is bought."""
    near, away = NO_NEAR.of(backup.near), NO_AWAY.of(backup.away)
    yield Finding(
        "B-1", Weight.STOP, both.of(one=near, other=away), "There is no backup.",
        "Plan one. Nothing else in this plan brings back a deleted file, or anything at all after a fire.",
    )  # fmt: skip
    yield Finding(
        "B-2", Weight.STOP, ON_ARRAY.of(backup.near), "The copy at hand lies on the array that it should save.",
        "Put it on a box of its own. What takes the array takes that copy with it.", {}, "bulk",
    )  # fmt: skip
    yield Finding(
        "B-4", Weight.STOP, away, "No copy is kept off site and off line.",
        "Keep one that fire, thieves and a stolen password can't reach: disks carried home, tape, or a vault that can't be changed.",
    )  # fmt: skip


def _copy(slot: str, house: House, chosen: Chosen, things: Things, way: _Way, desk: Desk) -> Copy:
    (bodies, machines), at, row = things, desk.under(slot), chosen.options[slot].parts[0][0]
    rate = at.figure("rate", chosen.of(_rate(slot, way.to)), "Rate of the copy, with the network's limit")
    carried = str(row.get(KIND)) in CARRIED
    whole = transfer_time.of(size=desk.kept("full.needed", TB), rate=rate)
    run = whole if carried else chosen.of(_run(slot, way.to, desk))
    run = at.figure("run", run, "Time of a whole copy" if carried else "Time of a nightly run")
    everything = total(
        {b.slug: counted.of(size=b.horizon, copied=b.copied) for b in bodies} | {m.slug: m.disk for m in machines}, TB
    )
    at.figure("seed", transfer_time.of(size=everything, rate=rate), "Time of the first whole run")
    back = slower.of(one=chosen.of(Of(slot, READ_RATE)), other=payload.of(line=way.back))
    at.figure(
        "file", restore_time.of(start=house[FIND], size=house[ONE_FILE], rate=back), "Time to bring back one file"
    )
    if machines:
        largest_one = largest({m.slug: m.disk for m in machines}, TB)
        hours = restore_time.of(start=house[MOUNT], size=largest_one, rate=back)
        at.figure("machine", hours, "Time to bring back a machine")
    start = added.of(one=house[MOUNT], other=house[FETCH]) if carried else house[MOUNT]
    server = at.figure(
        "server", restore_time.of(start=start, size=everything, rate=back), "Time to bring back everything"
    )
    needed = desk.kept("repository.needed" if slot == "near" else "full.needed", TB)
    how = "each time it is carried" if carried else NIGHTLY
    off_site, off_line = bool(row.get(OFF_SITE)), bool(row.get(OFF_LINE))
    return Copy(slot, str(row.get(NAME)), off_site, off_line, chosen.of(Of(slot, ROOM)), needed, how, run, server)


def _counted(copies: list[Copy]) -> str:
    """How the rule of three copies is kept by what is there."""
    away = [copy for copy in copies if copy.off_site]
    held = "The rule: three of everything, the one in use included, on two kinds of media, one of them away and off line."
    if len(copies) > 1 and away:
        return f"{held} It is kept: the data in use, {' and '.join(copy.name for copy in copies)}."
    return f"{held} It is not kept: {len(copies)} of the two copies beside the data in use {'is' if copies else 'are'} planned."


def _page(
    backup: Backup, copies: list[Copy], night: Mapping[str, Span], names: Mapping[str, str], desk: Desk
) -> Page:
    kept = [("repository.needed", TB), ("full.needed", TB), ("nightly", TB), ("interval", HOUR), ("window", HOUR)]
    kept += [("worst", HOUR)] if copies else []
    facts = [(figure.label, figure) for figure in (desk.kept(id_, unit) for id_, unit in kept)]
    retention = [
        ("Daily copies kept", backup.daily),
        ("Weekly copies kept", backup.weekly),
        ("Monthly copies kept", backup.monthly),
    ]
    rows = [
        (c.name, "off site" if c.off_site else "at hand", c.capacity, c.needed, c.how, c.window, c.restore)
        for c in copies
    ]
    jobs = [(names[slug], str(span)) for slug, span in night.items()]
    return Page(
        "backup", "B", "Backup and restore",
        (
            Ruled("Copies", ("copy", "where", "room", "needed", "written", "a run takes", "everything back"), rows),
            Facts([*facts, *retention], "What is copied"),
            Ruled("The night; between nights the same jobs run again as often as is said above", ("job", "from - to"), jobs),
            Prose(f"{_counted(copies)} An array is never counted as a copy. A copy that was never brought back is a hope."),
        ), 1,
    )  # fmt: skip
