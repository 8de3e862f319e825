"""What an intent carries, as things to try: the edges of its ports, and just outside them."""

from collections.abc import Iterable, Iterator
from ipaddress import IPv4Network

from scantling.figures import End, Flow, Host, Net, Transport
from scantling.figures.traffic import ANY_PROTOCOL, LAST_PORT
from scantling.trials.probe.probing import Kind
from scantling.trials.proof.headers import LINK, MESSAGES, NUMBERS

Spot = tuple[Kind, int]
"""How something is tried, and the port, message type or protocol."""
ECHO_TYPES = {4: 8, 6: 128}
EXOTIC = (47, 50, 132)
"""Protocols without ports of their own here: tunnels, encryption, streams (IANA's list of protocol numbers)."""
ORDINARY = 443
PORTED = {"tcp": Kind.TCP, "udp": Kind.UDP}
BARE: tuple[Net, ...] = (IPv4Network("0.0.0.0/32"),)


def spots(carried: Iterable[Transport], family: int, *, edges: bool) -> list[Spot]:
    """What to try of what an intent carries: first ports alone, or both edges of every run and just outside."""
    found: dict[Spot, None] = {}
    for one in carried:
        found.update(dict.fromkeys(_spots(one, family, edges=edges)))
    return list(found)


def _spots(one: Transport, family: int, *, edges: bool) -> Iterator[Spot]:
    if one.protocol in PORTED:
        yield from ((PORTED[one.protocol], port) for port in _ports(one, edges=edges))
    elif one.protocol == ANY_PROTOCOL:
        yield from ((Kind.TCP, ORDINARY), (Kind.UDP, ORDINARY), (Kind.ECHO, ECHO_TYPES[family]))
        yield from ((Kind.RAW, number) for number in EXOTIC)
    elif one.protocol in MESSAGES:
        if MESSAGES[one.protocol] == family and one.first <= ECHO_TYPES[family] <= one.last:
            yield Kind.ECHO, ECHO_TYPES[family]
    elif NUMBERS[one.protocol] not in NUMBERED:
        yield Kind.RAW, NUMBERS[one.protocol]


NUMBERED = frozenset(NUMBERS[name] for name in ("tcp", "udp", "icmp", "icmpv6"))


def _ports(one: Transport, *, edges: bool) -> tuple[int, ...]:
    if (one.first, one.last) == (0, LAST_PORT):
        return (1, ORDINARY, LAST_PORT) if edges else (ORDINARY,)
    many = (one.first, one.last, one.first - 1, one.last + 1) if edges else (one.first,)
    return tuple(port for port in dict.fromkeys(many) if 0 < port <= LAST_PORT)


def on_a_link(net: Net) -> bool:
    """Whether a network's addresses never leave a link: multicast, broadcast, link-local."""
    return any(net.version == one.version and net.subnet_of(one) for one in LINK)  # type: ignore[arg-type]


def can_be_tried(flow: Flow) -> bool:
    """Whether something of an intent can be sent by one station to another's address and cross the firewall."""
    if flow.target.networks and all(on_a_link(net) for net in flow.target.networks):
        return False
    if flow.source.networks and all(on_a_link(net) or net in BARE for net in flow.source.networks):
        return False
    return any(spots(flow.carried, family, edges=False) for family in (4, 6))


def holds(end: End, host: Host) -> bool:
    """Whether an address of its zone is one of an end's; an end without addresses of its own is all of its zone."""
    return not end.networks or any(host.version == net.version and host in net for net in end.networks)


def edges_of(networks: Iterable[Net], family: int) -> list[Host]:
    """First and last address of each network, and those just outside."""
    found: dict[Host, None] = {}
    for net in networks:
        if net.version == family and not on_a_link(net):
            first, last = net.network_address, net.broadcast_address
            whole = int(first) == 0 or net.prefixlen == 0
            beyond: tuple[Host, ...] = () if whole else (first - 1, last + 1)
            found.update(dict.fromkeys((first, last, *beyond)))
    return list(found)


def told_apart(flows: Iterable[Flow]) -> tuple[list[Flow], list[Flow]]:
    """Intents that can be tried, and those that can't."""
    can: list[Flow] = []
    cannot: list[Flow] = []
    for flow in flows:
        (can if can_be_tried(flow) else cannot).append(flow)
    return can, cannot
