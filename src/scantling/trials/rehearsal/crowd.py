"""A crowd on one port, as behind a radio access point: devices that come, ask, renew and leave without a word, by a hastened clock."""

import select
import socket
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from heapq import heappop, heappush
from ipaddress import IPv4Address
from time import monotonic

from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.asking4 import LARGEST, TO_EVERYBODY, serial
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError, read, written
from scantling.trials.rehearsal.dhcp import ANSWERS_AT, CALLS_AT, Kind, Message, Option
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.visiting import Comer
from scantling.trials.rehearsal.wire import EVERYBODY, FRAME, IP4, closed, filtered, put, to_port_framed

PATIENCE, TRIES = 0.2, 3
"""How long an answer may take before it is asked again, seconds, and how often it is asked."""


@dataclass(frozen=True, slots=True)
class Clock:
    """Hours of the day on a hastened clock."""

    began: float
    """By the clock that never goes back, seconds."""
    first: float
    """The hour of the day at which it began."""
    pace: float
    """Seconds that an hour takes."""

    def hour(self, moment: float) -> float:
        """The hour of the day at a moment."""
        return self.first + (moment - self.began) / self.pace

    def moment(self, hour: float) -> float:
        """The moment at which it is that hour."""
        return self.began + (hour - self.first) * self.pace


class Guest:
    """One device of the crowd."""

    def __init__(self, comer: Comer, hardware: bytes) -> None:
        self.comer, self.hardware = comer, hardware
        self.address: IPv4Address | None = None
        self.since = self.until = 0.0
        """When it was given its address, and until when it is its own by the server's last word; moments."""
        self.says: Message | None = None
        """What it waits to have answered."""
        self.tries = 0
        self.refused = False
        self.lost = 0
        """Renewals that nobody answered."""


class Crowd:
    """All of them."""

    def __init__(self, room: Room, name: str, guests: Sequence[Guest], clock: Clock, again: float) -> None:
        self.guests, self.clock, self.again = guests, clock, again
        self.by_serial = {serial(guest.hardware.hex(), "crowd"): guest for guest in guests}
        self.wire = room.socket(socket.AF_PACKET, socket.SOCK_RAW)
        filtered(self.wire, to_port_framed(ANSWERS_AT))
        self.wire.settimeout(0)
        self.wire.bind((name, IP4))
        self.coming: list[tuple[float, int, Callable[[float], None]]] = []
        self.order = 0

    def at(self, moment: float, what: Callable[[float], None]) -> None:
        """Do something at a moment."""
        self.order += 1
        heappush(self.coming, (moment, self.order, what))

    def live(self, last: float) -> None:
        """Everybody comes when it is time, until an hour of the day. Raises OSError when the port is gone."""
        for guest in self.guests:
            self.at(self.clock.moment(guest.comer.arrives), partial(self.arrive, guest))
        try:
            self.attend(self.clock.moment(last))
        finally:
            closed([self.wire])

    def attend(self, end: float) -> None:
        """Hear and do what is due until a moment."""
        with select.epoll() as poll:
            poll.register(self.wire.fileno(), select.EPOLLIN)
            while (now := monotonic()) < end:
                upcoming = min(self.coming[0][0], end) if self.coming else end
                if poll.poll(max(0.0, upcoming - now)):
                    self.hear()
                self.act()

    def act(self) -> None:
        """Do what is due."""
        now = monotonic()
        while self.coming and self.coming[0][0] <= now:
            _, _, what = heappop(self.coming)
            what(now)

    def arrive(self, guest: Guest, now: float) -> None:
        """A device comes and calls for servers."""
        self.say(guest, dhcp.discover(serial(guest.hardware.hex(), "crowd"), guest.hardware), now)

    def renew(self, guest: Guest, now: float) -> None:
        """A device that is still there asks for more time."""
        if guest.address is not None:
            self.say(guest, dhcp.renewal(serial(guest.hardware.hex(), "crowd"), guest.hardware, guest.address), now)

    def say(self, guest: Guest, message: Message, now: float) -> None:
        """Say it to everybody, and look later whether it was answered."""
        guest.says, guest.tries = message, 0
        self.send(guest, message, now)

    def send(self, guest: Guest, message: Message, now: float) -> None:
        """Put it on the wire."""
        guest.tries += 1
        packet = written(Datagram(message.held, ANSWERS_AT, TO_EVERYBODY, CALLS_AT, dhcp.written(message)))
        put(self.wire, EVERYBODY + guest.hardware + IP4.to_bytes(2, "big") + packet)
        self.at(now + PATIENCE, partial(self.look, guest, message))

    def look(self, guest: Guest, message: Message, now: float) -> None:
        """Ask again what wasn't answered, or give up."""
        if guest.says is not message:
            return
        if guest.tries < TRIES:
            self.send(guest, message, now)
        elif message.held == dhcp.NOBODY:
            guest.refused, guest.says = True, None
        else:
            guest.lost, guest.says = guest.lost + 1, None

    def hear(self) -> None:
        """Take in everything that came."""
        while True:
            try:
                data = self.wire.recv(LARGEST)
            except (BlockingIOError, InterruptedError):
                return
            try:
                message = dhcp.read(read(data[FRAME:]).load)
            except MalformedError:
                continue
            guest = self.by_serial.get(message.serial)
            if guest is not None and guest.hardware == message.hardware and message.op == dhcp.ANSWER:
                self.answered(guest, message, monotonic())

    def answered(self, guest: Guest, message: Message, now: float) -> None:
        """An offer is taken; an address is had, or had for longer; after a no it calls again."""
        said = guest.says
        if said is None:
            return
        if message.kind == Kind.OFFER and said.kind == Kind.DISCOVER:
            self.say(guest, dhcp.request(message), now)
        elif message.kind == Kind.NAK and said.kind == Kind.REQUEST:
            guest.address = None
            self.arrive(guest, now)
        elif message.kind == Kind.ACK and said.kind == Kind.REQUEST:
            self.given(guest, message, now)

    def given(self, guest: Guest, message: Message, now: float) -> None:
        """It has its address, and will ask for more time while it stays."""
        guest.says = None
        guest.until = now + message.number(Option.SECONDS)
        if guest.address is None:
            guest.address, guest.since = message.given, now
            self.plan_renewals(guest)

    def plan_renewals(self, guest: Guest) -> None:
        """Note when it asks again, as long as it is there; by its arrival, so that a slow answer puts nothing off."""
        times = int(round((guest.comer.leaves - guest.comer.arrives) / self.again, 9))
        for number in range(1, times + 1):
            hour = guest.comer.arrives + number * self.again
            self.at(self.clock.moment(hour), partial(self.renew, guest))
