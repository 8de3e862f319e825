"""The office as it will stand: zones, stations with their addresses, servers, the world outside; plain data, drawn from a plan."""

from dataclasses import dataclass
from enum import StrEnum
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network

from scantling.figures import Host, Leg


class Sort(StrEnum):
    """What a station is."""

    FIREWALL = "firewall"
    MACHINE = "machine"
    DEVICE = "device"
    VISITOR = "visitor"
    KIT = "kit"
    """Something that stands already and has an address kept for it."""
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class Segment:
    """One zone's network: a bridge, and a port of the firewall into it."""

    slug: str
    label: str
    number: int
    """Of the zone: its VLAN, kept as data."""
    interface: str
    """The firewall's port into it."""
    network4: IPv4Network
    network6: IPv6Network | None
    gateway4: Host
    gateway6: Host | None
    given6: bool
    """Whether devices ask for an address in IPv6 (M)."""
    resolvers: tuple[Host, ...]
    times: tuple[Host, ...]
    domain: str
    lends: bool
    """Whether addresses are lent here to whoever asks."""


@dataclass(frozen=True, slots=True)
class Station:
    """Anything with a port of its own: a machine of the server, a device, a visitor, somebody outside, the firewall."""

    slug: str
    """Such as "files", "laptops-03", "guest-0001", "party-processor-1", "stranger"."""
    label: str
    sort: Sort
    zone: str
    """Slug of its zone, OUTSIDE or FIREWALL."""
    group: str
    """Machine, row of devices or party that it belongs to."""
    hardware: str
    """Hardware address, locally administered unless the brief gives it."""
    fixed: tuple[Host, ...] = ()
    """Set by hand on the station itself."""
    kept: tuple[Host, ...] = ()
    """Kept for it by the address server: it asks, and must be given just these."""
    names: tuple[str, ...] = ()
    """Whole names under which it must be found, the first of them also backwards."""
    port: str = "e0"
    """What its own port is called."""

    @property
    def asks(self) -> bool:
        """Whether it asks the address server in IPv4."""
        return self.sort in {Sort.DEVICE, Sort.VISITOR, Sort.KIT} and not any(
            isinstance(host, IPv4Address) for host in self.fixed
        )


@dataclass(frozen=True, slots=True)
class Way:
    """One line to the outside, as the firewall gets it."""

    slug: str
    interface: str
    own: tuple[Host, ...]
    """The firewall's own addresses there; of a family that is lent, none."""
    gateway4: Host
    gateway6: Host
    network4: IPv4Network
    """What the provider and the firewall share on the line; made up for the rehearsal where the brief doesn't say."""
    network6: IPv6Network
    standby: bool

    @property
    def lent(self) -> bool:
        """Whether the provider lends the IPv4 address."""
        return not any(isinstance(host, IPv4Address) for host in self.own)

    @property
    def lent6(self) -> Host | None:
        """The IPv6 address that the rehearsal gives the firewall there, where the plan has none."""
        return None if any(isinstance(host, IPv6Address) for host in self.own) else self.gateway6 + 1


@dataclass(frozen=True, slots=True)
class Office:
    """Everything that is stood up."""

    name: str
    segments: tuple[Segment, ...]
    ways: tuple[Way, ...]
    legs: tuple[Leg, ...]
    stations: tuple[Station, ...]
    """The firewall first, then machines, then all others by zone; those outside last."""
    outside_names: tuple[tuple[str, tuple[Host, ...]], ...]
    """Names of the world outside, and the addresses they answer with."""

    def station(self, slug: str) -> Station:
        """By its slug. Raises KeyError."""
        return next(one for one in self.stations if one.slug == slug)

    def segment(self, zone: str) -> Segment:
        """By the zone's slug. Raises KeyError."""
        found = {one.slug: one for one in self.segments}
        return found[zone]
