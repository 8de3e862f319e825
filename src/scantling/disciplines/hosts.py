"""Hosts: one server or two smaller ones, which machine runs where, and what the office does when one of two is lost.

Figures:
    hosts.places        which server each machine runs on
    hosts.cores         virtual cores on the server that carries more
    hosts.busy          cores kept busy there in a busy hour
    hosts.expected      memory that its machines are expected to use
    hosts.hours         work on the second server
    hosts.ready         time until all machines run on the one that is left
    hosts.down          the shortest time that a service may be down
    hosts.lost          the least work that a service may lose
    hosts.together      virtual cores of all machines
    hosts.real          real cores of one server
    hosts.alone         virtual cores to a real one while one server is out
Findings: F-8 F-9 F-10.
Records: Hosts, Port, Task, Page.
"""

from collections.abc import Iterator, Sequence

from scantling.brief import Given, Section, Support, assumed
from scantling.catalogue import House, Practice
from scantling.catalogue.columns import CORES
from scantling.figures import (
    Chosen, Desk, Every, Facts, Figure, Finding, Hosts, Machine, Page, Port, Prose, Ruled, Service, Sum, Task, Weight, cell,
    cells, smallest, text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, HOUR, RATIO, Count
from scantling.handbook.sizing import added, beyond
from scantling.handbook.twins import crowding, most_cores, on_busiest, on_each, placed

SERVER_PORTS, OWN_PORTS = Practice("zones.server-ports", COUNT), Practice("host.own-ports", COUNT)
START, WRITTEN = Practice("hosts.start-other", HOUR), Practice("hosts.written", HOUR)
ALONE, HOURS = Practice("hosts.sharing-alone", RATIO), Practice("hosts.hours", HOUR)
TWO, SERVERS, MANAGEMENT = "2", "servers", "management"


class Build(Section):
    """How the office's server is built."""

    key = "build"
    default_whole = True
    hosts: Given[Count] = assumed("One server, or two smaller ones?", "build.hosts", least="1", most="2")


def asks(build: Build, house: House, machines: Every[Machine], desk: Desk) -> Iterator[Hosts | Port | Task]:
    """Two hosts: the machines shared out by the memory they are expected to use; silent where there is one."""
    if text(build.hosts) != TWO or not machines:
        return
    wanted = {machine.slug: machine.expected for machine in machines}
    places = placed.of(amounts=wanted, hosts=build.hosts)
    places = desk.figure("places", places, "Which server each machine runs on")
    on = {machine.slug: cell(places, machine.slug, COUNT) for machine in machines}
    cores = most_cores.of(cores={machine.slug: machine.cores for machine in machines}, places=on)
    busy = on_busiest.of(amounts={machine.slug: machine.busy for machine in machines}, places=on)
    yield Hosts(
        "both", build.hosts,
        desk.figure("cores", cores, "Virtual cores on the server that carries more"),
        desk.figure("busy", busy, "Cores kept busy there in a busy hour"),
        desk.figure("expected", on_busiest.of(amounts=wanted, places=on), "Memory that its machines are expected to use"),
        cells(places),
    )  # fmt: skip
    yield Task("second-server", "Second server", desk.figure("hours", house[HOURS], "Work on the second server"))
    yield Port("second-server", SERVERS, house[SERVER_PORTS])
    yield Port("second-server-management", MANAGEMENT, house[OWN_PORTS])


def asks_loss(
    support: Support, house: House, hosts: Every[Hosts], services: Every[Service], desk: Desk
) -> Iterator[Finding]:
    """One of two lost: the other starts everything from what was written to it last."""
    if not hosts:
        return
    ready = desk.figure(
        "ready", added.of(one=support.reach, other=house[START]), "Until all runs on the one that is left"
    )
    here = [service for service in services if any(service.machine in each.places for each in hosts)]
    down = desk.figure(
        "down", smallest({s.slug: s.down for s in here}, HOUR), "The shortest time a service may be down"
    )
    lost = desk.figure(
        "lost", smallest({s.slug: s.lost for s in here}, HOUR), "The least work that a service may lose"
    )
    yield Finding(
        "F-8", Weight.MEND, beyond.of(have=ready, limit=down),
        "When one of the two servers is lost, all runs again on the other after {ready}; the client can bear {down}.",
        "Have somebody at hand who may start the machines, or agree the longer time and write it down.",
        {"ready": ready, "down": down}, "host",
    )  # fmt: skip
    yield Finding(
        "F-9", Weight.MEND, beyond.of(have=house[WRITTEN], limit=lost),
        "The server that is left starts from the state of the last night: up to {written} of work is gone; the client can bear {lost}.",
        "Write each server to the other more often, or agree the longer time and write it down.",
        {"written": house[WRITTEN], "lost": lost}, "host",
    )  # fmt: skip


def design(
    house: House, chosen: Chosen, hosts: Every[Hosts], machines: Every[Machine], desk: Desk
) -> Iterator[Finding | Page]:
    """How crowded the one that is left will be, and the page of the two."""
    for both in hosts:
        together = total({machine.slug: machine.cores for machine in machines}, COUNT)
        together = desk.figure("together", together, "Virtual cores of all machines")
        real = on_each.of(amount=chosen.of(Sum(CORES)), hosts=both.count)
        real = desk.figure("real", real, "Real cores of one server")
        alone = desk.figure(
            "alone", crowding.of(cores=together, real=real), "Virtual cores to a real one, one server out"
        )
        yield Finding(
            "F-10", Weight.NOTE, beyond.of(have=alone, limit=house[ALONE]),
            "While one server is out, {alone} virtual cores share each real core of the other; {most} is the most that work bears.",
            "Say beforehand which machines stay off until the lost server is back.", {"alone": alone, "most": house[ALONE]}, "host",
        )  # fmt: skip
        facts = [(f.label, f) for f in (both.cores, both.expected, alone, desk.kept("ready", HOUR))]
        yield _page(both, {machine.slug: machine.expected for machine in machines}, facts)


def _page(both: Hosts, expected: dict[str, Figure[float]], facts: Sequence[tuple[str, Cell]]) -> Page:
    rows = [(slug, f"server {place}", expected[slug]) for slug, place in both.places.items()]
    return Page("hosts", "S", "The two servers", (
        Prose("Two equal servers. In normal days each carries its part of the machines; when one is lost, the other starts all of them "
              "at their floors. Each holds all data: every night it is written to the other. That is not a copy: a deleted file is gone "
              "from both after one night, and fire or a thief takes both. The copies of the backup come on top. "
              "The line from outside must reach both servers, through a switch before them or a second hand-off."),
        Ruled("Which machine runs where", ("machine", "runs on", "memory expected"), rows), Facts(facts, "Each of the two"),
    ), 1)  # fmt: skip
