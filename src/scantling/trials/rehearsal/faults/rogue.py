"""A second address server, as a small router brought from home is one: it answers every call on its link with an offer of its own."""

from contextlib import suppress
from ipaddress import IPv4Address
from socket import socket

from scantling.trials.rehearsal.aside import Aside, attend
from scantling.trials.rehearsal.attending import Ends
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError, read, written
from scantling.trials.rehearsal.dhcp import ANSWERS_AT, CALLS_AT
from scantling.trials.rehearsal.outside_lending import Line
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import (
    EQUAL, EVERYBODY, GIVE, IP4, LOAD_BYTE, LOAD_FROM_HEAD, LOAD_HALF_AT, UDP, WHOLE, listening, only, put,
)  # fmt: skip

LARGEST = 4096
TO_EVERYBODY = IPv4Address("255.255.255.255")
CALLS = only(
    [
        (LOAD_BYTE, 0, 0, 9), (EQUAL, 0, 4, UDP), (LOAD_FROM_HEAD, 0, 0, 0), (LOAD_HALF_AT, 0, 0, 2),
        (EQUAL, 0, 1, CALLS_AT), (GIVE, 0, 0, WHOLE), (GIVE, 0, 0, 0),
    ]
)  # fmt: skip
"""Lets through what goes to the port that address servers are called at."""


class Rogue:
    """It runs in a process of its own, over a wire of its own: the station's ports may all be listened at."""

    def __init__(self, room: Room, interface: str, lends: Line) -> None:
        self.wire, self.interface, self.lends = listening(room, interface, IP4, CALLS), interface, lends
        self.aside = Aside("a second address server", lambda: attend({self.wire.fileno(): self.hear}))

    def start(self) -> None:
        """From now on it answers."""
        self.aside.start()
        self.wire.close()  # the process has it now

    def stop(self) -> None:
        """It is unplugged."""
        self.aside.stop()

    def hear(self) -> None:
        """Answer whatever came."""
        for said in all_of(self.wire):
            answer = self.lends.answered(said, Ends(TO_EVERYBODY, self.lends.own), {})
            if answer is not None:
                packet = written(Datagram(self.lends.own, CALLS_AT, TO_EVERYBODY, ANSWERS_AT, answer))
                put(self.wire, packet, (self.interface, IP4, 0, 0, EVERYBODY))


def all_of(wire: socket) -> list[bytes]:
    """The messages in all that waits at a wire; what is none is passed over."""
    found: list[bytes] = []
    while True:
        try:
            data = wire.recv(LARGEST)
        except (BlockingIOError, InterruptedError):
            return found
        with suppress(MalformedError):
            found.append(read(data).load)
