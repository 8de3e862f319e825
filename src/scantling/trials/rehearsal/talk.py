"""A conversation with the kernel by netlink: many requests at once, each acknowledged, each error told by the step it is of."""

import os
import socket
import struct
from collections.abc import Iterator
from types import TracebackType
from typing import Self

from scantling.trials.rehearsal.attributes import (
    ACKNOWLEDGE, DUMP, HEADER, REQUEST, attributes, message, messages,
)  # fmt: skip
from scantling.trials.rehearsal.rooms import Room

AT_ONCE = 64
"""Requests in one message: their answers fit into the smallest socket buffer."""
MOST_OCTETS = 65536
"""Of one message, well within what an ordinary user's socket may send."""
BUFFER = 1 << 20
PATIENCE = 30.0
"""Seconds after which a kernel that doesn't answer is a fault; it answers within milliseconds."""
NETLINK, SHORT_ANSWERS, EXPLANATIONS = 270, 10, 11
ERROR, DONE, OVERRUN = 2, 3, 4
SHORTENED, EXPLAINED = 0x100, 0x200
EXPLANATION = 1


class Talk:
    """One netlink socket of a room. Requests gather until they are sent; whoever asks for a list gets it at once."""

    def __init__(self, room: Room, protocol: int) -> None:
        self.room = room
        self.socket = room.socket(socket.AF_NETLINK, socket.SOCK_RAW, protocol)
        self.socket.setsockopt(NETLINK, SHORT_ANSWERS, 1)
        self.socket.setsockopt(NETLINK, EXPLANATIONS, 1)
        self.socket.settimeout(PATIENCE)
        self.sequence = 0
        self.waiting: list[tuple[str, int, bytes]] = []
        """Step, number and octets; without a step nothing is acknowledged."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.flush()
        self.close()

    def close(self) -> None:
        """Let the socket go; what was not sent is forgotten."""
        self.waiting.clear()
        self.socket.close()

    def request(self, step: str, kind: int, flags: int, body: bytes) -> None:
        """Add a request. `step`: what it does, in words, for the error. Raises OSError as `flush` does."""
        self.sequence += 1
        self.waiting.append((step, self.sequence, message(kind, REQUEST | ACKNOWLEDGE | flags, self.sequence, body)))
        if len(self.waiting) == AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Send what waits, and hear of each how it went. Raises OSError of the first step that failed, in its words."""
        asked, self.waiting = self.waiting, []
        if not asked:
            return
        self.socket.send(b"".join(octets for _, _, octets in asked))
        steps = {sequence: step for step, sequence, _ in asked if step}
        bounds = {sequence for step, sequence, _ in asked if not step}
        wrong: OSError | None = None
        while steps:
            for kind, flags, sequence, body in messages(self.socket.recv(BUFFER)):
                if kind == ERROR and sequence in steps:
                    step = steps.pop(sequence)
                    wrong = wrong or failure(step, flags, body)
                elif kind == ERROR and sequence in bounds:  # refused as a whole
                    raise failure(f"{asked[-2][0]} and what goes with it", flags, body) or OSError("refused")
        if wrong:
            raise wrong

    def listed(self, step: str, kind: int, body: bytes) -> Iterator[bytes]:
        """The body of every message of a list. What waits is sent first. Raises OSError."""
        for found, flags, inside in self._answers(kind, DUMP, body):
            if found in {DONE, ERROR}:
                wrong = failure(step, flags, inside)
                if wrong:
                    raise wrong
                return
            yield inside

    def one(self, step: str, kind: int, flags: int, body: bytes) -> bytes:
        """The body of the one message that answers. What waits is sent first. Raises OSError."""
        found, marks, inside = next(self._answers(kind, flags, body))
        if found == ERROR:
            raise failure(step, marks, inside) or OSError(0, f"{step}: no answer")
        return inside

    def _answers(self, kind: int, flags: int, body: bytes) -> Iterator[tuple[int, int, bytes]]:
        """Ask, and give what comes back until the asker has enough."""
        self.flush()
        self.sequence += 1
        asked = self.sequence
        self.socket.send(message(kind, REQUEST | flags, asked, body))
        while True:
            for found, marks, sequence, inside in messages(self.socket.recv(BUFFER)):
                if sequence == asked:
                    yield found, marks, inside


def failure(step: str, flags: int, body: bytes) -> OSError | None:
    """What the kernel says against a step; nothing if it went well."""
    error = -struct.unpack_from("=i", body)[0] if len(body) >= 4 else 0  # noqa: PLR2004 - a number of four octets
    if not error:
        return None
    says = explanation(flags, body)
    return OSError(error, f"{step}: {os.strerror(error)}{f' ({says})' if says else ''}")


def explanation(flags: int, body: bytes) -> str:
    """The kernel's own words behind an error, where it has any."""
    if not flags & EXPLAINED:
        return ""
    asked = HEADER.size if flags & SHORTENED else struct.unpack_from("=I", body, 4)[0]
    start = 4 + asked + -asked % 4
    found = dict(attributes(body[start:]))
    return found.get(EXPLANATION, b"").rstrip(b"\0").decode(errors="replace")
