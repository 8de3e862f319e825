"""What every station asks of the servers it was told of: names forward and back, outside names, the time; and what it must be told."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scantling.figures import Asking, Host, Name, NameZone
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office, Segment, Sort, Station

FRESH = "never-asked-before"
"""First label of a name that nobody has asked for, so that no cache can answer it."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question to one server; of a clock, name and kind are empty."""

    station: str
    source: Host
    server: Host
    name: str = ""
    kind: str = ""
    told: frozenset[str] = frozenset()
    """What the answer must be; nothing: nothing may be told, yet an answer must come."""
    port: int = 0
    """Of the server; 0: the usual one."""

    @property
    def words(self) -> str:
        """As people say it."""
        return f"{self.server}, {self.name} {self.kind}" if self.name else f"{self.server}, the time"


def questions(plan: Plan, office: Office, held: Mapping[str, Sequence[Host]]) -> Iterator[Question]:
    """Of every station that holds an address; one station asks for every name there is."""
    whole: set[str] = set()
    for station in office.stations:
        if station.sort in {Sort.FIREWALL, Sort.OUTSIDE} or station.slug not in held:
            continue
        segment = office.segment(station.zone)
        resolvers, times = asked_by(plan, station, segment)
        for server in resolvers:
            source = source_of(held[station.slug], server)
            if source is None:
                continue
            yield from _own(plan, office, station, segment, (source, server))
            if segment.domain and str(server) not in whole and station.sort is Sort.DEVICE:
                whole.add(str(server))
                yield from _every(plan, station.slug, (source, server))
        for server in times:
            if (source := source_of(held[station.slug], server)) is not None:
                yield Question(station.slug, source, server)


def asked_by(plan: Plan, station: Station, segment: Segment) -> tuple[Sequence[Host], Sequence[Host]]:
    """Whom a station asks for names and for the time: machines are set by hand, devices go by what they are told."""
    if station.sort is Sort.MACHINE:
        for one in plan.records(Asking):
            if one.slug == station.zone:
                return one.resolvers, one.time_sources
    return segment.resolvers, segment.times


def source_of(hosts: Sequence[Host], server: Host) -> Host | None:
    """The address from which a server of the same family is asked; not one that is good on the link alone."""
    return next((host for host in hosts if host.version == server.version and not host.is_link_local), None)


def _own(
    plan: Plan, office: Office, station: Station, segment: Segment, ends: tuple[Host, Host]
) -> Iterator[Question]:
    """A server's name, its own name and addresses, a name outside, and one that nobody has asked for yet."""
    source, server = ends
    machine = next((one for one in office.stations if one.sort is Sort.MACHINE and one.names), None)
    if machine is not None:
        told = _hosts(machine.fixed, 4) if segment.domain else frozenset[str]()
        yield Question(station.slug, source, server, machine.names[0], "A", told)
    if segment.domain and station.names:
        yield from _of_name(_named(plan, station.names[0]), station.slug, ends)
    for name, hosts in _outside(plan, office)[:1]:
        yield Question(station.slug, source, server, name, "A", _hosts(hosts, 4))
    yield Question(station.slug, source, server, f"{FRESH}-{station.slug}.{_beyond(plan, office)}", "A")


def _outside(plan: Plan, office: Office) -> list[tuple[str, tuple[Host, ...]]]:
    """Names outside of which the office doesn't say something else inside."""
    inside = [one.origin for one in plan.records(NameZone)]
    return [
        (name, hosts)
        for name, hosts in office.outside_names
        if not any(name == origin or name.endswith(f".{origin}") for origin in inside)
    ]


def _beyond(plan: Plan, office: Office) -> str:
    """A domain outside under which anything may be asked."""
    return next((name.partition(".")[2] for name, _ in _outside(plan, office)), "example")


def _every(plan: Plan, station: str, ends: tuple[Host, Host]) -> Iterator[Question]:
    for name in plan.records(Name):
        yield from _of_name(name, station, ends)


def _named(plan: Plan, whole: str) -> Name | None:
    return next((one for one in plan.records(Name) if whole in (one.name, *one.aliases)), None)


def _of_name(name: Name | None, station: str, ends: tuple[Host, Host]) -> Iterator[Question]:
    """Forward in each family, by each alias, and back from each address that the office's zones speak of."""
    if name is None:
        return
    source, server = ends
    for kind, version in (("A", 4), ("AAAA", 6)):
        if told := _hosts(name.addresses, version):
            for called in (name.name, *name.aliases):
                yield Question(station, source, server, called, kind, told)
    for host in name.addresses:
        yield Question(station, source, server, host.reverse_pointer, "PTR", frozenset({name.name}))


def _hosts(hosts: Sequence[Host], version: int) -> frozenset[str]:
    return frozenset(str(host) for host in hosts if host.version == version)
