"""A small server of our own in one room: a process that answers on some ports, and obeys whoever started it until that one ends."""

import contextlib
import json
import os
import selectors
import signal
import socket
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Self

from scantling.figures import Host
from scantling.trials.rehearsal.calls import DIES_WITH, prctl
from scantling.trials.rehearsal.everywhere import Asked, answer, datagrams, heard, host_of, let_go, listeners
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError

LENGTH = 2
"""Octets before each message of a stream that say how long it is (RFC 1035 section 4.2.2)."""
AT_ONCE = 64
MOST_STREAMS = 200
LONGEST = 65536
PATIENCE = 10.0
STANDARD = 2
SETTINGS = "settings"


@dataclass(frozen=True, slots=True)
class Ends:
    """Between whom something was said."""

    at: Host
    """The address that was asked."""
    by: Host
    """Who asked."""


Says = Callable[[bytes, Ends, Mapping[str, float]], bytes | None]
"""From what was said, between whom, and what is set by now: the answer, or None."""


@dataclass(frozen=True, slots=True)
class Counter:
    """One port, and what is said there."""

    name: str
    port: int
    says: Says
    streams: bool = False
    """Whether it also answers over TCP, a length before each message."""
    hosts: tuple[Host, ...] = ()
    """Where it is; nothing: at every address of the room."""
    device: str = ""
    """On this interface alone."""
    back: tuple[str, int] | None = None
    """Where answers go, when not to who asked."""


@dataclass(slots=True)
class _Stream:
    """One connection, what came of the next message, and what isn't sent yet."""

    socket: socket.socket
    counter: Counter
    ends: Ends
    came: bytes = b""
    left: bytes = b""

    def whole(self) -> Iterator[bytes]:
        """Messages that came whole; they are taken off."""
        while (
            len(self.came) >= (end := LENGTH + int.from_bytes(self.came[:LENGTH], "big")) and len(self.came) >= LENGTH
        ):
            message, self.came = self.came[LENGTH:end], self.came[end:]
            yield message


class Attendant:
    """A process of its own with some counters; it dies with the one that started it."""

    def __init__(self, room: Room, what: str, counters: Sequence[Counter]) -> None:
        """Start it. `what`: in words, for errors. Raises RehearsalError when a port can't be had."""
        self.what = what
        self.control, far = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        self.control.settimeout(PATIENCE)
        begun_by = os.getpid()
        self.process = os.fork()
        if not self.process:
            _lived(room, counters, far, begun_by)
        far.close()
        try:
            self._heard()
        except RehearsalError:
            self.end()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    def open(self, name: str) -> None:
        """Answer at a counter again. Raises RehearsalError."""
        self._told({"open": name})

    def shut(self, name: str) -> None:
        """Answer there no more: nobody listens. Raises RehearsalError."""
        self._told({"shut": name})

    def set(self, name: str, value: float) -> None:
        """Change a setting that the counters look at. Raises RehearsalError."""
        self._told({SETTINGS: {name: value}})

    def end(self) -> None:
        """End it; no harm when it has ended."""
        if self.process:
            self.control.close()
            os.kill(self.process, signal.SIGKILL)
            os.waitpid(self.process, 0)
            self.process = 0

    def _told(self, order: Mapping[str, Any]) -> None:
        try:
            self.control.send(json.dumps(order).encode())
        except OSError as wrong:
            raise RehearsalError(f"{self.what} has ended by itself ({wrong.strerror})") from wrong
        self._heard()

    def _heard(self) -> None:
        try:
            said = self.control.recv(LONGEST)
        except OSError as wrong:
            raise RehearsalError(f"{self.what} doesn't obey: {wrong}") from wrong
        if said != b"well":
            raise RehearsalError(f"{self.what} can't answer: {said.decode() or 'it has ended by itself'}")


def _lived(room: Room, counters: Sequence[Counter], control: socket.socket, begun_by: int) -> None:
    """The whole life of the process; never returns."""
    try:
        prctl(DIES_WITH, signal.SIGKILL)
        if os.getppid() == begun_by:
            for one in (signal.SIGINT, signal.SIGTERM):
                signal.signal(one, signal.SIG_DFL)
            _lonely({room.descriptor, room.home, control.fileno()})
            _Room(room, counters, control).serve()
    except BaseException:  # noqa: BLE001 - nobody else is there to hear of it
        with contextlib.suppress(OSError):  # not even that one any more
            control.send(traceback.format_exc().strip().splitlines()[-1].encode()[:LONGEST])
    finally:
        os._exit(0)


def _lonely(keep: set[int]) -> None:
    """Let go of everything that came along with the fork: what others close must be closed."""
    for descriptor in [int(one.name) for one in Path("/proc/self/fd").iterdir()]:
        if descriptor > STANDARD and descriptor not in keep:
            try:
                os.close(descriptor)
            except OSError:  # the one by which the list was read
                continue


@dataclass(slots=True)
class _Room:
    """Inside the process: its counters, open or shut."""

    room: Room
    counters: Sequence[Counter]
    control: socket.socket
    poll: selectors.EpollSelector = field(default_factory=selectors.EpollSelector)
    settings: dict[str, float] = field(default_factory=dict)
    standing: dict[str, list[socket.socket]] = field(default_factory=dict)
    streams: list[_Stream] = field(default_factory=list)
    wanted: bool = True

    def serve(self) -> None:
        """Answer and obey until the control is closed."""
        for counter in self.counters:
            self.open(counter)
        self.poll.register(self.control, selectors.EVENT_READ, self.obey)
        self.control.send(b"well")
        while self.wanted:
            for key, _ in self.poll.select():
                key.data()

    def open(self, counter: Counter) -> None:
        """Stand there."""
        if counter.name in self.standing:
            return
        mine = self.standing[counter.name] = datagrams(self.room, counter.port, counter.hosts, counter.device)
        for one in mine:
            self.poll.register(one, selectors.EVENT_READ, lambda one=one: self.ask(one, counter))
        for one in listeners(self.room, counter.port, counter.hosts) if counter.streams else []:
            self.poll.register(one, selectors.EVENT_READ, lambda one=one: self.accept(one, counter))
            mine.append(one)

    def shut(self, name: str) -> None:
        """Be there no more; connections end too."""
        mine = self.standing.pop(name, [])
        for one in mine:
            self.poll.unregister(one)
        let_go(mine)
        for stream in [one for one in self.streams if one.counter.name == name]:
            self.part(stream)

    def obey(self) -> None:
        """One order."""
        said = self.control.recv(LONGEST)
        if not said:
            self.wanted = False
            return
        order = json.loads(said)
        self.settings.update(order.get(SETTINGS, {}))
        if "shut" in order:
            self.shut(order["shut"])
        if "open" in order:
            self.open(next(one for one in self.counters if one.name == order["open"]))
        self.control.send(b"well")

    def ask(self, mine: socket.socket, counter: Counter) -> None:
        """Datagrams that wait, some at once."""
        for _ in range(AT_ONCE):
            asked = heard(mine)
            if asked is None:
                return
            said = counter.says(asked.said, Ends(asked.at, host_of(asked.who)), self.settings)
            if said is not None:
                answer(mine, asked if counter.back is None else Asked(b"", counter.back, asked.at, asked.port), said)

    def accept(self, mine: socket.socket, counter: Counter) -> None:
        """A new connection."""
        try:
            theirs, who = mine.accept()
        except OSError:  # it was given up meanwhile
            return
        theirs.settimeout(0)
        stream = _Stream(theirs, counter, Ends(host_of(theirs.getsockname()), host_of(who)))
        self.streams.append(stream)
        self.poll.register(theirs, selectors.EVENT_READ, lambda: self.read(stream))
        if len(self.streams) > MOST_STREAMS:
            self.part(self.streams[0])

    def read(self, stream: _Stream) -> None:
        """What came of a stream; whole messages are answered."""
        try:
            said = stream.socket.recv(LONGEST)
        except BlockingIOError:
            return
        except OSError:
            said = b""
        if not said:
            self.part(stream)
            return
        stream.came += said
        for message in stream.whole():
            told = stream.counter.says(message, stream.ends, self.settings)
            if told is not None:
                stream.left += len(told).to_bytes(LENGTH, "big") + told
        self.write(stream)

    def write(self, stream: _Stream) -> None:
        """As much of the answer as goes by now."""
        try:
            while stream.left:
                stream.left = stream.left[stream.socket.send(stream.left) :]
        except BlockingIOError:
            self.poll.modify(stream.socket, selectors.EVENT_READ | selectors.EVENT_WRITE, lambda: self.more(stream))
        except OSError:
            self.part(stream)

    def more(self, stream: _Stream) -> None:
        """There is room for more of the answer, or something came."""
        self.write(stream)
        if stream in self.streams:
            if not stream.left:
                self.poll.modify(stream.socket, selectors.EVENT_READ, lambda: self.read(stream))
            self.read(stream)

    def part(self, stream: _Stream) -> None:
        """End a connection."""
        if stream in self.streams:
            self.streams.remove(stream)
            self.poll.unregister(stream.socket)
            stream.socket.close()
