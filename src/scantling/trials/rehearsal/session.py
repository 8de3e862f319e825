"""The office while it lives: what stands, what runs, who holds which address; stood up step by step, each step told and timed."""

import gc
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from ipaddress import IPv4Address, IPv6Network
from multiprocessing.connection import Connection
from subprocess import CompletedProcess

from scantling.figures import FIREWALL, OUTSIDE, Host, Pool, Server, Service
from scantling.outputs.files import Written
from scantling.outputs.files.leasing import PROFILE
from scantling.plan.make import Plan
from scantling.trials.probe.probing import Kind
from scantling.trials.proof.proving import Case
from scantling.trials.rehearsal.announcing import Announcer
from scantling.trials.rehearsal.beside import Beside
from scantling.trials.rehearsal.building import Built, begun, connected, furnished
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.lending import lent_outside
from scantling.trials.rehearsal.limits import limits
from scantling.trials.rehearsal.loading import load
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.papers import together
from scantling.trials.rehearsal.outside import Outside
from scantling.trials.rehearsal.recorder import Recorder
from scantling.trials.rehearsal.relay import Relay
from scantling.trials.rehearsal.results import Checked, Played
from scantling.trials.rehearsal.rooms import here
from scantling.trials.rehearsal.sandbox import Inside, RehearsalError
from scantling.trials.rehearsal import services
from scantling.trials.rehearsal.services.adapter import Job, Running
from scantling.trials.rehearsal.services.checking import Checking
from scantling.trials.rehearsal.services.running import digests
from scantling.trials.rehearsal.trees import Tree, tree

RULES, FORWARDING, SETS = "firewall/rules.nft", "firewall/forwarding.conf", "firewall/fill-sets.sh"
FILTER = "content-filter"
UNPLANNED = "nothing of its settings is planned yet, so an answer of the rehearsal's own listens at its ports"
SELDOM = (200_000, 10, 10)
"""New things between two looks for circles among them; such looks between two that go further back; and again."""
OWN_ALONE = IPv6Network("fc00::/7")
"""Networks that are good inside alone (RFC 4193)."""
HOLDS: Mapping[str, tuple[tuple[Kind, int], ...]] = {
    "names": ((Kind.UDP, 53), (Kind.TCP, 53)),
    "time": ((Kind.UDP, 123),),
    "addresses": ((Kind.UDP, 67), (Kind.UDP, 547)),
}
"""Ports that real services hold."""
PROGRAMS = {
    "nsd": "names", "unbound": "names", "chronyd": "time", "kea-dhcp4": "addresses", "kea-dhcp6": "addresses",
}  # fmt: skip


@dataclass
class Living:
    """One office, up and running. Mutable: it lives."""

    plan: Plan
    case: Case
    office: Office
    inside: Inside
    files: Mapping[str, Written]
    families: tuple[int, ...] = (4, 6)
    everyone: bool = False
    trees: dict[str, Tree] = field(default_factory=dict)
    running: list[Running] = field(default_factory=list)
    papers: Beside[dict[str, str]] | None = None
    """Digests, by path, of the files that only people read, which are being written; none: `files` are all there are."""
    orders: Connection | None = None
    """Whence somebody asks for things when all is done; nobody does: the office ends then."""
    given: list[Given] = field(default_factory=list)
    held: dict[str, tuple[Host, ...]] = field(default_factory=dict)
    lent: dict[str, Host] = field(default_factory=dict)
    """By slug of a line: what the provider has lent the firewall there."""
    notes: list[str] = field(default_factory=list)
    seconds: list[tuple[str, float]] = field(default_factory=list)

    built: Built = field(init=False)
    outside: Outside = field(init=False)
    relay: Relay | None = None
    announcer: Announcer | None = None
    recorder: Recorder = field(init=False)
    checking: Checking = field(init=False)
    guarding: Beside[None] = field(init=False)
    """The firewall's rules, which are being loaded."""

    @cached_property
    def checked(self) -> list[Checked]:
        """What the real parsers say of every file; they have read on beside everything else. Raises RehearsalError."""
        return self.checking.result()

    def digests(self) -> dict[str, str]:
        """Of all files, what only people read among them, by path. Raises RehearsalError."""
        papers = self.papers.result() if self.papers is not None else {}
        return together(digests(self.files), papers)

    @contextmanager
    def step(self, words: str) -> Iterator[None]:
        """Tell what is being done, and note how long it took."""
        self.inside.tell(words)
        begun_at = time.perf_counter()
        try:
            yield
        except OSError as wrong:
            raise RehearsalError(f"{words}: {wrong.strerror or wrong}") from wrong
        finally:
            self.seconds.append((words, time.perf_counter() - begun_at))

    def run(self, command: Sequence[str], given: bytes = b"") -> "CompletedProcess[bytes]":
        """Run a program on the firewall."""
        return self.trees[FIREWALL].ran(self.built.rooms[FIREWALL], command, given)

    def rules(self) -> bytes:
        """The generated rules, byte for byte."""
        return self.files[RULES].content

    def played(self) -> tuple[Played, ...]:
        """What ran, and what stood in; of services nothing of whose settings is planned yet, that."""
        looks_up = {one.job.machine for one in self.running if one.job.program == "unbound"}
        answered = [
            Played(one.name, one.machine, "", real=False, why=UNPLANNED)
            for one in self.plan.records(Service)
            if one.machine in self.built.rooms
            and one.profile not in {FIREWALL, PROFILE}
            and not (one.profile == FILTER and one.machine in looks_up)
        ]
        return (*(one.played for one in self.running), *answered)

    def at(self) -> Iterator[tuple[Host, str]]:
        """Who has which address, those outside among them."""
        for slug, many in self.held.items():
            yield from ((host, slug) for host in many)
        for one in self.office.stations:
            if one.zone == OUTSIDE:
                yield from ((host, one.slug) for host in one.fixed)

    def real(self) -> dict[str, set[tuple[Kind, int]]]:
        """Ports that services hold, by station."""
        found: dict[str, set[tuple[Kind, int]]] = {
            FIREWALL: set(HOLDS["addresses"]), OUTSIDE: {*HOLDS["names"], *HOLDS["time"], *HOLDS["addresses"]},
        }  # fmt: skip
        found.update({one.slug: found[OUTSIDE] for one in self.office.stations if one.zone == OUTSIDE})
        for running in self.running:
            if running.job.hosts:
                found.setdefault(running.job.machine, set()).update(HOLDS[PROGRAMS[running.job.program]])
        return found


def stood_up(living: Living) -> None:
    """Everything up to the moment when devices may ask for their addresses. Raises RehearsalError."""
    completed(living, opened(living))


def opened(living: Living) -> services.Rising:
    """The core with its lines open, and its servers on their way up. Raises RehearsalError."""
    spared()
    plan, office = living.plan, living.office
    jobs = services.jobs(office, plan, living.files.values())
    with living.step("finding out what this machine can hold"):
        crowded = able(living)
    with living.step("building the core of the network"):
        living.built = begun(office, services.interfaces(jobs), living.families, crowded=crowded)
    with living.step("laying out the machines' files"):
        with_trees(living, jobs)
    living.guarding = Beside("loading the firewall's rules", lambda: guarded(living))
    rising = services.Rising(jobs, living.trees.__getitem__, living.built.rooms.__getitem__)
    with living.step("having every file read by its own program"):
        living.checking = Checking(jobs, living.trees.__getitem__, living.built.rooms.__getitem__)
    with living.step("starting the servers"):
        rising.further()
    living.running = rising.running
    with living.step("opening the lines"):
        with_outside(living)
    return rising


def completed(living: Living, rising: services.Rising) -> None:
    """All the rest. Raises RehearsalError."""
    with living.step("loading the firewall's rules"):
        living.guarding.result()
        living.recorder = Recorder(living.built.rooms[FIREWALL], living.run)
    with living.step("starting the servers that need others"):
        rising.further()
        passed_on(living)
    with living.step("connecting the devices"):
        furnished(living.built)
    with living.step("waiting for the servers' first answers"):
        rising.up()


def spared() -> None:
    """Python seldom looks for circles to throw away: the plan stays to the end, and what comes of a try makes none."""
    gc.freeze()
    gc.set_threshold(*SELDOM)


def able(living: Living) -> bool:
    """Whether there are more stations than the kernel remembers of itself. Raises RehearsalError where there are too many at all."""
    bounds = limits(here("home"), living.inside.neighbours)
    against = bounds.against(len(living.office.stations))
    if against:
        raise RehearsalError("; ".join(against))
    return bounds.crowded(len(living.office.stations), living.families)


def with_trees(living: Living, jobs: Sequence[Job]) -> None:
    """A file tree for each machine that runs a program, and for the firewall."""
    for machine in dict.fromkeys([FIREWALL, *(job.machine for job in jobs)]):
        living.trees[machine] = tree(living.inside.files, machine)
        asked = "".join(f"nameserver {host}\n" for host in resolvers(living, machine))
        living.trees[machine].put("/etc/resolv.conf", asked.encode("ascii"))


def resolvers(living: Living, machine: str) -> list[Host]:
    """Whom a machine asks for names: the firewall itself or whoever its zone is told of."""
    lookups = [one for one in living.plan.records(Server) if one.does == "lookups"]
    mine = [one for one in lookups if one.holder == machine]
    if mine:
        return [IPv4Address("127.0.0.1")]
    if machine == FIREWALL:
        return [host for one in lookups[:1] for host in one.addresses]
    zone = living.office.station(machine).zone
    return [*living.office.segment(zone).resolvers]


def guarded(living: Living) -> None:
    """The kernel's settings and the rules on the firewall, from their files; the recorder beside them."""
    firewall = living.trees[FIREWALL]
    for path in (RULES, FORWARDING, SETS):
        if path in living.files:
            firewall.put(f"/etc/office-firewall/{path.rpartition('/')[2]}", living.files[path].content)
    load(living.run, living.rules())
    told = living.run(["sysctl", "-q", "-p", "/etc/office-firewall/forwarding.conf"])
    refused = [line for line in told.stderr.decode("utf-8", "replace").splitlines() if line.strip()]
    if told.returncode or refused:
        raise RehearsalError(f"forwarding.conf can't be set: {'; '.join(refused) or told.returncode}")
    Recorder(living.built.rooms[FIREWALL], living.run).install()


def with_outside(living: Living) -> None:
    """The world outside answers; the firewall takes the addresses that the provider lends."""
    office, built = living.office, living.built
    ports = {way.slug: f"line-{place}" for place, way in enumerate(office.ways, 1)}
    living.outside = Outside(office, built.rooms[OUTSIDE], ports)
    living.outside.start()
    living.lent = lent_outside(living.built)
    link = Netlink(built.rooms[FIREWALL])
    for way in office.ways:
        if way.slug in living.lent:
            connected(link, way, living.lent[way.slug])
        if way.lent6 is not None:
            connected(link, way, way.lent6)
    link.flush()
    link.close()
    way_back(living)


def way_back(living: Living) -> None:
    """The provider leads whatever is meant for the office to it, even what it should not know: so the rules are tried from outside."""
    way = next((one for one in living.office.ways if not one.standby), None)
    if way is None:
        return
    doors = {4: living.lent.get(way.slug), 6: way.lent6}
    doors.update({host.version: host for host in way.own})
    name = f"line-{living.office.ways.index(way) + 1}"
    networks = [net for one in living.office.segments for net in (one.network4, one.network6) if net is not None]
    with Netlink(living.built.rooms[OUTSIDE]) as link:
        for network in networks:
            if doors[network.version] is not None:
                link.route(str(network), via=doors[network.version], name=name)


def passed_on(living: Living) -> None:
    """The firewall passes calls for addresses on, and announces itself. Raises RehearsalError."""
    relays = [one for one in living.plan.records(Server) if one.does == "relay" and one.upstream]
    if relays:
        living.relay = Relay(living.built.rooms[FIREWALL], living.office, relays[0])
        living.relay.start()
    if living.built.sixth:
        living.announcer = Announcer(living.built.rooms[FIREWALL], living.office)
        living.announcer.start()


def pools(living: Living) -> tuple[Pool, ...]:
    """Where addresses are lent from."""
    return living.plan.records(Pool)
