"""Answers in every room at every port that is tried, and says who it is, at which port, and whom it sees."""

import errno
import json
import select
import socket
import struct
from collections.abc import Collection, Iterable, Mapping
from typing import Any, NamedTuple

from scantling.figures import OUTSIDE, Host
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.aside import Aside
from scantling.trials.rehearsal.greetings import told
from scantling.trials.rehearsal.rooms import Room

Ports = Mapping[str, Collection[tuple[Kind, int]]]
"""By station, how and where it listens."""
BACKLOG, LARGEST, AT_ONCE, PATIENCE = 4096, 512, 64, 20.0
FREE6 = 78  # linux/in6.h: answer from addresses that the room takes for its own without bearing them
INFO6 = struct.Struct("=16sI")
BESIDE = socket.CMSG_SPACE(INFO6.size)
MAPPED, FOURTH = "::ffff:", bytes(10) + b"\xff\xff"
"""How a socket of both versions writes addresses of the fourth (RFC 4291 section 2.5.5.2)."""
NOT_KNOWN = "somebody-outside"


class RespondersError(OSError):
    """What keeps responders from listening."""


class Post(NamedTuple):
    """One socket that listens."""

    socket: socket.socket
    kind: Kind
    station: str
    """OUTSIDE: whoever is asked."""
    port: int


class Responders:
    """A process of its own that answers for everybody. It dies with whoever started it."""

    def __init__(self, rooms: Mapping[str, Room], ports: Ports, outside: Mapping[Host, str]) -> None:
        """`rooms` by station, all those outside share one; `outside`: who has which address there."""
        self.here, there = socket.socketpair()
        self.here.settimeout(PATIENCE)
        self._post = _Posts(rooms, {str(host): slug for host, slug in outside.items()}, there)
        self._there = there
        self._first = _plain(ports)
        self._process = Aside("responders", self._post.serve)

    def start(self) -> None:
        """Listen everywhere. Raises RespondersError."""
        self._process.start()
        self._there.close()
        self._ask({"listen": self._first})

    def listen(self, ports: Ports) -> None:
        """Listen at more ports. Raises RespondersError."""
        self._ask({"listen": _plain(ports)})

    def mute(self, station: str) -> None:
        """Nobody listens at a station any more; somebody outside takes what is said and keeps silent."""
        self._ask({"mute": station})

    def unmute(self, station: str) -> None:
        """A station listens as before."""
        self._ask({"unmute": station})

    def through(self) -> None:
        """Wait until all that came before is answered; where nobody answers anything, nobody is waited for. Raises RespondersError."""
        if self._process.answers:
            self._ask({})

    def pause(self) -> None:
        """Nobody answers anything."""
        self._process.pause()

    def go_on(self) -> None:
        """Everybody answers again."""
        self._process.go_on()

    def stop(self) -> None:
        """End it."""
        self._process.stop()
        self.here.close()

    def _ask(self, order: Mapping[str, Any]) -> None:
        """Have something done, and wait until it is. Raises RespondersError."""
        try:
            self.here.sendall(json.dumps(order).encode() + b"\n")
            said = b""
            while not said.endswith(b"\n"):
                more = self.here.recv(65536)
                if not more:
                    raise RespondersError(errno.EPIPE, "the responders have ended")
                said += more
        except TimeoutError as wrong:
            raise RespondersError(errno.ETIMEDOUT, f"the responders did not answer within {PATIENCE:g} s") from wrong
        if refused := json.loads(said):
            raise RespondersError(errno.EADDRINUSE, refused)


def _plain(ports: Ports) -> dict[str, list[list[Any]]]:
    return {station: [[kind.value, port] for kind, port in sorted(many)] for station, many in ports.items()}


class _Posts:
    """The process itself."""

    def __init__(self, rooms: Mapping[str, Room], outside: Mapping[str, str], control: socket.socket) -> None:
        self.rooms, self.outside, self.control = rooms, outside, control
        self.posts: dict[int, Post] = {}
        self.wanted: dict[str, dict[tuple[Kind, int], None]] = {}
        self.muted: set[str] = set()

    def serve(self) -> None:
        """Answer until whoever started it is gone."""
        self.poll = select.epoll()
        self.poll.register(self.control.fileno(), select.EPOLLIN)
        self.waiting = b""
        while True:
            for descriptor, _ in self.poll.poll():
                post = self.posts.get(descriptor)
                if post is not None:
                    (self._accept if post.kind is Kind.TCP else self._answer)(post)
                elif descriptor == self.control.fileno() and not self._told():
                    return

    def _told(self) -> bool:
        """Do what has been asked for; False when nobody is there any more to ask."""
        more = self.control.recv(65536)
        *orders, self.waiting = (self.waiting + more).split(b"\n")
        for order in orders:
            self.control.sendall(json.dumps(self._obey(json.loads(order))).encode() + b"\n")
        return bool(more)

    def _obey(self, order: Mapping[str, Any]) -> str:
        """What is wrong; nothing if all is done."""
        try:
            for station, many in order.get("listen", {}).items():
                self._listen(station, [(Kind(kind), port) for kind, port in many])
            if station := order.get("mute"):
                self._mute(station)
            if station := order.get("unmute"):
                self.muted.discard(station)
                self._listen(station, list(self.wanted.get(station, ())))
        except OSError as wrong:
            return wrong.strerror or str(wrong)
        return ""

    def _mute(self, station: str) -> None:
        self.muted.add(station)
        for descriptor, post in [*self.posts.items()]:
            if post.station == station:
                del self.posts[descriptor]
                post.socket.close()  # a descriptor that is closed is watched no more

    def _listen(self, station: str, many: Iterable[tuple[Kind, int]]) -> None:
        """Raises OSError that names station and port."""
        where = station if station in self.rooms else OUTSIDE
        standing = {(post.kind, post.port) for post in self.posts.values() if post.station == where}
        self.wanted.setdefault(station, {}).update(dict.fromkeys(many))
        with self.rooms[where].entered():
            for kind, port in many:
                if (kind, port) not in standing:
                    self._open(where, kind, port)
                    standing.add((kind, port))

    def _open(self, station: str, kind: Kind, port: int) -> None:
        sort = socket.SOCK_STREAM if kind is Kind.TCP else socket.SOCK_DGRAM
        made = socket.socket(socket.AF_INET6, sort | socket.SOCK_NONBLOCK)
        try:
            made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 0)
            made.setsockopt(socket.IPPROTO_IPV6, FREE6, 1)
            if kind is Kind.TCP:
                made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            else:
                made.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_RECVPKTINFO, 1)
            made.bind(("::", port))
            if kind is Kind.TCP:
                made.listen(BACKLOG)
        except OSError as wrong:
            made.close()
            said = f"nobody can listen at {kind} {port} of {station}: {wrong.strerror}"
            raise OSError(wrong.errno, said) from wrong
        self.posts[made.fileno()] = Post(made, kind, station, port)
        self.poll.register(made.fileno(), select.EPOLLIN)

    def _who(self, post: Post, at: str) -> str:
        """Whoever is asked; outside they are told apart by address."""
        return self.outside.get(at, NOT_KNOWN) if post.station == OUTSIDE else post.station

    def _accept(self, post: Post) -> None:
        for _ in range(AT_ONCE):
            try:
                caller, who = post.socket.accept()
            except OSError:  # nobody more, or somebody who has given up
                return
            try:
                at = _bare(caller.getsockname()[0]) if post.station == OUTSIDE else ""
                station = self._who(post, at)
                if station not in self.muted:
                    caller.send(told(station, post.port, _bare(who[0])))
            except OSError:  # given up meanwhile; the try sees it as it is
                pass
            finally:
                caller.close()

    def _answer(self, post: Post) -> None:
        for _ in range(AT_ONCE):
            try:
                _, beside, _, who = post.socket.recvmsg(LARGEST, BESIDE)
            except OSError:  # nothing more, or an error about an answer that nobody waits for
                return
            at = next((data[:16] for _, kind, data in beside if kind == socket.IPV6_PKTINFO), b"")
            station = self._who(post, _written(at) if post.station == OUTSIDE else "")
            if station not in self.muted and at:
                info = (socket.IPPROTO_IPV6, socket.IPV6_PKTINFO, INFO6.pack(at, 0))
                self._say(post, told(station, post.port, _bare(who[0])), info, who)

    def _say(self, post: Post, said: bytes, info: tuple[int, int, bytes], who: tuple[Any, ...]) -> None:
        try:
            post.socket.sendmsg([said], [info], 0, who)
        except OSError:  # the way back is closed: a datagram is lost, and the try says so
            return


def _bare(address: str) -> str:
    return address.removeprefix(MAPPED)


def _written(packed: bytes) -> str:
    if packed[:12] == FOURTH:
        return socket.inet_ntop(socket.AF_INET, packed[12:])
    return socket.inet_ntop(socket.AF_INET6, packed)
