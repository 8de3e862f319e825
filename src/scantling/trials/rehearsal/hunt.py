"""The hunt for address servers: one call, and every offer that comes back, with who sent it; a race that one of them loses shows both."""

import select
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address
from socket import socket
from time import monotonic, sleep

from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.asking4 import LARGEST, TO_EVERYBODY, serial
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError, read, written
from scantling.trials.rehearsal.dhcp import ANSWERS_AT, CALLS_AT, Kind, Option
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.wire import EVERYBODY, IP4, PORT, answers_to, closed, listening, put

HUNT = "hunt"
ROOM = 0.001
"""How long the kernel is given to find room for a call, seconds."""
PATIENCE = 0.06
"""How long offers are waited for, seconds: rooms of one kernel answer in a few thousandths."""


@dataclass(frozen=True, slots=True)
class Offer:
    """One server's offer."""

    server: str
    """The address by which it calls itself (option 54); empty where it doesn't."""
    hardware: str
    """The hardware address that it came from: the server's own, or the firewall's where the relay passed it on."""
    source: IPv4Address
    """The address that it came from."""
    address: IPv4Address
    """What it offers."""
    router: IPv4Address | None


def offers(room: Room, hardware: str, seconds: float = PATIENCE) -> list[Offer]:
    """Every offer to a call from one station's room, in the order in which they came. Raises OSError when its port is gone.

    `hardware` must be the port's own, or answers that are sent straight to it never arrive.
    """
    return hunted([(room, hardware)], seconds)[0]


def hunted(places: Sequence[tuple[Room, str]], seconds: float = PATIENCE, patience: float = 0) -> list[list[Offer]]:
    """The same from many rooms at once, in one wait: for each, its offers. Raises OSError when a port is gone.

    `patience`: for who has none yet, further seconds at most.
    """
    wires: list[socket] = []
    try:
        for room, hardware in places:
            mine = dhcp.as_bytes(hardware)
            wire = listening(room, PORT, IP4, answers_to(ANSWERS_AT, mine))
            wires.append(wire)
            call = dhcp.written(dhcp.discover(serial(hardware, HUNT), mine))
            packet = written(Datagram(dhcp.NOBODY, ANSWERS_AT, TO_EVERYBODY, CALLS_AT, call))
            while not put(wire, packet, (PORT, IP4, 0, 0, EVERYBODY)):
                sleep(ROOM)
        return _gathered(wires, [serial(hardware, HUNT) for _, hardware in places], (seconds, patience))
    finally:
        closed(wires)


def _gathered(wires: Sequence[socket], serials: Sequence[int], waits: tuple[float, float]) -> list[list[Offer]]:
    """What comes to each wire in some time, and in some more time while one has nothing."""
    places = {wire.fileno(): place for place, wire in enumerate(wires)}
    found: list[list[Offer]] = [[] for _ in wires]
    end = monotonic() + waits[0]
    late = end + waits[1]
    with select.epoll() as poll:
        for number in places:
            poll.register(number, select.EPOLLIN)
        while (left := (end if all(found) else late) - monotonic()) > 0:
            for place in [places[number] for number, _ in poll.poll(left)]:
                found[place] += _heard(wires[place], serials[place])
    return found


def _heard(wire: socket, number: int) -> Iterator[Offer]:
    while True:
        try:
            data, sender = wire.recvfrom(LARGEST)
        except (BlockingIOError, InterruptedError):
            return
        try:
            datagram = read(data)
            message = dhcp.read(datagram.load)
        except MalformedError:
            continue
        if message.serial == number and message.kind == Kind.OFFER:
            servers, routers = message.hosts(Option.SERVER), message.hosts(Option.ROUTER)
            yield Offer(
                str(next(iter(servers), "")), dhcp.as_words(sender[4]), IPv4Address(int(datagram.source)), message.given,
                next(iter(routers), None),
            )  # fmt: skip
