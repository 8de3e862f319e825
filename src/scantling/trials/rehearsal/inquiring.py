"""Asks every question at once, over UDP, from the stations' own rooms, and holds the answers against what must be told."""

import select
import socket
import struct
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address
from itertools import islice
from typing import NamedTuple

from scantling.trials.rehearsal import lookups
from scantling.trials.rehearsal.datagrams import MalformedError
from scantling.trials.rehearsal.questions import FRESH, Question
from scantling.trials.rehearsal.results import Answer
from scantling.trials.rehearsal.rooms import Room

NAMES, TIME = 53, 123
AT_ONCE = 200
"""Questions under way at one time; a socket's queue holds some 270 of them (net.core.rmem_default)."""
EPOCH = 2_208_988_800
"""Seconds from the beginning of 1900, by which clocks count, to that of 1970 (RFC 5905)."""
ASKED, ANSWERED = 0x23, 4
REPLY_LENGTH, UNSET = 48, 3
"""Of RFC 5905: the shortest answer, and the mark of a clock that isn't set."""
STAMP = struct.Struct("!II")
LONGEST = 4096
FAR_OFF = 1.0
"""Seconds by which a clock may differ: far more than a healthy one does, far less than what logins bear (RFC 4120: 5 minutes)."""
REFUSED = "refused"
PAUSE = 0.02
"""How often it is looked who has waited long enough, seconds."""


class Patience(NamedTuple):
    """How often is asked, and for how long an answer is waited for the first time, seconds; each time as long again and more."""

    tries: int = 3
    seconds: float = 1.0


PATIENT = Patience()


@dataclass(slots=True)
class Open:
    """A question that is under way."""

    question: Question
    socket: socket.socket
    sent: bytes
    patience: Patience
    tries: int = 0
    until: float = 0.0
    begun: float = 0.0


def answered(
    questions: Sequence[Question], room: Callable[[str], Room], patience: Patience = PATIENT
) -> list[Answer]:
    """One answer a question, in their order; silence is an answer too."""
    asking = _Asking(room, patience)
    try:
        asking.ask(questions)
    finally:
        asking.close()
    return [asking.found[place] for place in range(len(questions))]


class _Asking:
    """Questions under way, some at a time: a server's queue holds only so many."""

    def __init__(self, room: Callable[[str], Room], patience: Patience) -> None:
        self.room, self.patience = room, patience
        self.poll = select.epoll()
        self.under_way: dict[int, tuple[int, Open]] = {}
        self.found: dict[int, Answer] = {}

    def ask(self, questions: Sequence[Question]) -> None:
        """Ask, listen, ask again those that are silent."""
        left, looked = enumerate(questions), time.monotonic()
        while True:
            for place, question in islice(left, AT_ONCE - len(self.under_way)):
                self._begin(place, question)
            if not self.under_way and len(self.found) == len(questions):
                return
            for descriptor, _ in self.poll.poll(PAUSE):
                place, one = self.under_way[descriptor]
                if (answer := _heard(one)) is not None:
                    self._end(descriptor, place, answer)
            if (now := time.monotonic()) - looked >= PAUSE:
                looked = now
                self._again(now)

    def _begin(self, place: int, question: Question) -> None:
        try:
            one = _opened(question, place, self.room(question.station), self.patience)
        except OSError as wrong:
            self.found[place] = Answer(question.station, question.words, "", f"it can't ask: {wrong.strerror}")
            return
        self.under_way[one.socket.fileno()] = place, one
        self.poll.register(one.socket.fileno(), select.EPOLLIN)
        _send(one)

    def _again(self, now: float) -> None:
        """Those who have waited long enough ask again, or give up."""
        for descriptor in [at for at, (_, one) in self.under_way.items() if now > one.until]:
            place, one = self.under_way[descriptor]
            if one.tries < self.patience.tries:
                _send(one)
            else:
                self._end(descriptor, place, Answer(one.question.station, one.question.words, "", "no answer"))

    def _end(self, descriptor: int, place: int, answer: Answer) -> None:
        self.found[place] = answer
        self.poll.unregister(descriptor)
        self.under_way.pop(descriptor)[1].socket.close()

    def close(self) -> None:
        """Let go of everything."""
        self.poll.close()
        for _, one in self.under_way.values():
            one.socket.close()


def _opened(question: Question, place: int, room: Room, patience: Patience) -> Open:
    family = socket.AF_INET if isinstance(question.server, IPv4Address) else socket.AF_INET6
    mine = room.socket(family, socket.SOCK_DGRAM | socket.SOCK_NONBLOCK)
    try:
        mine.bind((str(question.source), 0))
        mine.connect((str(question.server), question.port or (NAMES if question.name else TIME)))
    except OSError:
        mine.close()
        raise
    if not question.name:
        return Open(question, mine, bytes([ASKED]) + bytes(47), patience)
    return Open(question, mine, lookups.question(place & 0xFFFF, question.name, question.kind), patience)


def _send(one: Open) -> None:
    one.tries += 1
    one.begun = one.begun or time.time()
    one.until = time.monotonic() + one.patience.seconds * one.tries
    try:
        one.socket.send(one.sent)
    except OSError:  # an error message about the last try comes out here; the next try tells
        return


def _heard(one: Open) -> Answer | None:
    """What came; None when it was no answer to this."""
    question = one.question
    try:
        said = one.socket.recv(LONGEST)
    except BlockingIOError:
        return None
    except OSError as wrong:
        if one.tries < one.patience.tries:
            one.until = 0.0
            return None
        return Answer(question.station, question.words, REFUSED, f"refused ({wrong.strerror})")
    return _time(one, said) if not question.name else _name(question, said, one.sent)


def _time(one: Open, said: bytes) -> Answer | None:
    """The time, if it is one, against this machine's own clock."""
    if len(said) < REPLY_LENGTH or said[0] & 7 != ANSWERED:
        return None
    seconds, part = STAMP.unpack_from(said, 40)
    stamp = seconds - EPOCH + part / 2**32
    # it was written down at some time between the first question and now: on a busy machine that may be long
    off = min(0.0, stamp - one.begun) or max(0.0, stamp - time.time())
    words = one.question.words
    if said[0] >> 6 == UNSET or not said[1]:
        return Answer(one.question.station, words, "no time yet", "its clock isn't set")
    if abs(off) > FAR_OFF:
        return Answer(
            one.question.station,
            words,
            "a wrong time",
            f"its clock is {abs(off):.0f} s {'ahead' if off > 0 else 'behind'}",
        )
    return Answer(one.question.station, words, "the time")


def _empty(question: Question) -> frozenset[str]:
    """Codes by which nothing is told; names of the office may be refused to who may not know them, others may not."""
    known = frozenset({"NXDOMAIN", "NOERROR"})
    return known if question.name.startswith(FRESH) else known | {"REFUSED"}


def _name(question: Question, said: bytes, sent: bytes) -> Answer | None:
    try:
        reply = lookups.read(said, sent)
    except MalformedError as wrong:
        return Answer(question.station, question.words, "", f"what came is no answer: {wrong}")
    if reply is None:
        return None
    got = ", ".join(sorted(reply.told)) or reply.code
    if reply.told == question.told and (reply.told or reply.code in _empty(question)):
        return Answer(question.station, question.words, got)
    want = ", ".join(sorted(question.told)) or "nothing"
    return Answer(question.station, question.words, got, f"must be told {want}, was told {got}")
