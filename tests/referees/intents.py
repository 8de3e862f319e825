"""What is meant, judged plainly: one packet against every intent in turn; nothing here knows of rules or their order."""

from collections.abc import Iterable, Sequence
from ipaddress import ip_network

from referees.filtering import LINK_ONLY, Moment, Packet, during, way_out, within, zone_of
from scantling.figures.traffic import FIREWALL, OUTSIDE, End, Flow, Host, Leg, Net, Transport, Verdict

SET_ASIDE = tuple(
    ip_network(text)
    for text in (
        "0.0.0.0/8", "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.0.0.0/24",
        "192.88.99.0/24", "192.168.0.0/16", "198.18.0.0/15", "224.0.0.0/4", "240.0.0.0/4",
        "::/128", "::1/128", "::ffff:0:0/96", "100::/64", "2001::/23", "2002::/16", "fc00::/7", "fe80::/10", "ff00::/8",
    )
)  # fmt: skip
"""RFC 6890 sections 2.2.2 and 2.2.3, with multicast (RFC 5771, RFC 4291), less the blocks for examples; written again here."""
BEFORE_AN_ADDRESS = tuple(ip_network(text) for text in ("0.0.0.0/32", "::/128", "fe80::/10"))
IPV4 = 4
Sets = dict[str, tuple[Net, ...]]


def meant(packet: Packet, moment: Moment, flows: Sequence[Flow], legs: Sequence[Leg], sets: Sets) -> bool:
    """Whether the packet is to pass: replies always, what begins only where some intent allows and none forbids it."""
    if spoofed(packet, legs) or packet.state == "invalid":
        return False
    if packet.state == "established":
        return True
    said = {flow.verdict for flow in flows if speaks_of(flow, packet, moment, legs, sets)}
    return said == {Verdict.ACCEPT}


def spoofed(packet: Packet, legs: Sequence[Leg]) -> bool:
    """A source that can't be behind the port that it came in by."""
    if packet.origin == FIREWALL:
        return False
    zone = zone_of(packet.origin, legs)
    if zone != OUTSIDE:
        behind = [network for leg in legs if leg.zone == zone for network in leg.networks]
        return not within(packet.source, (*behind, *BEFORE_AN_ADDRESS))
    if packet.source.version != IPV4 and within(packet.source, BEFORE_AN_ADDRESS):
        return False
    return within(packet.source, (*inside(legs), *SET_ASIDE))


def inside(legs: Sequence[Leg]) -> tuple[Net, ...]:
    """All networks of the office."""
    return tuple(network for leg in legs for network in leg.networks)


def speaks_of(flow: Flow, packet: Packet, moment: Moment, legs: Sequence[Leg], sets: Sets) -> bool:
    """Whether an intent is about the packet."""
    published = (
        packet.source.version == IPV4 and flow.source.zone == OUTSIDE and flow.target.zone not in {OUTSIDE, FIREWALL}
    )
    return (
        from_there(flow.source, packet, legs)
        and to_there(flow.target, packet.target, legs, sets)
        and any(carries(one, packet) for one in flow.carried)
        and (flow.window is None or during(flow.window, moment))
        and (not published or packet.translated or flow.verdict is not Verdict.ACCEPT)
    )


def from_there(end: End, packet: Packet, legs: Sequence[Leg]) -> bool:
    """Whether the packet comes from an end."""
    zone = FIREWALL if packet.origin == FIREWALL else zone_of(packet.origin, legs)
    if zone != end.zone:
        return False
    if end.networks:
        return within(packet.source, end.networks)
    if end.named:
        return False
    if zone == FIREWALL:
        return True
    if zone == OUTSIDE:
        return not within(packet.source, (*inside(legs), *SET_ASIDE))
    return within(packet.source, [network for leg in legs if leg.zone == zone for network in leg.networks])


def to_there(end: End, target: Host, legs: Sequence[Leg], sets: Sets) -> bool:
    """Whether the packet goes to an end."""
    if way_out(target, legs) != end.zone:
        return False
    if end.named:
        return within(target, (*end.networks, *sets.get(end.holder, ())))
    if end.networks:
        return within(target, end.networks)
    if end.zone == OUTSIDE:
        return not within(target, SET_ASIDE)
    return end.zone != FIREWALL or not within(target, LINK_ONLY)


def carries(one: Transport, packet: Packet) -> bool:
    """Whether protocol and port are those of the intent; messages of one family are none of the other's."""
    return one.protocol == "any" or (one.protocol == packet.protocol and one.first <= packet.port <= one.last)


def filled(flows: Iterable[Flow]) -> Sets:
    """A made-up address or two for every set of names, outside the office."""
    holders = sorted({flow.target.holder for flow in flows if flow.target.named})
    return {
        holder: (ip_network(f"198.51.100.{place}/32"), ip_network(f"2001:db8:beef::{place:x}/128"))
        for place, holder in enumerate(holders, 10)
    }  # fmt: skip
