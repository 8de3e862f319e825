"""Stands in for the server of the office's names where it isn't installed: answers from the plan's own zone files."""

from collections.abc import Mapping, Sequence

import dns.exception
import dns.flags
import dns.message
import dns.name
import dns.rcode
import dns.rdatatype
import dns.zone

from scantling.trials.rehearsal.attending import Counter, Ends
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Job, Placed, Running
from scantling.trials.rehearsal.services.running import instead
from scantling.trials.rehearsal.trees import Tree

WHY = "a small server of our own answers from the plan's zone files; it asks nobody who they are, and its settings aren't tried"
LARGEST = 65535
MOST_STEPS = 8


def standin(job: Job, tree: Tree, room: Room) -> Running:
    """A small server at the same port. Raises RehearsalError for a zone that can't be read."""
    zones = Zones([one for one in job.files if one.path.endswith(".zone")])
    return instead(job, tree, room, WHY, [Counter("names", job.port, zones.answered, streams=True, hosts=job.hosts)])


class Zones:
    """Zones of names, and what they answer (RFC 1034 section 4.3.2), whole copies too (RFC 5936)."""

    def __init__(self, files: Sequence[Placed]) -> None:
        """Raises RehearsalError for a file that is no zone."""
        self.zones: dict[dns.name.Name, dns.zone.Zone] = {}
        for one in files:
            try:
                zone = dns.zone.from_text(one.content.decode("ascii"), relativize=False)
            except (dns.exception.DNSException, ValueError) as wrong:
                raise RehearsalError(f"{one.path} is no zone of names: {wrong}") from wrong
            if zone.origin is not None:
                self.zones[zone.origin] = zone

    def answered(self, said: bytes, ends: Ends, settings: Mapping[str, float]) -> bytes | None:
        """The answer to one question; None to what is none."""
        del ends, settings
        try:
            asked = dns.message.from_wire(said)
        except dns.exception.DNSException:
            return None
        if asked.flags & dns.flags.QR or len(asked.question) != 1:
            return None
        told = dns.message.make_response(asked)
        name, kind = asked.question[0].name, asked.question[0].rdtype
        zone = self._zone_of(name)
        if zone is None:
            told.set_rcode(dns.rcode.REFUSED)
        elif kind == dns.rdatatype.AXFR:
            _copied(zone, told)
        else:
            told.flags |= dns.flags.AA
            self._told(name, kind, told)
        return told.to_wire(max_size=LARGEST)

    def _zone_of(self, name: dns.name.Name) -> dns.zone.Zone | None:
        """The nearest zone that holds a name."""
        holding = [origin for origin in self.zones if name.is_subdomain(origin)]
        return self.zones[max(holding, key=len)] if holding else None

    def _told(self, name: dns.name.Name, kind: dns.rdatatype.RdataType, told: dns.message.Message) -> None:
        """What the name bears, aliases followed as far as our own zones go."""
        for _ in range(MOST_STEPS):
            zone = self._zone_of(name)
            if zone is None:
                return
            bears, alias = zone.get_rrset(name, kind), zone.get_rrset(name, dns.rdatatype.CNAME)
            found = bears if bears is not None else alias
            if found is not None:
                told.answer.append(found)
            if bears is not None or alias is None:
                break
            name = dns.name.from_text(alias[0].to_text())
        if not told.answer:
            assert zone is not None
            if not any(one.is_subdomain(name) for one in zone):
                told.set_rcode(dns.rcode.NXDOMAIN)
            apex = zone.get_rrset(zone.origin, dns.rdatatype.SOA) if zone.origin is not None else None
            if apex is not None:
                told.authority.append(apex)


def _copied(zone: dns.zone.Zone, told: dns.message.Message) -> None:
    """The whole zone, its SOA first and last."""
    told.flags |= dns.flags.AA
    apex = zone.get_rrset(zone.origin, dns.rdatatype.SOA) if zone.origin is not None else None
    if apex is not None:
        others = [
            zone.get_rrset(name, one.rdtype)
            for name, one in zone.iterate_rdatasets()
            if one.rdtype != dns.rdatatype.SOA
        ]
        told.answer = [apex, *(one for one in others if one is not None), apex]
