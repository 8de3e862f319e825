"""The compiler: from intents, the firewall's ports and its translations to one ordered list of rules that says exactly that.

The order: false sources; replies; what belongs to nothing; what is forbidden (to known addresses, then to all the outside);
what is allowed to known addresses; what is never meant for the outside; what is allowed to all the outside; and at last everything
else, which is dropped. Nothing here decides what is meant: that stands in the intents.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

from scantling.figures import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, End, Figure, FilterRule, Flow, Leg, Net, Origin, RuleSet, Translation, Transport, Verdict,
)  # fmt: skip
from scantling.figures.units import TRUTH
from scantling.handbook.numbered import numbered
from scantling.handbook.narrower import distinct
from scantling.handbook.set_aside import FAMILIES, FROM_NOWHERE, LINK_ONLY, NEVER_OUTSIDE, of_family, shared
from scantling.handbook.spoken import joined, plain_comment

MESSAGES: Mapping[str, int] = {"icmp": 4, "icmpv6": 6}
"""Protocols of messages belong to one family."""
SPOOFED, STATES, FORBIDDEN, APART, SHUT, ADDRESSED, NEVER, WIDE, LAST = range(1, 10)
"""Parts of the list in their order; the first digit of a rule's number."""
Placed = tuple[int, FilterRule]
ANY_CAUSE = Figure(True, TRUTH, Origin("standard", "whatever it rests on"))  # noqa: FBT003
"""Rules are made of what is meant, never of why."""


@dataclass(frozen=True)
class Ground:
    """What lies where: the ports of the firewall, and what they lead to."""

    legs: tuple[Leg, ...]

    @property
    def inside(self) -> tuple[Net, ...]:
        """Every network of the office."""
        return tuple(network for leg in self.legs if leg.zone != OUTSIDE for network in leg.networks)

    def behind(self, zone: str) -> tuple[Net, ...]:
        """The networks of one zone."""
        return tuple(network for leg in self.legs if leg.zone == zone for network in leg.networks)

    def zones(self) -> tuple[str, ...]:
        """The zones that the firewall has a port into, in order, the outside last."""
        found = [leg.zone for leg in self.legs if leg.zone != OUTSIDE]
        return tuple(dict.fromkeys([*found, *(leg.zone for leg in self.legs)]))


def compiled(
    flows: Sequence[Flow], legs: Sequence[Leg], translations: Sequence[Translation] = (), slug: str = "office"
) -> RuleSet:
    """The rules of an office. The same intents give the same list, whatever order they come in."""
    meant = tuple(replace(flow, cause=ANY_CAUSE) for flow in flows)
    return _compiled(meant, tuple(legs), tuple(translations), slug)


@lru_cache(8)  # most edits of a brief mean the same flows
def _compiled(flows: Sequence[Flow], legs: Sequence[Leg], translations: Sequence[Translation], slug: str) -> RuleSet:
    ground = Ground(tuple(sorted(legs, key=lambda leg: (leg.zone == OUTSIDE, leg.interface))))
    known = {leg.zone for leg in ground.legs} | {FIREWALL}
    flows = sorted((f for f in flows if {f.source.zone, f.target.zone} <= known), key=lambda flow: flow.slug)
    placed = [*_spoofed(ground), *_states(), *distinct(_said(flows, ground)), *_never(flows), _last()]
    return RuleSet(slug, numbered(placed, ground.legs), ground.legs, tuple(translations), _sets(flows), NEVER_OUTSIDE)


def _spoofed(ground: Ground) -> Iterator[Placed]:
    """Sources that can't be behind the port they come in by (RFC 2827, RFC 3704 section 2.1)."""
    for zone in ground.zones():
        for family in FAMILIES:
            rule = FilterRule(
                "",
                Verdict.DROP,
                f"{zone}: a source that is not behind this port",
                family=family,
                zone_in=zone,
                early=True,
            )
            if zone != OUTSIDE:
                yield SPOOFED, replace(rule, not_sources=of_family((*ground.behind(zone), *FROM_NOWHERE), family))
            else:
                wrong = [one for one in (*ground.inside, *NEVER_OUTSIDE) if one not in _linked(family)]
                yield (
                    SPOOFED,
                    replace(
                        rule,
                        comment="outside: a source of the office, or set aside",
                        sources=of_family(wrong, family),
                    ),
                )


def _linked(family: int) -> tuple[Net, ...]:
    """Sources of IPv6 that a provider's router and a device without an address bear (RFC 4861, 4862)."""
    return () if family == FAMILIES[0] else FROM_NOWHERE


def _states() -> Iterator[Placed]:
    yield STATES, FilterRule("", Verdict.ACCEPT, "Replies, and what belongs to them", state="established")
    yield STATES, FilterRule("", Verdict.DROP, "What belongs to nothing", state="invalid")


def _last() -> Placed:
    return LAST, FilterRule("", Verdict.DROP, "Everything else", log=True)


def _said(flows: Sequence[Flow], ground: Ground) -> Iterator[Placed]:
    """The rules of every intent."""
    shut = {flow.target.zone for flow in flows if _part(flow) == SHUT}
    for flow in flows:
        made = [rule for family in FAMILIES for rule in _rules(flow, family, ground)]
        for rule in sorted(made, key=lambda rule: (rule.protocol, rule.family)):
            yield from _placed(_part(flow), rule, shut)


def _part(flow: Flow) -> int:
    """Where the rules of an intent stand."""
    wide = _wide(flow.target)
    if flow.verdict is not Verdict.ACCEPT:
        return SHUT if wide else FORBIDDEN
    return WIDE if wide else ADDRESSED


def _placed(part: int, rule: FilterRule, shut: Collection[str]) -> Iterator[Placed]:
    """What is shut as a whole does not take in what is never meant for it: an intent to such addresses stands before."""
    if part == ADDRESSED and rule.zone_out in shut:
        besides = of_family(LINK_ONLY if rule.zone_out == FIREWALL else NEVER_OUTSIDE, rule.family)
        apart = shared(rule.targets, besides)
        if apart:
            yield APART, replace(rule, targets=apart)
        if set(rule.targets) <= set(apart) and rule.targets:
            return
    yield part, rule


def _wide(end: End) -> bool:
    """A target without any address: all of the outside, or the firewall wherever its provider puts it."""
    return end.zone in {OUTSIDE, FIREWALL} and not end.networks and not end.named


def _rules(flow: Flow, family: int, ground: Ground) -> Iterator[FilterRule]:
    """One rule for each protocol of an intent in one family; none where an end has no address of the family."""
    bare = _bare(flow, family, ground)
    if bare is None:
        return
    for protocol, ports in carried(flow.carried):
        if MESSAGES.get(protocol, family) == family:
            yield replace(bare, protocol="" if protocol == ANY_PROTOCOL else protocol, ports=ports)


def _bare(flow: Flow, family: int, ground: Ground) -> FilterRule | None:
    """The rule without its protocol."""
    source, target = flow.source, flow.target
    sources = of_family(source.networks or ground.behind(source.zone), family)
    targets = of_family(target.networks, family)
    if (source.networks and not sources) or (target.networks and not targets and not target.named):
        return None
    if not sources and (source.named or source.zone not in {OUTSIDE, FIREWALL}):
        return None  # whoever is known by names only can be reached, and begins nothing
    foreign = source.zone == OUTSIDE and not source.networks
    accepts = flow.verdict is Verdict.ACCEPT
    both_firewall = source.zone == target.zone == FIREWALL
    return FilterRule(
        "", flow.verdict, plain_comment(flow.name), flow.slug, family,
        zone_in=source.zone,
        zone_out="" if both_firewall else target.zone,
        sources=sources,
        not_sources=of_family((*ground.inside, *NEVER_OUTSIDE), family) if foreign else (),
        targets=() if target.named else targets,
        target_set=set_of(flow) if target.named else "",
        state="new" if accepts else "",
        translated=accepts and family == FAMILIES[0] and source.zone == OUTSIDE and target.zone not in {OUTSIDE, FIREWALL},
        window=flow.window,
    )  # fmt: skip


def carried(many: Iterable[Transport]) -> Iterator[tuple[str, tuple[tuple[int, int], ...]]]:
    """Protocols in order, the ports of each joined; any stands for all."""
    ordered = sorted(many)
    if any(one.protocol == ANY_PROTOCOL for one in ordered):
        yield ANY_PROTOCOL, ()
        return
    for protocol, group in groupby(ordered, key=lambda one: one.protocol):
        yield protocol, joined(protocol, [(one.first, one.last) for one in group])


def set_of(flow: Flow) -> str:
    """The set of addresses that a party's names fill."""
    return flow.target.holder or flow.slug


def _sets(flows: Sequence[Flow]) -> tuple[tuple[str, tuple[Net, ...], tuple[str, ...]], ...]:
    """Every party that a rule names by its set."""
    found: dict[str, tuple[dict[Net, None], dict[str, None]]] = {}
    for flow in flows:
        if flow.target.named:
            networks, names = found.setdefault(set_of(flow), ({}, {}))
            networks.update(dict.fromkeys(flow.target.networks))
            names.update(dict.fromkeys(flow.target.named))
    return tuple((party, tuple(networks), tuple(names)) for party, (networks, names) in sorted(found.items()))


def _never(flows: Sequence[Flow]) -> Iterator[Placed]:
    """What is never meant for the outside, and what only a link hears: before whatever is allowed without an address."""
    for family in FAMILIES:
        yield NEVER, FilterRule(
            "", Verdict.DROP, "Never meant for the outside", family=family, zone_out=OUTSIDE,
            targets=of_family(NEVER_OUTSIDE, family),
        )  # fmt: skip
    if any(_part(flow) == WIDE and flow.target.zone == FIREWALL for flow in flows):
        for family in FAMILIES:
            yield NEVER, FilterRule(
                "", Verdict.DROP, "Calls to all on a link", family=family, zone_out=FIREWALL, targets=of_family(LINK_ONLY, family)
            )  # fmt: skip
