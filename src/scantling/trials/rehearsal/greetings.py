"""First messages of tries and what answers mean: of responders who it is, of real services that it is alive."""

import struct
from typing import NamedTuple

from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.rehearsal.packets import PLAIN

NAMES, TIME = "names", "time"
ASKS_ON, ONE = 0x0100, 1
"""Flags of a question that wants its answer found (RFC 1035 section 4.1.1)."""
ADDRESS4, INTERNET, HEAD = 1, 1, 12
CLIENT, SERVER, CLOCK_OCTETS, STAMPED_AT, ASKED_AT = 0x23, 4, 48, 40, 24
"""Of RFC 5905 section 7.3: version 4 and mode of a client, mode of a server, length, transmitted and originate time."""
LABEL = 63


class Answer(NamedTuple):
    """What an answer says."""

    answerer: str
    """Empty: nobody by name, the address is all that is known."""
    port: int
    seen_as: str


def greeting(probe: Probe, name: str) -> bytes:
    """What is said first; nothing where the other side speaks first. `name`: what a name server is asked for."""
    if probe.first == NAMES:
        question = asked(probe.id & 0xFFFF, name)
        return struct.pack("!H", len(question)) + question if probe.kind is Kind.TCP else question
    if probe.first == TIME:
        return bytes([CLIENT]) + bytes(STAMPED_AT - 1) + stamp(probe)
    return PLAIN if probe.kind is Kind.UDP else b""


def asked(number: int, name: str) -> bytes:
    """A question for the address of a name (RFC 1035 section 4)."""
    labels = [label.encode("ascii", "replace")[:LABEL] for label in name.split(".") if label]
    written = b"".join(bytes([len(label)]) + label for label in labels) + b"\0"
    return struct.pack("!HHHHHH", number, ASKS_ON, ONE, 0, 0, 0) + written + struct.pack("!HH", ADDRESS4, INTERNET)


def stamp(probe: Probe) -> bytes:
    """A time of nobody's, by which an answer is known."""
    return struct.pack("!II", 0x5CA27119, probe.id)


def understood(probe: Probe, said: bytes) -> Answer | None:
    """What an answer says; nothing where it is none to this try."""
    if not probe.first:
        return _named(said)
    if probe.first == NAMES:
        answer = said[2:] if probe.kind is Kind.TCP else said
        well = len(answer) >= HEAD and answer[:2] == struct.pack("!H", probe.id & 0xFFFF) and bool(answer[2] & 0x80)
    else:
        well = len(said) >= CLOCK_OCTETS and said[0] & 7 == SERVER and said[ASKED_AT : ASKED_AT + 8] == stamp(probe)
    return Answer(probe.answers, probe.arrives[1] if probe.arrives else probe.port, "") if well else None


def _named(said: bytes) -> Answer | None:
    """What a responder says: its name, its port, and whom it sees."""
    words = said.decode("ascii", "replace").split()
    if len(words) != 3 or not words[1].isdecimal():  # noqa: PLR2004 - name, port, caller
        return None
    return Answer(words[0], int(words[1]), words[2])


def told(station: str, port: int, caller: str) -> bytes:
    """What a responder says."""
    return f"{station} {port} {caller}\n".encode("ascii", "replace")
