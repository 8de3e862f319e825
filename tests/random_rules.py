"""Small random rule lists, and packets that stand on the edges of what their rules say."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from ipaddress import ip_address
from random import Random

from referees.filtering import Moment, Packet
from rule_samples import hosts, leg, nets
from scantling.figures.traffic import (
    FIREWALL, OUTSIDE, FilterRule, Host, Leg, Net, RuleSet, Verdict, Window,
)  # fmt: skip

LEGS = (
    leg("staff"),
    leg("servers"),
    Leg("fibre", OUTSIDE, "outside-1", own=hosts("198.51.100.2", "2001:db8:ffff:1::2")),
)
OWN = [host for one in LEGS for host in one.own]
NETWORKS = {
    4: nets(
        "10.20.10.0/24", "10.20.10.128/25", "10.20.10.16/28", "10.20.10.200", "10.20.20.0/24", "10.20.20.0/26",
        "10.20.20.5", "198.51.100.0/24", "203.0.113.64/26", "203.0.113.9", "198.51.100.2", "10.20.10.1",
    ),
    6: nets(
        "2001:db8:20:10::/64", "2001:db8:20:10:8000::/65", "2001:db8:20:10::10/124", "2001:db8:20:20::/64",
        "2001:db8:20:20::5", "2001:db8:ffff::/48", "2001:db8:ffff:2::40/122", "2001:db8:ffff:1::2",
        "2001:db8:20:10::1",
    ),
}  # fmt: skip
EDGES = (0, 1, 53, 67, 80, 443, 445, 1023, 1024, 5060, 65534, 65535)
TYPES = {"icmp": (0, 3, 8, 13, 255), "icmpv6": (1, 128, 129, 133, 135, 136, 255)}
BEGINS = {"icmp": {8, 13, 15, 17}, "icmpv6": {128, 130, 131, 132, 133, 134, 135, 136, 139, 143}}
"""Messages that may begin something, as the kernel's connection tracker has it; the rest belongs to something or to nothing."""
PARTY = "party"
ZONES = ("staff", "servers", OUTSIDE)


@dataclass
class Dice:
    """Chooses rules and packets; the same seed, the same choice."""

    random: Random

    def rules(self) -> RuleSet:
        """A list of one to a dozen rules, and a last one that drops, or none."""
        rules = [self.rule(f"r-{number:03}") for number in range(1, self.random.randint(2, 13))]
        if self.chance(0.5):
            rules.insert(
                self.random.randint(0, len(rules)),
                FilterRule("r-900", Verdict.ACCEPT, "Replies", state="established"),
            )
        if self.chance(0.5):
            rules.append(FilterRule("r-999", Verdict.DROP, "Whatever else", log=self.chance(0.5)))
        party = (PARTY, tuple(self.networks(4) + self.networks(6)), ())
        return RuleSet("office", tuple(rules), LEGS, (), (party,))

    def chance(self, share: float) -> bool:
        """True in that share of all cases."""
        return self.random.random() < share

    def networks(self, family: int) -> list[Net]:
        """One to three of a family."""
        return self.random.sample(NETWORKS[family], self.random.randint(1, 3))

    def rule(self, slug: str) -> FilterRule:
        """Any rule that can be written."""
        family = self.random.choice((4, 4, 6, 6, 0))
        protocol = self.random.choice(("tcp", "tcp", "udp", "udp", "icmp", "icmpv6", "esp", "gre", "any", ""))
        if protocol in TYPES:
            family = self.random.choice((0, 4 if protocol == "icmp" else 6))
        early = self.chance(0.12)
        zone_in = self.random.choice(("", *ZONES) if early else ("", *ZONES, *ZONES, FIREWALL))
        zone_out = (
            "" if early else self.random.choice(("", *ZONES, *ZONES, *(() if zone_in == FIREWALL else (FIREWALL,))))
        )
        families = (family,) if family else (4, 6)
        known = [network for each in families for network in self.networks(each)]
        return FilterRule(
            slug,
            Verdict.DROP
            if early
            else self.random.choice((Verdict.ACCEPT, Verdict.ACCEPT, Verdict.DROP, Verdict.REJECT)),
            f"rule {slug}",
            family=family,
            zone_in=zone_in,
            zone_out=zone_out,
            sources=tuple(self.random.sample(known, 1)) if self.chance(0.4) else (),
            not_sources=tuple(known) if self.chance(0.2) else (),
            targets=tuple(n for each in families for n in self.networks(each)) if self.chance(0.5) else (),
            target_set=PARTY if self.chance(0.1) else "",
            protocol=protocol,
            ports=self.ports(protocol),
            state="" if early else self.random.choice(("new", "new", "", "established", "invalid")),
            translated=not early and self.chance(0.03),
            window=self.window() if self.chance(0.15) else None,
            early=early,
        )

    def ports(self, protocol: str) -> tuple[tuple[int, int], ...]:
        """Up to three runs of ports or message types; none in some cases."""
        edges = TYPES.get(protocol, EDGES if protocol in {"tcp", "udp"} else ())
        if not edges or self.chance(0.2):
            return ()
        runs = [sorted(self.random.choices(edges, k=2)) for _ in range(self.random.randint(1, 3))]
        return tuple((first, last if self.chance(0.5) else first) for first, last in runs)

    def window(self) -> Window:
        """Any hours of any days."""
        first, last = sorted(self.random.sample(range(24 * 60), 2))
        days = self.random.sample(range(7), self.random.randint(1, 7))
        return Window(tuple(sorted(days)), *self.random.choice(((first, last), (0, 24 * 60 - 1))))

    def packet(self, rules: Sequence[FilterRule], *, own: bool) -> Packet:
        """One that stands near an edge of a rule; `own`: sent by the firewall itself."""
        rule = self.random.choice(rules)
        protocol = rule.protocol if rule.protocol not in {"", "any"} and self.chance(0.8) else "udp"
        family = {"icmp": 4, "icmpv6": 6}.get(protocol) or rule.family or self.random.choice((4, 6))
        legs = {one.zone: one for one in LEGS}
        origin = legs.get(rule.zone_in) if self.chance(0.8) else None
        port = self.port(rule, protocol)
        source = self.own(family) if own else self.host((*rule.sources, *rule.not_sources), family)
        invalid = port not in BEGINS[protocol] if protocol in BEGINS else protocol == "tcp" and self.chance(0.1)
        return Packet(
            origin=FIREWALL if own else (origin or self.random.choice(LEGS)).interface,
            source=source,
            target=self.target(rule, family, frozenset([source, *(OWN if own else ())])),
            protocol=protocol,
            port=port,
            state="invalid" if invalid else "new",
        )

    def port(self, rule: FilterRule, protocol: str) -> int:
        """One beside the edges of a rule."""
        most = 255 if protocol in TYPES else 65535
        near = [edge + step for run in rule.ports for edge in run for step in (-1, 0, 1)] or list(
            TYPES.get(protocol, EDGES)
        )
        return min(most, max(0, self.random.choice(near)))

    def target(self, rule: FilterRule, family: int, never: frozenset[Host]) -> Host:
        """One that the packet can be sent to: not its own source, nor the firewall itself when that is the sender."""
        while True:
            found = self.host(rule.targets, family)
            if found not in never:
                return found

    def own(self, family: int) -> Host:
        """One of the firewall's own addresses."""
        return self.random.choice([host for host in OWN if host.version == family])

    def host(self, networks: Sequence[Net], family: int) -> Host:
        """An address on the edge of one of the networks, or of any other."""
        ours = [network for network in networks if network.version == family]
        network = self.random.choice(ours if ours and self.chance(0.8) else NETWORKS[family])
        first, last = int(network.network_address), int(network.broadcast_address)
        number = self.random.choice((first, last, first - 1, last + 1, self.random.randint(first, last)))
        return ip_address(number.to_bytes(4 if family == 4 else 16, "big"))


def answer(packet: Packet, origin: str, *, passed: bool) -> Packet:
    """What comes back, by the port where the packet went out: it belongs to what passed, and begins anew where nothing did."""
    lost = "new" if packet.protocol == "udp" else "invalid"
    return replace(
        packet,
        origin=origin,
        source=packet.target,
        target=packet.source,
        port=packet.source_port,
        source_port=packet.port,
        state="established" if passed else lost,
    )


def moment_of(seconds: float) -> Moment:
    """Weekday and minute, in UTC, of so many seconds since 1970 began, on a Thursday."""
    return Moment(int(seconds // 86400 + 3) % 7, int(seconds // 60) % 1440)
