"""What the address servers of both families have in common: Kea, its control socket, and its files."""

import json
import os
import platform
import select
import socket
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from scantling.figures import FIREWALL, Server
from scantling.outputs.files import Written
from scantling.outputs.files.leasing import holder
from scantling.plan.make import Plan
from scantling.trials.rehearsal.results import Checked
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Job, Running, those
from scantling.trials.rehearsal.services.running import alive, begun, checked, instead, lay
from scantling.trials.rehearsal.trees import Tree

FOLDERS = ("/run/kea", "/run/lock/kea", "/var/lib/kea", "/var/log/kea")
PATIENCE = 5.0
LONGEST = 1 << 20
PAUSE = 0.002
ON_LINK, TENTATIVE = "20", 0x40
"""As /proc/net/if_inet6 writes them (linux/ipv6.h, linux/if_addr.h)."""
HOSTS = "127.0.0.1 localhost {machine}\n::1 localhost\n127.0.1.1 {here}\n"
"""At its start it looks up the name that the kernel bears, here that of the machine that rehearses; unknown, it waits for seconds."""
WELL = 0
ALONE = "nobody lends addresses, and stations bear the addresses planned for them, set by hand"


def wanted(plan: Plan, files: Mapping[str, Written], family: int) -> list[Job]:
    """The address server of a family, on the machine that gives addresses."""
    path = f"addresses/kea-dhcp{family}.conf"
    if path not in files:
        return []
    who = holder(plan)
    hosts = {host for one in plan.records(Server) if one.does == "addresses" for host in one.addresses}
    kept = those(files, [path])
    port = "" if who == FIREWALL else _port(kept[0].content)
    return [
        Job(
            f"addresses in IPv{family}", who, f"kea-dhcp{family}", kept, folders=FOLDERS, interface=port,
            hosts=tuple(sorted((host for host in hosts if host.version == family), key=int)),
        )
    ]  # fmt: skip


def _port(content: bytes) -> str:
    """The port that the file says it listens on; none where it is no JSON, as its program will say. Raises RehearsalError."""
    try:
        names = listened(content)
    except (ValueError, KeyError, TypeError, AttributeError, StopIteration):
        return ""
    if len(names) != 1:
        raise RehearsalError(
            f"the address server listens on {', '.join(names) or 'no port'}; a rehearsed machine has one port a room"
        )
    return names[0]


def listened(content: bytes) -> list[str]:
    """The ports that a file names; an address may follow each."""
    settings: Mapping[str, Any] = next(iter(json.loads(content).values()))
    return sorted({one.partition("/")[0] for one in settings["interfaces-config"]["interfaces"]})


def socket_of(job: Job) -> str:
    """Where its control socket lies, by its file."""
    settings: Mapping[str, Any] = next(iter(json.loads(job.files[0].content).values()))
    path: str = settings["control-socket"]["socket-name"]
    return path


def check(job: Job, tree: Tree, room: Room) -> list[Checked]:
    """Its own parser, which looks at the room's ports too."""
    lay(job, tree)
    return checked(job.files, {job.program: f'{job.program} -t "$file" > /dev/null'}, tree, room)


def start(job: Job, tree: Tree, room: Room) -> Running:
    """Start it in the foreground. Raises RehearsalError."""
    tree.put("/etc/hosts", HOSTS.format(machine=tree.machine, here=platform.node()).encode())
    return begun(job, tree, room, ["-c", job.files[0].goes])


def settled(room: Room, ports: Sequence[str]) -> None:
    """Wait until each port bears its address on the link for good: the kernel first makes sure of it (RFC 4862 section 5.4)."""
    until = time.monotonic() + PATIENCE
    while not set(ports) <= _with_address(room) and time.monotonic() < until:
        select.select([], [], [], PAUSE)


def _with_address(room: Room) -> set[str]:
    """Ports with an address on the link that is theirs by now."""
    with room.entered(), Path("/proc/thread-self/net/if_inet6").open("rb") as listed:
        lines = [line.split() for line in listed.read().decode().splitlines()]
    return {name for _, _, _, scope, flags, name in lines if scope == ON_LINK and not int(flags, 16) & TENTATIVE}


def ready(running: Running) -> bool:
    """Whether it listens for calls: its control socket says so. Raises RehearsalError."""
    if running.process is None:
        return True
    alive(running)
    try:
        status = told(running, "status-get")
    except OSError:
        return False
    sockets: Mapping[str, Any] = status["arguments"].get("sockets", {})
    if sockets.get("status") == "failed":
        raise RehearsalError(
            f"{running.job.program} on {running.job.machine} can't listen: {'; '.join(sockets.get('errors', []))}"
        )
    return bool(sockets.get("status", "ready") == "ready")


def told(running: Running, command: str, arguments: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """One command on its control socket, and its answer. Raises OSError while nobody listens, RehearsalError when it refuses."""
    order = {"command": command, **({"arguments": arguments} if arguments is not None else {})}
    place = running.tree.place(socket_of(running.job))
    folder = os.open(place.parent, os.O_PATH | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as mine:
            mine.settimeout(PATIENCE)
            mine.connect(
                f"/proc/self/fd/{folder}/{place.name}"
            )  # its whole path may be longer than a socket's may be
            mine.sendall(json.dumps(order).encode())
            said = b"".join(iter(lambda: mine.recv(LONGEST), b""))
    finally:
        os.close(folder)
    answer: dict[str, Any] = json.loads(said)
    if answer.get("result") != WELL:
        raise RehearsalError(
            f"{running.job.program} on {running.job.machine} refuses {command}: {answer.get('text')}"
        )
    return answer


def reconfigure(running: Running, job: Job) -> Running:
    """Other files, taken while it runs. Raises RehearsalError."""
    lay(job, running.tree)
    changed = Running(job, running.tree, running.room, running.played, running.process, running.log)
    if changed.process is not None:
        alive(changed)
        told(changed, "config-reload")
    return changed


def standin(job: Job, tree: Tree, room: Room) -> Running:
    """Nobody: a server that lends addresses is more than can be stood in for."""
    return instead(job, tree, room, ALONE)
