"""Rules of the filter as entries of access lists (RFC 8519): what such a list can say exactly, and what it can't.

A list knows neither connections nor hours, translations or names. It is read as saying who may begin to speak to whom:
rules about replies and strays have no place in it. An accept that it can't say exactly is left out, so that less
passes; a drop is said wider. Nothing that the rules drop ever passes.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from ipaddress import ip_network
from itertools import product

from scantling.figures.traffic import (
    ANY_PROTOCOL, FIREWALL, FilterRule, Leg, Net, RuleSet, Verdict,
)  # fmt: skip
from scantling.handbook.set_aside import LINK_ONLY, of_family
from scantling.outputs.files.packet_filter_text import IPV4, IPV6, ranges

NUMBERS = {"icmp": 1, "tcp": 6, "udp": 17, "gre": 47, "esp": 50, "icmpv6": 58}
"""Protocols by number (IANA's list of assigned Internet protocol numbers)."""
FAMILY = {"icmp": IPV4, "icmpv6": IPV6}
ALL = {IPV4: ip_network("0.0.0.0/0"), IPV6: ip_network("::/0")}
FOREIGN = "a source that is any but some"
LENT = "an address that the provider lends, in part"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry; what is None or empty matches everything."""

    rule: str
    """Number of the rule that it is made from."""
    verdict: Verdict
    log: bool
    source: Net | None
    target: Net | None
    other: str
    """The port on the other side: of what comes in the one it leaves by, of what goes out the one it came in by."""
    protocol: int | None
    ports: tuple[int, int] | None
    """Target ports, or of icmp and icmpv6 one message type."""


@dataclass
class Unsaid:
    """Rules that the lists can't say exactly, each once, with the reason."""

    left_out: dict[str, str] = field(default_factory=dict)
    """Accepts: what they allow is denied."""
    widened: dict[str, str] = field(default_factory=dict)
    """Drops that drop more."""

    def tell(self, rule: FilterRule, why: str) -> None:
        """Note a rule."""
        (self.left_out if rule.verdict is Verdict.ACCEPT else self.widened).setdefault(rule.slug, why)


@dataclass
class List:
    """A list that is being made: of one port, one direction, one family."""

    rules: RuleSet
    leg: Leg
    inward: bool
    family: int
    unsaid: Unsaid
    sources: list[Net] = field(init=False)
    """Whom accepts may still name: all but those that a rule above calls false."""
    dropped: list[Net] = field(default_factory=list)
    """Sources of which nothing passes any more."""
    partly: bool = False
    """Whether a drop above is said in part only."""

    def __post_init__(self) -> None:
        """Nothing is called false yet."""
        self.sources = [ALL[self.family]]


def entries(one: List) -> list[Entry]:
    """The entries of a list in order; what none of them matches is dropped."""
    made: list[Entry] = []
    guards: list[tuple[int, Entry]] = []
    for rule in sorted(one.rules.rules, key=lambda rule: not rule.early):
        if not _concerns(rule, one):
            continue
        if rule.verdict is Verdict.ACCEPT:
            above = list(_guards(rule, one))
            guards += [(len(made) + place, guard) for place, guard in enumerate(above)]
            made += [*above, *_accepting(rule, one)]
        else:
            made += _dropping(rule, one)
    for place, guard in guards:
        for entry in made[place:]:
            if entry.verdict is Verdict.ACCEPT and entry.rule != guard.rule and overlap(guard, entry):
                one.unsaid.left_out.setdefault(entry.rule, FOREIGN)
    return made


def _accepting(rule: FilterRule, one: List) -> list[Entry]:
    """What a rule lets pass, if the list can say it."""
    reasons = list(_inexact(rule, one))
    if one.partly and not _far(rule, one):
        reasons.append("a drop above that is said in part only")
    for reason in reasons:
        one.unsaid.tell(rule, reason)
    return list(_boxes(rule, one, one.sources)) if not reasons or reasons == [LENT] else []


def _guards(rule: FilterRule, one: List) -> Iterator[Entry]:
    """Drops above an accept of any source but some, for those that nothing above has dropped."""
    left = _left(rule, one)
    if left and not list(_inexact(rule, one)):
        yield from (
            replace(box, verdict=Verdict.DROP) for box in _boxes(replace(rule, sources=tuple(left)), one, left)
        )


def _dropping(rule: FilterRule, one: List) -> list[Entry]:
    """What a rule drops: false sources by leaving them out of all accepts, the rest by entries, wider where need be."""
    foreign = of_family(rule.not_sources, one.family)
    if foreign and _judged_before(rule, one):
        return []
    if foreign and not _says_more(rule, one):
        one.sources = meeting(one.sources, foreign)
        return []
    for reason in _inexact(rule, one):
        one.unsaid.tell(rule, reason)
    if _left(rule, one):
        one.unsaid.tell(rule, FOREIGN)
    one.partly = one.partly or _lent(rule, one)
    made = list(_boxes(rule, one, [ALL[one.family]]))
    one.dropped += [
        box.source for box in made if box.source and (box.target, box.other, box.protocol) == (None, "", None)
    ]
    return made


def _judged_before(rule: FilterRule, one: List) -> bool:
    """Whether sources are the business of the lists of the port that a packet came in by."""
    return not one.inward and rule.zone_in not in {"", FIREWALL}


def _left(rule: FilterRule, one: List) -> list[Net]:
    """Of the sources that a rule does not mean, those that may still come."""
    if _judged_before(rule, one):
        return []
    coming = meeting(of_family(rule.not_sources, one.family), one.sources)
    return [network for network in coming if not any(inside(network, gone) for gone in one.dropped)]


def _concerns(rule: FilterRule, one: List) -> bool:
    """Whether a rule may decide the first packet of something at this port."""
    families = {rule.family, FAMILY.get(rule.protocol, 0)} - {0}
    here = rule.zone_in if one.inward else rule.zone_out
    passing = one.inward or not rule.early
    return passing and rule.state in {"", "new"} and families <= {one.family} and here in {"", one.leg.zone}


def _far(rule: FilterRule, one: List) -> str:
    """The zone on the other side."""
    return rule.zone_out if one.inward else rule.zone_in


def _says_more(rule: FilterRule, one: List) -> bool:
    """Whether a drop of foreign sources has other conditions than the port it stands at."""
    return bool(rule.sources or rule.targets or rule.target_set or rule.protocol or rule.window or _far(rule, one))


def _inexact(rule: FilterRule, one: List) -> Iterator[str]:
    """Why the list can't say a rule exactly, sources aside."""
    if rule.window:
        yield "hours"
    if rule.translated:
        yield "a translated target"
    if rule.target_set and _names(rule.target_set, one.rules):
        yield "a party known by name"
    if not one.inward and rule.zone_in == FIREWALL and rule.verdict is not Verdict.ACCEPT:
        yield "a sender that is the firewall itself"
    if _lent(rule, one):
        yield LENT


def _names(party: str, rules: RuleSet) -> Sequence[str]:
    return next((names for slug, _, names in rules.sets if slug == party), ())


def _lent(rule: FilterRule, one: List) -> bool:
    """Whether a rule means an address of the firewall's own that only the provider knows."""
    said = rule.targets if one.inward else rule.sources
    owned = [any(host.version == one.family for host in leg.own) for leg in one.rules.legs]
    named = one.inward or rule.verdict is not Verdict.ACCEPT
    return named and _far(rule, one) == FIREWALL and not said and not all(owned)


def _boxes(rule: FilterRule, one: List, sources: Sequence[Net]) -> Iterator[Entry]:
    """A rule as entries of one source, one target, one port and one run of target ports each, not yet named."""
    froms: Sequence[Net] = of_family(rule.sources, one.family) if rule.sources else [ALL[one.family]]
    tos = _targets(rule, one)
    if not one.inward and rule.zone_in == FIREWALL and rule.verdict is not Verdict.ACCEPT and not rule.sources:
        froms = _own(
            one
        )  # an accept may say anybody: others are judged by the lists of the port that they come in by
    froms = meeting(froms, sources)
    known = rule.protocol not in {"", ANY_PROTOCOL}
    runs = _runs(rule) if known else [None]
    for source, target, other, ports in product(froms, tos, _others(rule, one), runs):
        yield Entry(
            rule.slug, rule.verdict, rule.log, _unless_all(source), _unless_all(target), other,
            NUMBERS[rule.protocol] if known else None, ports,
        )  # fmt: skip


def _targets(rule: FilterRule, one: List) -> Sequence[Net]:
    """Where a rule's packets go: what it names, and of the firewall itself all that it answers to."""
    found: Sequence[Net] = of_family(rule.targets, one.family) if rule.targets else [ALL[one.family]]
    listed = next((networks for slug, networks, _ in one.rules.sets if slug == rule.target_set), None)
    if rule.target_set and listed is not None and not _names(rule.target_set, one.rules):
        found = meeting(found, of_family(listed, one.family))
    if rule.zone_out == FIREWALL:
        found = meeting(found, [*_own(one), *of_family(LINK_ONLY, one.family)])
    return found


def _own(one: List) -> tuple[Net, ...]:
    return of_family((ip_network(host) for leg in one.rules.legs for host in leg.own), one.family)


def _others(rule: FilterRule, one: List) -> list[str]:
    """The ports on the other side; one empty name where any will do, or where the other side is the firewall itself."""
    zone = _far(rule, one)
    if zone in {"", FIREWALL}:
        return [""]
    return sorted(leg.interface for leg in one.rules.legs if leg.zone == zone)


def _runs(rule: FilterRule) -> list[tuple[int, int] | None]:
    runs = ranges(rule.ports, rule.protocol)
    if rule.protocol in FAMILY:
        runs = [(kind, kind) for first, last in runs for kind in range(first, last + 1)]
    return list(runs) or [None]


def _unless_all(network: Net) -> Net | None:
    return network if network.prefixlen else None


def meeting(some: Iterable[Net], others: Iterable[Net]) -> list[Net]:
    """The addresses that lie in both lists of networks of one family."""
    pairs = product(some, list(others))
    found = [one if inside(one, other) else other for one, other in pairs if inside(one, other) or inside(other, one)]
    return [*of_family(found, IPV4), *of_family(found, IPV6)]


def inside(one: Net, other: Net) -> bool:
    """Whether a network lies in another of its family."""
    return (
        one.version == other.version
        and int(one.network_address) >> _host(other) == int(other.network_address) >> _host(other)
        and one.prefixlen >= other.prefixlen
    )


def _host(network: Net) -> int:
    return network.max_prefixlen - network.prefixlen


def overlap(one: Entry, other: Entry) -> bool:
    """Whether some packet matches both."""
    return (
        _share(one.source, other.source)
        and _share(one.target, other.target)
        and (not one.other or not other.other or one.other == other.other)
        and (one.protocol is None or other.protocol is None or one.protocol == other.protocol)
        and (
            not one.ports or not other.ports or max(one.ports[0], other.ports[0]) <= min(one.ports[1], other.ports[1])
        )
    )


def _share(one: Net | None, other: Net | None) -> bool:
    return one is None or other is None or inside(one, other) or inside(other, one)
