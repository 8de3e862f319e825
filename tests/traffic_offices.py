"""The example offices' traffic for tests: their intents, their rules, and questions put to both."""

from dataclasses import dataclass, replace
from functools import cache, cached_property
from ipaddress import ip_address

from offices import example
from referees.filtering import Moment, Packet, deciding, zone_of
from referees.intents import Sets, filled, meant
from rule_samples import hosts

from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, FilterRule, Flow, Host, Leg, RuleSet, Verdict,
)  # fmt: skip
from scantling.handbook.filtering import compiled
from scantling.handbook.translating import translations

NAMES = ("millrace", "brackwater", "fold")
LINE = Leg("line", OUTSIDE, "outside-1", own=hosts("198.51.100.2", "2001:db8:ffff:1::2"))
"""Stands in where a plan has no port to the outside of its own."""
STRANGER = {4: ip_address("192.0.2.77"), 6: ip_address("2001:db8:bad::77")}
NOON = Moment(2, 12 * 60)


@dataclass(frozen=True)
class Office:
    """What an office means, and the rules made of it, with the sets of names filled."""

    flows: tuple[Flow, ...]
    rules: RuleSet
    sets: Sets
    machines: dict[str, tuple[Host, ...]]

    @cached_property
    def rules_from(self) -> dict[str, RuleSet]:
        """By zone, the rules that a packet from there could meet: naming no zone, or this one."""
        many = self.rules.rules
        return {
            zone: replace(self.rules, rules=tuple(rule for rule in many if rule.zone_in in {"", zone}))
            for zone in self.everywhere()
        }

    @cached_property
    def flows_from(self) -> dict[str, tuple[Flow, ...]]:
        """By zone, the intents of it."""
        return {zone: tuple(flow for flow in self.flows if flow.source.zone == zone) for zone in self.everywhere()}

    def everywhere(self) -> tuple[str, ...]:
        """Zones, the outside and the firewall."""
        return (*self.zones(), OUTSIDE, FIREWALL)

    @property
    def legs(self) -> tuple[Leg, ...]:
        """Ports of the firewall."""
        return self.rules.legs

    def zones(self) -> list[str]:
        """Zones of the office."""
        return [leg.zone for leg in self.legs if leg.zone != OUTSIDE]

    def some(self, zone: str, family: int = 4) -> Host:
        """An address in the middle of a zone that is lent to nobody in particular, or a stranger's."""
        if zone == OUTSIDE:
            return STRANGER[family]
        leg = next(leg for leg in self.legs if leg.zone == zone)
        network = next(network for network in leg.networks if network.version == family)
        return network.network_address + network.num_addresses // 2 + 9

    def packet(self, zone: str, target: Host, protocol: str, port: int, source: Host | None = None) -> Packet:
        """A packet that begins something, from a zone by its own port; a published service is led inside already."""
        origin = FIREWALL if zone == FIREWALL else next(leg.interface for leg in self.legs if leg.zone == zone)
        came = source or self.some(zone, target.version)
        return Packet(
            origin, came, target, protocol, port, 40000, "new", translated=zone == OUTSIDE and target.version == 4
        )

    def passes(self, packet: Packet, moment: Moment = NOON) -> bool:
        """What the rules do; the meaning must be the same."""
        rule = self.decides(packet, moment)
        verdict = rule is not None and rule.verdict is Verdict.ACCEPT
        about = self.flows_from[self.zone(packet)]
        assert verdict == meant(packet, moment, about, self.legs, self.sets), (packet, rule)
        return verdict

    def decides(self, packet: Packet, moment: Moment = NOON) -> FilterRule | None:
        """The rule that decides."""
        return deciding(packet, self.rules_from[self.zone(packet)], moment)

    def zone(self, packet: Packet) -> str:
        """Where a packet comes from."""
        return zone_of(packet.origin, self.legs)


@cache
def office(name: str) -> Office:
    """One of the examples, as its consultant gets it."""
    plan = example(name)
    flows, legs = plan.records(Flow), plan.records(Leg)
    if not any(leg.zone == OUTSIDE for leg in legs):
        legs = (*legs, LINE)
    sets = filled(flows)
    rules = compiled(flows, legs, translations(flows, legs))
    rules = RuleSet(
        rules.slug, rules.rules, rules.legs, rules.translations,
        tuple((slug, (*networks, *sets.get(slug, ())), names) for slug, networks, names in rules.sets), rules.never_outside,
    )  # fmt: skip
    given: list[tuple[str, str, str, Host]] = [
        (one.holder, one.zone, one.slug, one.address) for one in plan.records(Address)
    ]
    given += [(one.holder, one.zone, one.slug, one.address) for one in plan.records(Address6)]
    machines: dict[str, tuple[Host, ...]] = {}
    for holder, zone, slug, address in given:
        if slug != f"gateway-{zone}":
            machines[holder] = (*machines.get(holder, ()), address)
    return Office(flows, rules, sets, machines)
