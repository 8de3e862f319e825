"""What lies beyond the lines: the provider's side of each, parties and strangers with their addresses, and the names they answer to."""

from collections.abc import Iterator, Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from scantling.figures import OUTSIDE, Host, Leg, Line, Net, OutsideName, Party, RuleSet, Server
from scantling.plan.make import Plan
from scantling.trials.proof.packet import STRANGERS
from scantling.trials.rehearsal.office import Sort, Station, Way

FIRST4, FIRST6 = IPv4Address("192.0.2.128"), IPv6Address("2001:db8:e000::128")
"""Where made-up outside addresses are taken from (RFC 5737, RFC 3849)."""
LINES4, LINES6 = IPv4Network("192.0.2.0/26"), IPv6Network("2001:db8:eeee::/48")
"""Where the provider's side of a line lies, when the brief says nothing of it."""
ON_A_LINE = 29


def ways(plan: Plan) -> tuple[Way, ...]:
    """Every line, as the firewall gets it."""
    standby = {line.slug: line.standby for line in plan.records(Line)}
    legs = [leg for leg in plan.records(Leg) if leg.zone == OUTSIDE]
    return tuple(_way(leg, place, standby=standby.get(leg.slug, False)) for place, leg in enumerate(legs))


def _way(leg: Leg, place: int, *, standby: bool) -> Way:
    fourth = next((host for host in leg.own if isinstance(host, IPv4Address)), None)
    sixth = next((host for host in leg.own if isinstance(host, IPv6Address)), None)
    network4 = _around(fourth) if fourth else list(LINES4.subnets(new_prefix=ON_A_LINE))[place]
    network6 = (
        IPv6Network((int(sixth) >> 64 << 64, 64))
        if sixth
        else IPv6Network((int(LINES6.network_address) + (place << 64), 64))
    )
    gateway4 = next(host for host in network4.hosts() if host != fourth)
    gateway6 = next(host for host in (network6.network_address + 1, network6.network_address + 2) if host != sixth)
    return Way(leg.slug, leg.interface, leg.own, gateway4, gateway6, network4, network6, standby)


def _around(host: IPv4Address) -> IPv4Network:
    """The smallest network in which an address is neither the first nor the last."""
    for length in (30, ON_A_LINE):
        network = IPv4Network((int(host) >> (32 - length) << (32 - length), length))
        if host not in {network.network_address, network.broadcast_address}:
            return network
    return network


def _taken(plan: Plan) -> list[Net]:
    """Networks that mean something already."""
    inside = [network for leg in plan.records(Leg) for network in leg.networks]
    own = [ip_network(host) for leg in plan.records(Leg) for host in leg.own]
    parties = [network for one in plan.records(Party) for network in one.networks]
    lines: list[Net] = [network for way in ways(plan) for network in (way.network4, way.network6)]
    return [*inside, *own, *parties, *lines]


def _free(first: Host, taken: Sequence[Net]) -> Iterator[Host]:
    host = first
    while True:
        host += 1
        if not any(host in network for network in taken):
            yield host


def outside_names(plan: Plan) -> tuple[tuple[str, tuple[Host, ...]], ...]:
    """Every name outside that the office asks for, with what it answers: what the brief says, else made up."""
    said = {one.name: tuple(_hosts(one)) for one in plan.records(OutsideName)}
    asked = [name for rules in plan.records(RuleSet) for _, _, names in rules.sets for name in names]
    asked += [name for one in plan.records(Party) for name in one.named]
    asked += [name for one in plan.records(Server) for name in one.upstream if not _is_address(name)]
    taken = _taken(plan)
    fourth, sixth = _free(FIRST4, taken), _free(FIRST6, taken)
    found = {name: said.get(name) or (next(fourth), next(sixth)) for name in dict.fromkeys(asked)}
    return tuple({**{name: hosts for name, hosts in said.items() if hosts}, **found}.items())


def _hosts(one: OutsideName) -> Iterator[Host]:
    for answer in one.answers:
        kind, _, data = str(answer).partition(" ")
        if kind in {"A", "AAAA"}:
            yield ip_address(data)


def _is_address(word: str) -> bool:
    try:
        ip_address(word)
    except ValueError:
        return False
    return True


def strangers(plan: Plan) -> Iterator[Station]:
    """Somebody whom no intent names, every party, and the outside resolvers that the office asks."""
    taken = _taken(plan)
    nobody = [ip_address(one) for one in STRANGERS if not any(ip_address(one) in network for network in taken)]
    mine = [next((host for host in nobody if host.version == family), None) for family in (4, 6)]
    yield _outsider("stranger", "somebody outside", tuple(host for host in mine if host is not None))
    answered = dict(outside_names(plan))
    for slug, networks, names in _parties(plan):
        listed = tuple(_somebody(network) for network in networks)
        hosts = (*listed, *(host for name in names for host in answered.get(name, ())))
        yield _outsider(f"party-{slug}", slug, tuple(dict.fromkeys(hosts)), names)
    asked = [
        ip_address(name)
        for one in plan.records(Server)
        if one.does == "lookups"
        for name in one.upstream
        if _is_address(name)
    ]
    inside = [network for leg in plan.records(Leg) for network in leg.networks]
    far = tuple(
        dict.fromkeys(
            host for host in asked if not any(host in network for network in inside) and not host.is_loopback
        )
    )
    if far:
        yield _outsider("resolvers-outside", "the provider's name servers", far)


def _outsider(slug: str, label: str, hosts: tuple[Host, ...], names: tuple[str, ...] = ()) -> Station:
    return Station(slug, label, Sort.OUTSIDE, OUTSIDE, slug, "", hosts, (), names)


def _parties(plan: Plan) -> Iterator[tuple[str, tuple[Net, ...], tuple[str, ...]]]:
    """Slug, networks and names: those that the rules know as sets, then those that only intents name."""
    known: set[str] = set()
    for rules in plan.records(RuleSet):
        for one in rules.sets:
            known.add(one[0])
            yield one
    for party in plan.records(Party):
        if party.slug not in known:
            yield party.slug, party.networks, party.named


def _somebody(network: Net) -> Host:
    """Somebody in a network."""
    return network.network_address + (1 if network.num_addresses > 1 else 0)
