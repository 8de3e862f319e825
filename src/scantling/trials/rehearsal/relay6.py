"""How the firewall passes calls for IPv6 addresses on, with the device's hardware address, and the answers back (RFC 8415, RFC 6939)."""

import socket
import struct
from collections.abc import Sequence
from ipaddress import IPv6Address

from scantling.figures import Leg
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError, read, written
from scantling.trials.rehearsal.dhcp6 import (
    ANSWERS_AT, CALLS_AT, ETHERNET, SERVERS_AND_RELAYS, Kind6, Option6, Relayed, first, read_relayed, written_relayed,
)  # fmt: skip
from scantling.trials.rehearsal.relay4 import LARGEST, asked_behind, drained
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import IP6, listening, put, to_port6

MOST_HOPS = 8
"""HOP_COUNT_LIMIT (RFC 8415 section 7.6)."""
TO_EVERYBODY = "ff02::1"
ANYBODY = IPv6Address(0)


def passed_on(data: bytes, peer: IPv6Address, own: IPv6Address, interface: str, hardware: bytes) -> bytes | None:
    """A device's call as it goes on to the server (RFC 8415 section 19.1); None: it goes no further."""
    hops = data[1] + 1 if data[:1] == bytes([Kind6.RELAY_FORWARD]) and len(data) > 1 else 0
    if not data or hops >= MOST_HOPS or data[0] in {Kind6.ADVERTISE, Kind6.REPLY, Kind6.RELAY_REPLY}:
        return None
    options = [(int(Option6.INTERFACE), interface.encode()), (int(Option6.CARRIED), data)]
    if hardware and not hops:
        options.append((int(Option6.LINK_LAYER), struct.pack("!H", ETHERNET) + hardware))
    return written_relayed(Relayed(Kind6.RELAY_FORWARD, hops, own, peer, tuple(options)))


def way_back(data: bytes) -> tuple[str, IPv6Address, bytes] | None:
    """Of a server's answer: the port it goes out by, who it is for, and the message within (RFC 8415 section 19.2)."""
    try:
        message = read_relayed(data)
    except MalformedError:
        return None
    if message.kind != Kind6.RELAY_REPLY:
        return None
    carried = first(message.options, Option6.CARRIED)
    return first(message.options, Option6.INTERFACE).decode("ascii", "replace"), message.peer, carried


class Door6:
    """The firewall's port into one zone, as the relay uses it."""

    def __init__(self, room: Room, leg: Leg) -> None:
        self.interface = leg.interface
        self.own = next(host for host in leg.own if isinstance(host, IPv6Address))
        self.calls = at_port6(room, leg.interface, CALLS_AT)
        self.wire = listening(room, leg.interface, IP6, to_port6(CALLS_AT))
        """Hears the same calls, but with the hardware address of whoever sent them."""
        self.near = link_local(room, leg.interface)
        self.seen: dict[str, bytes] = {}

    def look(self) -> None:
        """Note who has which hardware address."""
        while True:
            try:
                packet, sender = self.wire.recvfrom(LARGEST)
            except (BlockingIOError, InterruptedError):
                return
            try:
                self.seen[str(read(packet).source)] = bytes(sender[4])
            except MalformedError:
                continue

    def answer(self, data: bytes, target: IPv6Address) -> None:
        """Hand an answer to the device, straight to its hardware address where that was seen. Raises OSError."""
        hardware = self.seen.get(str(target))
        if hardware is None:
            put(self.calls, data, (str(target), ANSWERS_AT))
            return
        packet = written(Datagram(self.near, CALLS_AT, target, ANSWERS_AT, data))
        put(self.wire, packet, (self.interface, IP6, 0, 0, hardware))


def link_local(room: Room, interface: str) -> IPv6Address:
    """The own address that a port uses on its link. Raises OSError when it has none."""
    with room.socket(socket.AF_INET6, socket.SOCK_DGRAM) as trial, room.entered():
        trial.connect((TO_EVERYBODY, CALLS_AT, 0, socket.if_nametoindex(interface)))
        return IPv6Address(trial.getsockname()[0].partition("%")[0])


def at_port6(room: Room, interface: str, port: int) -> socket.socket:
    """A socket that hears one UDP port at one interface, and calls to servers and relays there. Raises OSError."""
    found = room.socket(socket.AF_INET6, socket.SOCK_DGRAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, interface.encode())
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        found.bind(("::", port))
        with room.entered():
            index = socket.if_nametoindex(interface)
        group = SERVERS_AND_RELAYS.packed + struct.pack("@I", index)
        found.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, group)
        found.settimeout(0)
    except OSError:
        found.close()
        raise
    return found


class Relay6:
    """Both sides."""

    def __init__(self, room: Room, heard: Sequence[Leg], home: Sequence[Leg], servers: Sequence[IPv6Address]) -> None:
        self.servers = frozenset(servers)
        sixth = [leg for leg in heard if servers and any(isinstance(host, IPv6Address) for host in leg.own)]
        self.doors = [Door6(room, leg) for leg in sixth]
        self.by_name = {door.interface: door for door in self.doors}
        self.home = {leg.slug: at_port6(room, leg.interface, CALLS_AT) for leg in home if asked_behind(leg, servers)}
        self.ways = [(self.home[leg.slug], str(host)) for leg in home for host in asked_behind(leg, servers)]
        """By which socket each server is asked."""

    def from_devices(self, door: Door6) -> None:
        """Pass on what devices called. Raises OSError."""
        calls = drained(door.calls)
        door.look()
        for data, source in calls:
            peer = source.partition("%")[0]
            told = passed_on(data, IPv6Address(peer), door.own, door.interface, door.seen.get(peer, b""))
            if told is not None:
                for near, server in self.ways:
                    put(near, told, (server, CALLS_AT))

    def from_servers(self, near: socket.socket) -> None:
        """Pass back what servers answered. Raises OSError."""
        for data, source in drained(near):
            known = IPv6Address(source.partition("%")[0]) in self.servers
            back = way_back(data) if known else None
            door = self.by_name.get(back[0]) if back else None
            if back and door:
                door.answer(back[2], back[1])

    def sockets(self) -> list[socket.socket]:
        """All of them."""
        return [*(one for door in self.doors for one in (door.calls, door.wire)), *self.home.values()]
