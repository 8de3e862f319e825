"""The resolvers: Unbound, from the plan's own file, with what no rehearsal can have taken away in a few lines around it."""

import signal
from collections.abc import Mapping
from ipaddress import ip_address
from itertools import count

from scantling.figures import NameZone, Server
from scantling.outputs.files import Written
from scantling.outputs.files.name_server import holds_copies
from scantling.plan.make import Plan
from scantling.trials.rehearsal.office import Office
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services.adapter import Job, Placed, Running, those
from scantling.trials.rehearsal.services.replies import names
from scantling.trials.rehearsal.services.running import alive, begun, checked, ended as stop, lay
from scantling.trials.rehearsal.services.standin_lookups import standin
from scantling.trials.rehearsal.trees import Tree

SERVES = "lookups"
AFTER = ("nsd",)
PROGRAM, PORT = "unbound", 53
AROUND = "/etc/unbound/rehearsal.conf"
WRAPPER = """# The plan's own file, and what a rehearsal needs besides.
include: "{path}"
server:
    # Nobody here can sign as the root of all names does, so no signature is looked at.
    module-config: "iterator"
    username: ""
    chroot: ""
    use-syslog: no
    logfile: ""
    log-time-ascii: yes
"""
WHY = (
    "the plan's file is included in one that takes answers from outside without looking at signatures, for nobody here can "
    "sign as the root of all names does; it also stays who it is and writes its log where the rehearsal can read it"
)
FOLDERS = ("/run/unbound", "/var/lib/unbound")
ITSELF = ip_address("127.0.0.1")
ALWAYS = ("localhost", "A")
"""What every resolver knows by itself (RFC 6761 section 6.3)."""
THERE = {"NOERROR", "NXDOMAIN"}
__all__ = ["AFTER", "SERVES", "check", "ready", "reconfigure", "standin", "start", "stop", "wanted"]
_number = count()


def wanted(office: Office, plan: Plan, files: Mapping[str, Written]) -> list[Job]:
    """One for each machine that looks names up."""
    del office
    found: list[Job] = []
    for server in plan.records(Server):
        if server.does == "lookups":
            kept = those(files, [f"lookups/{server.holder}/unbound.conf"])
            around = Placed(AROUND, WRAPPER.format(path=kept[0].goes).encode("ascii"))
            asked = tuple(zone.origin for zone in plan.records(NameZone)) if holds_copies(plan, server) else ()
            found.append(
                Job(SERVES, server.holder, PROGRAM, kept, (around,), WHY, FOLDERS, "", server.addresses, PORT, asked)
            )
    return found


def check(job: Job, tree: Tree, room: Room) -> list[Checked]:
    """Its own reader."""
    lay(job, tree)
    return checked(job.files, {"unbound-checkconf": 'unbound-checkconf "$file"'}, tree, room)


def start(job: Job, tree: Tree, room: Room) -> Running:
    """Start it in the foreground. Raises RehearsalError."""
    return begun(job, tree, room, ["-d", "-c", AROUND])


def ready(running: Running) -> bool:
    """Whether it answers, and has its copies of all the office's zones. Raises RehearsalError when it has ended.

    Each time it is asked for names that nobody asked for before: that a zone wasn't there yet is remembered for a while.
    """
    alive(running)
    fresh = f"ready-{next(_number)}"
    questions = [ALWAYS, *((f"{fresh}.{origin}", "A") for origin in running.job.asked)]
    codes = names(running.room, ITSELF, running.job.port, questions)
    return len(codes) == len(questions) and THERE.issuperset(codes.values())


def reconfigure(running: Running, job: Job) -> Running:
    """Another file, read while it runs; it forgets whatever it had learnt. Raises RehearsalError when it has ended."""
    if running.process is None:
        stop(running)
        return standin(job, running.tree, running.room)
    lay(job, running.tree)
    alive(running)
    running.process.send_signal(signal.SIGHUP)
    return Running(job, running.tree, running.room, running.played, running.process, running.log)
