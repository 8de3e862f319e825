"""Netlink messages as bytes: a header, a fixed part, and attributes of a kind, a length and a value (kernel's linux/netlink.h)."""

import struct
from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address, IPv6Address, ip_address

from scantling.figures import Host

HEADER, ATTRIBUTE = struct.Struct("=IHHII"), struct.Struct("=HH")
REQUEST, ACKNOWLEDGE, DUMP, REPLACE, EXCLUSIVE, CREATE, APPEND = 0x1, 0x4, 0x300, 0x100, 0x200, 0x400, 0x800
NESTED, KIND = 0x8000, 0x3FFF
"""A flag of an attribute that holds attributes, and the bits that are its kind."""
FAMILIES: Mapping[int, int] = {4: 2, 6: 10}
"""Of the two versions, as the kernel numbers address families."""


def padded(data: bytes) -> bytes:
    """Filled to a whole number of four octets."""
    return data + bytes(-len(data) % 4)


def attribute(kind: int, value: bytes) -> bytes:
    """One attribute."""
    return padded(ATTRIBUTE.pack(4 + len(value), kind) + value)


def number(kind: int, value: int) -> bytes:
    """An attribute that is a number of 32 bits."""
    return attribute(kind, struct.pack("=I", value))


def octet(kind: int, value: int) -> bytes:
    """An attribute that is a number of 8 bits."""
    return attribute(kind, bytes([value]))


def word(kind: int, value: str) -> bytes:
    """An attribute that is a name, closed by a zero octet."""
    return attribute(kind, value.encode() + b"\0")


def nest(kind: int, *inside: bytes) -> bytes:
    """An attribute that holds others."""
    return attribute(kind | NESTED, b"".join(inside))


def message(kind: int, flags: int, sequence: int, body: bytes) -> bytes:
    """One message whole."""
    return padded(HEADER.pack(HEADER.size + len(body), kind, flags, sequence, 0) + body)


def messages(data: bytes) -> Iterator[tuple[int, int, int, bytes]]:
    """Kind, flags, sequence number and body of every message that was received at once."""
    place = 0
    while place + HEADER.size <= len(data):
        length, kind, flags, sequence, _ = HEADER.unpack_from(data, place)
        yield kind, flags, sequence, data[place + HEADER.size : place + length]
        place += length + -length % 4


def attributes(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Kind and value of every attribute of a message or of an attribute that holds others."""
    place = 0
    while place + ATTRIBUTE.size <= len(data):
        length, kind = ATTRIBUTE.unpack_from(data, place)
        if length < ATTRIBUTE.size:
            return
        yield kind & KIND, data[place + ATTRIBUTE.size : place + length]
        place += length + -length % 4


def hardware_octets(text: str) -> bytes:
    """A hardware address, written with colons, as its octets. Raises ValueError."""
    octets = bytes.fromhex(text.replace(":", ""))
    if len(octets) != 6:  # noqa: PLR2004 - as many as IEEE 802 has
        raise ValueError(f"{text} is no hardware address")
    return octets


def host(octets: bytes) -> Host:
    """An address from its octets."""
    found = ip_address(octets)
    assert isinstance(found, IPv4Address | IPv6Address)
    return found
