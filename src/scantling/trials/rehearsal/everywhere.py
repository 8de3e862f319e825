"""Sockets that stand at every address of a room at once, or at some, and answer from the very address at which they were asked."""

import socket
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address
from typing import Any

from scantling.figures import Host
from scantling.trials.rehearsal.rooms import Room

LARGEST = 65535
FAMILIES = {4: socket.AF_INET, 6: socket.AF_INET6}
ANYWHERE = (IPv4Address(0), IPv6Address(0))
# linux/in.h and linux/in6.h; Python's socket has no names for them
PACKET_INFO, FREE4, FREE6 = 8, 15, 78
INFO4, INFO6 = struct.Struct("=I4s4s"), struct.Struct("=16sI")
BACKLOG = 64

TO_EVERYBODY = IPv4Address("255.255.255.255")


@dataclass(frozen=True, slots=True)
class Asked:
    """One datagram, who sent it, and at which address."""

    said: bytes
    who: tuple[Any, ...]
    """As the socket module writes addresses."""
    at: Host
    port: int
    """Number of the interface that it came in by."""


def datagrams(room: Room, number: int, hosts: Sequence[Host] = (), device: str = "") -> list[socket.socket]:
    """A UDP port at some addresses, or at every one; with a device, there alone. Raises OSError."""
    made: list[socket.socket] = []
    try:
        for host in hosts or ANYWHERE:
            mine = _opened(room, host, socket.SOCK_DGRAM)
            made.append(mine)
            if device:
                mine.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, device.encode())
                mine.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
            mine.bind((str(host), number))
    except OSError:
        let_go(made)
        raise
    return made


def listeners(room: Room, number: int, hosts: Sequence[Host] = ()) -> list[socket.socket]:
    """A TCP port at some addresses, or at every one. Raises OSError."""
    made: list[socket.socket] = []
    try:
        for host in hosts or ANYWHERE:
            mine = _opened(room, host, socket.SOCK_STREAM)
            made.append(mine)
            mine.bind((str(host), number))
            mine.listen(BACKLOG)
    except OSError:
        let_go(made)
        raise
    return made


def _opened(room: Room, host: Host, kind: socket.SocketKind) -> socket.socket:
    family = FAMILIES[host.version]
    mine = room.socket(family, kind)
    mine.settimeout(0)
    mine.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    mine.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)  # somebody may stand at one address beside
    if family == socket.AF_INET:
        mine.setsockopt(socket.IPPROTO_IP, PACKET_INFO, 1)
        mine.setsockopt(socket.IPPROTO_IP, FREE4, 1)
    else:
        mine.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        mine.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_RECVPKTINFO, 1)
        mine.setsockopt(socket.IPPROTO_IPV6, FREE6, 1)
    return mine


def let_go(sockets: list[socket.socket]) -> None:
    """Close them all."""
    while sockets:
        sockets.pop().close()


def heard(mine: socket.socket) -> Asked | None:
    """The next datagram; None when there is none, or what came was only an error message about an answer."""
    try:
        said, beside, _, who = mine.recvmsg(LARGEST, socket.CMSG_SPACE(INFO6.size))
    except OSError:  # nothing there, or somebody who asked is not there any more
        return None
    for level, kind, data in beside:
        if (level, kind) == (socket.IPPROTO_IP, PACKET_INFO):
            port, _, header = INFO4.unpack(data[: INFO4.size])
            return Asked(said, who, IPv4Address(header), port)
        if (level, kind) == (socket.IPPROTO_IPV6, socket.IPV6_PKTINFO):
            packed, port = INFO6.unpack(data[: INFO6.size])
            return Asked(said, who, IPv6Address(packed), port)
    return None


def answer(mine: socket.socket, asked: Asked, said: bytes) -> None:
    """Answer from the address that was asked. What can't be sent is lost, as datagrams are."""
    if isinstance(asked.at, IPv4Address):
        beside = (socket.IPPROTO_IP, PACKET_INFO, INFO4.pack(0, asked.at.packed, bytes(4)))
    else:
        beside = (socket.IPPROTO_IPV6, socket.IPV6_PKTINFO, INFO6.pack(asked.at.packed, 0))
    everybody = asked.at == TO_EVERYBODY  # nobody's own address, so the kernel chooses one of the port's
    try:
        mine.sendmsg([said], [] if everybody else [beside], 0, asked.who)
    except OSError:  # the way back is closed: who asked hears nothing, and will say so
        return


def host_of(end: tuple[Any, ...]) -> Host:
    """The address of an end of a socket."""
    return ip_address(str(end[0]).partition("%")[0])
