"""A port bounded to a line's speed, and what of that speed a program gets, measured by a short transfer over TCP."""

import select
import socket
import struct
import time

from scantling.trials.rehearsal.netlink import Netlink
from scantling.trials.rehearsal.rooms import Room

MEGA, OCTET = 1_000_000, 8
BUCKET, FRAMES = 0.004, 2 * 1514
"""What may leave a line in one go: what it carries in so many seconds, and two whole frames at the least."""
BEFORE, LONG, PATIENCE = 0.1, 0.3, 5.0
"""Seconds until a transfer runs evenly, for which it is measured, and after which one that stands still is given up."""
LEAD = 48_000
"""Octets that come before it runs evenly, on a slow line too: TCP begins with ten frames, of which such a line loses some."""
UNDER_WAY, LEAST_UNDER_WAY, SEGMENT = 0.02, 4, 1448
"""What may be under way at once: as much as a line carries in so many seconds, four segments at the least, each of so many
octets. Less than waits before a line without being lost; a loss holds back all that comes after it, and comes in one lump."""
MOST_UNDER_WAY = 200_000
"""What an ordinary user's socket may hold (net.core.rmem_max is 212,992); before a faster line enough waits as it is."""
AT_ONCE = 1 << 18
TRIED = 1000.0
"""Mbit/s."""
SHARE = 0.9492
"""Of a line's speed that TCP gives a program, in frames of 1,500 octets (RFC 6349 table 4.1.2)."""
NEAR_ENOUGH, TRIES = 0.95, 3
"""Share of that below which a transfer is measured again, so many times at most: a busy machine passes less than a line."""
DELETE_QUEUE, AT_ROOT = 37, 0xFFFFFFFF  # linux/rtnetlink.h, linux/pkt_sched.h


def bounded(room: Room, name: str, megabits: float) -> None:
    """What leaves by a port goes at a line's speed, Mbit/s. Raises OSError."""
    bits = round(megabits * MEGA)
    with Netlink(room) as link:
        link.tbf(name, bits, max(FRAMES, round(bits / OCTET * BUCKET)))


def unshaped(room: Room) -> str:
    """Why no port can be bounded here, if none can; tried on one that nobody uses."""
    try:
        bounded(room, "lo", TRIED)
        unbounded(room, "lo")
    except OSError as wrong:
        return f"this kernel lacks tbf, which stands for the speed of a line ({wrong.strerror})"
    return ""


def unbounded(room: Room, name: str) -> None:
    """And no longer so. Raises OSError."""
    with Netlink(room) as link:
        head = struct.pack("=BxxxiIII", 0, link.index(name), 0, AT_ROOT, 0)
        link.request(f"speed of {name} no longer bounded", DELETE_QUEUE, 0, head)


def held_back(receiver: socket.socket, megabits: float) -> None:
    """No more is under way to a socket than a slow line bears; to be said before it is connected. Raises OSError."""
    most = max(LEAST_UNDER_WAY * SEGMENT, round(megabits * MEGA / OCTET * UNDER_WAY))
    if most <= MOST_UNDER_WAY:
        receiver.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, most)


def best(sender: socket.socket, receiver: socket.socket, planned: float) -> float:
    """The speed of a transfer, Mbit/s; where it is low, the best of some, for no line lets more through than it does.

    Raises OSError.
    """
    found = 0.0
    for _ in range(TRIES):
        found = max(found, throughput(sender, receiver))
        if not is_short(found, planned):
            break
    return found


def is_short(found: float, planned: float) -> bool:
    """Whether less came through than a line of the planned speed lets through."""
    return found < NEAR_ENOUGH * SHARE * planned


def throughput(sender: socket.socket, receiver: socket.socket) -> float:
    """Mbit/s that come out of a connection while as much as it takes goes in, once it runs evenly. Raises OSError."""
    told, room = bytes(AT_ONCE), bytearray(4 * AT_ONCE)
    for one in (sender, receiver):
        one.settimeout(0)
    begun, since, count = time.monotonic(), 0.0, 0
    with select.epoll() as poll:
        poll.register(sender, select.EPOLLOUT)
        poll.register(receiver, select.EPOLLIN)
        while not since or time.monotonic() - since < LONG:
            count += _moved(poll, sender, receiver, (told, room))
            last = time.monotonic()
            if not since and last - begun >= BEFORE and count >= LEAD:
                since, count = last, 0
    return count * OCTET / MEGA / (last - since)


def _moved(
    poll: select.epoll, sender: socket.socket, receiver: socket.socket, buffers: tuple[bytes, bytearray]
) -> int:
    """Send what can be sent. Returns how many octets came."""
    ready = dict(poll.poll(PATIENCE))
    if not ready:
        raise TimeoutError("a transfer by a line stands still")
    if sender.fileno() in ready:
        sender.send(buffers[0])
    return receiver.recv_into(buffers[1]) if receiver.fileno() in ready else 0
