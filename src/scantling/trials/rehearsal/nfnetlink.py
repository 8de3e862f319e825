"""Asks the kernel's packet filter by its own language, nfnetlink: what a set holds, empty it, forget all connections."""

import errno
import struct
from collections.abc import Sequence

from scantling.trials.rehearsal.attributes import (
    ATTRIBUTE, REQUEST, attribute, attributes, message,
)  # fmt: skip
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.talk import Talk

NETFILTER = 12  # the protocol of netlink that speaks of filters
# linux/netfilter/nfnetlink.h, nf_tables.h, nfnetlink_conntrack.h
CONNECTIONS, TABLES, BEGIN, END = 1, 10, 16, 17
FORGET, GET_ELEMENTS, DELETE_ELEMENTS = 2, 13, 14
ANY_FAMILY, BOTH_FAMILIES = 0, 1
TABLE, SET, ELEMENTS, KEY, VALUE = 1, 2, 3, 1, 1
HEAD, OPENING = 4, 12
"""Octets of the fixed part of every message (struct nfgenmsg), and of what stands before the octets of a key."""

READINGS = 8
"""Of a set, at most, until one is whole."""


class Netfilter(Talk):
    """A conversation with the packet filter of one room."""

    def __init__(self, room: Room) -> None:
        super().__init__(room, NETFILTER)

    def elements(self, table: str, set_name: str) -> list[bytes]:
        """Raw keys of a set of an inet table, each part of a key filled to four octets. Raises OSError."""
        for _ in range(READINGS):
            found = self._read(table, set_name)
            # the kernel finds its place again by counting: rearranged meanwhile, it tells some twice and others never
            if len(set(found)) == len(found):
                return found
        raise OSError(errno.EAGAIN, f"set {set_name} changes all the time")

    def _read(self, table: str, set_name: str) -> list[bytes]:
        body = head() + named(table, set_name)
        found: list[bytes] = []
        for answer in self.listed(f"elements of {set_name}", TABLES << 8 | GET_ELEMENTS, body):
            for kind, value in attributes(answer[HEAD:]):
                if kind == ELEMENTS:
                    found += keys(value)
        return found

    def empty(self, table: str, set_names: Sequence[str]) -> None:
        """Take everything out of sets of an inet table, in one step. Raises OSError."""
        # the filter takes changes only between a beginning and an end, which are not acknowledged themselves
        bound = struct.pack("=BB", ANY_FAMILY, 0) + struct.pack("!H", TABLES)
        self.flush()
        self.sequence += 1
        self.waiting.append(("", self.sequence, message(BEGIN, REQUEST, self.sequence, bound)))
        for name in set_names:
            self.request(f"empty {name}", TABLES << 8 | DELETE_ELEMENTS, 0, head() + named(table, name))
        self.waiting.append(("", self.sequence + 1, message(END, REQUEST, self.sequence + 1, bound)))
        self.sequence += 1
        self.flush()

    def forget_connections(self) -> None:
        """Forget all connections of the room. Raises OSError."""
        self.request("forget all connections", CONNECTIONS << 8 | FORGET, 0, struct.pack("=BBH", ANY_FAMILY, 0, 0))
        self.flush()


def elements(room: Room, table: str, set_name: str) -> list[bytes]:
    """Raw keys of a set of an inet table of a room. Raises OSError."""
    with Netfilter(room) as talk:
        return talk.elements(table, set_name)


def flush_set(room: Room, table: str, set_name: str) -> None:
    """Empty a set of an inet table of a room. Raises OSError."""
    with Netfilter(room) as talk:
        talk.empty(table, [set_name])


def forget_connections(room: Room) -> None:
    """Forget all connections of a room. Raises OSError."""
    with Netfilter(room) as talk:
        talk.forget_connections()


def head() -> bytes:
    """The fixed part of a message about an inet table."""
    return struct.pack("=BBH", BOTH_FAMILIES, 0, 0)


def named(table: str, set_name: str) -> bytes:
    """Which set is meant."""
    return attribute(TABLE, table.encode() + b"\0") + attribute(SET, set_name.encode() + b"\0")


def keys(listed: bytes) -> list[bytes]:
    """Keys of the elements of a list."""
    size = ATTRIBUTE.unpack_from(listed)[0] if listed else 0
    if size > OPENING and not len(listed) % size:
        # elements of one shape that hold a key and nothing else, as those of a recorder do, are cut out by their size
        cut = list(struct.iter_unpack(f"{OPENING}s{size - OPENING}s", listed))
        openings = {opening for opening, _ in cut}
        if len(openings) == 1 and _whole(size, openings.pop()):
            return [key for _, key in cut]
    return [_key(element) for _, element in attributes(listed)]


def _whole(size: int, opening: bytes) -> bool:
    """Whether the three lengths that open an element say that its key fills it."""
    return [struct.unpack_from("=H", opening, place)[0] for place in (0, 4, 8)] == [size, size - 4, size - 8]


def _key(element: bytes) -> bytes:
    return dict(attributes(dict(attributes(element))[KEY]))[VALUE]
