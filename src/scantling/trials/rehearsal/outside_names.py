"""The world's names as the office finds them: one server that is root, every domain and every forwarder, wherever it is asked."""

from collections.abc import Mapping, Sequence
from functools import cached_property

import dns.exception
import dns.flags
import dns.message
import dns.name
import dns.rcode
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
        return self._told(asked, at).to_wire(max_size=65535)

    def _told(self, asked: dns.message.Message, at: Host) -> dns.message.Message:
        name, kind = asked.question[0].name, asked.question[0].rdtype
        told = dns.message.make_response(asked, our_payload=LARGEST)
        told.flags |= dns.flags.AA
        found = self._found(name, dns.rdatatype.to_text(kind), at)
        if found:
            told.answer.append(_set(name, dns.rdatatype.to_text(kind), found))
            if kind == dns.rdatatype.NS:
                told.additional.append(_set(ROOT_SERVER, ADDRESS_OF[at.version], [str(at)]))
            return told
        told.authority.append(_set(dns.name.root, "SOA", [WORDS]))
        if name not in self.hosts and name not in self.above and name != ROOT_SERVER:
            told.set_rcode(dns.rcode.NXDOMAIN)
        return told

    def _found(self, name: dns.name.Name, kind: str, at: Host) -> list[str]:
        """What a name bears of a kind."""
        if name == dns.name.root:
            return {"NS": [ROOT_SERVER.to_text()], "SOA": [WORDS]}.get(kind, [])
        hosts = (at,) if name == ROOT_SERVER else self.hosts.get(name, ())
        return [str(host) for host in hosts if ADDRESS_OF[host.version] == kind]


def _set(name: dns.name.Name, kind: str, data: Sequence[str]) -> dns.rrset.RRset:
    return dns.rrset.from_text(name, KEPT, dns.rdataclass.IN, kind, *data)
