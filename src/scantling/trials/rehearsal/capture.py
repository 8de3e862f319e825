"""Packet captures of zones: everything that a zone's bridge carries, in the format of libpcap, kept in memory until it is asked for.

The format: a head of 24 octets, then each packet behind its time and its lengths (draft-ietf-opsawg-pcap).
"""

import os
import select
import socket
import struct
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from scantling.trials.rehearsal.aside import Aside, attended
from scantling.trials.rehearsal.rooms import Room

MAGIC, MAJOR, MINOR, LONGEST, ETHERNET = 0xA1B2C3D4, 2, 4, 65535, 1
HEAD, BEFORE = struct.Struct("<IHHiIII"), struct.Struct("<IIII")
EVERYTHING, SOL_PACKET = 0x0003, 263
MEMBERSHIP, PROMISCUOUS = 1, 1
"""Of linux/if_packet.h; a bridge hands what it passes on to those above it only while somebody listens to everything."""
MOST = 64 << 20
"""Octets that are kept of a capture; they lie in memory."""
QUEUE, SHORTEST = 4 << 20, 64
"""Octets that wait to be heard at the most, and the least that one packet of them takes."""
AT_ONCE = 256
PATIENCE = 20.0
"""Seconds in which what waits must be written; a busy machine is slow."""


def head() -> bytes:
    """How a file of captured Ethernet frames begins."""
    return HEAD.pack(MAGIC, MAJOR, MINOR, 0, 0, LONGEST, ETHERNET)


def framed(frame: bytes, length: int, seconds: float) -> bytes:
    """One packet as it stands in the file; `length`: of the whole frame, of which no more may have been kept."""
    whole, part = divmod(round(seconds * 1_000_000), 1_000_000)
    return BEFORE.pack(whole, part, len(frame), length) + frame


def packets(content: bytes) -> int:
    """How many packets a capture holds. Raises ValueError for what is none."""
    if content[: HEAD.size] != head():
        raise ValueError("this is no capture of Ethernet frames")
    place, count = HEAD.size, 0
    while place < len(content):
        place += BEFORE.size + BEFORE.unpack_from(content, place)[2]
        count += 1
    return count


class Capture:
    """It runs in a process of its own, in the room of the switch."""

    def __init__(self, switch: Room, bridges: Sequence[str], place: Path) -> None:
        """Everything on some bridges, into a file in memory. Raises OSError."""
        self.place = place
        self.ears = [listening(switch, bridge) for bridge in bridges]
        self.enough, self.going_on = socket.socketpair()
        self.aside = Aside("a capture", self.serve)

    def start(self) -> None:
        """From now on everything is kept. Raises OSError."""
        self.place.write_bytes(head())
        self.aside.start()
        for one in (*self.ears, self.going_on):
            one.close()  # the process has them now

    def stop(self) -> bytes:
        """It ends, once it has written whatever waits; what was captured."""
        with self.enough, suppress(BrokenPipeError):  # it may have ended by itself
            self.enough.send(b".")
        self.aside.finish(PATIENCE)
        content = self.place.read_bytes()
        self.place.unlink()
        return content

    def serve(self) -> None:
        """Keep whatever comes, each packet whole, until it is enough."""
        with self.place.open("ab", buffering=0) as file, select.epoll() as poll:
            ears = {ear.fileno(): Ear(ear, file.fileno()) for ear in self.ears}
            for at in (*ears, self.going_on.fileno()):
                poll.register(at, select.EPOLLIN)
            touched = set[int]()
            while self.going_on.fileno() not in touched:
                touched = {at for at, _ in poll.poll()}
                attended({at: ear.hear for at, ear in ears.items()}, touched & ears.keys())
            for ear in ears.values():
                ear.rest()


class Ear:
    """One bridge that is listened to."""

    def __init__(self, ear: socket.socket, file: int) -> None:
        self.ear, self.file, self.kept = ear, file, 0

    def rest(self) -> None:
        """All that waits, and no more of what still comes than a queue holds."""
        for _ in range(QUEUE // SHORTEST // AT_ONCE):
            if self.hear() < AT_ONCE:
                return

    def hear(self) -> int:
        """Write down what waits, as long as there is room; how many packets that were."""
        found: list[bytes] = []
        for _ in range(AT_ONCE):
            try:
                frame = self.ear.recv(LONGEST)
            except (BlockingIOError, InterruptedError):
                break
            found.append(framed(frame, len(frame), time.time()))
        many = b"".join(found)
        if self.kept + len(many) <= MOST:
            self.kept += os.write(self.file, many)
        return len(found)


def listening(switch: Room, bridge: str) -> socket.socket:
    """A socket that hears everything on a bridge. Raises OSError."""
    ear = switch.socket(socket.AF_PACKET, socket.SOCK_RAW, socket.htons(EVERYTHING))
    try:
        ear.settimeout(0)
        ear.bind((bridge, EVERYTHING))
        with switch.entered():
            index = socket.if_nametoindex(bridge)
        ear.setsockopt(SOL_PACKET, MEMBERSHIP, struct.pack("=iHH8x", index, PROMISCUOUS, 0))
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, QUEUE)
    except OSError:
        ear.close()
        raise
    return ear
