"""What people write of traffic: protocols with ports, hours, ends; read exactly, refused in a person's words."""

from collections.abc import Iterable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostile import HOSTILE
from scantling.figures import Transport, Window
from scantling.handbook.hours import read_hours, written_hours
from scantling.handbook.outsiders import read_party
from scantling.handbook.spoken import joined, parted, plain_comment, read_carried, written_carried


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("tcp 443", (Transport("tcp", 443, 443),)),
        ("tcp 443, udp 5060-5061", (Transport("tcp", 443, 443), Transport("udp", 5060, 5061))),
        ("UDP 53", (Transport("udp", 53, 53),)),
        ("tcp", (Transport("tcp"),)),
        ("icmp 8, icmpv6 128", (Transport("icmp", 8, 8), Transport("icmpv6", 128, 128))),
        ("icmp", (Transport("icmp", 0, 255),)),
        ("any", (Transport("any"),)),
        ("esp, gre", (Transport("esp"), Transport("gre"))),
        ("tcp 10000 - 20000", (Transport("tcp", 10000, 20000),)),
        ("tcp 0-65535", (Transport("tcp", 0, 65535),)),
    ],
)
def test_protocols_and_ports_are_read(written: str, read: tuple[Transport, ...]) -> None:
    assert read_carried(written).transports == read
    assert not read_carried(written).wrong
    assert read_carried(written_carried(read)).transports == tuple(sorted(read))


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("tpc 443", "did you mean tcp?"), ("http", "is no protocol; known are tcp, udp"),
        ("tcp 70000", "70000 is out of range; from 0 to 65535"),
        ("icmp 256", "the message type 256 is out of range; from 0 to 255"), ("tcp 90-80", "runs backwards; write 80-90"),
        ("tcp web", "is no port; write it like tcp 443"), ("any 443", "any has no ports"), ("tcp 443,,udp 1", "missing between the commas"),
        ("tcp -1", "is no port"), ("tcp 1-2-3", "is no port"), ("tcp 4٤3", "is no port"), ("", "missing between the commas"),
    ],
)  # fmt: skip
def test_what_is_no_protocol_or_port_is_told(written: str, says: str) -> None:
    (wrong,) = read_carried(written).wrong
    assert says in wrong


def ports(spans: Iterable[tuple[int, int]]) -> set[int]:
    """All of them, one by one."""
    return {port for first, last in spans for port in range(first, last + 1)}


@given(st.lists(st.tuples(st.integers(0, 65535), st.integers(0, 300)), max_size=8))
def test_joined_ports_hold_the_same_ports(spans: list[tuple[int, int]]) -> None:
    """Counted one by one."""
    many = [(first, min(first + more, 65535)) for first, more in spans]
    found = joined("tcp", many)
    assert ports(found) == ports(many)
    assert all(a[1] + 1 < b[0] for a, b in pairwise(found))


WEEK, WORK = tuple(range(7)), (0, 1, 2, 3, 4)


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("mon-fri 08:00-18:00", [Window(WORK, 480, 1079)]),
        ("sat", [Window((5,), 0, 1439)]),
        ("09:30-17:00", [Window(WEEK, 570, 1019)]),
        ("mon wed fri 00:00-24:00", [Window((0, 2, 4), 0, 1439)]),
        ("tue-thu, sat 10:00-12:00", [Window((1, 2, 3, 5), 600, 719)]),
        ("sun 22:00-02:00", [Window((6,), 1320, 1439), Window((0,), 0, 119)]),
        ("22:00-24:00", [Window(WEEK, 1320, 1439)]),
    ],
)
def test_hours_are_read_to_the_minute(written: str, read: list[Window]) -> None:
    """The last minute is the one before the end; past midnight it is two windows."""
    assert list(read_hours(written)) == read
    assert [window for one in read for window in read_hours(written_hours(one))] == read or written_hours(
        read[0]
    ) == "always"


@pytest.mark.parametrize(
    "written", ["", "always", "mon-fry 08:00-18:00", "8-18", "08:00-18:00 19:00-20:00", "25:00-26:00", "mon 08:00"]
)
def test_hours_that_are_not_understood_are_told(written: str) -> None:
    with pytest.raises(ValueError, match=r'not understood; write them like "mon-fri 08:00-18:00"'):
        read_hours(written)


def test_a_party_is_read_as_it_is_written() -> None:
    found = read_party("Pay.Processor.example, pay.processor.example", "203.0.113.0/24, 2001:db8::/32, 198.51.100.7")
    assert found.names == ("pay.processor.example",)
    assert [str(network) for network in found.networks] == ["203.0.113.0/24", "2001:db8::/32", "198.51.100.7/32"]
    assert not found.wrong


@pytest.mark.parametrize(
    ("names", "networks", "says"),
    [
        ("", "203.0.113.5/24", "the network itself is 203.0.113.0/24"), ("", "203.0.113/24", "is no network"),
        ("pay_host.example", "", "is no name of a host"),
        ("*.processor.example", "", "is no name of a host"), ("", "not a net", "is no network"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_a_party_is_told(names: str, networks: str, says: str) -> None:
    (wrong,) = read_party(names, networks).wrong
    assert says in wrong


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_are_refused_or_made_harmless(text: str) -> None:
    """A comment is one short line without quotes; nothing hostile is a protocol, an hour, a name or a network."""
    comment = plain_comment(text)
    assert len(comment.encode()) <= 100
    assert not set(comment) & set('"\\\n\r\t\0')
    assert read_carried(text).wrong
    with pytest.raises(ValueError, match="not understood"):
        read_hours(text)
    found = read_party("", text)
    assert not found.networks


def test_words_are_parted_by_commas() -> None:
    assert parted(" a ,, b/c ,") == ("a", "b/c")
