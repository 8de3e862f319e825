"""The server that holds the office's names: NSD, from the plan's own settings and zones."""

import select
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from scantling.figures import FIREWALL, NameZone, Server
from scantling.outputs.files import Written
from scantling.outputs.files.name_server import listens
from scantling.outputs.files.name_zones import file_of
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Job, Placed, Running, those
from scantling.trials.rehearsal.services.replies import names
from scantling.trials.rehearsal.services.running import alive, begun, checked, ended as stop, lay
from scantling.trials.rehearsal.services.standin_names import standin
from scantling.trials.rehearsal.trees import Tree

SERVES = "office names"
AFTER: tuple[str, ...] = ()
PROGRAM, SETTINGS, ZONE = "nsd", "names/nsd.conf", ".zone"
FOLDERS = ("/run/nsd", "/var/lib/nsd", "/var/log/nsd")
OWN, AT_ONCE = "nsd-checkzone", "named-checkconf"
ALL_ZONES = "/var/lib/nsd/every-zone.conf"
CHECKS = {
    OWN: 'base="${file##*/}"; nsd-checkzone "${base%.zone}" "$file"',
    "named-checkzone": 'base="${file##*/}"; named-checkzone -i full "${base%.zone}" "$file"',
}
PATIENCE, PAUSE = 10.0, 0.002
CALLED, ENDED = "(nsd: server", {"Z", "X"}
"""How those call themselves that answer, and states of processes that are no more."""
__all__ = ["AFTER", "SERVES", "check", "ready", "reconfigure", "standin", "start", "stop", "wanted"]


def wanted(office: Office, plan: Plan, files: Mapping[str, Written]) -> list[Job]:
    """One for each machine that holds zones; a plan has one."""
    del office
    zones = plan.records(NameZone)
    found: list[Job] = []
    for server in plan.records(Server):
        if server.does == "names":
            hosts, port = listens(server)
            where = FIREWALL if server.holder == FIREWALL else server.holder
            kept = those(files, [SETTINGS, *(f"names/{file_of(zone)}" for zone in zones)])
            asked = tuple(zone.origin for zone in zones)
            found.append(Job(SERVES, where, PROGRAM, kept, folders=FOLDERS, hosts=hosts, port=port, asked=asked))
    return found


def check(job: Job, tree: Tree, room: Room) -> list[Checked]:
    """Settings by NSD's own reader, zones by its own and by another's."""
    lay(job, tree)
    zones = [one for one in job.files if one.path.endswith(ZONE)]
    settings = [one for one in job.files if one not in zones]
    said = checked(settings, {"nsd-checkconf": 'nsd-checkconf "$file"'}, tree, room)
    if not all_well(zones, tree, room):
        return [*said, *checked(zones, CHECKS, tree, room)]
    own = checked(zones, {OWN: CHECKS[OWN]}, tree, room)
    return [*said, *(replace(one, parser=" and ".join(filter(None, (one.parser, AT_ONCE)))) for one in own)]


def all_well(zones: Sequence[Placed], tree: Tree, room: Room) -> bool:
    """Whether another's reader takes all zones in one go, as strictly as each alone; false too where it isn't installed."""
    if not tree.has(AT_ONCE):
        return False
    names = {one.goes: one.goes.rpartition("/")[2].removesuffix(ZONE) for one in zones}
    each = (f'zone "{name}" {{ type primary; file "{goes}"; }};' for goes, name in names.items())
    tree.put(ALL_ZONES, "\n".join(["options { check-integrity yes; };", *each, ""]).encode("ascii"))
    told = tree.ran(room, [AT_ONCE, "-z", ALL_ZONES])
    lines = (told.stdout + told.stderr).decode("utf-8", "replace").splitlines()
    return not told.returncode and len(lines) == len(zones) and all(": loaded serial " in line for line in lines)


def start(job: Job, tree: Tree, room: Room) -> Running:
    """Start it in the foreground. Raises RehearsalError."""
    return begun(job, tree, room, ["-d", "-c", job.files[0].goes])


def ready(running: Running) -> bool:
    """Whether it answers for every zone at every address. Raises RehearsalError when it has ended."""
    alive(running)
    job = running.job
    questions = [(origin, "SOA") for origin in job.asked]
    for host in job.hosts:
        codes = names(running.room, host, job.port, questions)
        if len(codes) < len(questions):
            return False
        refused = [origin for (origin, _), code in codes.items() if code != "NOERROR"]
        if refused:
            raise RehearsalError(
                f"{job.program} on {job.machine} doesn't hold {', '.join(refused)}; its last lines: {running.said() or 'none'}"
            )
    return True


def reconfigure(running: Running, job: Job) -> Running:
    """Other settings or zones, read while it runs. Raises RehearsalError."""
    if running.process is None:
        stop(running)
        return standin(job, running.tree, running.room)
    lay(job, running.tree)
    alive(running)
    for order in ("reconfig", "reload"):
        before = answering(running)
        told = running.tree.ran(running.room, ["nsd-control", "-c", job.files[0].goes, order])
        if told.returncode:
            said = (told.stdout + told.stderr).decode("utf-8", "replace").strip()
            raise RehearsalError(f"{job.program} on {job.machine} refuses its new files: {said}")
    fresh = Running(job, running.tree, running.room, running.played, running.process, running.log)
    until = time.monotonic() + PATIENCE
    while before & answering(fresh):
        if time.monotonic() > until:
            raise RehearsalError(f"{job.program} on {job.machine} doesn't take its new files within {PATIENCE:g} s")
        select.select([], [], [], PAUSE)
    return fresh


def answering(running: Running) -> set[int]:
    """Its processes that answer; with each reading of its files others take their place. Raises RehearsalError when it has ended."""
    alive(running)
    assert running.process is not None
    return {number for number, session in _answering() if session == running.process.pid}


def _answering() -> Iterator[tuple[int, int]]:
    """Number and session of every process here that calls itself one of NSD's servers: proc(5)."""
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                head, _, words = (folder / "stat").read_text("utf-8", "replace").rpartition(")")
            except (FileNotFoundError, ProcessLookupError):  # it has ended meanwhile
                continue
            state, _, _, session, *_ = words.split()
            if CALLED in head and state not in ENDED:
                yield int(folder.name), int(session)
