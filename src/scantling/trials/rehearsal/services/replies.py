"""Asks name servers and clocks for real, from inside a room, as long as a moment lasts."""

import select
import socket
import time
from collections.abc import Iterable, Mapping, Sequence

from scantling.figures import Host
from scantling.trials.rehearsal import lookups
from scantling.trials.rehearsal.datagrams import MalformedError
from scantling.trials.rehearsal.everywhere import FAMILIES
from scantling.trials.rehearsal.outside_clock import ANSWERS, ASKS, HEADER
from scantling.trials.rehearsal.rooms import Room

MOMENT = 0.2
LONGEST = 4096
UNSET = 3
QUESTION = bytes([4 << 3 | ASKS]) + bytes(HEADER.size - 1)


def names(room: Room, server: Host, port: int, questions: Iterable[tuple[str, str]]) -> Mapping[tuple[str, str], str]:
    """The response code of each question (name, kind) that was answered within a moment; none for one that wasn't."""
    waiting = {lookups.question(number, *one): one for number, one in enumerate(questions, 1)}
    sent = {asked[:2]: asked for asked in waiting}
    found: dict[tuple[str, str], str] = {}
    for said in _heard(room, (server, port), [*waiting]):
        asked = sent.get(said[:2], b"")
        try:
            reply = lookups.read(said, asked)
        except MalformedError:
            continue
        if reply is not None:
            found[waiting[asked]] = reply.code
    return found


def clock(room: Room, server: Host, port: int) -> bool:
    """Whether a clock there tells the time, and knows it (RFC 5905)."""
    for said in _heard(room, (server, port), [QUESTION]):
        if len(said) >= HEADER.size and said[0] & 7 == ANSWERS and said[0] >> 6 != UNSET and said[1]:
            return True
    return False


def _heard(room: Room, server: tuple[Host, int], questions: Sequence[bytes]) -> list[bytes]:
    """All answers until there are as many as questions, or the moment is over. Refusals end it."""
    said: list[bytes] = []
    with room.socket(FAMILIES[server[0].version], socket.SOCK_DGRAM) as mine:
        try:
            mine.connect((str(server[0]), server[1]))
            for one in questions:
                mine.send(one)
            until = time.monotonic() + MOMENT
            while len(said) < len(questions) and soon(mine, until - time.monotonic()):
                said.append(mine.recv(LONGEST))
        except OSError:  # nobody listens there yet
            return said
    return said


def soon(mine: socket.socket, seconds: float) -> bool:
    """Whether something comes within so many seconds; also where a process has more files open than select(2) can name."""
    poll = select.poll()
    poll.register(mine, select.POLLIN)
    return bool(poll.poll(max(0.0, seconds) * 1000))
