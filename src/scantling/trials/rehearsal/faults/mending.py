"""What faults do alike: end a server and start it anew, have neighbours forgotten, change settings while they are used."""

import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from scantling.figures import FIREWALL, OUTSIDE
from scantling.trials.rehearsal.attributes import CREATE, attribute, attributes, host as host_of
from scantling.trials.rehearsal.netlink import BY_HAND, DELETE_NEIGHBOUR, NEW_ROUTE, Held, Netlink
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.services import adapter_of, awaited, started
from scantling.trials.rehearsal.services.adapter import Running
from scantling.trials.rehearsal.session import Living

GET_NEIGHBOUR, HEAD, STATE_AT, GET_ROUTE, WAY_HEAD, SET_BY = 30, 12, 8, 26, 12, 5
"""linux/rtnetlink.h, and struct ndmsg of linux/neighbour.h."""
OVER, NEXT_HOP = 4, 5
WAY_PARTS = frozenset({1, OVER, NEXT_HOP, 6})
"""Of a way: whither, over which port, by whom, and its rank."""
FOR_GOOD = 0xC0
"""Neighbours that are written down by hand, or never asked for (NUD_NOARP, NUD_PERMANENT)."""
PATIENCE, PAUSE = 10.0, 0.002
"""Seconds within which a port carries, on however busy a machine; and between two looks at it."""


def running_of(living: Living, program: str, machine: str = "") -> Running | None:
    """A server that runs, or what stands in for it."""
    found = (one for one in living.running if one.job.program == program and machine in {"", one.job.machine})
    return next((one for one in found if one.process is not None or one.attendant is not None), None)


@contextmanager
def ended_for_a_while(living: Living, running: Running) -> Iterator[None]:
    """A server has ended; afterwards it is started anew, and answers again."""
    adapter_of(running.job).stop(running)
    try:
        yield
    finally:
        fresh = started(running.job, running.tree, running.room)
        living.running[living.running.index(running)] = fresh
        awaited([fresh])


def forget_neighbours(living: Living, more: Sequence[str] = ()) -> None:
    """The firewall, the provider and some stations ask anew who is where: the kernel may wait a second before it does so itself."""
    for slug in (FIREWALL, OUTSIDE, *more):
        forget(living.built.rooms[slug])


def forget(room: Room) -> None:
    """All neighbours of a room but those that are known for good. Raises OSError."""
    with Netlink(room) as link:
        for body in [*link.listed("neighbours", GET_NEIGHBOUR, bytes(HEAD))]:
            state = int.from_bytes(body[STATE_AT : STATE_AT + 2], "little")
            at = dict(attributes(body[HEAD:])).get(1)
            if at is not None and not state & FOR_GOOD:
                link.request(f"no neighbour {host_of(at)}", DELETE_NEIGHBOUR, 0, body[:HEAD] + attribute(1, at))


@dataclass(frozen=True, slots=True)
class Bearing:
    """What a port bears that the kernel forgets when it goes down: addresses, and ways as the kernel lists them."""

    name: str
    addresses: tuple[Held, ...]
    ways: tuple[bytes, ...]


def remembered(link: Netlink, name: str) -> Bearing:
    """All of it. Raises OSError."""
    number = link.index(name)
    listed = [*link.listed("ways", GET_ROUTE, bytes(WAY_HEAD))]
    ways = tuple(kept for body in listed if (kept := _by_hand(body, number)))
    by_hand = tuple(one for one in link.addresses(name) if one.unchecked or not is_made_by_kernel(one))
    return Bearing(name, by_hand, tuple(sorted(ways, key=_has_next_hop)))


def restored(link: Netlink, bears: Bearing) -> None:
    """Whatever of it is missing is there again. Raises OSError."""
    left = {one.host for one in link.addresses(bears.name)}
    for one in bears.addresses:
        if one.host not in left:
            link.address(bears.name, one.host, one.prefix)
    there = set(remembered(link, bears.name).ways)
    for way in bears.ways:
        if way not in there:
            link.request(f"way over {bears.name}", NEW_ROUTE, CREATE, way)


def _by_hand(body: bytes, number: int) -> bytes:
    """A way over a port that was set by hand, without what the kernel adds to it; nothing of others."""
    parts = [(kind, value) for kind, value in attributes(body[WAY_HEAD:]) if kind in WAY_PARTS]
    over = dict(parts).get(OVER)
    if body[SET_BY] != BY_HAND or over is None or int.from_bytes(over, sys.byteorder) != number:
        return b""
    return body[:WAY_HEAD] + b"".join(attribute(kind, value) for kind, value in parts)


def _has_next_hop(way: bytes) -> bool:
    return NEXT_HOP in dict(attributes(way[WAY_HEAD:]))


def is_made_by_kernel(held: Held) -> bool:
    """Whether it is an address that a port makes for its link from its hardware address (RFC 4291 appendix A)."""
    return held.host.is_link_local and held.host.packed[11:13] == b"\xff\xfe"


def carries(link: Netlink, name: str) -> None:
    """Wait until a port that was switched on carries at both ends: before that the kernel takes no way over it. Raises OSError."""
    link.flush()
    until = time.monotonic() + PATIENCE
    while not any(one.running for one in link.links() if one.name == name) and time.monotonic() < until:
        time.sleep(PAUSE)
