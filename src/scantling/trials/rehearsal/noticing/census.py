"""The census: who answers on each link for each address set by hand, asked by ARP without any address (RFC 826, RFC 5227)."""

import select
import socket
import struct
from collections.abc import Iterator
from ipaddress import IPv4Address

from scantling.figures import FIREWALL
from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.noticing.watch import Watch
from scantling.trials.rehearsal.office import Sort, Station
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.signs import Gathering, Seen, What
from scantling.trials.rehearsal.wire import EVERYBODY, closed, put

ARP, ETHERNET, IP4 = 0x0806, 1, 0x0800
ASKS, ANSWERS = 1, 2
MESSAGE = struct.Struct("!HHBBH6s4s6s4s")
NOBODY, UNKNOWN = bytes(4), bytes(6)
LONGEST = 128
QUIET = 0.03
"""Seconds after which nobody else is expected to answer, once somebody has for each address."""
ASKED = 4
"""How often an address is asked for before nobody has it."""


def census_signs(watch: Watch) -> Seen:
    """Each address of a machine, and the firewall's own in each zone: nobody there, or more than one."""
    found = Gathering()
    places = [place for place in _places(watch) if place[2]]
    answers = census(
        [(room, name, [host for _, host in owned], hardware) for room, name, owned, hardware in places],
        watch.patience,
    )
    heard: dict[tuple[str, IPv4Address], frozenset[str]] = {}
    for (_, _, owned, _), said in zip(places, answers, strict=True):
        for whose in owned:
            heard[whose] = heard.get(whose, frozenset()) | said.get(whose[1], frozenset())
    for (owner, host), many in heard.items():
        found.look(What.ABSENT, owner, seen=not many, detail=str(host))
        found.look(What.TWICE, owner, seen=len(many) > 1, detail=f"{host}: {' and '.join(sorted(many))}")
    return found.seen()


def _places(watch: Watch) -> Iterator[tuple[Room, str, list[tuple[str, IPv4Address]], str]]:
    """Rooms that ask, in each zone two: so that one of them is not the one who bears a wrong address."""
    built = watch.living.built
    for segment in watch.living.office.segments:
        here = [one for one in watch.living.office.stations if one.zone == segment.slug]
        owned = [(one.slug, host) for one in here if one.sort is Sort.MACHINE for host in _fourth(one)]
        if isinstance(segment.gateway4, IPv4Address):
            owned.append((FIREWALL, segment.gateway4))
        for one in dict.fromkeys((*watch.stations[segment.slug][:1], *here[:1])):
            mine = [(slug, host) for slug, host in owned if slug != one.slug]
            yield built.rooms[one.slug], built.interfaces[one.slug], mine, one.hardware


def _fourth(station: Station) -> Iterator[IPv4Address]:
    return (host for host in station.fixed if isinstance(host, IPv4Address))


Place = tuple[Room, str, list[IPv4Address], str]
"""A room, its port, whom to ask for, its hardware address."""
Answers = dict[IPv4Address, frozenset[str]]
"""By address: the hardware addresses of those who answer for it."""


def census(places: list[Place], patience: float) -> list[Answers]:
    """For each place: by address, the hardware addresses of all who answer for it. Raises OSError.

    `patience`: seconds, all in all, for an address for which nobody answers; it is asked for several times meanwhile.
    """
    wires: list[socket.socket] = []
    found: list[Answers] = [{} for _ in places]
    try:
        for room, name, _, _ in places:
            wires.append(room.socket(socket.AF_PACKET, socket.SOCK_DGRAM, socket.htons(ARP)))
            wires[-1].settimeout(0)
            wires[-1].bind((name, ARP))
        for _ in range(ASKED):
            for wire, place, known in zip(wires, places, found, strict=True):
                _ask(wire, place, known)
            _hear(wires, places, found, patience / ASKED)
            if not _silent(places, found):
                break
        return found
    finally:
        closed(wires)


def _ask(wire: socket.socket, place: Place, known: Answers) -> None:
    """Ask for all who have not answered yet."""
    _, name, hosts, hardware = place
    for host in hosts:
        if host not in known:
            asked = MESSAGE.pack(ETHERNET, IP4, 6, 4, ASKS, dhcp.as_bytes(hardware), NOBODY, UNKNOWN, host.packed)
            put(wire, asked, (name, ARP, 0, 0, EVERYBODY))


def _hear(wires: list[socket.socket], places: list[Place], found: list[Answers], wait: float) -> None:
    """Answers, until for a while none has come: a shorter one when somebody has answered for each address."""
    numbers = {wire.fileno(): place for place, wire in enumerate(wires)}
    with select.epoll() as poll:
        for number in numbers:
            poll.register(number, select.EPOLLIN)
        while many := poll.poll(max(wait, QUIET) if _silent(places, found) else QUIET):
            for number, _ in many:
                _noted(wires[numbers[number]], found[numbers[number]])


def _silent(places: list[Place], found: list[Answers]) -> bool:
    """Whether nobody has answered for some address."""
    return any(host not in known for (_, _, hosts, _), known in zip(places, found, strict=True) for host in hosts)


def _noted(wire: socket.socket, found: Answers) -> None:
    for host, hardware in _answers(wire):
        found[host] = found.get(host, frozenset()) | {hardware}


def _answers(wire: socket.socket) -> Iterator[tuple[IPv4Address, str]]:
    while True:
        try:
            said = wire.recv(LONGEST)
        except (BlockingIOError, InterruptedError):
            return
        if len(said) >= MESSAGE.size:
            _, _, _, _, kind, hardware, host, _, _ = MESSAGE.unpack_from(said)
            if kind == ANSWERS:
                yield IPv4Address(host), dhcp.as_words(hardware)
