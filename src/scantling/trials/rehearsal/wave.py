"""Makes many tries at once from the rooms of their sources, each by a socket of its own, and hears what comes of each."""

import errno
import select
import struct
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import groupby
from socket import (
    IPPROTO_IP, IPPROTO_IPV6, MSG_ERRQUEUE, SO_ERROR, SO_LINGER, SOCK_DGRAM, SOCK_NONBLOCK, SOCK_STREAM, SOL_SOCKET, SocketType,
)  # fmt: skip
from typing import NamedTuple

from scantling.figures import OUTSIDE
from scantling.trials.probe.probing import Expected, Heard, Kind, Probe
from scantling.trials.rehearsal.by_hand import VERSIONS, ByHand
from scantling.trials.rehearsal.greetings import Answer, greeting, understood
from scantling.trials.rehearsal.packets import Said
from scantling.trials.rehearsal.rooms import Room

STREAM, DATAGRAM = int(SOCK_STREAM | SOCK_NONBLOCK), int(SOCK_DGRAM | SOCK_NONBLOCK)
# linux/in.h and in6.h: Python's socket has no names for them
FREE6, RECEIVE_ERRORS, RECEIVE_ERRORS6 = 78, 11, 25
QUEUED = frozenset({RECEIVE_ERRORS, RECEIVE_ERRORS6})
AT_ONCE = struct.pack("ii", 1, 0)
"""A connection is let go by a reset, so that nothing of it stays (SO_LINGER)."""
OFTEN, MANY, LARGEST = 128, 1024, 2048
GONE = frozenset({errno.EHOSTUNREACH, errno.ENETUNREACH, errno.EHOSTDOWN})
SAID_NO = frozenset({errno.ECONNREFUSED, errno.ECONNRESET, errno.EACCES, errno.EPROTO, errno.ENOPROTOOPT})
"""What errors of ICMP become (net/ipv4/icmp.c, net/ipv6/icmp.c): refused, forbidden, not spoken."""
IN, OUT, WRONG = select.EPOLLIN, select.EPOLLOUT, select.EPOLLERR | select.EPOLLHUP


class Patience(NamedTuple):
    """How tries are made, and how long is waited for what comes."""

    quiet: float = 0.02
    """Seconds without any event after which nothing more is awaited of tries that nobody should answer."""
    patient: float = 0.06
    """The same while some have not been answered that should be."""
    by_hand: bool = False
    """Whether what is to be kept out is written by hand, in half the time; nobody hears the answer if it is not."""


USUAL = Patience()


class Outcome(NamedTuple):
    """What a socket saw."""

    heard: Heard
    answer: Answer = Answer("", 0, "")
    gone: bool = False
    """Whether a message said that nobody is there."""


SILENCE, REFUSED, NOT_THERE = Outcome(Heard.SILENCE), Outcome(Heard.REFUSED), Outcome(Heard.REFUSED, gone=True)


class Open(NamedTuple):
    """A try that is under way."""

    probe: Probe
    socket: SocketType

    def let_go(self) -> None:
        """Close it; nothing of a connection may stay, that the port is free for the next try."""
        if self.probe.kind is Kind.TCP:
            self.socket.setsockopt(SOL_SOCKET, SO_LINGER, AT_ONCE)
        self.socket.close()


def nobody() -> None:
    """Nobody is waited for."""


class Wave:
    """Tries that are under way at the same time."""

    def __init__(
        self,
        rooms: Mapping[str, Room],
        ports: Mapping[int, int],
        names: Mapping[str, str],
        through: Callable[[], None] = nobody,
    ) -> None:
        """`names`: by station, what it asks a name server for. `through`: waits until those who answer are through with all."""
        self.rooms, self.ports, self.names, self.through = rooms, ports, names, through
        self.found: dict[int, Outcome] = {}
        self.addresses: dict[object, str] = {}

    def made(self, batch: Sequence[Probe], manner: Patience = USUAL) -> dict[int, Outcome]:
        """Make tries, in order, and hear of each what comes. Raises OSError where the machine lacks something."""
        self.by_hand = manner.by_hand
        self.found, self.open = {}, dict[int, Open]()
        self.hands = ByHand(self.ports)
        self.waiting = sum(bool(one.answers) for one in batch)
        self.poll = select.epoll()
        try:
            self._start(batch)
            self._listen(manner, len(batch))
        finally:
            self._let_go()
        return self.found

    def _start(self, batch: Iterable[Probe]) -> None:
        for source, many in groupby(batch, key=lambda one: one.source):
            mine = [*many]
            for place in range(0, len(mine), OFTEN):
                self._start_some(source, mine[place : place + OFTEN])
                self._events(0)

    def _start_some(self, source: str, few: Iterable[Probe]) -> None:
        room = self._room(source)
        with room.entered():
            for one in few:
                self._begin(one, far=room.name == OUTSIDE)

    def _room(self, source: str) -> Room:
        """Where a station is; all those outside share one."""
        return self.rooms[source] if source in self.rooms else self.rooms[OUTSIDE]

    def _begin(self, probe: Probe, *, far: bool) -> None:
        try:
            if self.by_hand and probe.expected is Expected.KEPT_OUT:
                self._write(probe)
            elif probe.kind is Kind.TCP:
                self._connect(probe, far=far)
            elif probe.kind is Kind.UDP:
                self._speak(probe, far=far)
            else:
                self._write(probe)
        except OSError as wrong:
            if wrong.errno != errno.EADDRNOTAVAIL or probe.kind not in {Kind.TCP, Kind.UDP}:
                self._fail(probe, wrong)
            else:  # under an address that the station has not
                self._begin_borrowed(probe)

    def _begin_borrowed(self, probe: Probe) -> None:
        try:
            self._write(probe)
        except OSError as wrong:
            self._fail(probe, wrong)

    def _fail(self, probe: Probe, wrong: OSError) -> None:
        """What a call that fails says of a try. Raises the error if it says something of this machine."""
        if wrong.errno in {errno.EPERM, errno.ENOBUFS}:  # its own filter dropped it, or a cable is out
            self._end(probe, SILENCE)
        elif wrong.errno in GONE:
            self._end(probe, NOT_THERE)
        elif wrong.errno in SAID_NO:
            self._end(probe, REFUSED)
        else:
            words = (
                f"{probe.source} can't try {probe.kind} {probe.port} on {probe.address} from {probe.source_address}"
            )
            raise OSError(wrong.errno, f"{words}: {wrong.strerror}") from wrong

    def _address(self, host: object) -> str:
        found = self.addresses.get(host)
        if found is None:
            found = self.addresses[host] = str(host)
        return found

    def _bound(self, probe: Probe, sort: int, *, far: bool) -> SocketType:
        made = SocketType(VERSIONS[probe.family], sort)
        try:
            # an error may come while the call that begins a connection still holds the socket: then it waits in a queue
            if probe.family == 4:  # noqa: PLR2004 - the version
                made.setsockopt(IPPROTO_IP, RECEIVE_ERRORS, 1)
            else:
                made.setsockopt(IPPROTO_IPV6, RECEIVE_ERRORS6, 1)
            if far and probe.family == 6:  # noqa: PLR2004 - there the kernel asks for the address itself, not for a way to it
                made.setsockopt(IPPROTO_IPV6, FREE6, 1)
            made.bind((self._address(probe.source_address), self.ports[probe.id]))
        except OSError:
            made.close()
            raise
        return made

    def _connect(self, probe: Probe, *, far: bool) -> None:
        made = self._bound(probe, STREAM, far=far)
        code = made.connect_ex((self._address(probe.address), probe.port))
        if code not in {0, errno.EINPROGRESS}:
            made.close()
            raise OSError(code, errno.errorcode.get(code, ""))
        self.open[made.fileno()] = Open(probe, made)
        self.poll.register(made.fileno(), OUT if probe.first else IN)

    def _speak(self, probe: Probe, *, far: bool) -> None:
        made = self._bound(probe, DATAGRAM, far=far)
        try:
            made.connect((self._address(probe.address), probe.port))
            made.send(greeting(probe, self.names.get(probe.source, "")))
        except OSError:
            made.close()
            raise
        self.open[made.fileno()] = Open(probe, made)
        self.poll.register(made.fileno(), IN)

    def _write(self, probe: Probe) -> None:
        ear = self.hands.send(probe, self._room(probe.source).name)
        if ear is not None:
            self.poll.register(ear.socket.fileno(), IN)

    def _listen(self, manner: Patience, many: int) -> None:
        """Until something is heard of that many tries, or nothing has come for a while, nor from those who were behind."""
        while len(self.found) < many:
            if self._events(manner.patient if self.waiting > 0 else manner.quiet):
                continue
            if self.waiting <= 0:
                return
            self.through()
            if not self._events(manner.quiet):
                return

    def _events(self, wait: float) -> int:
        many = self.poll.poll(wait, MANY)
        for descriptor, event in many:
            ear = self.hands.ears.get(descriptor)
            if ear is not None:
                for probe, said in self.hands.heard(ear):
                    self._end(probe, _of(probe, said))
            elif descriptor in self.open:
                self._event(self.open[descriptor], event)
        return len(many)

    def _event(self, one: Open, event: int) -> None:
        probe, mine = one
        if event & OUT and not event & WRONG:
            self.poll.modify(mine.fileno(), IN)
            mine.send(greeting(probe, self.names.get(probe.source, "")))
            return
        try:
            said = mine.recv(LARGEST) if event & IN else b""
        except OSError as wrong:
            self._closed(one, NOT_THERE if wrong.errno in GONE else REFUSED)
            return
        answer = understood(probe, said) if said else None
        if answer is not None:
            self._closed(one, Outcome(Heard.ANSWER, answer))
        elif not event & IN:
            self._closed(one, NOT_THERE if _wrong(mine) in GONE else REFUSED)
        elif probe.kind is Kind.TCP and not said:  # taken and closed without a word
            self._closed(one, SILENCE)

    def _closed(self, one: Open, outcome: Outcome) -> None:
        self._end(one.probe, outcome)
        del self.open[one.socket.fileno()]
        one.let_go()

    def _end(self, probe: Probe, outcome: Outcome) -> None:
        if probe.id not in self.found and probe.answers:
            self.waiting -= 1
        self.found[probe.id] = outcome

    def _let_go(self) -> None:
        for one in self.open.values():
            one.let_go()
        self.hands.let_go()
        self.poll.close()


def _wrong(mine: SocketType) -> int:
    """The number of the error that a socket has met, or that waits in its queue (ip(7), IP_RECVERR)."""
    code = mine.getsockopt(SOL_SOCKET, SO_ERROR)
    if code:
        return code
    try:
        _, beside, _, _ = mine.recvmsg(LARGEST, LARGEST, MSG_ERRQUEUE)
    except OSError:  # none there
        return 0
    return next((int.from_bytes(data[:4], sys.byteorder) for _, kind, data in beside if kind in QUEUED), 0)


def _of(probe: Probe, said: Said) -> Outcome:
    if said is Said.ECHO:
        return Outcome(Heard.ANSWER, Answer(probe.answers, probe.port, ""))
    return NOT_THERE if said is Said.NOT_THERE else REFUSED
