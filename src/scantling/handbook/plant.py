"""The network that upkeep is for: the firewall's ports, whom zones ask, who answers, and what each standard need carries."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import ip_address, ip_network

from scantling.figures import FIREWALL, OUTSIDE, Asking, End, Host, Leg, Net, Server, Source, Transport, standard
from scantling.figures.figure import Figure
from scantling.figures.units import WORD
from scantling.handbook.whereabouts import net_of

BROADCAST = ip_network("255.255.255.255/32")
NO_ADDRESS, NO_ADDRESS6 = ip_network("0.0.0.0/32"), ip_network("::/128")
ON_LINK, ALL_NEAR = ip_network("fe80::/10"), ip_network("ff02::/16")
ADDRESS_SERVERS6 = ip_network("ff02::1:2/128")
NEIGHBOURS = (Transport("icmpv6", 130, 136), Transport("icmpv6", 143, 143))
ECHO = (Transport("icmp", 8, 8), Transport("icmpv6", 128, 128))
LOOKUPS, TIME = (Transport("tcp", 53, 53), Transport("udp", 53, 53)), (Transport("udp", 123, 123),)
ASKED4, LENT4 = (Transport("udp", 67, 67),), (Transport("udp", 68, 68),)
ASKED6, LENT6 = (Transport("udp", 547, 547),), (Transport("udp", 546, 546),)
RELAYED = (*ASKED4, *ASKED6)
RULED = {
    NEIGHBOURS: ("icmpv6 130-136, icmpv6 143", "RFC 4861, RFC 3810, RFC 4890 section 4.4.1"),
    ECHO: ("icmp 8, icmpv6 128", "RFC 792, RFC 4443"),
    LOOKUPS: ("tcp 53, udp 53", "RFC 1035, RFC 7766"),
    TIME: ("udp 123", "RFC 5905"),
    ASKED4: ("udp 67", "RFC 2131"), LENT4: ("udp 68", "RFC 2131"),
    ASKED6: ("udp 547", "RFC 8415"), LENT6: ("udp 546", "RFC 8415"),
    RELAYED: ("udp 67, udp 547", "RFC 2131, RFC 8415"),
}  # fmt: skip
"""What is carried, as words, and who laid it down."""
Carried = tuple[Transport, ...]


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that must be let through: who, to whom, what, and the zone for which it is there."""

    slug: str
    name: str
    source: End
    target: End
    carried: Carried
    group: str
    why: str
    zone: str = ""

    def ruled(self) -> Figure[str]:
        """What is carried, as a constant of the standard."""
        words, source = RULED[self.carried]
        return standard(words, WORD, Source(source), self.name)


@dataclass(frozen=True)
class Plant:
    """The firewall's ports, whom zones ask, and who answers."""

    legs: Sequence[Leg]
    asking: Sequence[Asking]
    servers: Sequence[Server]
    quiet: frozenset[str]
    """Zones whose devices ask for nothing."""
    apart: frozenset[str]
    """Zones that reach no machine for addresses: their devices call to all again, and the firewall passes it on."""
    machines: Mapping[str, End]
    """The machines of each zone that has some."""
    names: Mapping[str, str]
    """What people call each zone."""

    def inside(self) -> Iterator[Leg]:
        """Ports into zones."""
        return (leg for leg in self.legs if leg.zone != OUTSIDE)

    def zone_of(self, host: Host) -> str:
        """Where an address lies."""
        if any(host in leg.own for leg in self.legs):
            return FIREWALL
        found = (leg.zone for leg in self.legs if any(host.version == n.version and host in n for n in leg.networks))
        return next(found, OUTSIDE)

    def ends(self, hosts: Sequence[Host]) -> Iterator[End]:
        """Addresses as ends, those of one zone together."""
        found: dict[str, list[Net]] = {}
        for host in hosts:
            found.setdefault(self.zone_of(host), []).append(net_of(host))
        for zone, nets in found.items():
            yield End(zone, self._label(zone, hosts), tuple(nets))

    def _label(self, zone: str, hosts: Sequence[Host]) -> str:
        """The machines that bear the addresses, or the addresses themselves."""
        holders = [one.holder for one in self.servers if one.holder != FIREWALL and set(one.addresses) & set(hosts)]
        known = " and ".join(f"machine {one}" for one in dict.fromkeys(holders))
        return LABELS.get(zone) or known or ", ".join(map(str, hosts))

    def end(self, zone: str, *networks: Net) -> End:
        """A zone, or some addresses that are at home on its link."""
        return End(zone, self.names.get(zone, zone), networks)

    def upstream(self, server: Server, word: str) -> Iterator[End]:
        """Whom a server asks in turn: addresses where they lie, names as a set that moves; of none, anybody outside."""
        hosts = [ip_address(one) for one in server.upstream if is_address(one)]
        names = tuple(one for one in server.upstream if not is_address(one))
        yield from self.ends(hosts)
        if names:
            yield End(OUTSIDE, ", ".join(names), (), word, names)
        if not server.upstream:
            yield End(OUTSIDE, "the outside")


LABELS = {FIREWALL: "the firewall", OUTSIDE: "the outside"}
GATE, ANYONE = End(FIREWALL, "the firewall"), "every device needs it before it can say anything"


def is_address(text: str) -> bool:
    """Whether a word is an address rather than a name."""
    try:
        ip_address(text)
    except ValueError:
        return False
    return True
