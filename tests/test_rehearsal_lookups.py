"""Questions and answers of names as octets: dnspython, which has its own reader and writer of RFC 1035, is the judge of both."""

from ipaddress import ip_address
from itertools import pairwise
from typing import Any

import dns.message
import dns.rcode
import dns.rdatatype
import dns.rrset
import pytest
from conftest import costly
from hypothesis import given, strategies as some

from scantling.trials.rehearsal.datagrams import MalformedError
from scantling.trials.rehearsal.lookups import KINDS, question, read

LABELS = some.from_regex(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?", fullmatch=True)
NAMES = some.lists(LABELS, min_size=1, max_size=3).map(".".join)
HOSTS = {
    "A": some.ip_addresses(v=4).map(str),
    "AAAA": some.ip_addresses(v=6).map(str),
    "PTR": NAMES.map("{}.".format),
}


@given(NAMES, some.sampled_from(sorted(KINDS)), some.integers(0, 65535))
def test_a_question_is_what_the_judge_would_ask(name: str, kind: str, number: int) -> None:
    judged = dns.message.make_query(name, kind)
    judged.id = number
    assert question(number, name, kind) == judged.to_wire()


@costly
@given(some.data(), some.sampled_from(sorted(HOSTS)), some.lists(NAMES, max_size=2))
def test_an_answer_is_read_as_the_judge_wrote_it(data: Any, kind: str, aliases: list[str]) -> None:
    """With aliases before it, records of another kind beside it, and names that point into the message (section 4.1.4)."""
    held = data.draw(some.lists(HOSTS[kind], max_size=3, unique=True))
    asked = dns.message.from_wire(question(7, "asked.example", kind))
    told = dns.message.make_response(asked)
    names = ["asked.example.", *(f"{one}.example." for one in aliases)]
    told.answer += [dns.rrset.from_text(one, 60, "IN", "CNAME", to) for one, to in pairwise(names)]
    told.answer += [dns.rrset.from_text(names[-1], 60, "IN", kind, *held)] if held else []
    told.answer.append(dns.rrset.from_text(names[-1], 60, "IN", "TXT", '"beside"'))
    told.authority.append(dns.rrset.from_text("example.", 60, "IN", "SOA", "a.example. b.example. 1 2 3 4 5"))
    reply = read(told.to_wire(), asked.to_wire())
    assert reply is not None
    assert (reply.number, reply.code) == (7, "NOERROR")
    judged = dns.message.from_wire(told.to_wire())
    wanted = dns.rdatatype.from_text(kind)
    held_by_judge = [one.to_text().rstrip(".") for group in judged.answer if group.rdtype == wanted for one in group]
    assert {plainly(one) for one in reply.told} == {plainly(one) for one in held_by_judge}


def plainly(told: str) -> str:
    """An address in one spelling, for the same one may be written in several (RFC 5952); other data as it is."""
    try:
        return str(ip_address(told))
    except ValueError:
        return told


@pytest.mark.parametrize("code", ["NOERROR", "FORMERR", "SERVFAIL", "NXDOMAIN", "NOTIMP", "REFUSED"])
def test_codes_are_named_as_the_judge_names_them(code: str) -> None:
    asked = dns.message.from_wire(question(1, "asked.example", "A"))
    told = dns.message.make_response(asked)
    told.set_rcode(dns.rcode.from_text(code))
    reply = read(told.to_wire(), asked.to_wire())
    assert reply is not None
    assert (reply.code, reply.told) == (code, frozenset())


def test_answers_to_others_are_nobodys_and_questions_are_no_answers() -> None:
    asked = question(1, "asked.example", "A")
    assert read(question(2, "asked.example", "A"), asked) is None
    with pytest.raises(MalformedError):
        read(asked, asked)


@given(some.binary(max_size=80))
def test_no_bytes_stop_whoever_asks(said: bytes) -> None:
    """A name that points at itself among them: read or refused, never an end."""
    asked = question(1, "asked.example", "PTR")
    for whole in (
        said,
        asked[:2] + b"\x81\x80" + said,
        asked[:2] + b"\x81\x80\0\0\0\x01\0\0\0\0\0\0\x0c\0\x01" + said,
    ):
        try:
            read(whole, asked)
        except MalformedError:
            continue


def test_a_name_that_points_at_itself_is_refused() -> None:
    asked = question(1, "asked.example", "PTR")
    record = b"\0" + bytes([0, 12, 0, 1, 0, 0, 0, 60, 0, 2]) + bytes([0xC0, 12 + 11])
    with pytest.raises(MalformedError):
        read(asked[:2] + b"\x81\x80" + bytes([0, 0, 0, 1, 0, 0, 0, 0]) + record, asked)


def test_labels_that_are_too_long_are_no_name() -> None:
    """RFC 1035 section 2.3.4."""
    with pytest.raises(ValueError, match="longer than 63"):
        question(1, "a" * 64 + ".example", "A")
