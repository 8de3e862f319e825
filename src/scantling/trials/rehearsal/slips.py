"""Single slips of a tired hand in a rule or a translation: left out, turned round, too wide, beside, from elsewhere, led astray."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from ipaddress import IPv4Network, IPv6Network

from scantling.figures import FIREWALL, FilterRule, Net, Translation, Verdict
from scantling.figures.traffic import LAST_PORT, LAST_TYPE

Slip = Callable[[FilterRule, Sequence[str]], FilterRule | None]
"""The rule as it is written by mistake, in an office of these zones; nothing where it can't be made with it."""


def _turned(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    """Accepted for dropped, dropped for accepted; before routing a rule can only drop."""
    accepts = rule.verdict is Verdict.ACCEPT
    return None if rule.early else replace(rule, verdict=Verdict.DROP if accepts else Verdict.ACCEPT)


def _refused(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, verdict=Verdict.REJECT) if rule.verdict is Verdict.ACCEPT else None


def _wide_source(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    if rule.not_sources:
        return replace(rule, not_sources=wider(rule.not_sources))
    return replace(rule, sources=wider(rule.sources)) if rule.sources else None


def _wide_target(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, targets=wider(rule.targets)) if rule.targets else None


def _source_beside(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    if rule.not_sources:
        return replace(rule, not_sources=beside(rule.not_sources))
    return replace(rule, sources=beside(rule.sources)) if rule.sources else None


def _target_beside(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, targets=beside(rule.targets)) if rule.targets else None


def _source_missing(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, sources=rule.sources[:-1]) if rule.sources[1:] else None


def _target_missing(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, targets=rule.targets[1:]) if rule.targets[1:] else None


def _port_more(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    most = LAST_TYPE if rule.protocol.startswith("icmp") else LAST_PORT
    wide = tuple((first, last + 1) for first, last in rule.ports[-1:] if last < most)
    return replace(rule, ports=(*rule.ports[:-1], *wide)) if wide else None


def _port_missing(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    """Of several runs one; of one run its last port."""
    if rule.ports[1:]:
        return replace(rule, ports=rule.ports[:-1])
    short = tuple((first, last - 1) for first, last in rule.ports if first < last)
    return replace(rule, ports=short) if short else None


def _any_port(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, ports=()) if rule.ports else None


def _any_state(rule: FilterRule, _: Sequence[str]) -> FilterRule | None:
    return replace(rule, state="") if rule.state else None


def _from_next(rule: FilterRule, zones: Sequence[str]) -> FilterRule | None:
    if rule.zone_in not in zones:
        return None
    other = next((zone for zone in after(zones, rule.zone_in) if zone != rule.zone_out), None)
    return replace(rule, zone_in=other) if other else None


def _to_next(rule: FilterRule, zones: Sequence[str]) -> FilterRule | None:
    if rule.zone_out not in zones or rule.zone_out == FIREWALL:
        return None
    other = next((zone for zone in after(zones, rule.zone_out) if zone != rule.zone_in), None)
    return replace(rule, zone_out=other) if other else None


SLIPS: Mapping[str, Slip] = {
    "accepted for dropped, or dropped for accepted": _turned,
    "refused where it should be let in": _refused,
    "source twice as wide": _wide_source,
    "target twice as wide": _wide_target,
    "source network beside": _source_beside,
    "target network beside": _target_beside,
    "one source forgotten": _source_missing,
    "one target forgotten": _target_missing,
    "one port too many": _port_more,
    "one port forgotten": _port_missing,
    "any port": _any_port,
    "any state": _any_state,
    "from another zone": _from_next,
    "to another zone": _to_next,
}


def after(many: Sequence[str], one: str) -> Iterator[str]:
    """Those that come after one, round in a circle."""
    place = many.index(one)
    yield from (*many[place + 1 :], *many[:place])


def wider(networks: tuple[Net, ...]) -> tuple[Net, ...]:
    """The last network twice as large, where it is not everything already."""
    last = networks[-1]
    return (*networks[:-1], last.supernet() if last.prefixlen else last)


def beside(networks: tuple[Net, ...]) -> tuple[Net, ...]:
    """The network after it in place of the last."""
    last = networks[-1]
    number = int(last.network_address) + last.num_addresses
    if number >= 1 << last.max_prefixlen:
        return networks
    kind = IPv4Network if isinstance(last, IPv4Network) else IPv6Network
    return (*networks[:-1], kind((number, last.prefixlen)))


def astray(one: Translation) -> Iterator[tuple[str, Translation]]:
    """A translation as it is written by mistake."""
    if one.to is not None and one.carried is not None:
        yield "led to the machine beside", replace(one, to=one.to + 1)
        yield "led to another port", replace(one, port=(one.port or one.carried.first) + 1)
        if one.carried.last < LAST_PORT:
            yield "one port too many led on", replace(one, carried=replace(one.carried, last=one.carried.last + 1))
