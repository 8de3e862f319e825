"""One station's talk with an address server in IPv6: for an address, or for what is told beside those that stations make themselves."""

import socket
from ipaddress import IPv6Address

from scantling.trials.rehearsal import dhcp, dhcp6
from scantling.trials.rehearsal.asking4 import FIRST_WAIT, LARGEST, serial
from scantling.trials.rehearsal.datagrams import MalformedError
from scantling.trials.rehearsal.dhcp6 import (
    ANSWERS_AT, ASKED_FOR, CALLS_AT, SERVERS_AND_RELAYS, Identity, Kind6, Message6, Option6,
)  # fmt: skip
from scantling.trials.rehearsal.given import Given, nothing
from scantling.trials.rehearsal.office import Station
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import put

SIXTH, WHOLE = 6, 128
NUMBER = 1
"""Of the only association that a station has."""
SERIALS = 0xFFFFFF
SILENT = "no server answered over IPv6"
MUTE = "a server offered an address over IPv6, but never gave it"


class Talk6:
    """Asked again and again until it is over."""

    def __init__(self, station: Station, room: Room, patience: float) -> None:
        self.station, self.room, self.patience = station, room, patience
        self.over, self.due, self.wait, self.ends = False, 0.0, FIRST_WAIT, 0.0
        self.socket: socket.socket | None = None
        self.index = 0
        self.given = nothing(station.slug, station.zone, SIXTH, SILENT)
        self.client = dhcp6.identifier(dhcp.as_bytes(station.hardware))
        self.says = self.opening()

    def opening(self) -> Message6:
        """What is said first."""
        raise NotImplementedError

    def answered(self, message: Message6, now: float) -> None:
        """An answer to what was said. Raises MalformedError."""
        raise NotImplementedError

    def composed(self, kind: Kind6, *more: tuple[int, bytes]) -> Message6:
        """A message of this station."""
        always = ((Option6.CLIENT, self.client), (Option6.ASKED_FOR, ASKED_FOR), (Option6.ELAPSED, b"\0\0"))
        number = serial(self.station.hardware, kind) & SERIALS
        return Message6(kind, number, (*((int(one), data) for one, data in always), *more))

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
            self.socket = self.room.socket(socket.AF_INET6, socket.SOCK_DGRAM)
            self.socket.settimeout(0)
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            with self.room.entered():
                self.index = socket.if_nametoindex(self.station.port)
            self.socket.bind(("::", ANSWERS_AT, 0, self.index))
            self.say(now)
        except OSError as wrong:
            self.refused(f"it can't ask over IPv6: {wrong.strerror or wrong}")

    def late(self, now: float) -> None:
        """Ask again, more patiently, or give up."""
        if now >= self.ends:
            self.over = True
            return
        self.wait *= 2
        self.say(now)

    def say(self, now: float) -> None:
        """Send what is to be said now; what is lost on the way is sent again. It is over when the port is gone."""
        self.due = min(now + self.wait, self.ends)
        try:
            if self.socket is not None:
                put(self.socket, dhcp6.written(self.says), (str(SERVERS_AND_RELAYS), CALLS_AT, 0, self.index))
        except OSError as wrong:
            self.refused(f"it can't ask over IPv6: {wrong.strerror or wrong}")

    def next(self, message: Message6, now: float) -> None:
        """Say something else from now on."""
        self.says, self.wait = message, FIRST_WAIT
        self.say(now)

    def refused(self, why: str) -> None:
        """It is over, with nothing."""
        self.given, self.over = nothing(self.station.slug, self.station.zone, SIXTH, why), True

    def heard(self, now: float) -> None:
        """Take in everything that came. What is no message of this exchange is nobody's concern here."""
        while not self.over and self.socket is not None:
            try:
                data = self.socket.recv(LARGEST)
            except (BlockingIOError, InterruptedError):
                return
            except OSError as wrong:
                self.refused(f"it hears nothing over IPv6: {wrong.strerror}")
                return
            try:
                message = dhcp6.read(data)
                if message.serial == self.says.serial and message.first(Option6.CLIENT) == self.client:
                    self.answered(message, now)
            except MalformedError:
                continue

    def told(self, message: Message6, address: IPv6Address | None, seconds: int) -> Given:
        """What an answer says. Raises MalformedError."""
        names = dhcp6.read_names(message.first(Option6.DOMAINS))
        return Given(
            self.station.slug, self.station.zone, SIXTH, address, WHOLE if address else 0, None, message.hosts(Option6.RESOLVERS),
            message.hosts(Option6.TIMES), next(iter(names), ""), message.first(Option6.SERVER).hex(), seconds, "",
        )  # fmt: skip


class Soliciting(Talk6):
    """Calls for servers, takes the first that offers an address, is given it (RFC 8415 section 18.2)."""

    def opening(self) -> Message6:
        """A call for servers."""
        return self.composed(Kind6.SOLICIT, (Option6.IDENTITY, dhcp6.written_identity(NUMBER)))

    def answered(self, message: Message6, now: float) -> None:
        """An offer is taken; an address is had; a no is final."""
        said = message.first(Option6.IDENTITY)
        if not said:
            status, words = dhcp6.read_status(message.first(Option6.STATUS))
            if status:
                self.refused(f"the server says over IPv6: {words or f'status {status}'}")
            return
        identity = dhcp6.read_identity(said)
        lent = [one for one in identity.lent if one.valid]
        if not lent:
            self.refused(_why(identity))
        elif message.kind == Kind6.ADVERTISE and self.says.kind == Kind6.SOLICIT:
            wanted = dhcp6.written_identity(NUMBER, [one.address for one in lent])
            server = (int(Option6.SERVER), message.first(Option6.SERVER))
            self.given = nothing(self.station.slug, self.station.zone, SIXTH, MUTE)
            self.next(self.composed(Kind6.REQUEST, server, (Option6.IDENTITY, wanted)), now)
        elif message.kind == Kind6.REPLY and self.says.kind == Kind6.REQUEST:
            self.given, self.over = self.told(message, lent[0].address, lent[0].valid), True


class Informing(Talk6):
    """Asks for resolvers, clocks and search names alone (RFC 8415 section 18.2.6)."""

    def opening(self) -> Message6:
        """What do I need to know?"""
        return self.composed(Kind6.INFORMATION_REQUEST)

    def answered(self, message: Message6, now: float) -> None:
        """What the server says is taken."""
        del now
        if message.kind == Kind6.REPLY:
            self.given, self.over = self.told(message, None, 0), True


def _why(identity: Identity) -> str:
    return f"the server has no IPv6 address for it: {identity.words or f'status {identity.status}'}"
