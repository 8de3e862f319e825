"""The world's names as the office finds them: one server that is root, every domain and every forwarder, wherever it is asked."""

import struct
from collections.abc import Mapping, Sequence
from functools import cache, cached_property

import dns.exception
import dns.flags
import dns.message
import dns.name
import dns.rcode
import dns.rdata
import dns.rdataclass
import dns.rdatatype
import dns.rrset

from scantling.figures import Host

ROOT_SERVER = dns.name.from_text("a.root.example.")
"""The one name server that the world has; it lies wherever it was asked (RFC 2606: nobody's)."""
WORDS = "a.root.example. nobody.root.example. 1 3600 600 86400 1"
KEPT = 60
"""Seconds for which an answer may be kept."""
LARGEST = 4096
ADDRESS_OF = {4: "A", 6: "AAAA"}
REVERSE = (dns.name.from_text("in-addr.arpa."), dns.name.from_text("ip6.arpa."))

HEAD, ASKS, RECORD = struct.Struct("!HHHHHH"), struct.Struct("!HH"), struct.Struct("!xHHIH")
"""The head of a message, the end of a question, and what stands before a record of the root's name (RFC 1035 section 4.1)."""
MORE = RECORD.pack(dns.rdatatype.OPT, LARGEST, 0, 0)
"""What goes with every answer to who asked with more than RFC 1035 has (RFC 6891 section 6.1.2)."""


class World:
    """All names outside, each with its addresses; every other name is told not to be there."""

    def __init__(self, names: Sequence[tuple[str, Sequence[Host]]]) -> None:
        self.hosts: Mapping[dns.name.Name, tuple[Host, ...]] = {
            dns.name.from_text(name): tuple(hosts) for name, hosts in names
        }

    @cached_property
    def above(self) -> frozenset[dns.name.Name]:
        """Names that bear nothing themselves but have something below them (RFC 8020: these are there)."""
        found = {dns.name.root}
        for name in (*self.hosts, ROOT_SERVER, *REVERSE):
            at = name
            while at != dns.name.root:
                at = at.parent()
                found.add(at)
        return frozenset({*found, *REVERSE})

    def answered(self, said: bytes, at: Host) -> bytes | None:
        """The answer to a question that came in at an address; None where what came is no question (RFC 1035)."""
        try:
            asked = dns.message.from_wire(said, ignore_trailing=True)
        except dns.exception.DNSException:
            return None
        if asked.flags & dns.flags.QR:
            return None
        if asked.opcode() != 0 or len(asked.question) != 1:
            refusing = dns.message.make_response(asked, our_payload=LARGEST)
            refusing.set_rcode(dns.rcode.NOTIMP)
            return refusing.to_wire()
        return self._told(asked, at)

    def _told(self, asked: dns.message.Message, at: Host) -> bytes:
        name, kind = asked.question[0].name, asked.question[0].rdtype
        found = self._found(name, dns.rdatatype.to_text(kind), at)
        if not found:
            is_there = name in self.hosts or name in self.above or name == ROOT_SERVER
            return _nothing(asked, dns.rcode.NOERROR if is_there else dns.rcode.NXDOMAIN)
        told = dns.message.make_response(asked, our_payload=LARGEST)
        told.flags |= dns.flags.AA
        told.answer.append(_set(name, dns.rdatatype.to_text(kind), found))
        if kind == dns.rdatatype.NS:
            told.additional.append(_set(ROOT_SERVER, ADDRESS_OF[at.version], [str(at)]))
        return told.to_wire(max_size=65535)

    def _found(self, name: dns.name.Name, kind: str, at: Host) -> list[str]:
        """What a name bears of a kind."""
        if name == dns.name.root:
            return {"NS": [ROOT_SERVER.to_text()], "SOA": [WORDS]}.get(kind, [])
        hosts = (at,) if name == ROOT_SERVER else self.hosts.get(name, ())
        return [str(host) for host in hosts if ADDRESS_OF[host.version] == kind]


def _nothing(asked: dns.message.Message, code: dns.rcode.Rcode) -> bytes:
    """That a name isn't there or bears nothing of a kind; most questions are answered so, hence put together by hand."""
    question, more = asked.question[0], MORE if asked.edns >= 0 else b""
    marks = dns.flags.QR | dns.flags.AA | asked.flags & dns.flags.RD | code
    name = question.name.to_wire()
    assert name is not None  # it is None only where it was written into a file
    ends = ASKS.pack(question.rdtype, question.rdclass)
    return HEAD.pack(asked.id, marks, 1, 0, 1, bool(more)) + name + ends + _apex() + more


@cache
def _apex() -> bytes:
    """The root's SOA, which goes with every answer that tells nothing (RFC 2308 section 2)."""
    rdata = dns.rdata.from_text(dns.rdataclass.IN, dns.rdatatype.SOA, WORDS).to_wire()
    assert rdata is not None
    return RECORD.pack(dns.rdatatype.SOA, dns.rdataclass.IN, KEPT, len(rdata)) + rdata


def _set(name: dns.name.Name, kind: str, data: Sequence[str]) -> dns.rrset.RRset:
    return dns.rrset.from_text(name, KEPT, dns.rdataclass.IN, kind, *data)
