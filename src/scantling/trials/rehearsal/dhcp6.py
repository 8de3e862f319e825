"""Messages of DHCP for IPv6 as RFC 8415 lays them out, those of relays too: written and read, nothing sent."""

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from ipaddress import IPv6Address

from scantling.trials.rehearsal.datagrams import MalformedError

ANSWERS_AT, CALLS_AT = 546, 547
"""Ports of client and server (RFC 8415 section 7.2)."""
SERVERS_AND_RELAYS = IPv6Address("ff02::1:2")
HARDWARE_ALONE, ETHERNET = 3, 1
"""An identifier made of a hardware address alone (RFC 8415 section 11.4), and whose it is."""
ADDRESS_LENGTH = 16
IDENTITY, HELD, OPTION = struct.Struct("!III"), struct.Struct("!16sII"), struct.Struct("!HH")
RELAYED = struct.Struct("!BB16s16s")
SERIAL_LENGTH = 3
Options = tuple[tuple[int, bytes], ...]


class Kind6(IntEnum):
    """What a message is (RFC 8415 section 7.3)."""

    SOLICIT = 1
    ADVERTISE = 2
    REQUEST = 3
    RENEW = 5
    REPLY = 7
    RELEASE = 8
    INFORMATION_REQUEST = 11
    RELAY_FORWARD = 12
    RELAY_REPLY = 13


class Option6(IntEnum):
    """Numbers of the options that are used here (RFC 8415 section 21, RFC 3646, RFC 4075, RFC 6939)."""

    CLIENT = 1
    SERVER = 2
    IDENTITY = 3
    ADDRESS = 5
    ASKED_FOR = 6
    ELAPSED = 8
    CARRIED = 9
    STATUS = 13
    INTERFACE = 18
    RESOLVERS = 23
    DOMAINS = 24
    TIMES = 31
    LINK_LAYER = 79


ASKED_FOR = struct.pack("!3H", Option6.RESOLVERS, Option6.DOMAINS, Option6.TIMES)


@dataclass(frozen=True, slots=True)
class Message6:
    """One message between a client and a server."""

    kind: int
    serial: int
    """The exchange it belongs to."""
    options: Options = ()

    def first(self, option: int) -> bytes:
        """The first option of a number; empty where there is none."""
        return first(self.options, option)

    def hosts(self, option: int) -> tuple[IPv6Address, ...]:
        """The addresses that an option lists."""
        data = self.first(option)
        ends = range(ADDRESS_LENGTH, len(data) + 1, ADDRESS_LENGTH)
        return tuple(IPv6Address(data[end - ADDRESS_LENGTH : end]) for end in ends)


@dataclass(frozen=True, slots=True)
class Relayed:
    """A message that a relay passes on or gets back."""

    kind: int
    hops: int
    link: IPv6Address
    """The address that stands for the device's zone."""
    peer: IPv6Address
    """The device's own."""
    options: Options = ()


@dataclass(frozen=True, slots=True)
class Lent6:
    """An address as a server gives it."""

    address: IPv6Address
    preferred: int
    valid: int


@dataclass(frozen=True, slots=True)
class Identity:
    """What a server says about one association (IA_NA): addresses, or a status with words."""

    number: int
    renew_after: int
    ask_anybody_after: int
    lent: tuple[Lent6, ...]
    status: int
    words: str


def first(options: Options, number: int) -> bytes:
    """The first option of a number; empty where there is none."""
    return next((data for one, data in options if one == number), b"")


def written_options(options: Sequence[tuple[int, bytes]]) -> bytes:
    """Options as bytes."""
    return b"".join(OPTION.pack(number, len(data)) + data for number, data in options)


def read_options(data: bytes) -> Options:
    """Options in some bytes. Raises MalformedError."""
    return tuple(_each(data))


def _each(data: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at < len(data):
        if at + OPTION.size > len(data):
            raise MalformedError("an option is cut off")
        number, many = OPTION.unpack_from(data, at)
        at += OPTION.size
        if at + many > len(data):
            raise MalformedError(f"option {number} is cut off")
        yield number, data[at : at + many]
        at += many


def written(message: Message6) -> bytes:
    """The message as bytes."""
    head = bytes([message.kind]) + message.serial.to_bytes(SERIAL_LENGTH, "big")
    return head + written_options(message.options)


def read(data: bytes) -> Message6:
    """The message in some bytes. Raises MalformedError."""
    if len(data) <= SERIAL_LENGTH or data[0] in {Kind6.RELAY_FORWARD, Kind6.RELAY_REPLY}:
        raise MalformedError("no message between a client and a server")
    return Message6(data[0], int.from_bytes(data[1:4], "big"), read_options(data[4:]))


def written_relayed(message: Relayed) -> bytes:
    """A relay's message as bytes."""
    head = RELAYED.pack(message.kind, message.hops, message.link.packed, message.peer.packed)
    return head + written_options(message.options)


def read_relayed(data: bytes) -> Relayed:
    """A relay's message in some bytes. Raises MalformedError."""
    if len(data) < RELAYED.size or data[0] not in {Kind6.RELAY_FORWARD, Kind6.RELAY_REPLY}:
        raise MalformedError("no message of a relay")
    kind, hops, link, peer = RELAYED.unpack_from(data)
    return Relayed(kind, hops, IPv6Address(link), IPv6Address(peer), read_options(data[RELAYED.size :]))


def read_status(data: bytes) -> tuple[int, str]:
    """A status, and its words."""
    return int.from_bytes(data[:2], "big"), data[2:].decode("utf-8", "backslashreplace")


def read_identity(data: bytes) -> Identity:
    """What is said about one association. Raises MalformedError."""
    if len(data) < IDENTITY.size:
        raise MalformedError("an association that is cut off")
    number, renew_after, ask_anybody_after = IDENTITY.unpack_from(data)
    options = read_options(data[IDENTITY.size :])
    status, words = read_status(first(options, Option6.STATUS))
    lent = tuple(_lent(one) for kind, one in options if kind == Option6.ADDRESS)
    return Identity(number, renew_after, ask_anybody_after, lent, status, words)


def _lent(data: bytes) -> Lent6:
    if len(data) < HELD.size:
        raise MalformedError("an address that is cut off")
    address, preferred, valid = HELD.unpack_from(data)
    return Lent6(IPv6Address(address), preferred, valid)


def written_identity(number: int, held: Sequence[IPv6Address] = ()) -> bytes:
    """An association as a client sends it, with the addresses that it has or would like."""
    options = [(int(Option6.ADDRESS), HELD.pack(host.packed, 0, 0)) for host in held]
    return IDENTITY.pack(number, 0, 0) + written_options(options)


def read_names(data: bytes) -> tuple[str, ...]:
    """Names in the form of RFC 1035 section 3.1, without the last dot. Raises MalformedError."""
    names: list[str] = []
    labels: list[str] = []
    at = 0
    while at < len(data):
        many = data[at]
        if at + 1 + many > len(data):
            raise MalformedError("a name that is cut off")
        if many:
            labels.append(data[at + 1 : at + 1 + many].decode("ascii", "backslashreplace"))
        else:
            names.append(".".join(labels))
            labels = []
        at += 1 + many
    if labels:
        raise MalformedError("a name without an end")
    return tuple(names)


def written_name(name: str) -> bytes:
    """A name in the form of RFC 1035 section 3.1. Raises ValueError for what is none."""
    labels = [label.encode("ascii") for label in name.rstrip(".").split(".")]
    if any(not 0 < len(label) < 64 for label in labels):  # noqa: PLR2004 - two bits of the length mean something else
        raise ValueError(f"{name!r} is no name")
    return b"".join(bytes([len(label)]) + label for label in labels) + b"\0"


def identifier(hardware: bytes) -> bytes:
    """The identifier of a device that has nothing but its hardware address (DUID-LL)."""
    return struct.pack("!HH", HARDWARE_ALONE, ETHERNET) + hardware
