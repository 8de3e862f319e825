"""Packets written by hand, for tries that no ordinary socket makes, and what messages about them say when they come back.

Layouts: RFC 791 and 8200 (addresses), 9293 (TCP), 768 (UDP), 792 and 4443 (echoes and errors), 2784 (tunnels), 4303
(encryption), 9260 (streams).
"""

import struct
from enum import Enum
from functools import cache
from typing import NamedTuple

from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.rehearsal.datagrams import checksum

TCP, UDP, ICMP, ICMPV6, GRE, ESP, SCTP = 6, 17, 1, 58, 47, 50, 132
ECHOES = {4: ICMP, 6: ICMPV6}
PROTOCOLS = {Kind.TCP: TCP, Kind.UDP: UDP, Kind.STRAY: TCP, Kind.FALSE: TCP}
SUM_AT = {TCP: 16, UDP: 6, ICMP: 2, ICMPV6: 2}
"""Where a protocol's sum stands."""
BEGINS, RESETS = 0x02, 0x04
HOPS, WINDOW, HEAD4, HEAD6, PORTS = 64, 8192, 20, 40, 4
PLAIN = b"who is there?\n"
REPLY = {4: 0, 6: 129}
REFUSALS = {4: (3,), 6: (1, 4)}
"""Types of messages that say a packet went no further: unreachable; of the sixth version also "not understood"."""
NOT_THERE = {4: (0, 1, 6, 7), 6: (0, 3)}
"""Codes of unreachable that say nobody is there; all others say that it may not be, or is not spoken."""
CASTAGNOLI, ALL_ONES = 0x82F63B78, 0xFFFFFFFF
"""The polynomial of RFC 9260 appendix A, its bits reversed."""


class Said(Enum):
    """What a message says of a packet."""

    ECHO = "echo"
    REFUSED = "refused"
    NOT_THERE = "nobody is there"


class Key(NamedTuple):
    """What tells a packet from all others, also where an error quotes but its beginning."""

    source: bytes
    target: bytes
    protocol: int
    mark: bytes
    """Ports, or number and sequence of an echo; nothing of other protocols."""


def protocol_of(probe: Probe) -> int:
    """The number of the protocol that a probe is carried by."""
    if probe.kind is Kind.RAW:
        return probe.port
    return ECHOES[probe.family] if probe.kind is Kind.ECHO else PROTOCOLS[probe.kind]


def written(probe: Probe, own: int) -> bytes:
    """A probe as a whole packet. `own`: the port it is sent from, or the number of an echo."""
    protocol, body = protocol_of(probe), _body(probe, own)
    ends = probe.source_address.packed + probe.address.packed
    if probe.family == 4:  # noqa: PLR2004 - the version
        pseudo = b"" if protocol == ICMP else ends + struct.pack("!BBH", 0, protocol, len(body))
        body = _summed(protocol, body, pseudo)
        # the kernel fills in the sum of the head (raw(7))
        return struct.pack("!BBHHHBBH", 0x45, 0, HEAD4 + len(body), own, 0, HOPS, protocol, 0) + ends + body
    body = _summed(protocol, body, ends + struct.pack("!IHBB", len(body), 0, 0, protocol))
    return struct.pack("!IHBB", 6 << 28, len(body), protocol, HOPS) + ends + body


def _body(probe: Probe, own: int) -> bytes:
    if probe.kind is Kind.ECHO:
        return struct.pack("!BBHHH", probe.port, 0, 0, own, 1) + PLAIN
    if probe.kind is Kind.RAW:
        return _raw(probe.port)
    if probe.kind is Kind.UDP:
        return struct.pack("!HHHH", own, probe.port, 8 + len(PLAIN), 0) + PLAIN
    flags = RESETS if probe.kind is Kind.STRAY else BEGINS
    return struct.pack("!HHIIBBHHH", own, probe.port, 1000, 0, 0x50, flags, WINDOW, 0, 0)


@cache
def _raw(protocol: int) -> bytes:
    """The least that a protocol's packet must have to be one."""
    if protocol == GRE:
        return struct.pack("!HH", 0, 0x0800)
    if protocol == SCTP:
        opening = struct.pack("!BBHIIHHI", 1, 0, 20, 1, 65536, 1, 1, 1)
        bare = struct.pack("!HHII", 0, 0, 0, 0) + opening
        return bare[:8] + struct.pack("<I", castagnoli(bare)) + opening
    return struct.pack("!II", 0x1000, 1)


def castagnoli(octets: bytes) -> int:
    """The sum of streams (RFC 9260 appendix A)."""
    found = ALL_ONES
    for octet in octets:
        found ^= octet
        for _ in range(8):
            found = found >> 1 ^ (CASTAGNOLI if found & 1 else 0)
    return found ^ ALL_ONES


def _summed(protocol: int, body: bytes, pseudo: bytes) -> bytes:
    place = SUM_AT.get(protocol)
    if place is None:
        return body
    found = checksum(pseudo + body)
    if protocol == UDP and not found:
        found = 0xFFFF  # nought would say that there is none (RFC 768)
    return body[:place] + struct.pack("!H", found) + body[place + 2 :]


def key_of(packet: bytes) -> Key | None:
    """What tells a packet apart; nothing of a piece that is too short."""
    if len(packet) < HEAD4 + PORTS:
        return None
    if packet[0] >> 4 == 4:  # noqa: PLR2004 - the version
        head, protocol, source, target = (packet[0] & 15) * 4, packet[9], packet[12:16], packet[16:20]
    elif len(packet) >= HEAD6 + PORTS:
        head, protocol, source, target = HEAD6, packet[6], packet[8:24], packet[24:40]
    else:
        return None
    if protocol in {TCP, UDP}:
        return Key(source, target, protocol, packet[head : head + PORTS])
    return Key(source, target, protocol, packet[head + PORTS : head + 8] if protocol in {ICMP, ICMPV6} else b"")


def message(family: int, said: bytes, source: bytes, target: bytes) -> tuple[Key, Said] | None:
    """What a message of ICMP says and of which packet of ours; nothing of one that says nothing of any. `target`: us."""
    if len(said) < 8:  # noqa: PLR2004 - a head has eight octets
        return None
    kind, code = said[0], said[1]
    if kind == REPLY[family]:
        return Key(target, source, ECHOES[family], said[4:8]), Said.ECHO
    key = key_of(said[8:]) if kind in REFUSALS[family] else None
    if key is None:
        return None
    gone = kind == REFUSALS[family][0] and code in NOT_THERE[family]
    return key, Said.NOT_THERE if gone else Said.REFUSED
