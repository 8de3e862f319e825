"""Router announcements as RFC 4861 and RFC 8106 lay them out: what the firewall tells a zone of IPv6; written and read, nothing sent."""

import struct
from dataclasses import dataclass
from ipaddress import IPv6Address, IPv6Network

from scantling.trials.rehearsal import dhcp6
from scantling.trials.rehearsal.datagrams import MalformedError

SOLICITATION, ANNOUNCEMENT = 133, 134
GIVEN, OTHER, ON_LINK, OWN = 0x80, 0x40, 0x80, 0x40
HOPS = 64
ROUTER_SECONDS, TOLD_SECONDS = 1800, 1800
"""How long the router, and what it tells, may be believed (RFC 4861 section 6.2.1: three times the longest pause of 600 s)."""
VALID, PREFERRED = 2592000, 604800
"""How long an address made from the prefix is valid and preferred, seconds (RFC 4861 section 6.2.1)."""
LINK_LAYER, PREFIX, RESOLVERS, DOMAINS = 1, 3, 25, 31
HEAD, ABOUT, LIFE = struct.Struct("!BBHBBHII"), struct.Struct("!BBIII16s"), struct.Struct("!HI")
STEP = 8
"""Options are measured in steps of eight bytes."""
ADDRESS_LENGTH = 16


@dataclass(frozen=True, slots=True)
class Announcement:
    """What a router tells."""

    prefix: IPv6Network
    given: bool
    """Devices ask for an address (M)."""
    other: bool
    """They ask for names and time (O)."""
    on_link: bool
    """The prefix lies on this network (L)."""
    own: bool
    """Devices make an address from it (A)."""
    resolvers: tuple[IPv6Address, ...]
    domains: tuple[str, ...]
    hardware: bytes = b""
    """The router's own hardware address."""
    seconds: int = ROUTER_SECONDS
    """How long the router is a way out; 0: it is none."""


def written(said: Announcement) -> bytes:
    """The message, without its sum, which the kernel writes."""
    flags = (GIVEN if said.given else 0) | (OTHER if said.other else 0)
    about = (ON_LINK if said.on_link else 0) | (OWN if said.own else 0)
    parts = [
        HEAD.pack(ANNOUNCEMENT, 0, 0, HOPS, flags, said.seconds, 0, 0),
        _option(
            PREFIX, ABOUT.pack(said.prefix.prefixlen, about, VALID, PREFERRED, 0, said.prefix.network_address.packed)
        ),
    ]
    if said.hardware:
        parts.append(_option(LINK_LAYER, said.hardware))
    if said.resolvers:
        parts.append(
            _option(RESOLVERS, LIFE.pack(0, TOLD_SECONDS) + b"".join(host.packed for host in said.resolvers))
        )
    if said.domains:
        parts.append(_option(DOMAINS, LIFE.pack(0, TOLD_SECONDS) + b"".join(map(dhcp6.written_name, said.domains))))
    return b"".join(parts)


def _option(number: int, data: bytes) -> bytes:
    steps = -(-(2 + len(data)) // STEP)
    return (bytes([number, steps]) + data).ljust(steps * STEP, b"\0")


def read(data: bytes) -> Announcement:
    """The announcement in some bytes. Raises MalformedError; so it does where no prefix is told."""
    if len(data) < HEAD.size or data[0] != ANNOUNCEMENT:
        raise MalformedError("no announcement of a router")
    _, _, _, _, flags, seconds, _, _ = HEAD.unpack_from(data)
    options = _options(data[HEAD.size :])
    about = options.get(PREFIX, b"")
    if len(about) < ABOUT.size:
        raise MalformedError("an announcement without a prefix")
    length, bits, _, _, _, network = ABOUT.unpack_from(about)
    try:
        prefix = IPv6Network((network, length))
    except ValueError as wrong:
        raise MalformedError(f"an announcement of what is no prefix: {wrong}") from wrong
    told, names = options.get(RESOLVERS, b"")[LIFE.size :], options.get(DOMAINS, b"")[LIFE.size :]
    hosts = (told[at : at + ADDRESS_LENGTH] for at in range(0, len(told) - ADDRESS_LENGTH + 1, ADDRESS_LENGTH))
    return Announcement(
        prefix, bool(flags & GIVEN), bool(flags & OTHER), bool(bits & ON_LINK), bool(bits & OWN),
        tuple(IPv6Address(one) for one in hosts), tuple(name for name in dhcp6.read_names(names) if name),
        options.get(LINK_LAYER, b"")[:6], seconds,
    )  # fmt: skip


def _options(data: bytes) -> dict[int, bytes]:
    """Options by number, the first of each."""
    found: dict[int, bytes] = {}
    at = 0
    while at + 2 <= len(data):
        number, many = data[at], data[at + 1] * STEP
        if not many or at + many > len(data):
            raise MalformedError(f"option {number} of an announcement is cut off")
        found.setdefault(number, data[at + 2 : at + many])
        at += many
    return found
