"""One station's talk with an address server in IPv4: asked for an address, asked again for the one it has, or giving it back."""

import socket
from ipaddress import IPv4Address
from zlib import crc32

from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError, read, written
from scantling.trials.rehearsal.dhcp import ANSWERS_AT, CALLS_AT, Kind, Message, Option
from scantling.trials.rehearsal.given import Given, nothing
from scantling.trials.rehearsal.office import Station
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import EVERYBODY, IP4, answers_to, listening, put

FOURTH = 4
TO_EVERYBODY = IPv4Address("255.255.255.255")
FIRST_WAIT = 0.25
"""How long an answer may take before it is asked again, seconds; twice that the next time (RFC 2131 section 4.1 begins with 4)."""
LARGEST = 4096
SILENT = "no server offered an address"
TAKEN_BACK = "the server took its offer back, and none made another"
MUTE = "a server offered {offered}, but never gave it"


def given4(station: Station, answer: Message) -> Given:
    """What an answer gives."""
    mask = next(iter(answer.hosts(Option.MASK)), IPv4Address(0))
    routers, servers = answer.hosts(Option.ROUTER), answer.hosts(Option.SERVER)
    return Given(
        station.slug, station.zone, FOURTH, answer.given, int(mask).bit_count(), next(iter(routers), None),
        answer.hosts(Option.RESOLVERS), answer.hosts(Option.TIMES), answer.words(Option.DOMAIN),
        str(next(iter(servers), "")), answer.number(Option.SECONDS), "",
    )  # fmt: skip


def serial(*words: object) -> int:
    """The number of an exchange, the same every time."""
    return crc32(" ".join(map(str, words)).encode())


class Talk4:
    """What all three have in common: a socket, a message that is sent again and again, and an end."""

    def __init__(self, station: Station, room: Room, patience: float) -> None:
        self.station, self.room, self.patience = station, room, patience
        self.hardware = dhcp.as_bytes(station.hardware)
        self.given = nothing(station.slug, station.zone, FOURTH, SILENT)
        self.over, self.due = False, 0.0
        self.socket: socket.socket | None = None
        self.wait, self.ends = FIRST_WAIT, 0.0

    def fileno(self) -> int:
        """The socket's descriptor; -1 when there is none."""
        return self.socket.fileno() if self.socket else -1

    def close(self) -> None:
        """Let go of the socket."""
        if self.socket is not None:
            self.socket.close()

    def begin(self, now: float) -> None:
        """Open the socket and ask. What the machine doesn't let happen is a refusal in its own words."""
        self.ends = now + self.patience
        try:
            self.socket = self.opened()
            self.say(now)
        except OSError as wrong:
            self.end(
                nothing(self.station.slug, self.station.zone, FOURTH, f"it can't ask: {wrong.strerror or wrong}")
            )

    def late(self, now: float) -> None:
        """Ask again, more patiently, or give up."""
        if now >= self.ends:
            self.end(self.given)
            return
        self.wait *= 2
        self.say(now)

    def say(self, now: float) -> None:
        """Send what is to be said now; what is lost on the way is sent again. It is over when the port is gone."""
        self.due = min(now + self.wait, self.ends)
        try:
            self.send(self.message())
        except OSError as wrong:
            self.end(
                nothing(self.station.slug, self.station.zone, FOURTH, f"it can't ask: {wrong.strerror or wrong}")
            )

    def end(self, given: Given) -> None:
        """It is over."""
        self.given, self.over = given, True

    def heard(self, now: float) -> None:
        """Take in everything that came. What is no message of this exchange is nobody's concern here."""
        while not self.over and self.socket is not None:
            try:
                data = self.socket.recv(LARGEST)
            except (BlockingIOError, InterruptedError):
                return
            except OSError as wrong:
                self.end(nothing(self.station.slug, self.station.zone, FOURTH, f"it hears nothing: {wrong.strerror}"))
                return
            try:
                message = dhcp.read(self.unpacked(data))
            except MalformedError:
                continue
            if message.op == dhcp.ANSWER and message.serial == self.message().serial:
                self.answered(message, now)

    def opened(self) -> socket.socket:
        """The socket. Raises OSError."""
        raise NotImplementedError

    def send(self, message: Message) -> None:
        """Send it. Raises OSError."""
        raise NotImplementedError

    def message(self) -> Message:
        """What is to be said now."""
        raise NotImplementedError

    def unpacked(self, data: bytes) -> bytes:
        """The message in what came. Raises MalformedError."""
        return data

    def answered(self, message: Message, now: float) -> None:
        """An answer to what was said."""
        raise NotImplementedError


class Discovering(Talk4):
    """Calls for servers, takes the first offer, is given the address (RFC 2131 section 3.1)."""

    def __init__(self, station: Station, room: Room, patience: float) -> None:
        super().__init__(station, room, patience)
        self.first = dhcp.discover(serial(station.hardware, "discover"), self.hardware)
        self.says = self.first

    def opened(self) -> socket.socket:
        """A wire of its own: nobody can send to an address that it doesn't have yet."""
        return listening(self.room, self.station.port, IP4, answers_to(ANSWERS_AT, self.hardware))

    def message(self) -> Message:
        """A call for servers, then a request."""
        return self.says

    def send(self, message: Message) -> None:
        """To everybody on the wire."""
        packet = written(Datagram(dhcp.NOBODY, ANSWERS_AT, TO_EVERYBODY, CALLS_AT, dhcp.written(message)))
        if self.socket is not None:
            put(self.socket, packet, (self.station.port, IP4, 0, 0, EVERYBODY))

    def unpacked(self, data: bytes) -> bytes:
        """Out of its packet."""
        return read(data).load

    def answered(self, message: Message, now: float) -> None:
        """An offer is taken; an address is had; a no begins everything anew."""
        if message.kind == Kind.OFFER and self.says is self.first:
            self.says = dhcp.request(message)
            self.given = nothing(self.station.slug, self.station.zone, FOURTH, MUTE.format(offered=message.given))
        elif message.kind == Kind.ACK and self.says is not self.first:
            self.end(given4(self.station, message))
            return
        elif message.kind == Kind.NAK and self.says is not self.first:
            self.says = self.first
            self.given = nothing(self.station.slug, self.station.zone, FOURTH, TAKEN_BACK)
        else:
            return
        self.wait = FIRST_WAIT
        self.say(now)


class Renewing(Talk4):
    """Who has an address asks the very server that gave it, straight, for more time (RFC 2131 section 4.4.5)."""

    def __init__(self, station: Station, room: Room, patience: float, had: Given) -> None:
        super().__init__(station, room, patience)
        if not isinstance(had.address, IPv4Address):
            raise TypeError(f"{station.slug} has no IPv4 address to renew")
        self.had, self.server = had.address, IPv4Address(had.server)
        self.says = dhcp.renewal(serial(station.hardware, "renew"), self.hardware, self.had)
        self.given = nothing(station.slug, station.zone, FOURTH, f"{self.server} didn't renew {self.had}")

    def opened(self) -> socket.socket:
        """An ordinary socket at the address that it has."""
        return bound(self.room, self.had)

    def message(self) -> Message:
        """The same request each time."""
        return self.says

    def send(self, message: Message) -> None:
        """Straight to the server."""
        if self.socket is not None:
            put(self.socket, dhcp.written(message), (str(self.server), CALLS_AT))

    def answered(self, message: Message, now: float) -> None:
        """Yes or no."""
        del now
        if message.kind == Kind.ACK:
            self.end(given4(self.station, message))
        elif message.kind == Kind.NAK:
            why = message.words(Option.WORDS) or "without saying why"
            self.end(
                nothing(self.station.slug, self.station.zone, FOURTH, f"{self.server} took {self.had} back: {why}")
            )


def bound(room: Room, held: IPv4Address) -> socket.socket:
    """A socket at the client's port of an address. Raises OSError."""
    found = room.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((str(held), ANSWERS_AT))
        found.settimeout(0)
    except OSError:
        found.close()
        raise
    return found


def let_go(station: Station, room: Room, had: Given) -> Given:
    """Give an address back; no server answers that (RFC 2131 section 4.4.6)."""
    if not isinstance(had.address, IPv4Address):
        return nothing(station.slug, station.zone, FOURTH, "it has no address to give back")
    server = IPv4Address(had.server)
    told = dhcp.release(serial(station.hardware, "release"), dhcp.as_bytes(station.hardware), had.address, server)
    try:
        with bound(room, had.address) as near:
            near.sendto(dhcp.written(told), (str(server), CALLS_AT))
    except OSError as wrong:
        return nothing(
            station.slug, station.zone, FOURTH, f"{had.address} can't be given back: {wrong.strerror or wrong}"
        )
    return nothing(station.slug, station.zone, FOURTH, "")
