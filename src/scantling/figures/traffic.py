"""The plain records of traffic: who may speak to whom, the ports of the firewall, and the ordered rules made of them."""

from dataclasses import dataclass
from enum import StrEnum
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from typing import Any

from scantling.figures.figure import Figure

OUTSIDE, FIREWALL = "outside", "firewall"
"""Two ends that are no zone of the office: everything beyond the lines, and the firewall itself."""
ANY_PROTOCOL = "any"
LAST_PORT, LAST_TYPE = 65535, 255
Net = IPv4Network | IPv6Network
Host = IPv4Address | IPv6Address


class Verdict(StrEnum):
    """What becomes of a packet, in the words of RFC 8519."""

    ACCEPT = "accept"
    DROP = "drop"
    REJECT = "reject"


@dataclass(frozen=True, slots=True, order=True)
class Transport:
    """A protocol and its target ports, both ends included; of icmp and icmpv6 they are message types (0 to 255)."""

    protocol: str
    """tcp, udp, icmp, icmpv6, esp, gre, or any."""
    first: int = 0
    last: int = LAST_PORT

    def __str__(self) -> str:
        """As people write it: tcp 445, udp 5060-5061, any."""
        whole = self.first == 0 and self.last >= (LAST_TYPE if self.protocol.startswith("icmp") else LAST_PORT)
        ports = str(self.first) if self.first == self.last else f"{self.first}-{self.last}"
        return self.protocol if whole else f"{self.protocol} {ports}"


@dataclass(frozen=True, slots=True)
class Window:
    """Hours in which an intent holds: weekdays (0 is Monday) and minutes of the day, both ends included."""

    days: tuple[int, ...]
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class End:
    """One end of an intent."""

    zone: str
    """Slug of a zone, OUTSIDE or FIREWALL."""
    label: str
    """As people call it."""
    networks: tuple[Net, ...] = ()
    """Its addresses, both families; nothing: all of the zone (of OUTSIDE: all that is neither the office's nor set aside)."""
    holder: str = ""
    """Slug of the machine, the devices or the outside party that it is, when it is not the whole zone."""
    named: tuple[str, ...] = ()
    """Outside names whose addresses move: a rule follows a set that is filled with what these names answer."""
    listed: str = ""
    """Date of a maker's list of networks, as ISO writes it."""


@dataclass(frozen=True, slots=True)
class Flow:
    """An intent: who may begin to speak to whom, for what and why; one that drops forbids it, whatever else allows it.

    What is meant is all that some intent accepts and none drops. Replies are always meant.
    """

    slug: str
    name: str
    source: End
    target: End
    carried: tuple[Transport, ...]
    why: str
    cause: Figure[Any]
    """What it rests on: a line of the brief, a service, a house rule."""
    group: str
    """services, devices, lookups, management, monitoring, backup, outside, housekeeping, discovery, brief."""
    verdict: Verdict = Verdict.ACCEPT
    window: Window | None = None


@dataclass(frozen=True, slots=True)
class Party:
    """Somebody outside whom the office speaks with, known by networks, by names, or by both."""

    slug: str
    name: str
    kind: str
    """What they are to the office, in the brief's own word (processor, provider, updates, ...)."""
    networks: tuple[Net, ...]
    named: tuple[str, ...]
    """Names whose addresses move."""
    listed: str
    """Date of the list of networks, as ISO writes it; empty where none is given."""
    written: Figure[str]
    """The line of the brief."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One port of the firewall, into a zone or to the outside."""

    slug: str
    """Slug of the zone or of the line."""
    zone: str
    """Slug of the zone, or OUTSIDE."""
    interface: str
    """Name of the port as the files call it, at most 15 characters."""
    networks: tuple[Net, ...] = ()
    """What lies behind it; nothing for the outside."""
    own: tuple[Host, ...] = ()
    """The firewall's own addresses there; nothing where the provider lends one."""


@dataclass(frozen=True, slots=True)
class Translation:
    """What the firewall changes in a packet's addresses.

    `target`: what comes in from `zone` to the firewall's own outside address for `carried` goes to `to`, port `port`.
    `source`: what leaves to `zone` in IPv4 bears the firewall's own address (`to` and `carried` are empty).
    """

    slug: str
    kind: str
    zone: str
    carried: Transport | None = None
    to: Host | None = None
    port: int = 0


@dataclass(frozen=True, slots=True)
class FilterRule:
    """One line of the ordered list; the first that matches decides. Empty fields match everything."""

    slug: str
    """Number in the list with three digits or more, such as "r-010"."""
    verdict: Verdict
    comment: str
    flow: str = ""
    """Slug of the intent that it is made from."""
    family: int = 0
    """4, 6, or 0 for both."""
    zone_in: str = ""
    zone_out: str = ""
    """FIREWALL for what is meant for the firewall itself."""
    sources: tuple[Net, ...] = ()
    not_sources: tuple[Net, ...] = ()
    """Matches what comes from anywhere else."""
    targets: tuple[Net, ...] = ()
    target_set: str = ""
    """Slug of the party whose set of addresses the target must be in."""
    protocol: str = ""
    ports: tuple[tuple[int, int], ...] = ()
    """Target ports or message types, both ends included."""
    state: str = ""
    """new, established (replies and what belongs to them) or invalid."""
    translated: bool = False
    """Matches only what had its target address changed."""
    window: Window | None = None
    log: bool = False
    early: bool = False
    """Stands before routing: spoofed sources."""


@dataclass(frozen=True, slots=True)
class RuleSet:
    """The whole compiled list of an office; what no rule matches is dropped."""

    slug: str
    rules: tuple[FilterRule, ...]
    legs: tuple[Leg, ...]
    translations: tuple[Translation, ...]
    sets: tuple[tuple[str, tuple[Net, ...], tuple[str, ...]], ...] = ()
    """Parties: slug, the networks that are listed, the names that fill it."""
    never_outside: tuple[Net, ...] = ()
    """Networks that no packet to the outside may be meant for."""


@dataclass(frozen=True, slots=True)
class RemoteAccess:
    """A way by which people outside come into the office."""

    slug: str
    machine: str
    """Slug of the machine at which it ends, or FIREWALL."""
    zone: str
    """Zone of that machine; FIREWALL where it ends at the firewall."""
    carried: tuple[Transport, ...]
    """What must pass from outside to it."""
    second_factor: bool
    """Whether whoever comes in must show something besides a password."""
    people: Figure[int]
    """How many may come in."""
