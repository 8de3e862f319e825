"""A planned office stood up by an ordinary user with its servers and the world outside, for the tests that ask them things."""

import encodings.idna  # noqa: F401 - the ordinary user may not be able to read it later
import os
import socket
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, TypeVar

import dns.exception
import dns.message
import dns.query
import dns.rcode
import dns.rdatatype

from offices import example, fold, planned
from ordinary_user import as_ordinary
from scantling.figures import FIREWALL, OUTSIDE, Host, Server
from scantling.outputs.files import Written, written
from scantling.plan.make import Plan
from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.building import NEAR_GATEWAY, Built, begun, furnished
from scantling.trials.rehearsal.calls import BIND, mount
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.office import Office, Way
from scantling.trials.rehearsal.outside import Outside
from scantling.trials.rehearsal.outside_lending import Line, line
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import DEBUG, Inside, run
from scantling.trials.rehearsal.services.adapter import Job, Running
from scantling.trials.rehearsal.settings import settings
from scantling.trials.rehearsal.trees import Tree, tree

T = TypeVar("T")
PASSING_ON = {"net/ipv4/ip_forward": "1", "net/ipv6/conf/all/forwarding": "1"}
PATIENCE = 5.0
ALONE = "firewall alone"
LEFT_OUT = ("{profile: directory,", "{profile: names and addresses,")
EVERYTHING = ("nsd", "unbound", "chronyd", "kea-dhcp4", "kea-dhcp6")


@dataclass
class Stood:
    """The office while a test looks at it."""

    plan: Plan
    office: Office
    built: Built
    jobs: list[Job]
    trees: dict[str, Tree]
    outside: Outside
    running: list[Running] = field(default_factory=list)

    def room(self, slug: str) -> Room:
        """Of a station, the firewall or the world outside."""
        return self.built.room(slug)

    def rise(self) -> list[Running]:
        """Start every server, and wait for their answers."""
        self.running = services.risen(self.jobs, self.trees.__getitem__, self.room)
        return self.running

    def check(self) -> list[Any]:
        """Have every file read by its own program."""
        return services.checked(self.jobs, self.trees.__getitem__, self.room)

    def job(self, program: str, machine: str = "") -> Job:
        """The first of a program."""
        return next(one for one in self.jobs if one.program == program and machine in {"", one.machine})

    def of(self, program: str, machine: str = "") -> Running:
        """The first that runs of a program."""
        return next(one for one in self.running if one.job is self.job(program, machine))

    def ask(self, station: str, server: object, name: str, kind: str = "A", port: int = 53) -> tuple[str, list[str]]:
        """One question from a station, by dnspython alone: the response code, and what is told of that kind."""
        with self.room(station).entered():
            try:
                said = dns.query.udp(dns.message.make_query(name, kind), str(server), timeout=PATIENCE, port=port)
            except (OSError, dns.exception.Timeout) as wrong:
                return type(wrong).__name__, []
        wanted = dns.rdatatype.from_text(kind)
        told = [one.to_text().rstrip(".") for group in said.answer if group.rdtype == wanted for one in group]
        return dns.rcode.to_text(said.rcode()), sorted(told)

    def time(self, station: str, server: Host) -> bytes:
        """What a clock tells a station (RFC 5905); nothing where it is silent."""
        family = socket.AF_INET if server.version == 4 else socket.AF_INET6
        with self.room(station).socket(family, socket.SOCK_DGRAM) as mine:
            mine.settimeout(PATIENCE)
            try:
                mine.connect((str(server), 123))
                mine.send(bytes([0x23]) + bytes(47))
                return mine.recv(512)
            except OSError:
                return b""

    def hide(self, *programs: str) -> None:
        """Make programs unfit to be run, on every machine."""
        for program in programs:
            for one in self.trees.values():
                mount("/dev/null", str(one.path / "usr/sbin" / program), "", BIND)


def plan_of(office: str) -> Plan:
    """An example's plan; or Fold & Fell's without the machine that does everything, so that the firewall must."""
    if office != ALONE:
        return example(office)
    without = "".join(line for line in fold().splitlines(keepends=True) if not any(one in line for one in LEFT_OUT))
    assert len(without.splitlines()) == len(fold().splitlines()) - len(LEFT_OUT)
    return planned(without)


@cache
def files_of(office: str) -> tuple[Written, ...]:
    """The generated files of an office."""
    return tuple(written(plan_of(office)))


def changed(office: str, contents: Mapping[str, bytes]) -> tuple[Written, ...]:
    """The same files, some with another content."""
    found = {one.path: one for one in files_of(office)}
    assert set(contents) <= set(found)
    return tuple(replace(one, content=contents.get(path, one.content)) for path, one in found.items())


def stood(office: str, work: Callable[[Stood], T], files: Sequence[Written] = ()) -> T:
    """What `work` returns or raises about an office with everything in it but servers, by an ordinary user."""
    plan = plan_of(office)
    design, contents = designed(plan), files or files_of(office)
    services.adapters()

    def inside(there: Inside) -> T:
        jobs = services.jobs(design, plan, contents)
        built = begun(design, services.interfaces(jobs))
        furnished(built)
        joined(built)
        trees = {one: tree(there.files, one) for one in dict.fromkeys(job.machine for job in jobs)}
        for machine, one in trees.items():
            one.put("/etc/resolv.conf", resolvers(plan, design, machine))
        ports = {way.slug: f"line-{place}" for place, way in enumerate(design.ways, 1)}
        with Outside(design, built.room(OUTSIDE), ports) as outside:
            return work(Stood(plan, design, built, jobs, trees, outside))

    def ordinary() -> T:
        os.environ[DEBUG] = "1"
        return run(inside, lambda _: None)

    return as_ordinary(ordinary)


def resolvers(plan: Plan, office: Office, machine: str) -> bytes:
    """Whom a machine asks for names."""
    own = any(one.does == "lookups" and one.holder == machine for one in plan.records(Server))
    hosts = ["127.0.0.1"] if own else office.segment(office.station(machine).zone).resolvers
    return "".join(f"nameserver {host}\n" for host in hosts).encode("ascii")


def joined(built: Built) -> None:
    """The firewall passes everything on, and the world outside knows the way back to it; no rules, they are tried elsewhere."""
    settings(built.room(FIREWALL), PASSING_ON)
    way = built.office.ways[0]
    four = next(
        (one for one in way.own if one.version == 4), next(one for one in way.network4.hosts() if one != way.gateway4)
    )
    six = way.lent6 or next(one for one in way.own if one.version == 6)
    gateway6 = way.gateway6 if way.lent6 is None else NEAR_GATEWAY
    lines = [
        f"addr replace {four}/{way.network4.prefixlen} dev {way.interface}",
        f"addr replace {six}/{way.network6.prefixlen} dev {way.interface} nodad",
        f"route replace default via {way.gateway4}", f"-6 route replace default via {gateway6} dev {way.interface}",
    ]  # fmt: skip
    ip(built.room(FIREWALL), lines)
    back = ["-6 route del local default dev lo table local", "-6 route replace local default dev lo table main"]
    for segment in built.office.segments:
        back += [f"route replace {segment.network4} via {four}", f"-6 route replace {segment.network6} via {six}"]
    ip(built.room(OUTSIDE), back)
    for station in built.office.stations:
        if station.group == "spare":  # it has heard no announcements
            ip(
                built.room(station.slug),
                [f"-6 route replace default via {built.office.segment(station.zone).gateway6}"],
            )


def ip(room: Room, lines: Sequence[str]) -> None:
    """Settings of a room's network, as far as they aren't there yet."""
    for sixth in (False, True):
        mine = [line.removeprefix("-6 ") for line in lines if line.startswith("-6 ") == sixth]
        told = room.started(["ip", *(["-6"] if sixth else []), "-force", "-b", "-"], stdin=-1, stderr=-1)
        _, wrong = told.communicate("\n".join(mine).encode() + b"\n")
        said = [one for one in wrong.decode().splitlines() if "Command failed" not in one]
        assert not [one for one in said if "No such" not in one], said


def data(section: Any) -> list[tuple[str, str, str]]:
    """A section as names, types and data."""
    return [
        (group.name.to_text(), dns.rdatatype.to_text(group.rdtype), one.to_text())
        for group in section
        for one in group
    ]


@cache
def lends() -> tuple[Way, Line]:
    """What is lent on Brackwater's line, and the way it is."""
    way = designed(plan_of("brackwater")).ways[0]
    lent = line(way)
    assert lent is not None
    return way, lent


def of_fold(path: str) -> bytes:
    """A generated file of Fold & Fell's."""
    return next(one.content for one in files_of("fold") if one.path == path)
