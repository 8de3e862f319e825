"""Questions for name servers and what they are answered, as octets (RFC 1035 section 4): for those who ask thousands at once."""

import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address

from scantling.trials.rehearsal.datagrams import MalformedError

HEAD, ASKS, RECORD = struct.Struct("!HHHHHH"), struct.Struct("!HH"), struct.Struct("!HHIH")
"""Number, marks and four counts; kind and class of a question; kind, class, seconds and length of a record."""
RECURSE, IS_ANSWER, CODE = 0x0100, 0x8000, 0x000F
INTERNET = 1
KINDS: Mapping[str, int] = {"A": 1, "NS": 2, "SOA": 6, "PTR": 12, "AAAA": 28}
CODES = ("NOERROR", "FORMERR", "SERVFAIL", "NXDOMAIN", "NOTIMP", "REFUSED")
POINTS, FARTHEST, LONGEST_LABEL = 0xC0, 128, 63
"""A label's first octet that says where the name goes on instead (section 4.1.4); how many labels a name may have at the most."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What a name server says."""

    number: int
    """Of the question."""
    code: str
    """Such as NOERROR."""
    told: frozenset[str]
    """Addresses or names, of the kind that was asked for."""


def question(number: int, name: str, kind: str) -> bytes:
    """One question, with the wish that whoever is asked asks others in turn. Raises ValueError for no name."""
    head = HEAD.pack(number, RECURSE, 1, 0, 0, 0)
    return head + b"".join(_labels(name)) + b"\0" + ASKS.pack(KINDS[kind], INTERNET)


def _labels(name: str) -> Iterator[bytes]:
    for label in filter(None, name.encode("ascii").split(b".")):
        if len(label) > LONGEST_LABEL:
            raise ValueError(f"{name} is no name: {label.decode()} is longer than {LONGEST_LABEL} characters")
        yield bytes([len(label)]) + label


def read(said: bytes, asked: bytes) -> Reply | None:
    """The answer to a question; None to another one. Raises MalformedError where it is none at all."""
    if said[:2] != asked[:2]:
        return None
    try:
        number, marks, questions, answers, _, _ = HEAD.unpack_from(said)
        if not marks & IS_ANSWER or questions > 1:
            raise MalformedError("it is no answer to a question")
        at = _after(said, HEAD.size) + ASKS.size if questions else HEAD.size
        wanted, _ = ASKS.unpack_from(asked, len(asked) - ASKS.size)
        told = frozenset(_told(said, at, answers, wanted))
    except (struct.error, IndexError) as short:
        raise MalformedError("it ends before it says all") from short
    code = marks & CODE
    return Reply(number, CODES[code] if code < len(CODES) else f"code {code}", told)


def _told(said: bytes, at: int, many: int, wanted: int) -> Iterator[str]:
    """Of so many records from a place on, what those of a kind hold. Raises MalformedError, IndexError, struct.error."""
    for _ in range(many):
        at = _after(said, at)
        kind, _, _, length = RECORD.unpack_from(said, at)
        at += RECORD.size
        if at + length > len(said):
            raise MalformedError("it ends before it says all")
        if kind == wanted:
            yield _held(said, at, length, kind)
        at += length


def _held(said: bytes, at: int, length: int, kind: int) -> str:
    """An address, or a name."""
    if kind == KINDS["A"] and length == IPv4Address(0).max_prefixlen // 8:
        return str(IPv4Address(said[at : at + length]))
    if kind == KINDS["AAAA"] and length == IPv6Address(0).max_prefixlen // 8:
        return str(IPv6Address(said[at : at + length]))
    if kind in {KINDS["PTR"], KINDS["NS"], KINDS["SOA"]}:
        return _name(said, at)
    raise MalformedError("an address has another length")


def _after(said: bytes, at: int) -> int:
    """Where something goes on after a name. Raises IndexError."""
    while (length := said[at]) and length < POINTS:
        at += 1 + length
    return at + (2 if length else 1)


def _name(said: bytes, at: int) -> str:
    """A name, wherever in the message its parts lie. Raises MalformedError, IndexError."""
    labels: list[str] = []
    for _ in range(FARTHEST):
        length = said[at]
        if not length:
            return ".".join(labels)
        if length >= POINTS:
            at = (length & ~POINTS) << 8 | said[at + 1]
        else:
            labels.append(said[at + 1 : at + 1 + length].decode("ascii", "replace"))
            at += 1 + length
    raise MalformedError("a name goes on for ever")
