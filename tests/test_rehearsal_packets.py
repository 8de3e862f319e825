"""Packets and first messages written by hand, against second writings, the examples of standards and other parsers."""

import struct
from dataclasses import replace

import dns.message
import pytest
from packets import checksum, ends
from probe_lab import at
from scantling.trials.probe.probing import Expected, Kind, Probe
from scantling.trials.rehearsal.greetings import asked
from scantling.trials.rehearsal.packets import castagnoli, key_of, message, written

ECHO = {4: 8, 6: 128}
FAMILIES = (4, 6)
PROBES = {
    family: Probe(0, "laptop", at("laptop", family), Kind.TCP, "files", at("files", family), 445, Expected.ALLOWED)
    for family in FAMILIES
}
RAW = [
    (Kind.TCP, 445), (Kind.UDP, 514), (Kind.ECHO, 0), (Kind.STRAY, 445), (Kind.FALSE, 445), (Kind.RAW, 47), (Kind.RAW, 50), (Kind.RAW, 132),
]  # fmt: skip


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(("kind", "port"), RAW)
def test_a_packet_written_by_hand_has_good_sums_and_the_right_ends(kind: Kind, port: int, family: int) -> None:
    """Sums by a second writing of RFC 1071: a packet with its sum in place sums to nought."""
    one = replace(PROBES[family], kind=kind, port=port or ECHO[family])
    packet = written(one, 20007)
    assert ends(packet) == (one.source_address.packed, one.address.packed)
    protocol, body = (packet[9], packet[20:]) if family == 4 else (packet[6], packet[40:])
    length = (
        struct.pack("!BBH", 0, protocol, len(body))
        if family == 4
        else struct.pack("!IHBB", len(body), 0, 0, protocol)
    )
    pseudo = b"" if protocol == 1 else b"".join(ends(packet)) + length
    if protocol in {1, 6, 17, 58}:
        assert checksum(pseudo + body) == 0
    assert len(packet) == struct.unpack_from("!H", packet, 2 if family == 4 else 4)[0] + (0 if family == 4 else 40)


def test_the_sum_of_streams_is_that_of_the_standard() -> None:
    """RFC 3720 appendix B.4, examples of the same sum: 32 octets of nought, of ones, and counting up."""
    assert castagnoli(bytes(32)) == 0x8A9136AA
    assert castagnoli(b"\xff" * 32) == 0x62A8AB43
    assert castagnoli(bytes(range(32))) == 0x46DD794E


@pytest.mark.parametrize("octets", [b"", b"\x45", bytes(19), bytes(40), b"\x60" + bytes(30), b"\x4f" + bytes(23)])
def test_pieces_of_packets_are_nobodys(octets: bytes) -> None:
    key = key_of(octets)
    assert key is None or key.source == bytes(len(key.source)) or len(octets) >= 24
    for family in FAMILIES:
        assert message(family, octets, bytes(4), bytes(4)) is None or len(octets) >= 8


def test_a_question_is_read_by_the_tools_own_parser() -> None:
    """Dnspython reads it (RFC 1035)."""
    read = dns.message.from_wire(asked(4711, "files.office.example"))
    assert (read.id, str(read.question[0].name), read.question[0].rdtype.name) == (4711, "files.office.example.", "A")
