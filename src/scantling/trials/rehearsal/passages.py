"""Every way through a firewall, one by one: from one place to another in one state, with the packets that a kernel passes there.

It knows nothing of the proof and shares no code with it: the bit cube, which judges planted errors by it, is to be a second opinion.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from ipaddress import IPv4Address, IPv4Network, IPv6Address, ip_network

from scantling.figures import FIREWALL, OUTSIDE, Host, Leg, Net, RuleSet

Form = tuple[tuple[int, int], ...]
"""Intervals in order, first and last number inside, that neither meet nor touch."""
ICMP, TCP, UDP, ICMPV6 = 1, 6, 17, 58
NUMBERS = {
    "icmp": ICMP, "igmp": 2, "tcp": TCP, "udp": UDP, "gre": 47, "esp": 50, "ah": 51, "icmpv6": ICMPV6, "sctp": 132,
}  # fmt: skip
"""Protocols by number (IANA's list of assigned Internet protocol numbers)."""
STEP, TYPE = 1 << 16, 1 << 8
"""Ports of a protocol, and codes of a message type: what is carried is protocol * 65536 + port, or + type * 256 + code."""
LAST_CARRIED, WEEK, DAY, MINUTE = (1 << 24) - 1, 604800, 86400, 60
WIDTH = {4: 32, 6: 128}
MESSAGE = {4: ICMP, 6: ICMPV6}
ECHO = {4: 8, 6: 128}
NEVER_ALONE = {4: (2, 33, 132, 136), 6: (0, 2, 33, 43, 44, 59, 60, 132, 136)}
"""Protocols of which a bare packet begins nothing: those whose whole header the kernel's connection tracker wants to see, calls
to groups, which stay on a link, and in IPv6 the headers that only lead to another (RFC 8200 section 4)."""
NOWHERE: tuple[Net, ...] = tuple(
    ip_network(one)
    for one in ("0.0.0.0/8", "127.0.0.0/8", "224.0.0.0/3", "::/96", "::ffff:0:0/96", "fe80::/10", "ff00::/8")
)
"""Addresses that no packet passes a router to or from (RFC 1812 section 5.3.7, RFC 4291 section 2.5)."""


@dataclass(frozen=True)
class Passage:
    """Packets of one family and one state that come in by one port and are meant for one place, as they are sent."""

    family: int
    origin: str
    """The port they come in by; empty: the firewall sends them itself."""
    zone: str
    """Zone behind that port, OUTSIDE or FIREWALL."""
    toward: str
    """Zone in which their target lies, OUTSIDE, or FIREWALL: the firewall itself."""
    state: str
    """new, established or invalid."""
    sources: Form
    targets: Form
    carried: Form
    seconds: Form

    @property
    def chain(self) -> str:
        """Where the kernel asks."""
        return chain_of(self.zone, self.toward)

    @property
    def box(self) -> tuple[Form, ...]:
        """All of it, as a cube has it."""
        return (self.targets, self.sources, self.carried, self.seconds)


def chain_of(zone: str, toward: str) -> str:
    """Where the kernel asks about what goes from one place to another."""
    return "output" if zone == FIREWALL else "input" if toward == FIREWALL else "forward"


def standing(
    rules: RuleSet, answers: Iterable[tuple[str, Sequence[Host]]], lent: Iterable[tuple[str, Host]]
) -> RuleSet:
    """The rules as they stand in an office that runs: sets hold what names answer, lines have the addresses that were lent."""
    known, given = dict(answers), list(lent)
    sets = tuple(
        (party, (*nets, *(ip_network(host) for name in names for host in known.get(name, ()))), names)
        for party, nets, names in rules.sets
    )
    legs = tuple(
        replace(leg, own=(*leg.own, *(host for slug, host in given if slug == leg.slug))) for leg in rules.legs
    )
    return replace(rules, sets=sets, legs=legs)


class Passages:
    """All passages of an office in one family.

    Left out is what no firewall decides on: traffic inside one zone, from outside to outside, of the firewall with itself. And
    what stays on a link, calls to all and neighbours: that is tried by use, when addresses are asked for. And what the kernel
    itself keeps out before any rule is asked, such as sources in IPv4 that are not behind their port (forwarding.conf). A reply
    comes from where it was asked for: who answers in another's name must guess the numbers of a connection, and nobody tries that.
    """

    def __init__(self, legs: Sequence[Leg], family: int, moment: int | None = None) -> None:
        """Ports with their addresses. `moment`: second of the week; without one, every hour counts."""
        self.legs, self.family = legs, family
        self.seconds: Form = ((0, WEEK - 1),) if moment is None else ((moment, moment),)
        self.everything: Form = ((0, (1 << WIDTH[family]) - 1),)

    @cached_property
    def all(self) -> tuple[Passage, ...]:
        """Every one that some packet takes."""
        return tuple(one for one in self._all() if one.sources and one.targets and one.carried)

    def _all(self) -> Iterator[Passage]:
        zones = dict.fromkeys(leg.zone for leg in self.legs)
        places = [("", FIREWALL), *((leg.interface, leg.zone) for leg in self.legs)]
        for (origin, zone), toward, state in product(places, (FIREWALL, *zones), ("new", "established", "invalid")):
            if zone != toward:
                yield Passage(
                    self.family, origin, zone, toward, state, self.sources(zone, toward, state),
                    self.targets(origin, zone, toward), self.carried(state), self.seconds,
                )  # fmt: skip

    # ------------------------------------------------------------------------------------------------- addresses

    @cached_property
    def own(self) -> Form:
        """The firewall's own addresses."""
        return hosts(host for leg in self.legs for host in leg.own if host.version == self.family)

    def front(self, origin: str) -> Form:
        """The firewall's own addresses at one port."""
        mine = (host for leg in self.legs if leg.interface == origin for host in leg.own)
        return hosts(host for host in mine if host.version == self.family)

    @cached_property
    def inside(self) -> Form:
        """Every address of the office's networks."""
        return networks((net for leg in self.legs for net in leg.networks), self.family)

    @cached_property
    def nowhere(self) -> Form:
        """Addresses that no packet passes a router to or from, and those that mean a whole network or whoever leads into it.

        In IPv4 its first and last; in IPv6 its first is any router's own (RFC 4291 section 2.6.1).
        """
        nets = [net for leg in self.legs for net in leg.networks if net.version == self.family]
        ends = [net.network_address for net in nets]
        ends += [net.broadcast_address for net in nets if isinstance(net, IPv4Network)]
        return united(networks(NOWHERE, self.family), hosts(ends))

    def behind(self, zone: str) -> Form:
        """What lies behind the ports of a zone."""
        return networks((net for leg in self.legs if leg.zone == zone for net in leg.networks), self.family)

    def lies_in(self, number: int) -> str:
        """Where an address lies."""
        at: Form = ((number, number),)
        if shared(self.own, at):
            return FIREWALL
        return next((leg.zone for leg in self.legs if shared(self.behind(leg.zone), at)), OUTSIDE)

    def targets(self, origin: str, zone: str, toward: str) -> Form:
        """Addresses of a place; of the firewall's own on a line only those of that line are reached from outside."""
        if toward == FIREWALL:
            mine = [leg for leg in self.legs if zone != OUTSIDE or leg.zone != OUTSIDE or leg.interface == origin]
            return hosts(host for leg in mine for host in leg.own if host.version == self.family)
        there = without(self.everything, self.inside) if toward == OUTSIDE else self.behind(toward)
        return without(there, united(self.own, self.nowhere))

    def sources(self, zone: str, toward: str, state: str) -> Form:
        """Who can send by a port so that the kernel asks the rules at all."""
        if zone == FIREWALL:
            mine = (host for leg in self.legs if leg.zone == toward for host in leg.own)
            return hosts(host for host in mine if host.version == self.family)
        guarded = self.family == 4 or state == "established"  # noqa: PLR2004 - IPv6 has no such guard
        there = self.everything
        if guarded:
            there = self.behind(zone) if zone != OUTSIDE else self.everything
        if state == "established" and zone == OUTSIDE:
            there = without(there, self.inside)
        return without(there, united(self.own, self.nowhere))

    # --------------------------------------------------------------------------------------------------- carried

    def carried(self, state: str) -> Form:
        """What a packet in a state can carry; port 0 is nobody's (RFC 6335 section 6).

        Of messages only an echo begins something here; what else does (net/netfilter/nf_conntrack_proto_icmp.c, from memory) is
        left out, and so are those of neighbours. Answers are to ports that whoever asked has taken (RFC 6335 section 6). Only a
        segment of TCP can be sent at will that belongs to nothing.
        """
        message = MESSAGE[self.family]
        messages = ((message * STEP, message * STEP + STEP - 1),)
        nothing = united(*(((number * STEP, number * STEP),) for number in (TCP, UDP)))
        if state == "invalid":
            return ((TCP * STEP + 1, TCP * STEP + STEP - 1),)
        if state == "established":
            return united(*(((number * STEP + 1024, number * STEP + STEP - 1),) for number in (TCP, UDP)))
        bare = united(*(((number * STEP, number * STEP + STEP - 1),) for number in NEVER_ALONE[self.family]))
        echo = message * STEP + ECHO[self.family] * TYPE
        others = without(
            without(((0, LAST_CARRIED),), united(nothing, bare)), united(messages, _strange(self.family))
        )
        return united(others, ((echo, echo),))


def _strange(family: int) -> Form:
    """Messages of the other family."""
    number = MESSAGE[10 - family]
    return ((number * STEP, number * STEP + STEP - 1),)


# ------------------------------------------------------------------------------------------------------- intervals


def hosts(many: Iterable[Host]) -> Form:
    """Single addresses."""
    return united(*(((int(host), int(host)),) for host in many))


def networks(many: Iterable[Net], family: int) -> Form:
    """All addresses of the networks of one family."""
    mine = (net for net in many if net.version == family)
    return united(*(((int(net.network_address), int(net.broadcast_address)),) for net in mine))


def united(*many: Form) -> Form:
    """What lies in any of them."""
    found: list[tuple[int, int]] = []
    for first, last in sorted(pair for form in many for pair in form):
        if found and found[-1][1] + 1 >= first:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return tuple(found)


def shared(one: Form, other: Form) -> Form:
    """What lies in both."""
    pairs = ((max(a, c), min(b, d)) for a, b in one for c, d in other if a <= d and c <= b)
    return tuple(sorted(pairs))


def without(one: Form, taken: Form) -> Form:
    """What lies in the first alone."""
    if not one:
        return ()
    gaps, start = [], 0
    for first, last in taken:
        gaps.append((start, first - 1))
        start = last + 1
    gaps.append((start, max(start, one[-1][1])))
    return shared(one, tuple((first, last) for first, last in gaps if first <= last))


def host(number: int, family: int) -> Host:
    """An address from its number."""
    return IPv4Address(number) if family == 4 else IPv6Address(number)  # noqa: PLR2004
