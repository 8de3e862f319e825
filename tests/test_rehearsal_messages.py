"""Messages of DHCP in both families, of relays and of routers: laid out as the RFCs say, read back, and never a stumble over bad ones.

The layouts checked byte by byte are those of RFC 2131 figure 1, RFC 2132 section 9, RFC 8415 sections 8, 9, 21, RFC 4861 section 4.2,
RFC 8106 section 5 and the worked sum of RFC 1071 section 3.
"""

from collections.abc import Callable
from contextlib import suppress
from ipaddress import IPv4Address, IPv6Address, IPv6Network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.figures import Host
from scantling.trials.rehearsal import announcements, datagrams, dhcp, dhcp6, relay4, relay6
from scantling.trials.rehearsal.announcements import Announcement
from scantling.trials.rehearsal.datagrams import Datagram, MalformedError
from scantling.trials.rehearsal.dhcp6 import Kind6, Message6, Option6, Relayed

HARDWARE = bytes.fromhex("0216003c0101")
HOSTS4, HOSTS6 = st.ip_addresses(v=4), st.ip_addresses(v=6)
NAMES = st.from_regex(r"[a-z]([a-z0-9-]{0,20}[a-z0-9])?(\.[a-z][a-z0-9]{0,10}){0,3}", fullmatch=True)
OPTIONS6 = st.lists(st.tuples(st.integers(0, 65535), st.binary(max_size=60)), max_size=5).map(tuple)
MESSAGES4 = st.builds(
    dhcp.Message,
    op=st.sampled_from([1, 2]),
    serial=st.integers(0, 2**32 - 1),
    hardware=st.binary(min_size=6, max_size=6),
    options=st.dictionaries(st.integers(1, 254).filter(lambda one: one != 52), st.binary(max_size=600), max_size=6),
    flags=st.integers(0, 65535),
    held=HOSTS4,
    given=HOSTS4,
    next_server=HOSTS4,
    relay=HOSTS4,
    hops=st.integers(0, 255),
    seconds=st.integers(0, 65535),
)


@given(MESSAGES4)
def test_a_message_is_read_as_it_was_written(message: dhcp.Message) -> None:
    assert dhcp.read(dhcp.written(message)) == message


def test_a_call_for_servers_is_laid_out_as_in_the_standard() -> None:
    data = dhcp.written(dhcp.discover(0x01020304, HARDWARE, to_all=True))
    assert data[:12] == bytes.fromhex("01010600 01020304 0000 8000")
    assert data[12:28] == bytes(16)
    assert data[28:44] == HARDWARE + bytes(10)
    assert data[44:236] == bytes(192)
    assert data[236:240] == bytes([99, 130, 83, 99])
    assert data[240:243] == bytes([53, 1, 1])
    assert data[243:252] == bytes([61, 7, 1]) + HARDWARE
    assert len(data) == 300
    assert data.rstrip(b"\0")[-1] == 255


def test_a_request_names_server_and_address() -> None:
    said = {53: bytes([2]), 54: bytes([10, 0, 0, 1])}
    offer = dhcp.Message(dhcp.ANSWER, 7, HARDWARE, said, given=IPv4Address("10.0.0.9"))
    asked = dhcp.request(offer)
    assert (asked.serial, asked.kind, asked.held) == (7, 3, dhcp.NOBODY)
    assert asked.hosts(50) == (IPv4Address("10.0.0.9"),)
    assert asked.hosts(54) == (IPv4Address("10.0.0.1"),)
    again = dhcp.renewal(7, HARDWARE, IPv4Address("10.0.0.9"))
    assert again.held == IPv4Address("10.0.0.9")
    assert not {50, 54} & set(again.options)  # RFC 2131 section 4.3.6


def test_options_that_had_no_room_are_found_in_the_old_fields() -> None:
    bare = bytearray(dhcp.written(dhcp.Message(2, 1, HARDWARE, {52: bytes([3]), 53: bytes([5])})))
    bare[108:113] = bytes([15, 3]) + b"abc"
    bare[113] = 255
    bare[44:50] = bytes([1, 4, 255, 255, 255, 0])
    read = dhcp.read(bytes(bare))
    assert read.words(15) == "abc"
    assert read.hosts(1) == (IPv4Address("255.255.255.0"),)


@pytest.mark.parametrize(
    "read",
    [
        dhcp.read, dhcp6.read, dhcp6.read_relayed, dhcp6.read_identity, dhcp6.read_names, dhcp6.read_options, datagrams.read,
        announcements.read,
    ],
    ids=lambda one: f"{one.__module__.rpartition('.')[2]}.{one.__name__}",
)  # fmt: skip
@given(data=st.binary(max_size=400))
def test_bytes_of_any_kind_are_read_or_refused(read: Callable[[bytes], object], data: bytes) -> None:
    with suppress(MalformedError):  # anything else that is raised fails
        read(data)


@given(MESSAGES4, st.integers(0, 400), st.binary(max_size=8))
def test_a_message_that_is_cut_or_scratched_is_read_or_refused(message: dhcp.Message, at: int, put: bytes) -> None:
    data = dhcp.written(message)
    for harmed in (data[:at], data[:at] + put + data[at + len(put) :]):
        with suppress(MalformedError):
            dhcp.read(harmed)
        relay4.passed_on(harmed, IPv4Address("10.0.0.1"))
        relay4.way_back(harmed)


@given(st.binary(max_size=200), HOSTS6)
def test_a_relay_takes_whatever_comes(data: bytes, peer: IPv6Address) -> None:
    told = relay6.passed_on(data, peer, IPv6Address("2001:db8::1"), "zone-10", HARDWARE)
    if told is not None:
        assert dhcp6.first(dhcp6.read_relayed(told).options, Option6.CARRIED) == data
    relay6.way_back(data)
    relay6.way_back(bytes([Kind6.RELAY_REPLY]) + data)


def test_the_relay_stands_for_the_zone_once_and_counts_hops() -> None:
    call = dhcp.discover(1, HARDWARE)
    own, other = IPv4Address("10.0.0.1"), IPv4Address("10.0.9.1")
    first = relay4.passed_on(dhcp.written(call), own)
    assert first is not None
    assert (dhcp.read(first).relay, dhcp.read(first).hops) == (own, 1)
    second = relay4.passed_on(first, other)
    assert second is not None
    assert (dhcp.read(second).relay, dhcp.read(second).hops) == (own, 2)
    assert second[28:] == dhcp.written(call)[28:]
    tired = dhcp.written(dhcp.Message(1, 1, HARDWARE, hops=16))
    assert relay4.passed_on(tired, own) is None
    assert relay4.passed_on(dhcp.written(dhcp.Message(2, 1, HARDWARE)), own) is None


def test_the_relays_answer_goes_to_the_device_or_to_all() -> None:
    own, host = IPv4Address("10.0.0.1"), IPv4Address("10.0.0.9")
    straight = dhcp.Message(2, 1, HARDWARE, given=host, relay=own)
    assert relay4.way_back(dhcp.written(straight)) == (own, host, HARDWARE)
    to_all = dhcp.Message(2, 1, HARDWARE, flags=dhcp.TO_ALL, given=host, relay=own)
    assert relay4.way_back(dhcp.written(to_all)) == (own, dhcp.NOBODY, HARDWARE)


@given(st.integers(1, 11), st.integers(0, 2**24 - 1), OPTIONS6)
def test_a_message_of_ipv6_is_read_as_it_was_written(kind: int, serial: int, options: dhcp6.Options) -> None:
    message = Message6(kind, serial, options)
    assert dhcp6.read(dhcp6.written(message)) == message


def test_a_message_of_ipv6_is_laid_out_as_in_the_standard() -> None:
    said = ((int(Option6.CLIENT), dhcp6.identifier(HARDWARE)), (int(Option6.IDENTITY), dhcp6.written_identity(1)))
    data = dhcp6.written(Message6(Kind6.SOLICIT, 0x0A0B0C, said))
    assert data == bytes.fromhex("01 0a0b0c  0001 000a 0003 0001 0216003c0101  0003 000c 00000001 00000000 00000000")


def test_a_relayed_call_bears_zone_device_and_hardware() -> None:
    own, peer = IPv6Address("2001:db8:44:30::1"), IPv6Address("fe80::9")
    told = relay6.passed_on(b"\x01abc", peer, own, "zone-30", HARDWARE)
    assert told == (
        bytes([12, 0]) + own.packed + peer.packed
        + bytes.fromhex("0012 0007") + b"zone-30" + bytes.fromhex("0009 0004") + b"\x01abc"
        + bytes.fromhex("004f 0008 0001 0216003c0101")
    )  # fmt: skip
    back = dhcp6.written_relayed(Relayed(Kind6.RELAY_REPLY, 0, own, peer, ((18, b"zone-30"), (9, b"\x02abc"))))
    assert relay6.way_back(back) == ("zone-30", peer, b"\x02abc")
    assert relay6.passed_on(told[:1] + bytes([7]) + told[2:], peer, own, "zone-30", b"") is None  # the eighth hop


@given(st.lists(HOSTS6, max_size=3))
def test_an_association_is_read_as_it_was_written(hosts: list[IPv6Address]) -> None:
    read = dhcp6.read_identity(dhcp6.written_identity(9, hosts))
    assert (read.number, [one.address for one in read.lent], read.status) == (9, hosts, 0)


@given(st.lists(NAMES, max_size=3))
def test_names_are_read_as_they_were_written(names: list[str]) -> None:
    assert dhcp6.read_names(b"".join(map(dhcp6.written_name, names))) == tuple(names)


@pytest.mark.parametrize("name", ["", "a..b", "x" * 64])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="no name"):
        dhcp6.written_name(name)


@given(st.one_of(st.tuples(HOSTS4, HOSTS4), st.tuples(HOSTS6, HOSTS6)), st.binary(max_size=300))
def test_a_datagram_is_read_as_it_was_written(ends: tuple[Host, Host], load: bytes) -> None:
    one = Datagram(ends[0], 68, ends[1], 67, load)
    packet = datagrams.written(one)
    assert datagrams.read(packet) == one
    if ends[0].version == 4:
        assert datagrams.checksum(packet[:20]) == 0
        pseudo = packet[12:20] + bytes([0, 17]) + packet[24:26]
        assert datagrams.checksum(pseudo + packet[20:]) == 0
    else:
        pseudo = packet[8:40] + bytes(2) + packet[44:46] + bytes([0, 0, 0, 17])
        assert datagrams.checksum(pseudo + packet[40:]) == 0


def test_the_sum_is_that_of_the_standards_example() -> None:
    assert datagrams.checksum(bytes.fromhex("0001f203f4f5f6f7")) == 0xFFFF - 0xDDF2
    assert datagrams.checksum(b"") == 0xFFFF


ANNOUNCED = st.builds(
    Announcement,
    prefix=st.builds(
        lambda host, length: IPv6Network((int(host), length), strict=False), HOSTS6, st.integers(0, 128)
    ),
    given=st.booleans(),
    other=st.booleans(),
    on_link=st.booleans(),
    own=st.booleans(),
    resolvers=st.lists(HOSTS6, max_size=3).map(tuple),
    domains=st.lists(NAMES, max_size=2).map(tuple),
    hardware=st.sampled_from([b"", HARDWARE]),
    seconds=st.integers(0, 9000),
)


@given(ANNOUNCED)
def test_an_announcement_is_read_as_it_was_written(said: Announcement) -> None:
    assert announcements.read(announcements.written(said)) == said


def test_an_announcement_is_laid_out_as_in_the_standard() -> None:
    said = Announcement(
        IPv6Network("2001:db8:44:30::/64"), given=True, other=True, on_link=True, own=True,
        resolvers=(IPv6Address("2001:db8::53"),), domains=("ad.example",), hardware=HARDWARE,
    )  # fmt: skip
    assert announcements.written(said) == bytes.fromhex(
        "86 00 0000 40 c0 0708 00000000 00000000"
        "03 04 40 c0 00278d00 00093a80 00000000 20010db8004400300000000000000000"
        "01 01 0216003c0101"
        "19 03 0000 00000708 20010db8000000000000000000000053"
        "1f 03 0000 00000708 02 6164 07 6578616d706c65 00 00000000"
    )
