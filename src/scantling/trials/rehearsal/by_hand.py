"""Sends packets written by hand from any room, and hears the messages that come back about them."""

import struct
from collections.abc import Iterator, Mapping
from socket import (
    AF_INET, AF_INET6, CMSG_SPACE, IPPROTO_ICMPV6, IPPROTO_IPV6, IPPROTO_RAW, IPV6_PKTINFO, IPV6_RECVPKTINFO,
    SOCK_NONBLOCK, SOCK_RAW, SocketType, inet_pton,
)  # fmt: skip
from typing import NamedTuple

from scantling.trials.probe.probing import Probe
from scantling.trials.rehearsal.packets import ECHOES, REFUSALS, REPLY, Key, Said, key_of, message, written

VERSIONS = {4: int(AF_INET), 6: int(AF_INET6)}
RAW = int(SOCK_RAW | SOCK_NONBLOCK)
# linux/icmp.h and icmpv6.h: Python's socket has no names for them
SOL_RAW, FILTER, FILTER6 = 255, 1, 1
MANY, LARGEST, WORDS = 1024, 2048, 8
ROOM_FOR_ENDS = CMSG_SPACE(20)


class Ear(NamedTuple):
    """A socket that hears messages in a room."""

    socket: SocketType
    family: int


class ByHand:
    """Packets that are under way."""

    def __init__(self, ports: Mapping[int, int]) -> None:
        """`ports`: source port or echo number by the probe's number."""
        self.ports = ports
        self.ears: dict[int, Ear] = {}
        """By descriptor."""
        self._mouths: dict[tuple[str, int], SocketType] = {}
        self._sent: dict[Key, Probe] = {}
        self._addresses: dict[object, str] = {}

    def send(self, probe: Probe, room: str) -> Ear | None:
        """Send a probe from the room that the calling thread is in; a new ear if it is the first. Raises OSError."""
        mouth, ear = self._mouths.get((room, probe.family)), None
        if mouth is None:
            mouth = self._mouths[room, probe.family] = SocketType(VERSIONS[probe.family], RAW, IPPROTO_RAW)
            ear = listening(probe.family)
            self.ears[ear.socket.fileno()] = ear
        packet = written(probe, self.ports[probe.id])
        key = key_of(packet + bytes(WORDS))  # a packet may be shorter than an error that quotes it
        if key is not None:
            self._sent[key] = probe
        target = self._addresses.get(probe.address)
        if target is None:
            target = self._addresses[probe.address] = str(probe.address)
        mouth.sendto(packet, (target, 0))
        return ear

    def heard(self, ear: Ear) -> Iterator[tuple[Probe, Said]]:
        """What came back, and about which probe."""
        for _ in range(MANY):
            try:
                said, beside, _, who = ear.socket.recvmsg(LARGEST, ROOM_FOR_ENDS)
            except OSError:  # no more
                return
            if ear.family == 6:  # noqa: PLR2004 - the version
                source = inet_pton(AF_INET6, str(who[0]).partition("%")[0])
                target = next((data[:16] for _, kind, data in beside if kind == IPV6_PKTINFO), b"")
            else:
                source, target, said = said[12:16], said[16:20], said[(said[0] & 15) * 4 :]
            told = message(ear.family, said, source, target)
            probe = self._sent.get(told[0]) if told is not None else None
            if told is not None and probe is not None:
                yield probe, told[1]

    def let_go(self) -> None:
        """Nothing more is sent or heard."""
        for ear in self.ears.values():
            ear.socket.close()
        for mouth in self._mouths.values():
            mouth.close()


def listening(family: int) -> Ear:
    """An ear in the room of the calling thread, for replies and refusals alone."""
    made = SocketType(VERSIONS[family], RAW, ECHOES[family])
    passed = {REPLY[family], *REFUSALS[family]}
    words = [sum(1 << bit for bit in range(32) if word * 32 + bit not in passed) for word in range(WORDS)]
    if family == 6:  # noqa: PLR2004 - the version
        made.setsockopt(IPPROTO_ICMPV6, FILTER6, struct.pack("=8I", *words))
        made.setsockopt(IPPROTO_IPV6, IPV6_RECVPKTINFO, 1)
    else:
        made.setsockopt(SOL_RAW, FILTER, struct.pack("=I", words[0]))
    return Ear(made, family)
