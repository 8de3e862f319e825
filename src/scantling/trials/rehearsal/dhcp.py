"""Messages of DHCP for IPv4 as RFC 2131 and RFC 2132 lay them out: written and read, nothing sent."""

import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from ipaddress import IPv4Address

from scantling.trials.rehearsal.datagrams import MalformedError

CALLS_AT, ANSWERS_AT = 67, 68
"""Ports of server and client (RFC 2131 section 4.1)."""
CALL, ANSWER = 1, 2
ETHERNET, HARDWARE_LENGTH = 1, 6
TO_ALL = 0x8000
MAGIC = b"\x63\x82\x53\x63"
HEAD = struct.Struct("!BBBBIHH4s4s4s4s16s64s128s")
SHORTEST = 300
"""Some servers and relays take nothing shorter (RFC 1542 section 2.1)."""
LONGEST_OPTION = 255
PAD, END = 0, 255
NOBODY = IPv4Address(0)
NAME_FIELD, FILE_FIELD = 2, 1
HOST_LENGTH = 4


class Kind(IntEnum):
    """What a message says (option 53)."""

    DISCOVER = 1
    OFFER = 2
    REQUEST = 3
    DECLINE = 4
    ACK = 5
    NAK = 6
    RELEASE = 7
    INFORM = 8


class Option(IntEnum):
    """Numbers of the options that are used here (RFC 2132)."""

    MASK = 1
    ROUTER = 3
    RESOLVERS = 6
    DOMAIN = 15
    TIMES = 42
    WANTED = 50
    SECONDS = 51
    OVERLOAD = 52
    KIND = 53
    SERVER = 54
    ASKED_FOR = 55
    WORDS = 56
    RENEW_AFTER = 58
    ASK_ANYBODY_AFTER = 59
    CLIENT = 61


ASKED_FOR = bytes(
    [
        Option.MASK, Option.ROUTER, Option.RESOLVERS, Option.DOMAIN, Option.TIMES, Option.SECONDS, Option.SERVER,
        Option.RENEW_AFTER, Option.ASK_ANYBODY_AFTER,
    ]
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Message:
    """One message."""

    op: int
    serial: int
    """The exchange it belongs to (xid)."""
    hardware: bytes
    """The client's hardware address (chaddr), six bytes."""
    options: Mapping[int, bytes] = field(default_factory=dict)
    flags: int = 0
    held: IPv4Address = NOBODY
    """The client's address, when it has one (ciaddr)."""
    given: IPv4Address = NOBODY
    """The address that it is given (yiaddr)."""
    next_server: IPv4Address = NOBODY
    relay: IPv4Address = NOBODY
    """The relay that passed it on (giaddr)."""
    hops: int = 0
    seconds: int = 0

    @property
    def kind(self) -> int:
        """What it says; 0: nothing (a message of BOOTP)."""
        said = self.options.get(Option.KIND, b"")
        return said[0] if said else 0

    @property
    def to_all(self) -> bool:
        """Whether the client can hear an answer only if it is sent to all."""
        return bool(self.flags & TO_ALL)

    def hosts(self, option: int) -> tuple[IPv4Address, ...]:
        """The addresses that an option lists; what is left over at its end is no address."""
        data = self.options.get(option, b"")
        return tuple(
            IPv4Address(data[at : at + HOST_LENGTH]) for at in range(0, len(data) - HOST_LENGTH + 1, HOST_LENGTH)
        )

    def number(self, option: int) -> int:
        """An option that is a number; 0 where there is none."""
        return int.from_bytes(self.options.get(option, b""), "big")

    def words(self, option: int) -> str:
        """An option that is text; whatever isn't plain is shown as such."""
        return self.options.get(option, b"").rstrip(b"\0").decode("ascii", "backslashreplace")


def written(message: Message) -> bytes:
    """The message as bytes. Raises ValueError for a hardware address that isn't six bytes long."""
    if len(message.hardware) != HARDWARE_LENGTH:
        raise ValueError(f"a hardware address of {len(message.hardware)} bytes, not {HARDWARE_LENGTH}")
    head = HEAD.pack(
        message.op, ETHERNET, HARDWARE_LENGTH, message.hops, message.serial, message.seconds, message.flags,
        message.held.packed, message.given.packed, message.next_server.packed, message.relay.packed, message.hardware, b"", b"",
    )  # fmt: skip
    options = b"".join(_written_option(number, data) for number, data in message.options.items())
    return (head + MAGIC + options + bytes([END])).ljust(SHORTEST, b"\0")


def _written_option(number: int, data: bytes) -> bytes:
    """An option, in several parts when it is long (RFC 3396)."""
    parts = [data[at : at + LONGEST_OPTION] for at in range(0, len(data), LONGEST_OPTION)] or [b""]
    return b"".join(bytes([number, len(part)]) + part for part in parts)


def read(data: bytes) -> Message:
    """The message in some bytes. Raises MalformedError."""
    if len(data) < HEAD.size + len(MAGIC):
        raise MalformedError(f"a message of {len(data)} bytes is none of DHCP")
    op, kind, length, hops, serial, seconds, flags, held, given, following, relay, hardware, name, file = (
        HEAD.unpack_from(data)
    )
    if op not in {CALL, ANSWER} or kind != ETHERNET or length != HARDWARE_LENGTH:
        raise MalformedError("neither a call nor an answer of a device with an Ethernet address")
    if data[HEAD.size : HEAD.size + len(MAGIC)] != MAGIC:
        raise MalformedError("a message of BOOTP without the mark that DHCP puts before its options")
    return Message(
        op, serial, hardware[:HARDWARE_LENGTH], _options(data[HEAD.size + len(MAGIC) :], name, file), flags, IPv4Address(held),
        IPv4Address(given), IPv4Address(following), IPv4Address(relay), hops, seconds,
    )  # fmt: skip


def _options(data: bytes, name: bytes, file: bytes) -> Mapping[int, bytes]:
    """All options; those that had no room stand in the fields for file and name (option 52)."""
    found: dict[int, bytes] = {}
    _gather(found, data)
    more = found.get(Option.OVERLOAD, b"\0")[:1] or b"\0"
    if more[0] & FILE_FIELD:
        _gather(found, file)
    if more[0] & NAME_FIELD:
        _gather(found, name)
    return found


def _gather(found: dict[int, bytes], data: bytes) -> None:
    for number, part in _each(data):
        found[number] = found.get(number, b"") + part


def _each(data: bytes) -> Iterator[tuple[int, bytes]]:
    at = 0
    while at < len(data) and data[at] != END:
        if data[at] == PAD:
            at += 1
            continue
        if at + 1 >= len(data) or at + 2 + data[at + 1] > len(data):
            raise MalformedError(f"option {data[at]} is cut off")
        yield data[at], data[at + 2 : at + 2 + data[at + 1]]
        at += 2 + data[at + 1]


def discover(serial: int, hardware: bytes, *, to_all: bool = False) -> Message:
    """Is there a server, and what does it offer?"""
    return _call(serial, hardware, Kind.DISCOVER, {Option.ASKED_FOR: ASKED_FOR}, TO_ALL if to_all else 0)


def request(offer: Message) -> Message:
    """That offer is taken (RFC 2131 section 4.3.2, SELECTING)."""
    more: dict[int, bytes] = {
        Option.WANTED: offer.given.packed, Option.SERVER: offer.options.get(Option.SERVER, b""),
        Option.ASKED_FOR: ASKED_FOR,
    }  # fmt: skip
    return _call(offer.serial, offer.hardware, Kind.REQUEST, more, offer.flags)


def renewal(serial: int, hardware: bytes, held: IPv4Address) -> Message:
    """The address is asked for again by who has it: RENEWING when sent to the server, REBINDING when sent to all."""
    return _call(serial, hardware, Kind.REQUEST, {Option.ASKED_FOR: ASKED_FOR}, held=held)


def release(serial: int, hardware: bytes, held: IPv4Address, server: IPv4Address) -> Message:
    """The address is given back."""
    return _call(serial, hardware, Kind.RELEASE, {Option.SERVER: server.packed}, held=held)


def _call(
    serial: int, hardware: bytes, kind: Kind, more: Mapping[int, bytes], flags: int = 0, *, held: IPv4Address = NOBODY
) -> Message:
    client = bytes([ETHERNET]) + hardware
    return Message(
        CALL, serial, hardware, {Option.KIND: bytes([kind]), Option.CLIENT: client, **more}, flags=flags, held=held
    )


def as_bytes(hardware: str) -> bytes:
    """A hardware address written with colons. Raises ValueError."""
    return bytes.fromhex(hardware.replace(":", ""))


def as_words(hardware: Sequence[int]) -> str:
    """A hardware address as people write it."""
    return ":".join(f"{one:02x}" for one in hardware)
