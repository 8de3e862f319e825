"""What is meant, as boxes: from the intents and the firewall's ports alone; nothing here knows of rules or of their order.

It shares no code with the compiler of the rules: what both must know of standards is written here a second time, on purpose.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from ipaddress import ip_network

from scantling.figures import FIREWALL, OUTSIDE, End, Flow, Net, Transport, Verdict
from scantling.trials.proof.headers import (
    INVALID, IPV4, IPV6, MESSAGES, NEW, RELATED, REPLY, Box, Ground, carried, host, narrowed, seconds,
)  # fmt: skip
from scantling.trials.proof.rulings import DROPPED, PASSED, Outcome, Ruling, Stage
from scantling.trials.proof.spans import Spans, both, joined, less, numbers, of_networks, size

SET_ASIDE: tuple[Net, ...] = tuple(
    ip_network(one)
    for one in (
        "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24",
        "192.88.99.0/24", "192.168.0.0/16", "198.18.0.0/15", "224.0.0.0/4", "240.0.0.0/4",
        "::/128", "::1/128", "::ffff:0:0/96", "100::/64", "2001::/23", "2002::/16", "fc00::/7", "fe80::/10", "ff00::/8",
    )
)  # fmt: skip
"""Never outside: RFC 6890 with multicast, less the blocks for examples (RFC 5737, 3849), which stand for outside addresses."""
BEFORE_AN_ADDRESS: tuple[Net, ...] = tuple(ip_network(one) for one in ("0.0.0.0/32", "::/128", "fe80::/10"))
"""What a device bears that has no address yet, and on its link (RFC 1122 section 3.2.1.3, RFC 4291 section 2.5)."""
SPOOFED, STRAY, BELONGS, NOTHING = (
    "a source that can't be there",
    "belongs to nothing",
    "a reply, or what belongs to one",
    "no such packet",
)


@dataclass(frozen=True)
class Meaning:
    """What the intents of an office mean in one family."""

    ground: Ground
    flows: tuple[Flow, ...]

    def stages(self) -> tuple[Stage, ...]:
        """One list of what becomes of every packet; where none of them says it, it is dropped."""
        return (Stage(tuple(ruling for ruling in self._rulings() if ruling.boxes), Ruling((), DROPPED, "")),)

    def _rulings(self) -> Iterator[Ruling]:
        ground = self.ground
        yield Ruling(ground.never, DROPPED, NOTHING)
        yield Ruling(tuple(self._spoofed()), DROPPED, SPOOFED)
        yield Ruling(ground.box(state=((INVALID, INVALID),)), DROPPED, STRAY)
        yield Ruling(ground.box(state=((REPLY, RELATED),)), PASSED, BELONGS)
        dropping = [flow for flow in self.flows if flow.verdict is not Verdict.ACCEPT]
        accepting = [flow for flow in self.flows if flow.verdict is Verdict.ACCEPT]
        for inner, what in self._fronts(accepting):
            yield from (Ruling(self._led(flow, inner, what), DROPPED, flow.slug) for flow in dropping)
            outcome = Outcome(passes=True, to=str(host(inner, IPV4)))
            yield from (Ruling(self._led(flow, inner, what), outcome, flow.slug) for flow in accepting)
        yield from (Ruling(self.boxes(flow), DROPPED, flow.slug) for flow in dropping)
        for flow in accepting:
            if ground.family != IPV4 or not is_published(flow):
                outcome = PASSED._replace(masked=self._masks(flow))
                yield Ruling(self.boxes(flow), outcome, flow.slug)

    def _masks(self, flow: Flow) -> bool:
        """What leaves in IPv4 bears the firewall's own address."""
        return self.ground.family == IPV4 and flow.target.zone == OUTSIDE

    def _spoofed(self) -> Iterator[Box]:
        """Sources that can't be behind the port that they come in by (RFC 2827, RFC 3704)."""
        ground = self.ground
        bare = ground.networks(BEFORE_AN_ADDRESS)
        for zone in dict.fromkeys(leg.zone for leg in ground.legs):
            false = less(ground.addresses, joined([*ground.behind(zone), *bare]))
            if zone == OUTSIDE:
                false = joined([*ground.inside, *self.set_aside])
                false = less(false, bare) if ground.family == IPV6 else false
            yield from ground.box(place=ground.places(zone), source=false)

    @cached_property
    def set_aside(self) -> Spans:
        """What is never outside, as it is written."""
        return self.ground.networks(SET_ASIDE)

    # ------------------------------------------------------------------------------------------------- an intent

    def boxes(self, flow: Flow) -> tuple[Box, ...]:
        """Every packet that an intent is about, its target as it is sent; nothing where an end is not there."""
        return self._boxes(flow, self.targets(flow))

    def about(self, flow: Flow) -> tuple[Box, ...]:
        """Every packet that an intent is about, as it is sent: a published service at the firewall's own address."""
        if self.ground.family == IPV4 and is_published(flow) and flow.verdict is Verdict.ACCEPT:
            return tuple(box for inner, what in self._fronts([flow]) for box in self._led(flow, inner, what))
        return self.boxes(flow)

    def _boxes(self, flow: Flow, targets: Spans, what: Spans | None = None) -> tuple[Box, ...]:
        return self.ground.box(
            state=((NEW, NEW),),
            place=self.ground.places(flow.source.zone),
            target=targets,
            source=self.sources(flow.source),
            carried=self.carried(flow.carried) if what is None else what,
            second=seconds(flow.window),
        )

    def carried(self, many: Iterable[Transport]) -> Spans:
        """Protocols and ports; messages of the other family are none of this one's."""
        mine = [one for one in many if MESSAGES.get(one.protocol, self.ground.family) == self.ground.family]
        return joined(span for one in mine for span in carried(one))

    def sources(self, end: End) -> Spans:
        """Whom an end is when it begins; one known by names only can't."""
        ground = self.ground
        if end.networks:
            return ground.networks(end.networks)
        if end.named:
            return ()
        if end.zone == FIREWALL:
            return ground.addresses
        if end.zone == OUTSIDE:
            return less(ground.addresses, joined([*ground.inside, *self.set_aside]))
        return ground.behind(end.zone)

    def targets(self, flow: Flow) -> Spans:
        """Where an intent leads."""
        ground, end = self.ground, flow.target
        there = ground.toward(end.zone)
        if end.zone == OUTSIDE and not ground.places(OUTSIDE):
            return ()
        if end.named:
            moving = ground.moving_address(mover(flow))
            return both(there, joined([*ground.networks(end.networks), (moving, moving)]))
        if end.networks:
            return both(there, ground.networks(end.networks))
        if end.zone == OUTSIDE:
            return less(there, self.set_aside)
        return less(there, ground.link) if end.zone == FIREWALL else there

    # ------------------------------------------------------------------------------------------------- published

    def _fronts(self, accepting: Iterable[Flow]) -> Iterator[tuple[int, Spans]]:
        """In IPv4 the machines that are reached by the firewall's own address outside, and what leads to each."""
        for flow in accepting if self.ground.family == IPV4 else ():
            inner = inner_host(flow) if is_published(flow) else None
            if inner is not None:
                yield inner, self._leading(flow)

    def _leading(self, flow: Flow) -> Spans:
        """What of a published service leads to its machine: protocols whose target a firewall changes."""
        return both(self.carried(flow.carried), CHANGEABLE)

    def _led(self, flow: Flow, inner: int, what: Spans) -> tuple[Box, ...]:
        """What an intent says of packets from outside that are led to a machine; nothing where it is not about them."""
        if flow.source.zone != OUTSIDE or not both(self.targets(flow), ((inner, inner),)):
            return ()
        boxes = self._boxes(flow, self.ground.own, both(what, self.carried(flow.carried)))
        fronts = [(place, self.ground.own_at(place)) for place in numbers(self.ground.places(OUTSIDE))]
        return tuple(
            narrowed(box, place=((place, place),), target=own) for box in boxes for place, own in fronts if own
        )


CHANGEABLE = joined(span for one in ("tcp", "udp", "esp", "gre") for span in carried(Transport(one)))
"""Protocols whose target a firewall changes."""


def is_published(flow: Flow) -> bool:
    """Whether the outside begins to speak to something inside."""
    return flow.source.zone == OUTSIDE and flow.target.zone not in {OUTSIDE, FIREWALL}


def inner_host(flow: Flow) -> int | None:
    """The one IPv4 address that a published service leads to; nothing where there is none, or more."""
    found = of_networks(flow.target.networks, IPV4)
    return found[0][0] if size(found) == 1 else None


def mover(flow: Flow) -> str:
    """The party of which an intent's target has the names; its own slug where it is nobody's."""
    return flow.target.holder or flow.slug


def movers(flows: Sequence[Flow]) -> tuple[str, ...]:
    """Parties known by names, whose addresses move."""
    return tuple(sorted({mover(flow) for flow in flows if flow.target.named}))


def placeless(flows: Sequence[Flow], zones: Iterable[str]) -> tuple[Flow, ...]:
    """Intents of which an end is in a zone that the firewall has no port to: no packet of theirs ever comes."""
    known = {*zones, FIREWALL}
    return tuple(flow for flow in flows if not {flow.source.zone, flow.target.zone} <= known)
