"""A packet filter judged plainly: from the first rule to the last, one packet at a time, with nothing prepared."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from ipaddress import ip_network

from scantling.figures.traffic import FIREWALL, OUTSIDE, FilterRule, Host, Leg, Net, RuleSet, Window

LINK_ONLY = tuple(ip_network(text) for text in ("224.0.0.0/4", "255.255.255.255/32", "ff00::/8", "fe80::/10"))


@dataclass(frozen=True, slots=True)
class Packet:
    """One packet as it reaches the firewall, after its target was changed if it was."""

    origin: str
    """Interface it comes in by, or FIREWALL."""
    source: Host
    target: Host
    protocol: str
    port: int = 0
    """Target port or message type."""
    source_port: int = 0
    state: str = "new"
    translated: bool = False


@dataclass(frozen=True, slots=True)
class Moment:
    """When a packet comes: weekday (0 is Monday) and minute of the day."""

    day: int
    minute: int


def zone_of(origin: str, legs: Sequence[Leg]) -> str:
    """The zone behind an interface; FIREWALL stays what it is."""
    return next((leg.zone for leg in legs if leg.interface == origin), FIREWALL)


def way_out(target: Host, legs: Sequence[Leg]) -> str:
    """Where a target lies: the firewall itself, a zone, or the outside."""
    if any(target in leg.own for leg in legs) or within(target, LINK_ONLY):
        return FIREWALL
    return next((leg.zone for leg in legs if within(target, leg.networks)), OUTSIDE)


def within(host: Host, networks: Iterable[Net]) -> bool:
    """Whether an address lies in one of the networks; those of the other family hold none of it."""
    return any(host.version == network.version and host in network for network in networks)


def chain_of(packet: Packet, rules: RuleSet) -> str:
    """Where the kernel asks: output, input or forward."""
    if packet.origin == FIREWALL:
        return "output"
    return "input" if way_out(packet.target, rules.legs) == FIREWALL else "forward"


def deciding(packet: Packet, rules: RuleSet, moment: Moment) -> FilterRule | None:
    """The first rule that matches, early ones before all others; None where none does, which drops it."""
    early = [rule for rule in rules.rules if rule.early and packet.origin != FIREWALL]
    late = [rule for rule in rules.rules if not rule.early]
    way = (zone_of(packet.origin, rules.legs), way_out(packet.target, rules.legs))
    return next((rule for rule in (*early, *late) if matches(rule, packet, way, rules, moment)), None)


def matches(rule: FilterRule, packet: Packet, way: tuple[str, str], rules: RuleSet, moment: Moment) -> bool:
    """Whether one rule matches one packet on its way from a zone to another."""
    return (
        rule.family in {0, packet.source.version}
        and rule.zone_in in {"", way[0]}
        and rule.zone_out in {"", way[1]}
        and (not rule.sources or within(packet.source, rule.sources))
        and not within(packet.source, rule.not_sources)
        and (not rule.targets or within(packet.target, rule.targets))
        and (not rule.target_set or within(packet.target, party(rule.target_set, rules)))
        and carried(rule, packet)
        and rule.state in {"", packet.state}
        and (packet.translated or not rule.translated)
        and (rule.window is None or during(rule.window, moment))
    )


def party(slug: str, rules: RuleSet) -> tuple[Net, ...]:
    """The listed networks of a party."""
    return next(networks for name, networks, _ in rules.sets if name == slug)


def carried(rule: FilterRule, packet: Packet) -> bool:
    """Whether protocol and ports are those of the rule."""
    if rule.protocol in {"", "any"}:
        return True
    return rule.protocol == packet.protocol and (
        not rule.ports or any(first <= packet.port <= last for first, last in rule.ports)
    )


def during(window: Window, moment: Moment) -> bool:
    """Whether a moment lies in the hours."""
    return moment.day in window.days and window.first <= moment.minute <= window.last
