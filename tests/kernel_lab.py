"""One office in the kernel: a router and the zones around it, in network namespaces that die with this process.

Started by tests/kernel.py as a program of its own, it reads one JSON object a line and answers each with one. The
router's namespace is this process's own; each zone is a namespace held open by a file descriptor alone. Nothing of the
host's network is touched: the first thing done is to leave it.
"""

import ctypes
import json
import os
import socket
import struct
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from scantling.trials.rehearsal.rule_parts import parts

NEW_USER, NEW_NET = 0x10000000, 0x40000000
NOBODY = 65534
DUMPABLE = 4
ALL_FRAMES, QUIET, ENOUGH, OFTEN = 0x0003, 0.02, 2.0, 64
FLUSH = 0x0102  # delete a connection of the connection tracker; without a name: all of them
LIBC = ctypes.CDLL(None, use_errno=True)
SURROUNDINGS = {"PATH": "/usr/sbin:/sbin:/usr/bin:/bin", "LC_ALL": "C.UTF-8", "TZ": "UTC"}
SETTINGS = {
    "net/ipv4/ip_forward": "1",
    "net/ipv6/conf/all/forwarding": "1",
    "net/ipv4/conf/all/rp_filter": "0",
    "net/ipv4/conf/default/rp_filter": "0",
    "net/ipv4/conf/all/accept_local": "1",
}
LINK_LOCAL = "fe80::1"
AROUND = """table inet lab
delete table inet lab
table inet lab {
	chain reports {
		type filter hook output priority -500; policy accept;
		ip6 daddr ff02::/16 icmpv6 type { 130-132, 143 } drop comment "the kernel tells by itself which groups it listens to"
	}
	chain taken {
		type filter hook input priority 500; policy accept;
		iifname != "lo" counter drop comment "taken"
	}
}
"""


def called(name: str, *arguments: object) -> None:
    """Call the C library. Raises OSError."""
    if getattr(LIBC, name)(*arguments) != 0:
        number = ctypes.get_errno()
        raise OSError(number, f"{name}: {os.strerror(number)}")


def leave(*, as_nobody: bool) -> None:
    """Go into a network namespace of one's own; who is not root, or asked not to be, becomes root of a user namespace too."""
    if os.geteuid() == 0 and not as_nobody:
        called("unshare", NEW_NET)
        return
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
        called("prctl", DUMPABLE, 1, 0, 0, 0)
    user, group = os.getuid(), os.getgid()
    called("unshare", NEW_USER | NEW_NET)
    Path("/proc/self/setgroups").write_text("deny", "utf-8")
    Path("/proc/self/uid_map").write_text(f"0 {user} 1", "utf-8")
    Path("/proc/self/gid_map").write_text(f"0 {group} 1", "utf-8")


def run(*command: str, given: str = "", keep: Sequence[int] = ()) -> str:
    """What a program printed. Raises RuntimeError with what it said against it."""
    told = subprocess.run(
        command, input=given, capture_output=True, text=True, check=False, env=SURROUNDINGS, pass_fds=keep
    )
    if told.returncode:
        raise RuntimeError(f"{command[0]}: {told.stderr or told.stdout}")
    return told.stdout


class Lab:
    """The router and its zones."""

    def __init__(self, *, mapped: bool) -> None:
        self.mapped = mapped
        self.home = os.open("/proc/self/ns/net", os.O_RDONLY)
        self.wires: dict[str, socket.socket] = {}
        self.raw = {
            4: socket.socket(socket.AF_INET, socket.SOCK_RAW, socket.IPPROTO_RAW),
            6: socket.socket(socket.AF_INET6, socket.SOCK_RAW, socket.IPPROTO_RAW),
        }

    def build(self, legs: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        """A zone behind each leg, joined to the router by a pair of virtual ports."""
        for path, value in SETTINGS.items():
            Path("/proc/sys", path).write_text(value, "utf-8")
        run("ip", "link", "set", "dev", "lo", "up")
        for number, leg in enumerate(legs, 1):
            self.join(leg, number)
        return {}

    def join(self, leg: Mapping[str, Any], number: int) -> None:
        """One zone; the router finds every address of it by one neighbour that needs no asking."""
        name, near, far = leg["interface"], f"02:00:00:00:01:{number:02x}", f"02:00:00:00:02:{number:02x}"
        called("unshare", NEW_NET)
        zone = os.open("/proc/self/ns/net", os.O_RDONLY)
        called("setns", self.home, NEW_NET)
        lines = [
            f"link add name {name} address {near} type veth peer name far address {far} netns /proc/self/fd/{zone}",
            f"link set dev {name} addrgenmode none",
            f"link set dev {name} up",
            f"addr add {LINK_LOCAL}/64 dev {name} nodad",
            *(f"addr add {own} dev {name}{' nodad' if ':' in own else ''}" for own in leg["own"]),
        ]
        run("ip", "-b", "-", given="\n".join(lines), keep=[zone])
        called("setns", zone, NEW_NET)
        run("ip", "-b", "-", given="link set dev far addrgenmode none\nlink set dev far up\n")
        wire = socket.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.htons(ALL_FRAMES))
        wire.bind(("far", 0))
        called("setns", self.home, NEW_NET)
        os.close(zone)  # the socket holds the namespace
        wire.settimeout(0)
        self.wires[name] = wire
        four, six = f"169.254.{number}.2", f"fe80::{number:x}:2"
        lines = [f"neigh add {host} lladdr {far} dev {name} nud permanent" for host in (four, six)]
        lines += [f"route add {net} via {six if ':' in net else four} dev {name} onlink" for net in leg["networks"]]
        run("ip", "-b", "-", given="\n".join(lines))

    def load(self, rules: str) -> dict[str, Any]:
        """Forget all connections, load a file of rules, and count anew what the router takes for itself; it answers none of it."""
        run("nft", "-f", "-", given=AROUND)
        for part in parts(rules) if self.mapped else [rules]:
            run("nft", "-f", "-", given=part)
        with socket.socket(socket.AF_NETLINK, socket.SOCK_RAW, 12) as netlink:  # NETLINK_NETFILTER
            netlink.send(struct.pack("=IHHIIBBH", 20, FLUSH, 5, 1, 0, 0, 0, 0))  # a request, to be acknowledged
            answer = struct.unpack_from("=IHHIIi", netlink.recv(4096))
            if answer[-1]:
                raise OSError(-answer[-1], "connections can't be forgotten")
        return {}

    def send(self, packets: Sequence[tuple[str, str]]) -> dict[str, Any]:
        """Send packets, each from a zone's port or from the router itself, and tell what came out where."""
        for wire in self.wires.values():
            frames(wire)
        names, early = list(self.wires), list[tuple[str, str]]()
        for count, (origin, text) in enumerate(packets):
            if count % OFTEN == OFTEN - 1:  # before the kernel's queues are full
                early += [(name, frame.hex()) for name, wire in self.wires.items() for frame in frames(wire)]
            packet = bytes.fromhex(text)
            if origin in self.wires:
                number = names.index(origin) + 1
                kind = b"\x08\x00" if packet[0] >> 4 == 4 else b"\x86\xdd"
                self.wires[origin].send(
                    b"\x02\0\0\0\1" + bytes([number]) + b"\x02\0\0\0\2" + bytes([number]) + kind + packet
                )
            else:
                self.send_own(packet)
        return {"heard": early + self.heard()}

    def send_own(self, packet: bytes) -> None:
        """A packet of the router's own; that the filter drops it is an answer, not a fault."""
        family = packet[0] >> 4
        target = (
            socket.inet_ntop(socket.AF_INET, packet[16:20])
            if family == 4
            else socket.inet_ntop(socket.AF_INET6, packet[24:40])
        )
        try:
            self.raw[family].sendto(packet, (target, 0))
        except PermissionError:
            return

    def heard(self) -> list[tuple[str, str]]:
        """What the router has sent into the zones, once it is quiet."""
        found: list[tuple[str, str]] = []
        end, last = time.monotonic() + ENOUGH, time.monotonic()
        while time.monotonic() < min(end, last + QUIET):
            before = len(found)
            for name, wire in self.wires.items():
                found += [(name, frame.hex()) for frame in frames(wire)]
            if len(found) > before:
                last = time.monotonic()
            time.sleep(0.001)
        return found

    def counted(self) -> dict[str, Any]:
        """The kernel's listing of all rules."""
        return {"listing": json.loads(run("nft", "-j", "list", "ruleset"))["nftables"]}


def frames(wire: socket.socket) -> list[bytes]:
    """IP packets that came in by a port since last asked."""
    found: list[bytes] = []
    while True:
        try:
            frame, (_, kind, direction, *_) = wire.recvfrom(65535)
        except BlockingIOError:
            return found
        if direction != socket.PACKET_OUTGOING and kind in {0x0800, 0x86DD}:
            found.append(frame[14:])


def serve() -> None:
    """Answer one request a line until there are no more."""
    as_nobody = "--as-nobody" in sys.argv or os.geteuid() != 0
    leave(as_nobody=as_nobody)
    lab = Lab(mapped=as_nobody)
    verbs: Mapping[str, Callable[..., dict[str, Any]]] = {
        "build": lab.build,
        "load": lab.load,
        "send": lab.send,
        "counted": lab.counted,
    }
    for line in sys.stdin:
        asked = json.loads(line)
        try:
            answer = verbs[asked.pop("verb")](**asked)
        except (OSError, RuntimeError, subprocess.SubprocessError) as wrong:
            answer = {"wrong": f"{type(wrong).__name__}: {wrong}"}
        sys.stdout.write(json.dumps(answer) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    serve()
