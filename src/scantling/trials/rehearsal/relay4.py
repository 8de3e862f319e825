"""How the firewall passes calls for IPv4 addresses on to the server's zone, and the answers back (RFC 1542, RFC 2131)."""

import socket
from collections.abc import Iterable, Sequence
from ipaddress import IPv4Address

from scantling.figures import Host, Leg
from scantling.trials.rehearsal.datagrams import Datagram, written
from scantling.trials.rehearsal.dhcp import (
    ANSWER, ANSWERS_AT, CALL, CALLS_AT, HARDWARE_LENGTH, HEAD, NOBODY, TO_ALL,
)  # fmt: skip
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import IP4, put

MOST_HOPS = 16
LARGEST = 4096
EVERYBODY = "255.255.255.255"
OP, HOPS, FLAGS, GIVEN, RELAYED, HARDWARE = 0, 3, slice(10, 12), slice(16, 20), slice(24, 28), 28


def passed_on(data: bytes, own: IPv4Address) -> bytes | None:
    """A device's call as it goes on to the server, bearing the address that stands for its zone; None: it goes no further."""
    if len(data) < HEAD.size or data[OP] != CALL or data[HOPS] >= MOST_HOPS:
        return None
    relay = data[RELAYED] if any(data[RELAYED]) else own.packed
    return data[:HOPS] + bytes([data[HOPS] + 1]) + data[HOPS + 1 : 24] + relay + data[28:]


def way_back(data: bytes) -> tuple[IPv4Address, IPv4Address, bytes] | None:
    """Of a server's answer: whose zone it belongs to, the address it goes to (nobody: all), and the device's hardware address."""
    if len(data) < HEAD.size or data[OP] != ANSWER:
        return None
    given = IPv4Address(data[GIVEN])
    to_all = int.from_bytes(data[FLAGS], "big") & TO_ALL
    hardware = data[HARDWARE : HARDWARE + HARDWARE_LENGTH]
    return IPv4Address(data[RELAYED]), NOBODY if to_all else given, hardware


class Door4:
    """The firewall's port into one zone, as the relay uses it."""

    def __init__(self, room: Room, leg: Leg) -> None:
        self.interface = leg.interface
        self.own = tuple(host for host in leg.own if isinstance(host, IPv4Address))
        self.calls = at_port(room, leg.interface, CALLS_AT)
        self.wire = room.socket(socket.AF_PACKET, socket.SOCK_DGRAM)

    def answer(self, data: bytes, target: IPv4Address, hardware: bytes) -> None:
        """Hand an answer to the device: straight to its hardware address, since nobody answers for its IP address yet. Raises OSError."""
        if target == NOBODY:
            put(self.calls, data, (EVERYBODY, ANSWERS_AT))
            return
        packet = written(Datagram(self.own[0], CALLS_AT, target, ANSWERS_AT, data))
        put(self.wire, packet, (self.interface, IP4, 0, 0, hardware))


def at_port(room: Room, interface: str, port: int) -> socket.socket:
    """A socket that hears one UDP port at one interface; what the rules of the firewall drop never comes to it. Raises OSError."""
    found = room.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, interface.encode())
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
        found.bind(("", port))
        found.settimeout(0)
    except OSError:
        found.close()
        raise
    return found


def asked_behind(leg: Leg, servers: Iterable[Host]) -> list[Host]:
    """Those of the servers that lie behind a port."""
    return [host for host in servers if any(host in network for network in leg.networks)]


class Relay4:
    """Both sides."""

    def __init__(self, room: Room, heard: Sequence[Leg], home: Sequence[Leg], servers: Sequence[IPv4Address]) -> None:
        self.servers = frozenset(servers)
        self.doors = [Door4(room, leg) for leg in heard if any(isinstance(host, IPv4Address) for host in leg.own)]
        self.by_address = {host: door for door in self.doors for host in door.own}
        self.home = {leg.slug: at_port(room, leg.interface, CALLS_AT) for leg in home if asked_behind(leg, servers)}
        self.ways = [(self.home[leg.slug], str(host)) for leg in home for host in asked_behind(leg, servers)]
        """By which socket each server is asked."""

    def from_devices(self, door: Door4) -> None:
        """Pass on what devices called. Raises OSError."""
        for data, _ in drained(door.calls):
            told = passed_on(data, door.own[0])
            if told is not None:
                for near, server in self.ways:
                    put(near, told, (server, CALLS_AT))

    def from_servers(self, near: socket.socket) -> None:
        """Pass back what servers answered; what others say at the server's side is not heard. Raises OSError."""
        for data, source in drained(near):
            back = way_back(data) if IPv4Address(source) in self.servers else None
            door = self.by_address.get(back[0]) if back else None
            if back and door:
                door.answer(data, back[1], back[2])

    def sockets(self) -> list[socket.socket]:
        """All of them."""
        return [*(one for door in self.doors for one in (door.calls, door.wire)), *self.home.values()]


def drained(near: socket.socket) -> list[tuple[bytes, str]]:
    """What has come to a socket, with the sender's address."""
    found: list[tuple[bytes, str]] = []
    while True:
        try:
            data, sender = near.recvfrom(LARGEST)
        except (BlockingIOError, InterruptedError):
            return found
        found.append((data, sender[0]))
