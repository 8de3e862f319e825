"""A renewal past the relay, by hand: whoever has an address asks its server straight, though somebody listens at its port already."""

import socket
from collections.abc import Sequence

from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.asking4 import Renewing
from scantling.trials.rehearsal.datagrams import Datagram, read, written
from scantling.trials.rehearsal.dhcp import ANSWERS_AT, CALLS_AT, Message
from scantling.trials.rehearsal.exchanges import WINDOW, carried, quiet
from scantling.trials.rehearsal.given import Given
from scantling.trials.rehearsal.office import Station
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import IP4, answers_to, listening, put


class Straight(Renewing):
    """Asks over its own wire: the port at which an ordinary socket would ask belongs to whoever answers tries."""

    def __init__(self, station: Station, room: Room, patience: float, had: Given, door: str) -> None:
        """`door`: hardware address of the way out."""
        super().__init__(station, room, patience, had)
        self.door = dhcp.as_bytes(door)

    def opened(self) -> socket.socket:
        """A wire that hears answers about this station's address."""
        return listening(self.room, self.station.port, IP4, answers_to(ANSWERS_AT, self.hardware))

    def send(self, message: Message) -> None:
        """Straight to the server, by the way out."""
        packet = written(Datagram(self.had, ANSWERS_AT, self.server, CALLS_AT, dhcp.written(message)))
        if self.socket is not None:
            put(self.socket, packet, (self.station.port, IP4, 0, 0, self.door))

    def unpacked(self, data: bytes) -> bytes:
        """Out of its packet."""
        return read(data).load


def renewed(many: Sequence[tuple[Station, Room, Given, str]], patience: float) -> list[Given]:
    """What each is given; `many`: station, room, what it had, and the hardware address of its way out."""
    talks = [Straight(station, room, patience, had, door) for station, room, had, door in many]
    carried(talks, quiet, WINDOW)
    return [one.given for one in talks]
