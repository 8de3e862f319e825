"""Packets on the edges of every rule of a rule list, and some just beside them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from ipaddress import ip_address
from itertools import product

import kernel
from random_rules import BEGINS
from referees.filtering import LINK_ONLY, Packet, way_out, within
from rule_samples import hosts, nets
from scantling.figures.traffic import FIREWALL, OUTSIDE, FilterRule, Host, Leg, Net, RuleSet, Translation

SOMEBODY = {4: ip_address("198.51.100.77"), 6: ip_address("2001:db8:ffff:77::7")}
HEARD = hosts("255.255.255.255", "ff02::1", kernel.LINK_LOCAL)
"""Of all that stays on a link, what the kernel of a router hears without having asked for it."""
LENT = hosts("203.0.113.2", "2001:db8:eeee::2")
MOVING = nets("203.0.113.129/32", "2001:db8:dddd::9/128")
"""What the names of a party answer, in these tests."""
Sent = tuple[Packet, tuple[Host, int] | None]
"""A packet as the rules see it, and its target and port before the firewall translates them, if it does."""


def standing(rules: RuleSet) -> RuleSet:
    """The rules with an address on every line to the outside and one in every set, as an office that runs has them."""
    legs = [replace(leg, own=(*leg.own, *lacking(leg))) for leg in rules.legs]
    sets = [(party, (*networks, *(MOVING if names else ())), names) for party, networks, names in rules.sets]
    return replace(rules, legs=tuple(legs), sets=tuple(sets))


def lacking(leg: Leg) -> Sequence[Host]:
    """An address of each family in which a line to the outside has none."""
    known = {host.version for host in leg.own}
    return [host for host in LENT if host.version not in known] if leg.zone == OUTSIDE else []


def packets_of(rules: RuleSet) -> Iterator[Sent]:
    """For each rule and each translation a few packets that a kernel would pass on."""
    for rule in rules.rules:
        yield from ((packet, None) for packet in packets(rule, rules) if sendable(packet, rules))
    for translation in rules.translations:
        yield from (sent for sent in published(translation, rules) if sendable(sent[0], rules))


def packets(rule: FilterRule, rules: RuleSet) -> Iterator[Packet]:
    """Packets as they come in by a port; none of them is translated."""
    families = [rule.family] if rule.family else [4, 6]
    protocol = rule.protocol if rule.protocol not in {"", "any"} else "udp"
    for family, origin in product(families, origins(rule, rules)):
        for source, target, port in product(
            sources(rule, origin, rules, family), targets(rule, rules, family), edges(rule)
        ):
            state = "new" if port in BEGINS.get(protocol, {port}) else "invalid"
            yield Packet(origin, source, target, protocol, port, 0, state)


def published(translation: Translation, rules: RuleSet) -> Iterator[Sent]:
    """From the outside to the firewall's own address there and the one beside it, on both edges of what is translated."""
    carried, inner = translation.carried, translation.to
    if carried is None or inner is None:
        return
    for leg in [leg for leg in rules.legs if leg.zone == translation.zone]:
        own = next(host for host in leg.own if host.version == 4)
        for host, port in product((own, own + 1), (carried.first - 1, carried.first, carried.last, carried.last + 1)):
            packet = Packet(leg.interface, SOMEBODY[4], host, carried.protocol, port)
            if host == own and carried.first <= port <= carried.last:
                translated = replace(packet, target=inner, port=translation.port or port, translated=True)
                yield translated, (own, port)
            else:
                yield packet, None


def origins(rule: FilterRule, rules: RuleSet) -> list[str]:
    """Ports of the zone that a rule names, or the first of a few; the second line to the outside has no way back."""
    if rule.zone_in == FIREWALL:
        return [FIREWALL]
    ports = {leg.zone: leg.interface for leg in reversed(rules.legs)}
    return [ports[rule.zone_in]] if rule.zone_in else [FIREWALL, *sorted(ports.values())[:3]]


def sources(rule: FilterRule, origin: str, rules: RuleSet, family: int) -> list[Host]:
    """Somebody whom a rule names or who is behind the port; where a rule is about false sources, a false one too."""
    if origin == FIREWALL:
        return [behind(origin, rules, family)]
    named = one_of(rule.sources, family) or one_of(rule.not_sources, family)
    if rule.zone_out == FIREWALL:
        named = one_of(rule.sources[::-1], family, on_link=True)
    return [named or behind(origin, rules, family), *([SOMEBODY[family]] if rule.not_sources else [])]


def one_of(networks: Sequence[Net], family: int, *, on_link: bool = False) -> Host | None:
    """The last address of the first network that a packet may come from; `on_link`: one that stays there may, too."""
    mine = [one[-1] for one in networks if one.version == family]
    ordinary = [host for host in mine if not (host.is_unspecified or host.is_loopback or host.is_multicast)]
    return next((host for host in ordinary if on_link or not within(host, LINK_ONLY)), None)


def behind(origin: str, rules: RuleSet, family: int) -> Host:
    """Somebody behind a port: of the firewall itself its own address, of the outside anybody."""
    if origin == FIREWALL:
        return next(host for leg in rules.legs for host in leg.own if host.version == family)
    leg = next(leg for leg in rules.legs if leg.interface == origin)
    return one_of(leg.networks, family) or SOMEBODY[family]


def targets(rule: FilterRule, rules: RuleSet, family: int) -> list[Host]:
    """Both edges of a target or party, of the first two and the last where there are many; else one in the zone."""
    if rule.early:
        return [host for host in rules.legs[0].own if host.version == family]
    listed = next((networks for party, networks, _ in rules.sets if party == rule.target_set), ())
    named = [one for one in (*rule.targets, *listed) if one.version == family]
    found = {host for one in (*named[:2], *named[-1:]) for host in edge(one)}
    if rule.zone_out == FIREWALL:
        found |= {host for host in HEARD if host.version == family}
    legs = [leg for leg in rules.legs if leg.zone == rule.zone_out]
    anybody = [one_of(leg.networks, family) or SOMEBODY[family] for leg in legs] or [SOMEBODY[family]]
    return sorted(found, key=int) or anybody


def edge(network: Net) -> set[Host]:
    """First and last address of a network and those beside them, as far as there are any."""
    first, last, most = int(network[0]), int(network[-1]), 2**network.max_prefixlen - 1
    numbers = {number for number in (first - 1, first, last, last + 1) if 0 <= number <= most}
    return {ip_address(number.to_bytes(network.max_prefixlen // 8, "big")) for number in numbers}


def edges(rule: FilterRule) -> list[int]:
    """Both ends of each run of ports and one beside them; any, where the rule names none."""
    most = 255 if rule.protocol.startswith("icmp") else 65535
    near = {port for first, last in rule.ports for port in (first - 1, first, last, last + 1)}
    return sorted(port for port in near if 0 <= port <= most) or ([8] if rule.protocol == "icmp" else [128])


def sendable(packet: Packet, rules: RuleSet) -> bool:
    """Whether the kernel passes such a packet on at all, filter or not: RFC 1812 and 4291 forbid it some addresses."""
    target, going = packet.target, way_out(packet.target, rules.legs)
    heard = target in HEARD or any(target in leg.own for leg in rules.legs)
    if heard or going == FIREWALL:
        return heard and packet.origin != FIREWALL
    if within(packet.source, LINK_ONLY):
        return False
    odd = target.is_unspecified or target.is_loopback or target.is_reserved or target.is_multicast
    nowhere = target.version == 4 and int(target) >> 24 == 0
    return not odd and not nowhere and any(leg.zone == going for leg in rules.legs)
