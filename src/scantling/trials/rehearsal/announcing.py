"""The firewall announces itself in every zone: prefix, flags, resolvers and search name, at once and to whoever asks for it."""

import select
import socket
import struct
from collections.abc import Sequence
from contextlib import suppress
from ipaddress import IPv6Address
from time import monotonic

from scantling.trials.rehearsal.announcements import SOLICITATION, Announcement, written
from scantling.trials.rehearsal.aside import Aside, attended
from scantling.trials.rehearsal.office import Office, Segment
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import closed

EVERY_STATION, EVERY_ROUTER = "ff02::1", IPv6Address("ff02::2")
FILTER, WHOLE_FILTER = 1, 8
ON_THE_LINK = 255
"""Hops that prove that a packet never passed a router (RFC 4861 section 6.1)."""
GATHERED = 0.01
"""Who asks within this time is answered together, seconds; RFC 4861 section 6.2.6 lets it be half a second."""
EVERY = 10.0
"""How often a zone is told unasked, seconds; on site three to ten minutes, but a rehearsal is short."""
LARGEST = 2048


def said_in(segment: Segment, hardware: bytes = b"") -> Announcement | None:
    """What is told in a zone, as the note for the firewall says; None where it has no IPv6."""
    if segment.network6 is None:
        return None
    resolvers = tuple(host for host in segment.resolvers if isinstance(host, IPv6Address))
    domains = (segment.domain,) if segment.domain else ()
    return Announcement(
        segment.network6, given=segment.given6, other=True, on_link=True, own=True, resolvers=resolvers, domains=domains,
        hardware=hardware,
    )  # fmt: skip


class Door:
    """The firewall's port into one zone."""

    def __init__(self, room: Room, segment: Segment) -> None:
        self.interface, self.segment = segment.interface, segment
        with room.entered():
            self.index = socket.if_nametoindex(segment.interface)
        self.near = room.socket(socket.AF_INET6, socket.SOCK_RAW, socket.IPPROTO_ICMPV6)
        self.near.settimeout(0)
        self.near.setsockopt(socket.SOL_SOCKET, socket.SO_BINDTODEVICE, segment.interface.encode())
        self.near.setsockopt(socket.IPPROTO_ICMPV6, FILTER, only(SOLICITATION))
        self.near.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_HOPS, ON_THE_LINK)
        self.near.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_MULTICAST_LOOP, 0)
        group = EVERY_ROUTER.packed + struct.pack("@I", self.index)
        self.near.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, group)
        said = said_in(segment, hardware_of(room, segment.interface))
        self.told = written(said) if said else b""
        self.due = 0.0

    def tell(self, now: float) -> None:
        """Tell the whole zone. Raises OSError."""
        self.due = now + EVERY
        self.near.sendto(self.told, (EVERY_STATION, 0, 0, self.index))

    def asked(self) -> None:
        """Somebody asks: the zone is told soon."""
        soon = monotonic() + GATHERED
        while True:
            try:
                self.near.recv(LARGEST)
            except (BlockingIOError, InterruptedError):
                return
            self.due = min(self.due, soon)


def only(kind: int) -> bytes:
    """A filter of ICMPv6 that lets one type through: a bit for each type, set where it is kept out (RFC 3542 section 3.2)."""
    words = [0xFFFFFFFF] * WHOLE_FILTER
    words[kind // 32] ^= 1 << kind % 32
    return struct.pack(f"@{WHOLE_FILTER}I", *words)


def hardware_of(room: Room, interface: str) -> bytes:
    """The hardware address of a port. Raises OSError."""
    with room.socket(socket.AF_PACKET, socket.SOCK_DGRAM) as trial:
        trial.bind((interface, 0))
        return bytes(trial.getsockname()[4])


class Announcer:
    """It runs in a process of its own, in the firewall's room."""

    def __init__(self, room: Room, office: Office) -> None:
        self.room, self.office = room, office
        self.aside: Aside | None = None

    def start(self) -> None:
        """Start it, unless it runs: every zone has been told once when this returns. Raises OSError."""
        if self.running:
            return
        doors = [Door(self.room, one) for one in self.office.segments if one.network6 is not None]
        for door in doors:
            door.tell(monotonic())
        self.aside = Aside("the announcer", lambda: serve(doors))
        self.aside.start()
        closed(door.near for door in doors)  # the process has them now

    def pause(self) -> None:
        """It freezes."""
        if self.aside:
            self.aside.pause()

    def go_on(self) -> None:
        """It goes on, and answers what was asked meanwhile."""
        if self.aside:
            self.aside.go_on()

    def stop(self) -> None:
        """It ends; stations go on believing what they were told until its time is over."""
        if self.aside:
            self.aside.stop()

    @property
    def running(self) -> bool:
        """Whether it runs, frozen or not."""
        return self.aside is not None and self.aside.running


def serve(doors: Sequence[Door]) -> None:
    """Tell every zone from time to time, and when asked."""
    work = {door.near.fileno(): door.asked for door in doors}
    with select.epoll() as poll:
        for number in work:
            poll.register(number, select.EPOLLIN)
        while True:
            pause = min((door.due for door in doors), default=monotonic() + EVERY) - monotonic()
            attended(work, [number for number, _ in poll.poll(max(0.0, pause))])
            tell_those_due(doors, monotonic())


def tell_those_due(doors: Sequence[Door], now: float) -> None:
    """Tell the zones whose time has come. What can't be sent is lost, as on any wire; it is told again."""
    for door in doors:
        if door.due <= now:
            with suppress(OSError):
                door.tell(now)
