"""Packets as bytes: the headers that RFC 791, 8200, 768, 9293, 792 and 4443 lay down, written by hand."""

import struct
from collections.abc import Mapping

from referees.filtering import Packet

NUMBERS: Mapping[str, int] = {"icmp": 1, "tcp": 6, "udp": 17, "gre": 47, "esp": 50, "icmpv6": 58}
SYN, SYN_ACK, NOTHING = 0x02, 0x12, 0x00
ECHOES = {"icmp": (0, 8), "icmpv6": (128, 129)}
OURS = 0x5CA27119
MARK = struct.Struct("!II")


def written(packet: Packet, number: int, *, answers: bool = False) -> bytes:
    """A packet that bears a number at its end; `answers`: of TCP, the second of a connection."""
    pseudo = packet.source.packed + packet.target.packed
    carried = body(packet, number, answers=answers)
    protocol = NUMBERS[packet.protocol]
    if packet.source.version == 4:
        carried = summed(packet.protocol, carried, pseudo + struct.pack("!BBH", 0, protocol, len(carried)))
        header = struct.pack("!BBHHHBBH", 0x45, 0, 20 + len(carried), number & 0xFFFF, 0, 64, protocol, 0) + pseudo
        return header[:10] + struct.pack("!H", checksum(header)) + header[12:] + carried
    carried = summed(packet.protocol, carried, pseudo + struct.pack("!IHBB", len(carried), 0, 0, protocol))
    return struct.pack("!IHBB", 6 << 28, len(carried), protocol, 64) + pseudo + carried


def body(packet: Packet, number: int, *, answers: bool) -> bytes:
    """What the address header carries, its checksum still nought."""
    mark = MARK.pack(OURS, number)
    if packet.protocol == "tcp":
        flags = NOTHING if packet.state == "invalid" else SYN_ACK if answers else SYN
        # the answer acknowledges the SYN's one and the eight octets that it bore
        ports = struct.pack(
            "!HHIIBBHHH", packet.source_port, packet.port, 1000, 1009 if answers else 0, 0x50, flags, 8192, 0, 0
        )
        return ports + mark
    if packet.protocol == "udp":
        return struct.pack("!HHHH", packet.source_port, packet.port, 16, 0) + mark
    if packet.protocol in ECHOES:
        return struct.pack("!BBHHH", packet.port, 0, 0, packet.source_port, 1) + b"\0" * 16 + mark
    if packet.protocol == "gre":
        return struct.pack("!HH", 0, 0x0800) + mark
    return struct.pack("!II", packet.source_port, 1) + mark


def summed(protocol: str, carried: bytes, pseudo: bytes) -> bytes:
    """What is carried, with its checksum in its place."""
    place = {"tcp": 16, "udp": 6, "icmp": 2, "icmpv6": 2}.get(protocol)
    if place is None:
        return carried
    found = checksum(carried if protocol == "icmp" else pseudo + carried)
    return carried[:place] + struct.pack("!H", found) + carried[place + 2 :]


def checksum(octets: bytes) -> int:
    """The Internet checksum (RFC 1071)."""
    padded = octets + b"\0" * (len(octets) % 2)
    total: int = sum(struct.unpack(f"!{len(padded) // 2}H", padded))
    while total > 0xFFFF:
        total = (total & 0xFFFF) + (total >> 16)
    return ~total & 0xFFFF


def ends(octets: bytes) -> tuple[bytes, bytes]:
    """Source and target of an IP packet."""
    return (octets[12:16], octets[16:20]) if octets[0] >> 4 == 4 else (octets[8:24], octets[24:40])


def number_of(octets: bytes) -> int | None:
    """The number that a packet bears at its end, as an error that quotes it does too; None of any other."""
    mark, number = MARK.unpack(octets[-MARK.size :])
    return int(number) if mark == OURS else None
