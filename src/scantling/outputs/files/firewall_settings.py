"""What a firewall needs beside its rules: that it passes packets on at all, and how it carries requests for addresses."""

from collections.abc import Iterator, Sequence

from scantling.figures import FIREWALL, OUTSIDE, Leg, RuleSet, Server, Zone, text
from scantling.handbook.set_aside import FAMILIES
from scantling.outputs.files import Written
from scantling.outputs.files.packet_filter_text import IPV4, IPV6, head, interface, one_line
from scantling.plan.make import Plan

FORWARDING_HEAD = (
    "settings of the kernel of a firewall that passes packets on",
    "The ports must bear their names already. Passing on comes last: load the rules first, so that nothing passes before.",
)
RELAY_HEAD = (
    "how the firewall carries requests for addresses between zones",
    "A device without an address calls to all on its link, and no such call leaves its zone. The firewall hears it and",
    "asks the address server in the device's stead (relay agent: RFC 2131, RFC 1542; for IPv6 RFC 8415).",
)
EVERYWHERE = (
    ("net.ipv4.conf.{port}.accept_redirects", "0", "no device tells the firewall another way (RFC 1812)"),
    ("net.ipv4.conf.{port}.send_redirects", "0", "nor does the firewall tell a device one past itself"),
    ("net.ipv4.conf.{port}.accept_source_route", "0", "no packet picks its own way (RFC 7126)"),
    ("net.ipv6.conf.{port}.accept_redirects", "0", "the same in IPv6"),
)


def write(plan: Plan) -> Iterator[Written]:
    """Settings and notes for the machine that filters."""
    office, as_of = text(plan.office.name), text(plan.office.as_of)
    for rules in plan.records(RuleSet):
        yield Written(
            path="firewall/forwarding.conf",
            content=_file([f"# {line}" for line in head(office, as_of, FORWARDING_HEAD)], settings(rules.legs)),
            what="Lets the firewall pass packets on, in both families, and believe no false source or way.",
            goes="On the firewall, as /etc/sysctl.d/60-office.conf.",
            load="sysctl --load /etc/sysctl.d/60-office.conf, when the rules stand.",
            undo="Take the file away and start the machine again.",
        )
    relay = next((one for one in plan.records(Server) if one.does == "relay"), None)
    if relay:
        home = next((one.zone for one in plan.records(Server) if one.does == "addresses"), "")
        names = {zone.slug: one_line(zone.name) for zone in plan.records(Zone)}
        legs = [leg for leg in plan.records(Leg) if leg.zone not in {OUTSIDE, home}]
        yield Written(
            path="firewall/relay.txt",
            content=_file(head(office, as_of, RELAY_HEAD), notes(legs, relay.upstream, names)),
            what="Which of the firewall's ports carry requests for addresses, and to which server.",
            goes="To whoever sets up the firewall."
            if relay.holder == FIREWALL
            else f"To whoever sets up {relay.holder}.",
            load="By hand, in the relay's own settings.",
            undo="Take the ports out of the relay's settings again.",
        )


def _file(opening: Sequence[str], lines: Iterator[str]) -> bytes:
    return "\n".join([*opening, "", *lines, ""]).encode()


def settings(legs: Sequence[Leg]) -> Iterator[str]:
    """One setting a line, as sysctl.d has them. Raises FilesError."""
    ports = ["default", *(interface(leg.interface) for leg in sorted(legs, key=lambda leg: leg.interface))]
    for key, value, why in EVERYWHERE:
        yield f"# {why}"
        for port in ("all", *ports):
            yield f"{key.format(port=port)} = {value}"
    yield "# a second guard against false sources (RFC 3704): the way back must lead by the same port; with several lines"
    yield "# to the outside, by any"
    yield "net.ipv4.conf.all.rp_filter = 0"
    lines = sum(leg.zone == OUTSIDE for leg in legs)
    for leg in sorted(legs, key=lambda leg: leg.interface):
        yield f"net.ipv4.conf.{leg.interface}.rp_filter = {2 if leg.zone == OUTSIDE and lines > 1 else 1}"
    yield "# in IPv6 the firewall follows no router but the provider's, and that only where the provider lends the address"
    for leg in sorted(legs, key=lambda leg: leg.interface):
        lent = leg.zone == OUTSIDE and not any(host.version == IPV6 for host in leg.own)
        yield f"net.ipv6.conf.{leg.interface}.accept_ra = {2 if lent else 0}"
    yield "# pass on what the rules let pass"
    yield "net.ipv4.ip_forward = 1"
    yield "net.ipv6.conf.all.forwarding = 1"


def notes(legs: Sequence[Leg], servers: Sequence[str], names: dict[str, str]) -> Iterator[str]:
    """The ports where the relay listens, by zone, with the address that tells the server which zone it is."""
    yield f"Address server: {', '.join(servers) or 'none is known'}."
    yield "The relay asks it from the firewall's own addresses; on the server's side it takes answers and no calls."
    yield ""
    yield "  port             zone             address that stands for the zone"
    for leg in sorted(legs, key=lambda leg: leg.interface):
        own = {family: [str(host) for host in leg.own if host.version == family] for family in FAMILIES}
        told = ", ".join([*own[IPV4], *own[IPV6]])
        yield f"  {interface(leg.interface):<16} {names.get(leg.zone, leg.zone):<16} {told}"
    yield ""
    yield "It hears calls at no other port: not outside, and not in the server's own zone, where the server hears them itself."
    yield "In IPv6 the router's announcements say that addresses are asked for; see router-advertisements.txt."
