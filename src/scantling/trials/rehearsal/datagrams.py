"""Datagrams by hand: IP and UDP headers written and read, for those who have no address yet and for those who answer them."""

import struct
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address

from scantling.figures import Host

UDP = 17
HOPS = 64
SHORTEST4, SHORTEST6, SHORTEST_UDP = 20, 40, 8
PORTS = struct.Struct("!HHHH")
HEAD4, PSEUDO4 = struct.Struct("!BBHHHBBH4s4s"), struct.Struct("!4s4sBBH")
HEAD6, PSEUDO6 = struct.Struct("!IHBB16s16s"), struct.Struct("!16s16sII")
ONES = 0xFFFF
LATER_PART = 0x1FFF


class MalformedError(ValueError):
    """Bytes that are no such message; says what is wrong with them."""


@dataclass(frozen=True, slots=True)
class Datagram:
    """One datagram of UDP, and who sent it to whom."""

    source: Host
    source_port: int
    target: Host
    target_port: int
    load: bytes


def checksum(data: bytes) -> int:
    """The sum that IP, UDP and ICMPv6 bear (RFC 1071): words of 16 bits modulo all ones, the ones turned to noughts."""
    whole = data + b"\0" if len(data) % 2 else data
    number = int.from_bytes(whole, "big")
    return ONES - (number % ONES or (ONES if number else 0))


def written(datagram: Datagram) -> bytes:
    """The packet, without a frame around it (RFC 791, RFC 8200, RFC 768)."""
    many = SHORTEST_UDP + len(datagram.load)
    ports = (datagram.source_port, datagram.target_port, many)
    source, target = datagram.source.packed, datagram.target.packed
    if isinstance(datagram.source, IPv4Address):
        pseudo = PSEUDO4.pack(source, target, 0, UDP, many)
        bare = HEAD4.pack(0x45, 0, SHORTEST4 + many, 0, 0, HOPS, UDP, 0, source, target)
        head = bare[:10] + checksum(bare).to_bytes(2, "big") + bare[12:]
    else:
        pseudo = PSEUDO6.pack(source, target, many, UDP)
        head = HEAD6.pack(0x60000000, many, UDP, HOPS, source, target)
    summed = checksum(pseudo + PORTS.pack(*ports, 0) + datagram.load) or ONES
    return head + PORTS.pack(*ports, summed) + datagram.load


def read(packet: bytes) -> Datagram:
    """What a packet carries. Raises MalformedError when it is no whole datagram of UDP.

    The sum isn't looked at: between rooms of one kernel it is often left out until a real wire comes.
    """
    version = packet[0] >> 4 if packet else 0
    if version == 4:  # noqa: PLR2004 - the version is the number itself
        return _read4(packet)
    if version == 6:  # noqa: PLR2004
        return _read6(packet)
    raise MalformedError("no packet of IP")


def _read4(packet: bytes) -> Datagram:
    if len(packet) < SHORTEST4:
        raise MalformedError("a packet of IPv4 that is cut off")
    first, _, whole, _, part, _, protocol, _, source, target = HEAD4.unpack_from(packet)
    start = 4 * (first & 0x0F)
    if protocol != UDP or part & LATER_PART or start < SHORTEST4:
        raise MalformedError("a packet of IPv4 that doesn't begin a datagram of UDP")
    return _read_udp(packet[start:whole], IPv4Address(source), IPv4Address(target))


def _read6(packet: bytes) -> Datagram:
    if len(packet) < SHORTEST6:
        raise MalformedError("a packet of IPv6 that is cut off")
    _, many, following, _, source, target = HEAD6.unpack_from(packet)
    if following != UDP:
        raise MalformedError("a packet of IPv6 that carries no UDP")
    return _read_udp(packet[SHORTEST6 : SHORTEST6 + many], IPv6Address(source), IPv6Address(target))


def _read_udp(data: bytes, source: Host, target: Host) -> Datagram:
    if len(data) < SHORTEST_UDP:
        raise MalformedError("a datagram that is cut off")
    source_port, target_port, many, _ = PORTS.unpack_from(data)
    if not SHORTEST_UDP <= many <= len(data):
        raise MalformedError("a datagram whose length doesn't fit")
    return Datagram(source, source_port, target, target_port, data[SHORTEST_UDP:many])
