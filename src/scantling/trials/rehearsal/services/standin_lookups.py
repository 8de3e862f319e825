"""Stands in for a resolver where it isn't installed: passes questions on, and keeps to who may ask what by the plan's own file."""

import socket
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from ipaddress import ip_address, ip_network

import dns.exception
import dns.flags
import dns.message
import dns.name
import dns.rcode
import dns.rrset

from scantling.figures import Host, Net
from scantling.trials.rehearsal.attending import Counter, Ends
from scantling.trials.rehearsal.everywhere import FAMILIES
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.services.adapter import Job, Running
from scantling.trials.rehearsal.services.replies import LONGEST
from scantling.trials.rehearsal.services.replies import soon
from scantling.trials.rehearsal.services.running import instead
from scantling.trials.rehearsal.trees import Tree

WHY = (
    "a small forwarder of our own keeps to who may ask what, by the plan's file, and asks for everything anew; it has no "
    "copies of the office's zones, remembers nothing and checks no signature"
)
SECTIONS = {"server", "view", "auth-zone", "stub-zone", "forward-zone"}
OUTSIDE = (ip_address("192.0.2.53"), 53)
"""Where it asks for names outside: every address there answers as the root of all names does (RFC 5737)."""
PATIENCE, PORT = 0.5, 53
ITSELF = ("localhost.", "A", "127.0.0.1")
HOME = ip_address("127.0.0.1")
Target = tuple[Host, int]


@dataclass(slots=True)
class View:
    """What some who ask are told differently."""

    hidden: list[dns.name.Name] = field(default_factory=list)
    told: list[dns.rrset.RRset] = field(default_factory=list)


@dataclass(slots=True)
class Rules:
    """What the plan's file says of who may ask, and where everything is asked in turn."""

    access: list[tuple[Net, str]] = field(default_factory=list)
    views_of: list[tuple[Net, str]] = field(default_factory=list)
    views: dict[str, View] = field(default_factory=dict)
    zones: dict[dns.name.Name, list[Target]] = field(default_factory=dict)
    forwards: list[Target] = field(default_factory=list)


def standin(job: Job, tree: Tree, room: Room) -> Running:
    """A small forwarder at the same port. Raises RehearsalError."""
    try:
        rules = rules_of(job.files[0].content.decode("ascii"))
    except (ValueError, IndexError, dns.exception.DNSException) as wrong:
        raise RehearsalError(f"what stands in for {job.program} can't read {job.paths[0]}: {wrong}") from wrong
    known = dns.rrset.from_text(ITSELF[0], 60, "IN", *ITSELF[1:])

    def says(said: bytes, ends: Ends, _: Mapping[str, float]) -> bytes | None:
        return answered(rules, known, room, said, ends)

    return instead(job, tree, room, WHY, [Counter("lookups", job.port, says, streams=True, hosts=(*job.hosts, HOME))])


def rules_of(text: str) -> Rules:
    """The plan's file, as far as a forwarder needs it."""
    rules = Rules()
    for section in _sections(text):
        kind, name = section[0][0], dict(section).get("name", "")
        if kind == "server":
            rules.access += [(ip_network(one.split()[0]), one.split()[1]) for one in _all(section, "access-control")]
            rules.views_of += [
                (ip_network(one.split()[0]), one.split()[1]) for one in _all(section, "access-control-view")
            ]
        elif kind == "view":
            rules.views[name] = _view(section)
        elif kind == "auth-zone":
            rules.zones[dns.name.from_text(name)] = [_target(one) for one in _all(section, "primary")]
        elif kind == "forward-zone":
            rules.forwards += [_target(one) for one in _all(section, "forward-addr")]
    return rules


def _sections(text: str) -> Iterator[list[tuple[str, str]]]:
    """Each section as words and values; the first word is its kind."""
    found: list[tuple[str, str]] = []
    for line in text.splitlines():
        word, _, value = line.strip().partition(":")
        if line.startswith("#") or (not value and word not in SECTIONS):
            continue
        if word in SECTIONS and not value:
            if found:
                yield found
            found = []
        found.append((word, value.strip().replace('"', "")))
    if found:
        yield found


def _all(section: Sequence[tuple[str, str]], wanted: str) -> list[str]:
    return [value for word, value in section if word == wanted]


def _view(section: Sequence[tuple[str, str]]) -> View:
    """Zones that aren't there for some, and what they are told instead."""
    hidden = [dns.name.from_text(one.split()[0]) for one in _all(section, "local-zone")]
    data = [one.split() for one in _all(section, "local-data")]
    return View(
        hidden, [dns.rrset.from_text(name, 60, "IN", kind, " ".join(words)) for name, _, kind, *words in data]
    )


def _target(text: str) -> Target:
    host, _, port = text.partition("@")
    return ip_address(host), int(port or PORT)


def answered(rules: Rules, known: dns.rrset.RRset, room: Room, said: bytes, ends: Ends) -> bytes | None:
    """The answer to one question; None to what is none."""
    try:
        asked = dns.message.from_wire(said)
    except dns.exception.DNSException:
        return None
    if asked.flags & dns.flags.QR or len(asked.question) != 1:
        return None
    told = dns.message.make_response(asked, recursion_available=True)
    if _of(rules.access, ends.by) != "allow":
        told.set_rcode(dns.rcode.REFUSED)
        return told.to_wire()
    question = asked.question[0]
    view = rules.views.get(_of(rules.views_of, ends.by), View())
    local = [one for one in (*view.told, known) if one.name == question.name]
    if local or any(question.name.is_subdomain(zone) for zone in view.hidden):
        told.answer += [one for one in local if one.rdtype == question.rdtype]
        told.set_rcode(dns.rcode.NOERROR if local else dns.rcode.NXDOMAIN)
        return told.to_wire()
    return passed_on(said, room, targets(rules, question.name)) or _failed(told)


def _of(networks: Sequence[tuple[Net, str]], who: Host) -> str:
    """What is said of the smallest network that somebody is in."""
    mine = [
        (network.prefixlen, word) for network, word in networks if network.version == who.version and who in network
    ]
    return max(mine, default=(0, ""))[1]


def _failed(told: dns.message.Message) -> bytes:
    told.set_rcode(dns.rcode.SERVFAIL)
    return told.to_wire()


def targets(rules: Rules, name: dns.name.Name) -> list[Target]:
    """Whom to ask for a name: who holds the nearest zone, else whom all is passed on to, else anybody outside."""
    holding = [zone for zone in rules.zones if name.is_subdomain(zone)]
    return rules.zones[max(holding, key=len)] if holding else rules.forwards or [OUTSIDE]


def passed_on(said: bytes, room: Room, whom: Sequence[Target]) -> bytes | None:
    """The answer of the first that gives one; None when nobody does."""
    return next((told for target in whom if (told := _told(said, room, target))), None)


def _told(said: bytes, room: Room, target: Target) -> bytes | None:
    """The answer of one; None where nobody listens or says anything."""
    with room.socket(FAMILIES[target[0].version], socket.SOCK_DGRAM) as mine:
        try:
            mine.connect((str(target[0]), target[1]))
            mine.send(said)
            return mine.recv(LONGEST) if soon(mine, PATIENCE) else None
        except OSError:  # nobody listens there: the next
            return None
