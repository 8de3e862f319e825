"""What a network needs to work at all: neighbours found, addresses asked for and lent, names and time asked for, echoes."""

from collections.abc import Iterator
from ipaddress import ip_address, ip_network

from scantling.figures import FIREWALL, OUTSIDE, End, Leg, Net, Server
from scantling.handbook.plant import (
    is_address,
    ADDRESS_SERVERS6, ALL_NEAR, ANYONE, ASKED4, ASKED6, BROADCAST, ECHO, GATE, LENT4, LENT6, LOOKUPS, NEIGHBOURS, NO_ADDRESS,
    NO_ADDRESS6, ON_LINK, RELAYED, TIME, Carried, Need, Plant,
)  # fmt: skip
from scantling.handbook.whereabouts import net_of

LINK_LENGTH = 64
TURNS: dict[str, tuple[str, Carried, str]] = {
    "lookups": ("Names looked up in turn", LOOKUPS, "only the resolver asks outside"),
    "time": ("Time from outside", TIME, "only the office's clocks ask outside"),
}


def needs(plant: Plant) -> Iterator[Need]:
    """Everything that the network itself needs."""
    yield from _neighbours(plant)
    yield from _addresses(plant)
    yield from _relayed(plant)
    yield from _asked(plant)
    yield from _in_turn(plant)
    yield from _copied(plant)
    yield from _echoes(plant)


def _at(zone: str, label: str, *networks: Net) -> End:
    return End(zone, label, networks)


def _sixth(leg: Leg) -> tuple[Net, ...]:
    return tuple(network for network in leg.networks if network.version == NO_ADDRESS6.version)


def _fourth(leg: Leg) -> tuple[Net, ...]:
    return tuple(network for network in leg.networks if network.version == NO_ADDRESS.version)


def _own(leg: Leg, like: Net) -> tuple[Net, ...]:
    return tuple(net_of(host) for host in leg.own if host.version == like.version)


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
        yield from _neighbours_outside(plant, near, (name, group, why))


def _neighbours_outside(plant: Plant, near: End, words: tuple[str, str, str]) -> Iterator[Need]:
    """The provider's router speaks from its link, or, where the office's address is fixed, from its own on the same network."""
    name, group, why = words
    own = [net for leg in plant.legs if leg.zone == OUTSIDE for net in _own(leg, ALL_NEAR)]
    lines = dict.fromkeys(_line(net) for net in own)
    router = _at(OUTSIDE, "the provider's router", NO_ADDRESS6, ON_LINK, *lines)
    firewall = _at(FIREWALL, near.label, ALL_NEAR, ON_LINK, *own)
    yield Need("neighbours-outside", name, router, firewall, NEIGHBOURS, group, why)
    if any(leg.zone == OUTSIDE and not _own(leg, ALL_NEAR) for leg in plant.legs):
        # an address that is lent can't be named beforehand, and answers come to it
        yield Need("neighbours-outside-lent", name, router, GATE, NEIGHBOURS, group, why)
    if lines:
        yield Need(
            "neighbours-to-outside", name, GATE, _at(OUTSIDE, "the provider's router", *lines), NEIGHBOURS, group, why
        )


def _line(own: Net) -> Net:
    """The network that a fixed address lies in: 64 bits long, as on every link (RFC 4291 section 2.5.4)."""
    return ip_network(own.network_address).supernet(new_prefix=LINK_LENGTH)


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
    doors = _at(FIREWALL, "the firewall", *(net_of(host) for leg in plant.inside() for host in leg.own))
    for server in (one for one in plant.servers if one.does == "addresses" and one.holder != FIREWALL):
        lender = next(plant.ends(server.addresses))
        yield Need("relay-out", "Calls for addresses passed on", GATE, lender, RELAYED, group, why)
        yield Need("relay-back", "Answers passed back", lender, doors, RELAYED, group, why)
        for leg in plant.inside():
            if leg.zone not in {lender.zone, *plant.apart}:
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
        if server.does in TURNS:
            name, carried, why = TURNS[server.does]
            for source, target in _turned(server, plant):
                kind = "names" if target.named else target.zone
                yield Need(f"{server.slug}-asks-{kind}", name, source, target, carried, "lookups", why)


def _copied(plant: Plant) -> Iterator[Need]:
    """Resolvers that keep copies of the office's names fetch them from who holds them, and ask there in between (RFC 5936)."""
    why = "the resolver keeps copies of the office's names, and fetches them from who holds them"
    for server in (one for one in plant.servers if one.does == "names"):
        resolvers = [*plant.ends([ip_address(one) for one in server.upstream if is_address(one)])]
        for target in plant.ends(server.addresses):
            sources = {GATE if one.zone == FIREWALL else one: None for one in resolvers if one.zone != target.zone}
            for source in sources:
                yield Need(f"{server.slug}-copied", "Names copied", source, target, LOOKUPS, "lookups", why)


def _turned(server: Server, plant: Plant) -> Iterator[tuple[End, End]]:
    """A server and whom it asks in turn, where the firewall stands between."""
    sources = [GATE] if server.holder == FIREWALL else list(plant.ends(server.addresses))
    for target in plant.upstream(server, f"{server.does}-upstream"):
        yield from ((source, target) for source in sources if source.zone != target.zone)


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
        door = _at(FIREWALL, "the firewall", *(net_of(host) for host in leg.own))
        yield Need(f"echo-{leg.zone}", "Echo", plant.end(leg.zone), door, ECHO, group, why, leg.zone)
