"""What a network needs to work at all: neighbours found, addresses asked for and lent, names and time asked for, echoes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from ipaddress import ip_address, ip_network

from scantling.figures import FIREWALL, OUTSIDE, Asking, End, Host, Leg, Net, Server, Source, Transport, standard
from scantling.figures.figure import Figure
from scantling.figures.units import WORD

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
            found.setdefault(self.zone_of(host), []).append(ip_network(host))
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


def needs(plant: Plant) -> Iterator[Need]:
    """Everything that the network itself needs."""
    yield from _neighbours(plant)
    yield from _addresses(plant)
    yield from _relayed(plant)
    yield from _asked(plant)
    yield from _in_turn(plant)
    yield from _echoes(plant)


def _at(zone: str, label: str, *networks: Net) -> End:
    return End(zone, label, networks)


def _sixth(leg: Leg) -> tuple[Net, ...]:
    return tuple(network for network in leg.networks if network.version == NO_ADDRESS6.version)


def _fourth(leg: Leg) -> tuple[Net, ...]:
    return tuple(network for network in leg.networks if network.version == NO_ADDRESS.version)


def _own(leg: Leg, like: Net) -> tuple[Net, ...]:
    return tuple(ip_network(host) for host in leg.own if host.version == like.version)


def _neighbours(plant: Plant) -> Iterator[Need]:
    name, why, group = "Neighbours", "IPv6 finds its neighbours and its gateway by these", "housekeeping"
    near = _at(FIREWALL, "the firewall and all on the link", ALL_NEAR, ON_LINK)
    yield Need("neighbours-out", name, GATE, near, NEIGHBOURS, group, why)
    for leg in plant.inside():
        source = plant.end(leg.zone, NO_ADDRESS6, ON_LINK, *_sixth(leg))
        target = _at(FIREWALL, "the firewall and all on the link", ALL_NEAR, ON_LINK, *_own(leg, ALL_NEAR))
        yield Need(f"neighbours-{leg.zone}", name, source, target, NEIGHBOURS, group, why, leg.zone)
        yield Need(
            f"neighbours-to-{leg.zone}",
            name,
            GATE,
            plant.end(leg.zone, *_sixth(leg)),
            NEIGHBOURS,
            group,
            why,
            leg.zone,
        )
    if any(leg.zone == OUTSIDE for leg in plant.legs):
        router = _at(OUTSIDE, "the provider's router", NO_ADDRESS6, ON_LINK)
        own = (net for leg in plant.legs if leg.zone == OUTSIDE for net in _own(leg, ALL_NEAR))
        yield Need(
            "neighbours-outside",
            name,
            router,
            _at(FIREWALL, near.label, ALL_NEAR, ON_LINK, *own),
            NEIGHBOURS,
            group,
            why,
        )


def _addresses(plant: Plant) -> Iterator[Need]:
    """Addresses asked for at the firewall, which lends or passes on (RFC 2131, RFC 8415)."""
    group = "housekeeping"
    for leg in plant.inside():
        source, zone = plant.end(leg.zone, NO_ADDRESS, *_fourth(leg)), leg.zone
        target = _at(FIREWALL, "the firewall", BROADCAST, *_own(leg, BROADCAST))
        yield Need(f"addresses-{zone}", "Addresses asked for", source, target, ASKED4, group, ANYONE, zone)
        yield Need(f"lent-{zone}", "Addresses lent", GATE, plant.end(zone, *_fourth(leg)), LENT4, group, ANYONE, zone)
        near = plant.end(zone, ON_LINK)
        servers = _at(FIREWALL, "the firewall", ADDRESS_SERVERS6, ON_LINK)
        yield Need(f"addresses6-{zone}", "IPv6 settings asked for", near, servers, ASKED6, group, ANYONE, zone)
    yield Need(
        "lent-to-all", "Addresses lent", GATE, _at(FIREWALL, "all on the link", BROADCAST), LENT4, group, ANYONE
    )
    yield Need(
        "lent6-to-all", "IPv6 settings given", GATE, _at(FIREWALL, "all on the link", ON_LINK), LENT6, group, ANYONE
    )
    if any(leg.zone == OUTSIDE for leg in plant.legs):
        yield from _from_provider()


def _from_provider() -> Iterator[Need]:
    why, group = "the provider lends the firewall its address and prefix", "housekeeping"
    broadcast, near = (
        _at(FIREWALL, "all on the link", BROADCAST),
        _at(FIREWALL, "all on the link", ADDRESS_SERVERS6, ON_LINK),
    )
    yield Need("addresses-provider", "The firewall's own address", GATE, broadcast, ASKED4, group, why)
    yield Need(
        "addresses-renewed", "The firewall's own address", GATE, End(OUTSIDE, "the outside"), ASKED4, group, why
    )
    yield Need("prefix-provider", "The office's prefix", GATE, near, ASKED6, group, why)
    provider = _at(OUTSIDE, "the provider's router", ON_LINK)
    yield Need(
        "prefix-given", "The office's prefix", provider, _at(FIREWALL, "the firewall", ON_LINK), LENT6, group, why
    )


def _relayed(plant: Plant) -> Iterator[Need]:
    """What the firewall passes on to the machine that lends, and renewals that go there straight."""
    why, group = "the firewall passes calls for addresses on to the machine that lends them", "housekeeping"
    for server in (one for one in plant.servers if one.does == "addresses" and one.holder != FIREWALL):
        for end in plant.ends(server.addresses):
            lender = End(end.zone, f"machine {server.holder}", end.networks, server.holder)
            yield Need("relay-out", "Calls for addresses passed on", GATE, lender, RELAYED, group, why)
            doors = tuple(ip_network(host) for leg in plant.inside() for host in leg.own)
            yield Need(
                "relay-back",
                "Answers passed back",
                lender,
                _at(FIREWALL, "the firewall", *doors),
                RELAYED,
                group,
                why,
            )
            for leg in plant.inside():
                if leg.zone not in {end.zone, *plant.apart}:
                    source = plant.end(leg.zone, *_fourth(leg))
                    yield Need(
                        f"renewals-{leg.zone}", "Addresses renewed", source, lender, ASKED4, group, ANYONE, leg.zone
                    )


def _asked(plant: Plant) -> Iterator[Need]:
    """Names and time, of those whom each zone asks; in a quiet zone only the machines do, and its devices know the time."""
    for one in plant.asking:
        for end in plant.ends(one.resolvers):
            yield from _asking(
                plant,
                one.slug,
                end,
                ("lookups", "Names looked up", LOOKUPS, "names are asked of the office's resolver"),
            )
        for end in plant.ends(one.time_sources):
            yield from _asking(plant, one.slug, end, ("time", "Time", TIME, "every clock goes by the office's"))


def _asking(plant: Plant, zone: str, target: End, what: tuple[str, str, Carried, str]) -> Iterator[Need]:
    word, name, carried, why = what
    source: End | None = plant.end(zone)
    if zone in plant.quiet and not (word == "time" and target.zone == FIREWALL):
        source = plant.machines.get(zone)
    if source is not None and target.zone != zone:
        yield Need(f"{word}-{zone}-to-{target.zone}", name, source, target, carried, "lookups", why, zone)


def _in_turn(plant: Plant) -> Iterator[Need]:
    """What the resolvers and clocks ask outside, or of each other."""
    for server in plant.servers:
        known = {"lookups": ("Names looked up in turn", LOOKUPS, "only the resolver asks outside"),
                 "time": ("Time from outside", TIME, "only the office's clocks ask outside")}  # fmt: skip
        if server.does not in known:
            continue
        name, carried, why = known[server.does]
        for target in plant.upstream(server, f"{server.does}-upstream"):
            for source in (GATE,) if server.holder == FIREWALL else plant.ends(server.addresses):
                if source.zone != target.zone:
                    held = End(
                        source.zone,
                        LABELS.get(source.zone, f"machine {server.holder}"),
                        source.networks,
                        server.holder,
                    )
                    kind = "names" if target.named else target.zone
                    yield Need(f"{server.slug}-asks-{kind}", name, held, target, carried, "lookups", why)


def _echoes(plant: Plant) -> Iterator[Need]:
    why, group = "whoever looks for a fault tries whether the gateway is there", "housekeeping"
    yield Need(
        "echo-outside",
        "Echo",
        GATE,
        End(OUTSIDE, "the outside"),
        ECHO,
        group,
        "the firewall tries whether a line is up",
    )
    for leg in plant.inside():
        door = _at(FIREWALL, "the firewall", *(ip_network(host) for host in leg.own))
        yield Need(f"echo-{leg.zone}", "Echo", plant.end(leg.zone), door, ECHO, group, why, leg.zone)
