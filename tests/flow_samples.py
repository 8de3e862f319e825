"""Random sets of intents on a small invented office, and packets that stand on the edges of what they say."""

from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from random import Random

from referees.filtering import Moment, Packet, way_out
from rule_samples import hosts, leg, nets
from scantling.figures import (
    FIREWALL, OUTSIDE, End, Figure, Flow, Host, Leg, Net, Origin, Transport, Verdict, Window,
)  # fmt: skip
from scantling.figures.units import WORD

LEGS = (
    leg("staff"), leg("servers"), leg("guests"),
    Leg("fibre", OUTSIDE, "outside-1", own=hosts("198.51.100.2", "2001:db8:ffff:1::2")),
    Leg("mobile", OUTSIDE, "outside-2"),
)  # fmt: skip
PLACES = {
    "staff": nets("10.20.10.16/28", "10.20.10.0/25", "10.20.10.20", "2001:db8:20:10::10/124", "2001:db8:20:10:8000::/65"),
    "servers": nets("10.20.20.5", "10.20.20.0/26", "2001:db8:20:20::5"),
    "guests": nets("10.20.30.128/25", "2001:db8:20:30::/96"),
    OUTSIDE: nets("203.0.113.0/26", "203.0.113.9", "10.63.0.0/16", "2001:db8:ffff::/48"),
    FIREWALL: nets("10.20.10.1", "10.20.30.1", "255.255.255.255", "224.0.0.251", "2001:db8:20:10::1", "ff02::/16", "fe80::/10"),
}  # fmt: skip
STRANGE = nets("192.168.7.0/24", "10.99.0.0/16", "0.0.0.0/32", "::/128", "fe80::/10", "ff02::/16", "224.0.0.0/4", "8.8.8.0/24",
               "255.255.255.255/32", "fd00:1::/64", "2001:db8:9::/64")  # fmt: skip
FILLED = nets("198.51.100.10", "2001:db8:beef::a", "198.51.100.2")
PARTY = ("pay.processor.example",)
EDGES = (0, 22, 53, 67, 80, 443, 445, 1023, 5060, 65535)
TYPES = {"icmp": (0, 8, 255), "icmpv6": (1, 128, 133, 136, 255)}
CAUSE = Figure("tcp 1", WORD, Origin("brief", "a test"))


def end(zone: str, *networks: Net, named: tuple[str, ...] = (), holder: str = "") -> End:
    """An end of an intent."""
    return End(zone, zone, tuple(networks), holder, named)


def flow(
    slug: str,
    source: End,
    target: End,
    *carried: Transport,
    verdict: Verdict = Verdict.ACCEPT,
    window: Window | None = None,
) -> Flow:
    """An intent that rests on a test."""
    return Flow(slug, slug, source, target, carried, "a test", CAUSE, "brief", verdict, window)


@dataclass
class FlowDice:
    """Chooses intents and packets; the same seed, the same choice."""

    random: Random

    def flows(self) -> list[Flow]:
        """One to nine intents, some of which forbid."""
        return [self.flow(f"intent-{place}") for place in range(self.random.randint(1, 9))]

    def flow(self, slug: str) -> Flow:
        """Any intent between two different places."""
        source, target = self.random.sample([*PLACES], 2) if self.chance(0.95) else (FIREWALL, FIREWALL)
        verdict = Verdict.DROP if self.chance(0.25) else Verdict.ACCEPT
        window = Window((0, 2, 4), 480, 1079) if self.chance(0.2) else None
        carried = {self.transport() for _ in range(self.random.randint(1, 4))}
        known = self.end(source)
        to = (
            end(OUTSIDE, named=PARTY, holder="processor")
            if target == OUTSIDE and self.chance(0.3)
            else self.end(target)
        )
        if source == target == FIREWALL and not to.networks:
            to = end(FIREWALL, *PLACES[FIREWALL][2:4])
        return flow(slug, known, to, *sorted(carried), verdict=verdict, window=window)

    def end(self, zone: str) -> End:
        """A whole zone, or one to three networks of it; the firewall as a whole now and then."""
        return end(
            zone,
            *(
                self.random.sample(PLACES[zone], self.random.randint(1, min(3, len(PLACES[zone]))))
                if self.chance(0.6)
                else ()
            ),
        )

    def transport(self) -> Transport:
        """Any protocol, with some of its ports."""
        protocol = self.random.choice(("tcp", "tcp", "udp", "icmp", "icmpv6", "esp", "any"))
        edges = TYPES.get(protocol, EDGES if protocol in {"tcp", "udp"} else ())
        if not edges:
            return Transport(protocol)
        first, last = sorted(self.random.choices(edges, k=2))
        return Transport(protocol, first, last)

    def chance(self, share: float) -> bool:
        """True in that share of all cases."""
        return self.random.random() < share

    def packet(self, flows: Sequence[Flow], legs: Sequence[Leg]) -> tuple[Packet, Moment]:
        """One that stands near an edge of some intent."""
        one = self.random.choice(flows)
        family = self.random.choice((4, 6))
        origin = self.origin(
            one.source.zone if self.chance(0.8) else self.random.choice([leg.zone for leg in legs]), legs
        )
        transport = self.random.choice(one.carried) if self.chance(0.8) else self.transport()
        protocol = transport.protocol if transport.protocol != "any" else "udp"
        if protocol in TYPES:
            family = 4 if protocol == "icmp" else 6
        most = 255 if protocol in TYPES else 65535
        port = min(
            most,
            max(0, self.random.choice((transport.first, transport.last)) + self.random.choice((-1, 0, 0, 0, 0, 1))),
        )
        target = self.host(one.target, family, legs)
        translated = (
            origin.startswith("outside")
            and family == 4
            and way_out(target, legs) not in {OUTSIDE, FIREWALL}
            and self.chance(0.7)
        )
        state = self.random.choice(("new",) * 12 + ("established", "invalid"))
        moment = Moment(
            self.random.randint(0, 6), self.random.choice((0, 479, 480, 1079, 1080, self.random.randint(0, 1439)))
        )
        return Packet(
            origin, self.host(one.source, family, legs), target, protocol, port, 4000, state, translated
        ), moment

    def origin(self, zone: str, legs: Sequence[Leg]) -> str:
        """A port of the firewall into a zone, or the firewall itself."""
        return (
            FIREWALL if zone == FIREWALL else self.random.choice([leg.interface for leg in legs if leg.zone == zone])
        )

    def host(self, near: End, family: int, legs: Sequence[Leg]) -> Host:
        """An address on an edge of the end's networks, of its zone, or of some other place."""
        zone = [n for leg in legs if leg.zone == near.zone for n in leg.networks]
        ours = [n for n in (near.networks if near.networks and self.chance(0.8) else zone) if n.version == family]
        if not ours or self.chance(0.15):
            every = (*STRANGE, *(n for many in PLACES.values() for n in many), *zone, *FILLED)
            ours = [n for n in every if n.version == family]
        network = self.random.choice(ours)
        first, last = int(network.network_address), int(network.broadcast_address)
        within = self.random.randint(first, last)
        number = self.random.choice((first, last, first - 1, last + 1, within, within, within, within))
        number = min(max(number, 0), 2 ** (32 if family == 4 else 128) - 1)
        return ip_address(number.to_bytes(4 if family == 4 else 16, "big"))
