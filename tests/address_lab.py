"""A planned office stood up by an ordinary user with its real address servers, for the tests that ask for addresses in it.

`inside(work)` forks, becomes nobody, goes into namespaces of its own and runs `work` there; what it returns comes back, and what
it raises is raised. Nothing lives on when the fork has ended.
"""

import json
import os
import pickle
import signal
import socket
import subprocess
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from ipaddress import IPv6Address
from pathlib import Path
from time import monotonic, sleep
from typing import Any, TypeVar

from scantling.figures import FIREWALL, Server
from scantling.plan.make import Plan
from scantling.trials.rehearsal.announcements import ANNOUNCEMENT, SOLICITATION
from scantling.trials.rehearsal.building import Built, begun, furnished
from scantling.trials.rehearsal.calls import (
    DEEP, DIES_WITH, DUMPABLE, NEW_MOUNTS, NEW_NETWORK, NEW_USER, PRIVATE, mount, prctl, unshare,
)  # fmt: skip
from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.office import Office, Sort, Station
from scantling.trials.rehearsal.relay import Relay
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.settings import settings

T = TypeVar("T")
NOBODY = 65534
RUN, STATE = Path("/run"), Path("/var/lib")
LEASES, SOCKETS, FILES = STATE / "kea", RUN / "kea", RUN / "files"
PATIENCE = 20.0
PASSING_ON = {"net/ipv4/ip_forward": "1", "net/ipv6/conf/all/forwarding": "1"}


def inside(work: Callable[[], T]) -> T:
    """Run it as an ordinary user with namespaces of its own. Raises AssertionError with the trace of whatever went wrong there."""
    ear, mouth = os.pipe()
    child = os.fork()
    if not child:
        os.close(ear)
        _live(work, mouth)
    os.close(mouth)
    with os.fdopen(ear, "rb") as heard:
        said = heard.read()
    os.waitpid(child, 0)
    assert said, "the office ended without a word"
    well, result = pickle.loads(said)  # noqa: S301 - of our own making
    assert well, result
    return result  # type: ignore[no-any-return]


def _live(work: Callable[[], object], mouth: int) -> None:
    try:
        leave()
        told = pickle.dumps((True, work()))
    except BaseException:  # noqa: BLE001 - told to whoever waits
        told = pickle.dumps((False, traceback.format_exc()))
    with os.fdopen(mouth, "wb") as mouthpiece:
        mouthpiece.write(told)
    os._exit(0)


def leave() -> None:
    """Become nobody, and root of nothing but namespaces of one's own, where nothing of the host can be written."""
    prctl(DIES_WITH, signal.SIGKILL)
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
        prctl(DUMPABLE, 1)
        prctl(DIES_WITH, signal.SIGKILL)
    user, group = os.getuid(), os.getgid()
    unshare(NEW_USER | NEW_NETWORK | NEW_MOUNTS)
    Path("/proc/self/setgroups").write_text("deny", "utf-8")
    Path("/proc/self/uid_map").write_text(f"0 {user} 1", "utf-8")
    Path("/proc/self/gid_map").write_text(f"0 {group} 1", "utf-8")
    mount("none", "/", "", DEEP | PRIVATE)
    for where in (RUN, STATE):
        mount("tmpfs", str(where), "tmpfs", 0)
    for folder in (LEASES, SOCKETS, FILES):
        folder.mkdir()
    os.chdir("/")


class Lab:
    """An office that stands, with its address servers and the relay."""

    def __init__(self, office: Office, plan: Plan, files: Mapping[str, bytes]) -> None:
        machine = holder(plan, office)
        self.office, self.plan = office, plan
        self.built: Built = begun(office, {machine.slug: office.segment(machine.zone).interface})
        furnished(self.built)
        settings(self.firewall, PASSING_ON)
        self.home = self.built.rooms[machine.slug]
        self.files = files
        server = next(one for one in plan.records(Server) if one.does == "relay")
        self.relay = Relay(self.firewall, office, server, office.legs)
        self.programs: list[subprocess.Popen[bytes]] = []

    @property
    def firewall(self) -> Room:
        """The firewall's room."""
        return self.built.rooms[FIREWALL]

    def places(self, *zones: str) -> list[tuple[Station, Room]]:
        """Who asks for an address, with its room; in all zones, or in some."""
        return [
            (one, self.built.rooms[one.slug])
            for one in self.office.stations
            if one.asks and (not zones or one.zone in zones)
        ]

    def server(self, family: int, content: bytes = b"") -> None:
        """Start the real address server from the generated file, and wait until it says that it is up."""
        file = FILES / f"kea-dhcp{family}.conf"
        file.write_bytes(content or self.files[f"addresses/kea-dhcp{family}.conf"])
        self.program(
            self.home, [f"/usr/sbin/kea-dhcp{family}", "-c", str(file)], f"server{family}",
            until=lambda: well(SOCKETS / f"kea{family}-ctrl-socket"),
        )  # fmt: skip

    def program(
        self,
        room: Room,
        command: Sequence[str],
        name: str,
        *,
        until: Callable[[], bool],
        more: Mapping[str, str] | None = None,
    ) -> "subprocess.Popen[bytes]":
        """Start a program, and wait until something holds. Raises AssertionError with its last words."""
        log = FILES / f"{name}.log"
        with log.open("wb") as told:
            one = room.started(
                command, stdout=told, stderr=told, stdin=subprocess.DEVNULL,
                env={"PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "KEA_PIDFILE_DIR": str(RUN), "KEA_LOCKFILE_DIR": str(RUN), **(more or {})},
            )  # fmt: skip
        self.programs.append(one)
        end = monotonic() + PATIENCE
        while not until():
            assert one.poll() is None, log.read_text("utf-8", "replace")[-2000:]
            assert monotonic() < end, f"{name} isn't ready: {log.read_text('utf-8', 'replace')[-2000:]}"
            sleep(0.005)
        return one

    def bear(self, given: Mapping[str, tuple[object, int]]) -> None:
        """Set the addresses that stations were given."""
        for slug, (host, length) in given.items():
            station = self.office.station(slug)
            segment = self.office.segment(station.zone)
            link = Netlink(self.built.rooms[slug])
            link.address(self.built.interfaces[slug], host, length)  # type: ignore[arg-type]
            link.flush()
            if segment.gateway4.version == getattr(host, "version", 0):
                link.route("0.0.0.0/0", via=segment.gateway4, name=self.built.interfaces[slug])
            link.flush()
            link.close()

    def end(self) -> None:
        """Stop everything."""
        self.relay.stop()
        for one in self.programs:
            one.kill()
            one.wait(timeout=PATIENCE)


def told(where: Path, command: str, more: object = None) -> Any:
    """What an address server answers to a command. Raises OSError."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as talk:
        talk.connect(str(where))
        talk.sendall(json.dumps({"command": command, **({"arguments": more} if more else {})}).encode())
        return json.loads(b"".join(iter(lambda: talk.recv(65536), b"")))


def well(where: Path) -> bool:
    """Whether a server is up: it answers commands only when all its sockets are open."""
    try:
        return bool(told(where, "status-get")["result"] == 0)
    except (FileNotFoundError, ConnectionRefusedError):
        return False


@contextmanager
def lab(office: Office, plan: Plan, files: Mapping[str, bytes]) -> Iterator[Lab]:
    """An office that stands for a while. `files`: those of the plan, written before; nobody may read much of a machine."""
    one = Lab(office, plan, files)
    try:
        yield one
    finally:
        one.end()


def holder(plan: Plan, office: Office) -> Station:
    """The machine that gives addresses."""
    who = next(one.holder for one in plan.records(Server) if one.does == "addresses")
    return next(one for one in office.stations if one.sort is Sort.MACHINE and one.group == who)


def own6(room: Room) -> list[str]:
    """The addresses of IPv6 that a room's ports bear, as the kernel lists them."""
    with room.entered():
        lines = Path("/proc/thread-self/net/if_inet6").read_text("utf-8").splitlines()
    return [str(IPv6Address(int(line.split()[0], 16))) for line in lines]


def icmp6(room: Room) -> socket.socket:
    """A socket for bare ICMPv6 at a station's port."""
    near = room.socket(socket.AF_INET6, socket.SOCK_RAW, socket.IPPROTO_ICMPV6)
    near.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, b"e0")
    return near


@contextmanager
def announced(room: Room) -> Iterator[Callable[[float], list[bytes]]]:
    """Hears what routers announce in a room; what is yielded waits so many seconds and gives what came."""

    def heard(seconds: float) -> list[bytes]:
        found: list[bytes] = []
        end = monotonic() + seconds
        while (left := end - monotonic()) > 0:
            near.settimeout(left)
            try:
                data = near.recv(2048)
            except TimeoutError:
                break
            if data[0] == ANNOUNCEMENT:
                found.append(data)
        return found

    with icmp6(room) as near:
        yield heard


def solicit(room: Room) -> None:
    """Ask all routers for an announcement (RFC 4861 section 4.1)."""
    with icmp6(room) as near, room.entered():
        near.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, 255)
        near.sendto(bytes([SOLICITATION, 0, 0, 0, 0, 0, 0, 0]), ("ff02::2", 0, 0, socket.if_nametoindex("e0")))
