"""What is said outside: names, time and a lent address, held against the standards; dnspython reads what is said."""

import struct
from ipaddress import IPv4Address, IPv6Address
from typing import Any

import dns.flags
import dns.message
import dns.opcode
import dns.rcode
import dns.rdatatype
import pytest
from hypothesis import given, strategies as some

from scantling.trials.rehearsal import dhcp
from scantling.trials.rehearsal.attending import Ends
from scantling.trials.rehearsal.design import designed
from scantling.trials.rehearsal.outside_clock import told
from scantling.trials.rehearsal.outside_lending import line
from scantling.trials.rehearsal.outside_names import World
from served_offices import data, lends, plan_of

HERE, THERE = IPv4Address("192.0.2.9"), IPv6Address("2001:db8::9")
WORLD = World(
    [
        ("time.college.example", (IPv4Address("192.0.2.1"), IPv6Address("2001:db8::1"))),
        ("four.example", (IPv4Address("192.0.2.4"),)),
    ]
)
EPOCH = 2_208_988_800
HEAD = struct.Struct("!BBbbII4sIIIIIIII")


def asked(name: str, kind: str = "A", at: IPv4Address | IPv6Address = HERE, **more: Any) -> dns.message.Message:
    """What the world says to one question."""
    said = WORLD.answered(dns.message.make_query(name, kind, **more).to_wire(), at)
    assert said is not None
    return dns.message.from_wire(said)


@pytest.mark.parametrize(("at", "kind"), [(HERE, "A"), (THERE, "AAAA")])
def test_whoever_primes_learns_one_name_server_at_the_address_asked(at: Any, kind: str) -> None:
    """RFC 8109: the names of the root's servers, and their addresses beside."""
    said = asked(".", "NS", at)
    assert data(said.answer) == [(".", "NS", "a.root.example.")]
    assert data(said.additional) == [("a.root.example.", kind, str(at))]
    assert data(asked("a.root.example", kind, at).answer) == [("a.root.example.", kind, str(at))]
    assert said.flags & dns.flags.AA
    assert said.flags & dns.flags.QR


@pytest.mark.parametrize("name", [".", "example", "college.example", "arpa", "in-addr.arpa", "ip6.arpa"])
@pytest.mark.parametrize("kind", ["A", "AAAA", "TXT"])
def test_what_has_something_below_it_is_there_and_bears_nothing(name: str, kind: str) -> None:
    """RFC 8020 and RFC 9156: who asks label by label must not be told that there is nothing; RFC 2308: the SOA beside."""
    said = asked(name, kind)
    assert (said.rcode(), said.answer) == (dns.rcode.NOERROR, [])
    assert data(said.authority)[0][:2] == (".", "SOA")


def test_names_answer_with_what_they_bear() -> None:
    assert data(asked("time.college.example").answer) == [("time.college.example.", "A", "192.0.2.1")]
    assert data(asked("TIME.college.EXAMPLE", "AAAA").answer)[0][1:] == ("AAAA", "2001:db8::1")
    nothing = asked("four.example", "AAAA")
    assert (nothing.rcode(), nothing.answer) == (dns.rcode.NOERROR, [])


@pytest.mark.parametrize(
    "name", ["nobody.example", "x.time.college.example", "local", "1.2.0.192.in-addr.arpa", "use-application-dns.net"]
)
def test_all_else_is_not_there(name: str) -> None:
    said = asked(name, "PTR" if name.endswith("arpa") else "A")
    assert (said.rcode(), said.answer) == (dns.rcode.NXDOMAIN, [])
    assert data(said.authority)[0][:2] == (".", "SOA")


def test_the_question_comes_back_as_it_was_put() -> None:
    """RFC 1035 section 4.1.1, RFC 6891 section 6.1.1, and the spelling of RFC 5452 section 9 (0x20)."""
    question = dns.message.make_query("tImE.CoLLege.eXample", "A", use_edns=0, payload=1232, want_dnssec=True)
    said = WORLD.answered(question.to_wire(), HERE)
    assert said is not None
    answer = dns.message.from_wire(said)
    assert (answer.id, answer.edns) == (question.id, 0)
    assert answer.flags & dns.flags.RD
    assert answer.question[0].name.to_text() == "tImE.CoLLege.eXample."
    assert b"tImE" in said
    plain = WORLD.answered(dns.message.make_query("four.example", "A", use_edns=False).to_wire(), HERE)
    assert plain is not None
    assert dns.message.from_wire(plain).edns == -1


def test_what_is_no_question_gets_no_answer_or_a_refusal() -> None:
    question = dns.message.make_query("four.example", "A")
    answer = dns.message.make_response(question)
    assert WORLD.answered(answer.to_wire(), HERE) is None
    assert WORLD.answered(b"", HERE) is None
    question.set_opcode(dns.opcode.NOTIFY)
    said = WORLD.answered(question.to_wire(), HERE)
    assert said is not None
    assert dns.message.from_wire(said).rcode() == dns.rcode.NOTIMP


@given(some.binary(max_size=80))
def test_no_bytes_stop_anybody_outside(said: bytes) -> None:
    """Names, clock and lending: an answer or none, never an end."""
    _, lent = lends()
    for answer in (WORLD.answered(said, HERE), told(said, 1.0, 2.0), lent.answered(said, Ends(HERE, HERE), {})):
        assert answer is None or answer


@pytest.mark.parametrize("version", [1, 2, 3, 4])
@pytest.mark.parametrize("off", [0.0, 3600.0, -90.25])
def test_a_clock_answers_as_the_standard_has_it(version: int, off: float) -> None:
    """RFC 5905 section 7.3: version as asked, mode 4, what was sent comes back as the origin, seconds since 1900."""
    question = bytes([version << 3 | 3, 0, 6, 0]) + bytes(36) + b"abcdefgh"
    came, now = 1_790_000_000.25, 1_790_000_000.5
    said = told(question, came, now, off=off)
    assert said is not None
    head, stratum, poll, precision, _, _, _, *stamps = HEAD.unpack(said)
    assert (head >> 6, head >> 3 & 7, head & 7) == (0, version, 4)
    assert (stratum, poll) == (2, 6)
    assert precision < 0
    assert said[24:32] == b"abcdefgh"
    got = [high - EPOCH + low / 2**32 for high, low in zip(stamps[4::2], stamps[5::2], strict=True)]
    assert got == [pytest.approx(came + off, abs=1e-6), pytest.approx(now + off, abs=1e-6)]
    assert stamps[0] - EPOCH <= came + off


def test_a_clock_begins_anew_in_2036() -> None:
    """RFC 5905 section 6: the seconds of era 1 begin on 7 February 2036."""
    said = told(bytes([0x23]) + bytes(47), 2_085_978_496.0, 2_085_978_496.0)
    assert said is not None
    assert HEAD.unpack(said)[-2] == 0


@pytest.mark.parametrize(
    "said",
    [b"", bytes([0x23]) + bytes(46), bytes([0x24]) + bytes(47), bytes([0x2B]) + bytes(47), bytes([0x03]) + bytes(47)],
)
def test_what_asks_no_clock_gets_no_time(said: bytes) -> None:
    assert told(said, 1.0, 1.0) is None


def said_by(lent: Any, message: dhcp.Message) -> dhcp.Message | None:
    """The provider's answer."""
    answer = lent.answered(dhcp.written(message), Ends(IPv4Address("255.255.255.255"), IPv4Address(0)), {})
    return dhcp.read(answer) if answer is not None else None


def test_a_line_lends_one_address_to_whoever_asks() -> None:
    """RFC 2131: offer, acknowledgement, and no to who wants another address; silence to who has chosen another server."""
    way, lent = lends()
    offer = said_by(lent, dhcp.discover(7, b"\x02\0\0\0\0\1"))
    assert offer is not None
    assert (offer.kind, offer.serial) == (dhcp.Kind.OFFER, 7)
    assert offer.given in way.network4
    assert offer.given != way.gateway4
    assert offer.hosts(dhcp.Option.ROUTER) == offer.hosts(dhcp.Option.SERVER) == (way.gateway4,)
    assert offer.hosts(dhcp.Option.MASK) == (way.network4.netmask,)
    wanted = dhcp.request(offer)
    taken = said_by(lent, wanted)
    assert taken is not None
    assert (taken.kind, taken.given) == (dhcp.Kind.ACK, offer.given)
    for option, kind in ((dhcp.Option.WANTED, dhcp.Kind.NAK), (dhcp.Option.SERVER, None)):
        options = {**wanted.options, int(option): IPv4Address("192.0.2.99").packed}
        other = said_by(lent, dhcp.Message(1, 7, wanted.hardware, options))
        assert (other.kind if other else None) == kind
    again = said_by(lent, dhcp.renewal(8, wanted.hardware, offer.given))
    assert again is not None
    assert again.kind == dhcp.Kind.ACK


def test_a_line_with_an_address_of_its_own_lends_none() -> None:
    ways = designed(plan_of("millrace")).ways
    assert [line(way) is None for way in ways] == [not way.lent for way in ways] == [True, False]
