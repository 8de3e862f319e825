"""Finds the rule that decides over a few given packets: the kernel tells of each step that it takes with them.

Every packet makes a dozen events and more, and the queue for them is short: it is asked of single packets, never of all.
"""

import socket
import struct
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from scantling.figures import Host
from scantling.trials.probe.probing import Kind
from scantling.trials.rehearsal.attributes import attributes, host as host_of, messages
from scantling.trials.rehearsal.loading import FILTER, Runner, load
from scantling.trials.rehearsal.nfnetlink import HEAD, NETFILTER, TABLES
from scantling.trials.rehearsal.recorder import PROTOCOLS, TABLE as RECORDER_TABLE
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.talk import BUFFER, NETLINK

TABLE, MOST, QUIET = "tracer", 64, 0.03
"""Its name, packets at once, seconds without an event after which all is told."""
JOIN, TRACES, TRACE = 1, 9, 17  # linux/netlink.h, nfnetlink.h, nf_tables.h
IN_TABLE, IN_CHAIN, HANDLE, SORT, VERDICT, PACKET, NETWORK, TRANSPORT = 1, 2, 3, 4, 5, 6, 8, 9
POLICY, CODE, BY_POLICY = b"\0\0\0\1", 1, 16
VERDICTS = {
    0: "drop",
    1: "accept",
    2: "stolen",
    3: "queue",
    -1: "continue",
    -2: "break",
    -3: "jump",
    -4: "goto",
    -5: "return",
}
FINAL = {"drop", "accept"}
ECHOES = {4: 1, 6: 58}


@dataclass(frozen=True, slots=True)
class Sent:
    """A packet as it is sent."""

    source: Host
    number: int
    """Source port; of an echo its number; of another protocol, that."""
    kind: Kind
    target: Host


@dataclass(frozen=True, slots=True)
class Step:
    """One step that the kernel took with a packet."""

    table: str
    chain: str
    handle: int
    """Of the rule; 0: no rule matched, and the chain's policy decided."""
    verdict: str
    """accept, drop (also of a rule that rejects), jump, goto, return or continue."""


def traced(
    room: Room, run: Runner, packets: Sequence[Sent], send: Callable[[], None], quiet: float = QUIET
) -> dict[Sent, tuple[Step, ...]]:
    """Steps of the generated rules that each packet took, the first such packet alone, when `send` sends them.

    A packet without a step never came. Raises OSError when events were lost, ValueError for too many packets.
    """
    if len(packets) > MOST:
        raise ValueError(f"{len(packets)} packets can't be traced at once, only {MOST}")
    with room.socket(socket.AF_NETLINK, socket.SOCK_RAW, NETFILTER) as hearing, marked(run, packets):
        hearing.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, BUFFER)
        hearing.bind((0, 0))  # what has no number of its own is told nothing
        hearing.setsockopt(NETLINK, JOIN, TRACES)
        hearing.settimeout(quiet)
        send()
        return trails(events(hearing), packets)


def deciding(steps: Sequence[Step]) -> Step | None:
    """The step that decided: the one that dropped it, or else the last filtering one that let it pass; nothing: none did."""
    final = [step for step in steps if step.verdict in FINAL]
    dropping = [step for step in final if step.verdict == "drop"]
    return next(iter(dropping or [step for step in reversed(final) if step.table == FILTER]), None)


def comments(listing: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str, int], str]:
    """Comment of each rule of a listing, by table, chain and handle."""
    rules = [one["rule"] for one in listing if "rule" in one]
    return {(rule["table"], rule["chain"], rule["handle"]): rule.get("comment", "") for rule in rules}


@contextmanager
def marked(run: Runner, packets: Sequence[Sent]) -> Iterator[None]:
    """The packets are told of while it lasts. Raises LoadingError."""
    load(run, tracer(packets).encode())
    try:
        yield
    finally:
        load(run, f"delete table inet {TABLE}\n".encode())


def tracer(packets: Sequence[Sent]) -> str:
    """The table that has the kernel tell of packets; one that stands is replaced."""
    rules = "".join(f"{chosen(packet)} meta nftrace set 1\n" for packet in dict.fromkeys(packets))
    chains = "".join(
        f"chain {hook} {{\ntype filter hook {hook} priority -320; policy accept;\n{rules}}}\n"
        for hook in ("prerouting", "output")
    )
    return f"table inet {TABLE}\ndelete table inet {TABLE}\ntable inet {TABLE} {{\n{chains}}}\n"


def chosen(packet: Sent) -> str:
    """What a rule looks at to know a packet."""
    ip, icmp = ("ip", "icmp") if packet.source.version == 4 else ("ip6", "icmpv6")  # noqa: PLR2004 - the version
    ends = f"{ip} saddr {packet.source} {ip} daddr {packet.target}"
    if packet.kind is Kind.ECHO:
        return f"{ends} {icmp} type echo-request {icmp} id {packet.number}"
    if packet.kind is Kind.RAW:
        return f"{ends} meta l4proto {packet.number}"
    return f"{ends} meta l4proto {PROTOCOLS[packet.kind]} th sport {packet.number}"


def events(hearing: socket.socket) -> Iterator[dict[int, bytes]]:
    """What the kernel tells, until it says nothing more. Raises OSError."""
    while True:
        try:
            data = hearing.recv(BUFFER)
        except TimeoutError:
            return
        for kind, _, _, body in messages(data):
            if kind == TABLES << 8 | TRACE:
                yield dict(attributes(body[HEAD:]))


def trails(told: Iterable[Mapping[int, bytes]], packets: Sequence[Sent]) -> dict[Sent, tuple[Step, ...]]:
    """Each packet's steps. The kernel numbers packets in its memory and uses numbers anew: where it enters, it is looked at."""
    found: dict[Sent, list[Step]] = {packet: [] for packet in packets}
    begun: set[Sent] = set()
    going: dict[bytes, Sent | None] = {}
    for event in told:
        table, number = text(event, IN_TABLE), event[PACKET]
        if table == TABLE and NETWORK in event:
            packet = looked_at(event, packets)
            going[number] = packet if packet not in begun else None
            if packet:
                begun.add(packet)
        owner = going.get(number)
        # a chain's end that no rule and no policy brings about is no step
        if owner and table not in {TABLE, RECORDER_TABLE} and (HANDLE in event or event[SORT] == POLICY):
            found[owner].append(step(event))
    return {packet: tuple(steps) for packet, steps in found.items()}


def looked_at(event: Mapping[int, bytes], packets: Sequence[Sent]) -> Sent | None:
    """Which packet it is, by its head."""
    head, after = event[NETWORK], event.get(TRANSPORT, b"")
    fourth = head[0] >> 4 == 4  # noqa: PLR2004 - the version
    protocol = head[9] if fourth else head[6]
    source, target = (head[12:16], head[16:20]) if fourth else (head[8:24], head[24:40])
    ends = (host_of(source), host_of(target))
    for packet in packets:
        if (packet.source, packet.target) != ends:
            continue
        if packet.kind is Kind.RAW:
            same = protocol == packet.number
        elif packet.kind is Kind.ECHO:
            same = protocol == ECHOES[packet.source.version] and after[4:6] == packet.number.to_bytes(2, "big")
        else:
            same = protocol == PROTOCOLS[packet.kind] and after[:2] == packet.number.to_bytes(2, "big")
        if same:
            return packet
    return None


def step(event: Mapping[int, bytes]) -> Step:
    """One event, read."""
    table, chain = text(event, IN_TABLE), text(event, IN_CHAIN)
    if event[SORT] == POLICY:
        return Step(table, chain, 0, verdict(event[BY_POLICY]))
    inside = dict(attributes(event[VERDICT]))
    return Step(table, chain, int.from_bytes(event[HANDLE], "big"), verdict(inside[CODE]))


def verdict(octets: bytes) -> str:
    """A verdict's word."""
    (code,) = struct.unpack("!i", octets)
    return VERDICTS.get(code, str(code))


def text(event: Mapping[int, bytes], kind: int) -> str:
    """A name in an event."""
    return event.get(kind, b"").rstrip(b"\0").decode()
