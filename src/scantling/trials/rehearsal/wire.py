"""A station's own wire: a socket at its port that hears only the answers meant for it, before it has any address."""

import ctypes
import os
import socket
import struct
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from errno import ENOBUFS
from typing import Any

from scantling.trials.rehearsal.rooms import Room

PORT = "e0"
IP4, IP6 = 0x0800, 0x86DD
EVERYBODY = b"\xff" * 6
ATTACH_FILTER = 26
UDP, WHOLE = 17, 0xFFFF
LATER_PART = 0x1FFF
LOAD_BYTE, LOAD_HALF, LOAD_FROM_HEAD, LOAD_HALF_AT, LOAD_WORD_AT = 0x30, 0x28, 0xB1, 0x48, 0x40
EQUAL, ANY_BIT, GIVE = 0x15, 0x45, 0x06
STEP = struct.Struct("HBBI")
HARDWARE_IN_UDP = 36
"""Where a message of DHCP bears the client's hardware address, counted from the head of UDP (RFC 2131 section 2)."""
FRAME = 14
"""Bytes of an Ethernet frame before its packet."""
CLOSERS = 48
NEXT_HEADER, PORT6, ICMP6, TYPE6 = 6, 42, 58, 40

Where = tuple[Any, ...] | None
"""As the socket module writes addresses; None: to whom the socket is bound."""
Step = tuple[int, int, int, int]


def only(steps: Sequence[Step]) -> bytes:
    """A filter program of the kernel (classic BPF): code, steps when true, steps when false, value."""
    return b"".join(STEP.pack(*step) for step in steps)


def answers_to(port: int, hardware: bytes) -> bytes:
    """Lets through what goes to a UDP port over IPv4 and names this hardware address as the client's."""
    return only(
        [
            (LOAD_BYTE, 0, 0, 9),
            (EQUAL, 0, 10, UDP),
            (LOAD_HALF, 0, 0, 6),
            (ANY_BIT, 8, 0, LATER_PART),
            (LOAD_FROM_HEAD, 0, 0, 0),
            (LOAD_HALF_AT, 0, 0, 2),
            (EQUAL, 0, 5, port),
            (LOAD_WORD_AT, 0, 0, HARDWARE_IN_UDP),
            (EQUAL, 0, 3, int.from_bytes(hardware[:4], "big")),
            (LOAD_HALF_AT, 0, 0, HARDWARE_IN_UDP + 4),
            (EQUAL, 0, 1, int.from_bytes(hardware[4:], "big")),
            (GIVE, 0, 0, WHOLE),
            (GIVE, 0, 0, 0),
        ]
    )


def to_port_framed(port: int) -> bytes:
    """Lets through what goes to a UDP port over IPv4, whoever it is for; of packets that come with their frames."""
    return only(
        [
            (LOAD_BYTE, 0, 0, FRAME + 9),
            (EQUAL, 0, 6, UDP),
            (LOAD_HALF, 0, 0, FRAME + 6),
            (ANY_BIT, 4, 0, LATER_PART),
            (LOAD_FROM_HEAD, 0, 0, FRAME),
            (LOAD_HALF_AT, 0, 0, FRAME + 2),
            (EQUAL, 0, 1, port),
            (GIVE, 0, 0, WHOLE),
            (GIVE, 0, 0, 0),
        ]
    )


def to_port6(port: int) -> bytes:
    """Lets through what goes to a UDP port over IPv6."""
    return only(
        [
            (LOAD_BYTE, 0, 0, NEXT_HEADER),
            (EQUAL, 0, 3, UDP),
            (LOAD_HALF, 0, 0, PORT6),
            (EQUAL, 0, 1, port),
            (GIVE, 0, 0, WHOLE),
            (GIVE, 0, 0, 0),
        ]
    )


def listening(room: Room, name: str, kind: int, program: bytes) -> socket.socket:
    """A socket on a port that hears packets of one kind without their frames, as far as the filter lets them. Raises OSError.

    The filter stands before the socket is bound, so that nothing else is ever heard.
    """
    wire = room.socket(socket.AF_PACKET, socket.SOCK_DGRAM)
    try:
        filtered(wire, program)
        wire.settimeout(0)
        wire.bind((name, kind))
    except OSError:
        wire.close()
        raise
    return wire


def put(wire: socket.socket, data: bytes, where: Where = None) -> bool:
    """Send something, if the kernel has room just now; else it is lost, as on a busy wire. Raises OSError when the port is gone."""
    try:
        if where is None:
            wire.send(data)
        else:
            wire.sendto(data, where)
    except (BlockingIOError, InterruptedError):
        return False
    except OSError as wrong:
        if wrong.errno != ENOBUFS:
            raise
        return False
    return True


def filtered(wire: socket.socket, program: bytes) -> None:
    """Put a filter before a socket. Raises OSError."""
    steps = ctypes.create_string_buffer(program, len(program))
    told = struct.pack("HL", len(program) // STEP.size, ctypes.addressof(steps))
    wire.setsockopt(socket.SOL_SOCKET, ATTACH_FILTER, told)


def closed(wires: Iterable[socket.socket]) -> None:
    """Close them all side by side: each waits some milliseconds for the kernel, whatever the machine's speed."""
    many = list(wires)
    if not many:
        return
    with ThreadPoolExecutor(min(CLOSERS, len(many))) as closers:
        list(closers.map(lambda wire: os.close(wire.detach()), many))
