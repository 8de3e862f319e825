"""The clocks: chrony, from the plan's own files, on those that give the time and on every machine of the server that takes it."""

import socket
import struct
import time
from collections.abc import Iterator, Mapping
from dataclasses import replace

from scantling.figures import Server
from scantling.outputs.files import Written
from scantling.plan.make import Plan
from scantling.trials.rehearsal.attending import Counter, Ends
from scantling.trials.rehearsal.office import Office, Sort
from scantling.trials.rehearsal.outside_clock import told
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services.adapter import Job, Placed, Running, those
from scantling.trials.rehearsal.services.replies import LONGEST, MOMENT, clock, soon
from scantling.trials.rehearsal.services.running import alive, begun, checked, ended as stop, instead, lay
from scantling.trials.rehearsal.trees import Tree

SERVES = "time"
AFTER = ("unbound",)
PROGRAM, PORT = "chronyd", 123
UNUSED = "/var/tmp"  # noqa: S108 - of the machine's own tree
CONTROL, ASKED_FROM = "/run/chrony/chronyd.sock", "/run/chrony/rehearsal.sock"
VERSION, REQUESTS, REPLIES, HOW_MANY, NUMBER = 6, 1, 2, 44, 1
REQUEST, REPLY, LENGTH = struct.Struct("!BBxxHHIII"), struct.Struct("!BBxxHxxHxxxxxxI"), 48
"""Of the words that chronyd and chronyc have with each other, as chrony's candm.h lays them out; a question is as long as its answer."""
ACTIVITY = REQUEST.pack(VERSION, REQUESTS, HOW_MANY, 0, NUMBER, 0, 0).ljust(LENGTH, b"\0")
FOLDERS = ("/run/chrony", "/var/lib/chrony", "/var/log/chrony")
APART = "it is kept from setting this machine's own clock (-x)"
ALONE = 10
"""How far a stand-in says to be from a true clock, as the plan's own clocks do while they are alone."""
ANSWERS = (
    "a small clock of our own tells this machine's time to whoever asks; whom it asks and who may ask isn't tried"
)
TAKES = "nothing here takes the time"
__all__ = ["AFTER", "SERVES", "check", "ready", "reconfigure", "standin", "start", "stop", "wanted"]


def wanted(office: Office, plan: Plan, files: Mapping[str, Written]) -> list[Job]:
    """One for each clock, and one for each machine that a zone's file is for."""
    found = [*_giving(plan, files), *_taking(office, plan, files)]
    read = {path for job in found for path in job.paths}
    left = [path for path in files if path.startswith("time/") and path not in read]
    beyond = tuple(Placed(f"{UNUSED}/{path}", files[path].content, path) for path in left)
    return [replace(found[0], beyond=beyond), *found[1:]] if found else []


def _giving(plan: Plan, files: Mapping[str, Written]) -> Iterator[Job]:
    for server in plan.records(Server):
        if server.does == "time":
            kept = those(files, [f"time/{server.holder}/chrony.conf"])
            yield Job(SERVES, server.holder, PROGRAM, kept, (), APART, FOLDERS, "", server.addresses, PORT)


def _taking(office: Office, plan: Plan, files: Mapping[str, Written]) -> Iterator[Job]:
    givers = {one.holder for one in plan.records(Server) if one.does == "time"}
    for station in office.stations:
        path = f"time/machines-{station.zone}/chrony.conf"
        takes = station.sort is Sort.MACHINE and station.slug == station.group and station.group not in givers
        if takes and path in files:
            yield Job(SERVES, station.slug, PROGRAM, those(files, [path]), (), APART, FOLDERS)


def check(job: Job, tree: Tree, room: Room) -> list[Checked]:
    """Its own reader."""
    lay(job, tree)
    return checked((*job.files, *job.beyond), {PROGRAM: 'chronyd -p -f "$file" > /dev/null'}, tree, room)


def start(job: Job, tree: Tree, room: Room) -> Running:
    """Start it in the foreground, apart from this machine's clock. Raises RehearsalError."""
    return begun(job, tree, room, ["-x", "-d", "-u", "root", "-f", job.files[0].goes])


def ready(running: Running) -> bool:
    """Whether it tells the time at every address, or at least does its work. Raises RehearsalError when it has ended."""
    alive(running)
    if running.job.hosts:
        return all(clock(running.room, host, running.job.port) for host in running.job.hosts)
    if running.process is None:
        return True
    return heeds(running)


def heeds(running: Running) -> bool:
    """Whether it answers on its control socket, when asked how many clocks it asks."""
    with running.room.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as mine:
        try:
            with running.tree.entered():
                mine.bind(ASKED_FROM)
                mine.connect(CONTROL)
            mine.send(ACTIVITY)
            return soon(mine, MOMENT) and _is_well(mine.recv(LONGEST))
        except OSError:  # nobody listens there yet
            return False
        finally:
            running.tree.place(ASKED_FROM).unlink(missing_ok=True)


def _is_well(said: bytes) -> bool:
    if len(said) < REPLY.size:
        return False
    version, kind, command, status, number = REPLY.unpack_from(said)
    return (version, kind, command, status, number) == (VERSION, REPLIES, HOW_MANY, 0, NUMBER)


def reconfigure(running: Running, job: Job) -> Running:
    """Another file: it reads its file at the start alone, so it is started anew. Raises RehearsalError."""
    stop(running)
    fresh = standin if running.process is None else start
    return fresh(job, running.tree, running.room)


def standin(job: Job, tree: Tree, room: Room) -> Running:
    """A small clock at the same port where it gives the time, else nothing."""
    if not job.hosts:
        return instead(job, tree, room, TAKES)
    return instead(job, tree, room, ANSWERS, [Counter("time", job.port, _told, hosts=job.hosts)])


def _told(said: bytes, ends: Ends, settings: Mapping[str, float]) -> bytes | None:
    del ends, settings
    now = time.time()
    return told(said, now, time.time(), stratum=ALONE)
