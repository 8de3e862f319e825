"""Asks name servers and clocks for real, from inside a room, as long as a moment lasts."""

import select
import socket
import time
from collections.abc import Iterable, Mapping

import dns.exception
import dns.message
import dns.rcode

from scantling.figures import Host
from scantling.trials.rehearsal.everywhere import FAMILIES
from scantling.trials.rehearsal.outside_clock import ANSWERS, ASKS, HEADER
from scantling.trials.rehearsal.rooms import Room

MOMENT = 0.2
LONGEST = 4096
UNSET = 3
QUESTION = bytes([4 << 3 | ASKS]) + bytes(HEADER.size - 1)


def names(room: Room, server: Host, port: int, questions: Iterable[tuple[str, str]]) -> Mapping[tuple[str, str], str]:
    """The response code of each question (name, kind) that was answered within a moment; none for one that wasn't."""
    waiting = dict(enumerate(questions, 1))
    found: dict[tuple[str, str], str] = {}
    for said in _heard(room, (server, port), {number: _asked(*one, number) for number, one in waiting.items()}):
        try:
            answer = dns.message.from_wire(said)
        except dns.exception.DNSException:
            continue
        if answer.id in waiting:
            found[waiting[answer.id]] = dns.rcode.to_text(answer.rcode())
    return found


def _asked(name: str, kind: str, number: int) -> bytes:
    asked = dns.message.make_query(name, kind)
    asked.id = number
    return asked.to_wire()


def clock(room: Room, server: Host, port: int) -> bool:
    """Whether a clock there tells the time, and knows it (RFC 5905)."""
    for said in _heard(room, (server, port), {0: QUESTION}):
        if len(said) >= HEADER.size and said[0] & 7 == ANSWERS and said[0] >> 6 != UNSET and said[1]:
            return True
    return False


def _heard(room: Room, server: tuple[Host, int], questions: Mapping[int, bytes]) -> list[bytes]:
    """All answers until there are as many as questions, or the moment is over. Refusals end it."""
    said: list[bytes] = []
    with room.socket(FAMILIES[server[0].version], socket.SOCK_DGRAM) as mine:
        try:
            mine.connect((str(server[0]), server[1]))
            for one in questions.values():
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
