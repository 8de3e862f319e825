"""Machines: what each service needs, and which services share a virtual machine.

Figures:
    machines.users                      heads at the horizon, all roles
    machines.services.<slug>.users      heads that use the service
    machines.services.<slug>.cores      cores the service wants
    machines.services.<slug>.memory     memory the service is expected to use
    machines.services.<slug>.busy       cores it keeps busy, where its service time is known
    machines.<slug>.cores               virtual cores of a machine
    machines.<slug>.floor               memory without which it does not start
    machines.<slug>.expected            memory it is expected to use
    machines.<slug>.ceiling             memory it may grow to
    machines.<slug>.disk                room for its system and programs
    machines.<slug>.operations          disk operations in a busy hour
    machines.<slug>.stop                time to shut it down
    machines.<slug>.ports               host ports it wants for itself
Findings: M-1 M-2 M-3 M-7 M-8.
Records: Service, Machine, Page.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from scantling.brief import Given, Mapped, Section, Support, asked, assumed, optional
from scantling.catalogue import Article, Catalogue, House, Practice
from scantling.catalogue.columns import (
    CEILING, CORES_EACH, CORES_FIXED, CORES_LEAST, DISK, EXPECTED_FIXED, FLOOR_FIXED, MACHINE, MEMORY_EACH, NAME, OPERATIONS_EACH,
    OPERATIONS_FIXED, PORTS, REQUESTS, SERVICE_TIME, STOP, ZONE,
)  # fmt: skip
from scantling.figures import (
    BOXED, IN_CLOUD, Attribute, Crowd, Desk, Every, Figure, Finding, Machine, Page, Prose, Ruled, Service, Weight, largest,
    missing, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, GB, GIB, IOPS, MINUTE, RATIO, WORD, Count, Gibibytes, Hours, Word
from scantling.handbook.sharing import busy_cores, machine_cores
from scantling.handbook.sizing import larger, same, shorter, with_users

LEAST_CORES, FIREWALL_PORTS = Practice("machines.least-cores", COUNT), Practice("machines.firewall-ports", COUNT)
SHARED_WORD = Practice("machines.shared-outside", WORD)


TOGETHER = (
    "Services that keep company on one machine are listed together. A machine starts with its floor of memory, is expected to "
    "settle at the middle figure, and may grow to its ceiling."
)
NO_SERVER = (
    "No service runs on a machine of this office, so there is no server: nothing of one is bought, and the sheet of the server in "
    "section is left out of the set."
)


class Outside(StrEnum):
    """How the firewall's outside port is wired."""

    OWN = "own"
    SHARED = "shared"


class Stands(StrEnum):
    """Where a service runs: on a machine of the server, in a box of its own, or with others in the cloud."""

    GUEST = "guest"
    BOX = "box"
    CLOUD = "cloud"


ELSEWHERE: Mapping[str, str] = {Stands.BOX: BOXED, Stands.CLOUD: IN_CLOUD}


class Wanted(Section):
    """One service the office needs."""

    name: Given[Word] | None = optional("What do they call it?")
    profile: Given[Word] = asked("Which service profile fits?", among="profile")
    users: Given[Count] | None = optional("How many people use it, if not all?", most="100000")
    down: Given[Hours] = assumed("How long may it be down?", "machines.down", least="0.25 h", most="720 h")
    lost: Given[Hours] = assumed("How many hours of work may be lost?", "machines.lost", least="0.25 h", most="720 h")
    cores: Given[Count] | None = optional("How many cores does its maker ask for?", least="1", most="128")
    memory: Given[Gibibytes] | None = optional(
        "How much memory does its maker ask for?", least="0.5 GiB", most="2 TiB"
    )
    ports: Given[Count] | None = optional(
        "How many network ports of the server does it get for itself?", most="8", like="2"
    )
    outside: Given[Outside] = assumed(
        "Is its outside port its own, or shared with the server's management?", "machines.outside"
    )
    stands: Given[Stands] = assumed(
        "Does it run on the server (guest), in a box of its own, or with others in the cloud?", "machines.stands"
    )


class Services(Mapped[Wanted]):
    """What the server is for."""

    key = "services"


@dataclass(frozen=True)
class _Sized:
    """A service with its figures, before machines are made."""

    slug: str
    wanted: Wanted
    row: Article
    users: Figure[int]
    cores: Figure[float]
    memory: Figure[float]
    busy: Figure[float]


def asks(
    services: Services, catalogue: Catalogue, house: House, crowds: Every[Crowd], desk: Desk
) -> Iterator[Service | Machine | Finding | Page]:
    """Every service sized; services whose profiles name one machine share it."""
    everyone = desk.figure(
        "users", total({c.slug: c.horizon for c in crowds}, COUNT), "Heads at the horizon, all roles"
    )
    groups: dict[str, list[_Sized]] = {}
    told = []
    for at, slug, wanted in desk.each(services.items, "services"):
        if text(wanted.stands) in ELSEWHERE:
            told.append(_elsewhere(at, slug, wanted, catalogue, everyone))
        else:
            one = _sized(at, slug, wanted, catalogue, everyone)
            groups.setdefault(str(one.row.get(MACHINE)), []).append(one)
            told.append(_service(one))
    yield from told
    machines = []
    for slug, group in groups.items():
        machines.append(_machine(desk.under(slug), slug, group))
        yield from _port_findings(machines[-1], group, house)
        yield _one_core(machines[-1], house)
    yield from machines
    yield _page(told, machines)


def _sized(at: Desk, slug: str, wanted: Wanted, catalogue: Catalogue, everyone: Figure[int]) -> _Sized:
    row = catalogue.pick("profile", wanted.profile)
    users = at.figure("users", everyone if wanted.users is None else wanted.users, "People who use it")
    cores: Figure[Any] = with_users.of(fixed=row.figure(CORES_FIXED), each=row.figure(CORES_EACH), users=users)
    memory = with_users.of(fixed=row.figure(EXPECTED_FIXED), each=row.figure(MEMORY_EACH), users=users)
    busy = busy_cores.of(users=users, requests=row.figure(REQUESTS), service_time=row.figure(SERVICE_TIME))
    busy = at.figure("busy", busy, "Cores it keeps busy")
    cores = at.figure("cores", cores if wanted.cores is None else wanted.cores, "Cores it wants")
    memory = at.figure("memory", memory if wanted.memory is None else wanted.memory, "Memory it is expected to use")
    return _Sized(slug, wanted, row, users, cores, memory, busy)


def _elsewhere(at: Desk, slug: str, wanted: Wanted, catalogue: Catalogue, everyone: Figure[int]) -> Service:
    """A service that no machine of ours does: only its users and what the client can bear are known here."""
    row = catalogue.pick("profile", wanted.profile)
    users = at.figure("users", everyone if wanted.users is None else wanted.users, "People who use it")
    where, zone = ELSEWHERE[text(wanted.stands)], str(row.get(ZONE))
    return Service(slug, _called(wanted, row), row.slug, where, zone, users, wanted.down, wanted.lost)


def _called(wanted: Wanted, row: Article) -> str:
    return text(wanted.name) if wanted.name is not None else str(row.get(NAME)).capitalize()


def _service(one: _Sized) -> Service:
    row, wanted = one.row, one.wanted
    name = _called(wanted, row)
    machine, zone = str(row.get(MACHINE)), str(row.get(ZONE))
    return Service(one.slug, name, row.slug, machine, zone, one.users, wanted.down, wanted.lost)


def _all(group: list[_Sized], column: Attribute[Any]) -> dict[str, Figure[Any]]:
    return {one.slug: one.row.figure(column) for one in group}


def _machine(at: Desk, slug: str, group: list[_Sized]) -> Machine:
    """Services that share one machine: their wants added, the longest stop."""
    wanted = total({one.slug: one.cores for one in group}, RATIO)
    by_profile = [one for one in group if one.wanted.cores is None]  # a maker's own number needs no least
    least = largest(_all(by_profile, CORES_LEAST), COUNT)
    cores = at.figure("cores", machine_cores.of(wanted=wanted, least=least), "Virtual cores")
    operations = total(
        {one.slug: with_users.of(fixed=one.row.figure(OPERATIONS_FIXED), each=one.row.figure(OPERATIONS_EACH), users=one.users)
         for one in group}, IOPS,
    )  # fmt: skip
    expected = at.figure("expected", total({one.slug: one.memory for one in group}, GIB), "Memory expected")
    zones = tuple(dict.fromkeys(str(one.row.get(ZONE)) for one in group))
    return Machine(
        slug,
        tuple(one.slug for one in group),
        zones,
        cores,
        at.figure("floor", total(_all(group, FLOOR_FIXED), GIB), "Memory floor"),
        expected,
        at.figure("ceiling", larger.of(one=total(_all(group, CEILING), GIB), other=expected), "Memory ceiling"),
        at.figure("disk", total(_all(group, DISK), GB), "Room for its system"),
        at.figure("operations", operations, "Disk operations, busy hour"),
        at.figure("stop", largest(_all(group, STOP), MINUTE), "Time to shut it down"),
        total({one.slug: one.busy for one in group}, RATIO),
        at.figure("ports", total({one.slug: _ports(one) for one in group}, COUNT), "Host ports of its own"),
    )


def _one_core(machine: Machine, house: House) -> Finding:
    one = shorter.of(have=machine.cores, need=house[LEAST_CORES])
    return Finding(
        "M-1", Weight.MEND, one, f"The machine {machine.slug} has {{cores}} core.",
        "Give it two: with one, an update or a scan stops all else on it. Many systems make machines with one unless told.",
        {"cores": machine.cores}, machine.slug,
    )  # fmt: skip


def _port_findings(machine: Machine, group: list[_Sized], house: House) -> Iterator[Finding]:
    """A firewall as a guest needs an inside and an outside port, and the outside one to itself (M-2, M-3)."""
    ports = machine.ports
    for one in [one for one in group if one.row.slug == "firewall"]:
        few = shorter.of(have=ports, need=house[FIREWALL_PORTS])
        yield Finding(
            "M-2", Weight.STOP, few, "The firewall has {ports} network port of its own; {need} are needed.",
            "Give it two: one for the outside line, one for the inside. Both on one port leave nothing between them.",
            {"ports": ports, "need": house[FIREWALL_PORTS]}, machine.slug,
        )  # fmt: skip
        shared = same.of(one=one.wanted.outside, other=house[SHARED_WORD])
        yield Finding(
            "M-3", Weight.STOP, shared, "The firewall's outside port is shared with the server's own management.",
            "Give the outside line a port that nothing else uses, or the server itself stands in the street.",
            {"outside": one.wanted.outside}, machine.slug,
        )  # fmt: skip


def _ports(one: _Sized) -> Figure[int]:
    return one.row.figure(PORTS) if one.wanted.ports is None else one.wanted.ports


def design(services: Services, support: Support, desk: Desk) -> Iterator[Finding]:  # noqa: ARG001 - silent without services
    """Who looks after it."""
    yield Finding(
        "M-7", Weight.STOP, missing(support.who, "support.who"), "Nobody is named to look after the server.",
        "Name a person or a firm, and how soon they can be there. A server that nobody knows is the dearest kind.",
    )  # fmt: skip
    yield Finding(
        "M-8", Weight.NOTE, missing(support.on_site, "support.on_site"), "Nobody on site is named who knows where it stands.",
        "Ask for one person who may open the door, read the display and follow the start-up sheet by telephone.",
    )  # fmt: skip


def _page(services: list[Service], machines: list[Machine]) -> Page:
    names = {service.slug: service.name for service in services}
    rows = [
        (machine.slug, ", ".join(names[role] for role in machine.roles), machine.cores, machine.floor, machine.expected,
         machine.ceiling, machine.disk)
        for machine in machines
    ]  # fmt: skip
    heads = ("machine", "services", "cores", "floor", "expected", "ceiling", "system")
    hosted = (Prose(TOGETHER), Ruled("Machines", heads, rows)) if machines else (Prose(NO_SERVER),)
    return Page("machines", "S", "Machines and services", (*hosted, _tolerances(services)), 2)


def _tolerances(services: list[Service]) -> Ruled:
    """What the client can bear; where a service runs is told once one of them runs elsewhere."""
    caption, heads = "What each service may cost", ("service", "people", "may be down", "may lose")
    rows = [(service.name, service.users, service.down, service.lost) for service in services]
    if all(service.machine not in (BOXED, IN_CLOUD) for service in services):
        return Ruled(caption, heads, rows)
    where = [f"machine {s.machine}" if s.machine not in (BOXED, IN_CLOUD) else s.machine for s in services]
    return Ruled(caption, (*heads, "runs"), [(*row, place) for row, place in zip(rows, where, strict=True)])
