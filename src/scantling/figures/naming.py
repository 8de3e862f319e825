"""The plain records of names, time and IPv6: who answers for which name, whom a zone asks, and the sixth version's addresses."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from ipaddress import IPv6Address, IPv6Network
from typing import Any

from scantling.figures.figure import Figure
from scantling.figures.traffic import Host


@dataclass(frozen=True, slots=True)
class Prefix:
    """A zone's IPv6 network, a /64; the allocation behind it is the figure."""

    slug: str
    network: IPv6Network
    gateway: IPv6Address
    allocation: Figure[Mapping[str, IPv6Network]]


@dataclass(frozen=True, slots=True)
class Address6:
    """One IPv6 address that is given to one thing; slug, zone and holder are those of its IPv4 address."""

    slug: str
    zone: str
    holder: str
    address: IPv6Address
    allocation: Figure[Mapping[str, IPv6Address]]


@dataclass(frozen=True, slots=True)
class Reservation:
    """An address that the address server keeps for one device, by its hardware address."""

    slug: str
    zone: str
    holder: str
    hardware_address: str
    address: Host
    allocation: Figure[Mapping[str, Any]] | None = None
    """Of the addresses of its sort and family, by holder."""


@dataclass(frozen=True, slots=True)
class Name:
    """The name of one thing inside the office."""

    slug: str
    name: str
    """Whole, without the last dot."""
    holder: str
    """Slug of the machine, device or zone gateway that bears it."""
    addresses: tuple[Host, ...]
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NameRecord:
    """One line of a zone of names: owner (whole, without the last dot), type and data as RFC 1035 writes them."""

    owner: str
    kind: str
    data: str
    ttl: int = 0
    """Seconds; 0: that of the zone."""


@dataclass(frozen=True, slots=True)
class NameZone:
    """One zone of the name system that the office answers for."""

    slug: str
    origin: str
    """Without the last dot."""
    reverse: bool
    serial: int
    primary: str
    """Name of the server that holds it."""
    contact: str
    """Mailbox of whoever looks after it, as a name (RFC 1035)."""
    times: tuple[int, int, int, int]
    """Refresh, retry, expire, negative answers, seconds."""
    ttl: int
    records: tuple[NameRecord, ...]


@dataclass(frozen=True, slots=True)
class Asking:
    """Whom the devices of one zone ask for names, time and addresses."""

    slug: str
    """The zone."""
    resolvers: tuple[Host, ...]
    """In the order in which they are asked."""
    time_sources: tuple[Host, ...]
    domain: str
    """Search domain; empty where the zone gets none (guests)."""
    when_down: str
    """Who answers when the directory is down, in a sentence."""


@dataclass(frozen=True, slots=True)
class Server:
    """A program that answers for the whole office: what it does, on which machine, at which addresses.

    `does`: names (authoritative), lookups (filtering resolver), time, addresses (address server), relay.
    """

    slug: str
    does: str
    holder: str
    """Slug of the machine, or FIREWALL."""
    zone: str
    addresses: tuple[Host, ...]
    upstream: tuple[str, ...] = ()
    """Whom it asks in turn: addresses or names outside; of lookups nothing means all name servers outside.

    Of names: the resolvers that copy its zones and that it tells of changes (both ways, port 53).
    """


@dataclass(frozen=True, slots=True)
class OutsideName:
    """A name or certificate that the office owns outside, and who may change it."""

    slug: str
    name: str
    kind: str
    """domain, mail domain, certificate."""
    registrar: str
    owner: str
    """Legal owner as given."""
    expires: date | None
    answers: tuple[Any, ...] = ()
    """What it answers outside, where that is known."""
    written: Figure[str] | None = None
    """The line of the brief that gives the name."""
    holder: str = ""
    """Slug of the machine or box that answers for it, where the office itself offers it."""
    mail: str = ""
    """Name of the server that takes its mail, where that is given."""
