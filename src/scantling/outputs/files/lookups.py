"""Settings of the resolvers (Unbound): who may ask, copies of the office's names, and what some zones are not told."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from ipaddress import ip_network

from scantling.figures import (
    FIREWALL,
    OUTSIDE,
    Asking,
    Flow,
    Host,
    NameZone,
    Net,
    OutsideName,
    Prefix,
    Server,
    Subnet,
    Verdict,
)
from scantling.outputs.files import Written
from scantling.outputs.files.name_server import holds_copies, listens
from scantling.outputs.files.name_zones import file_of, head, safe
from scantling.plan.make import Plan

WHAT = "Who may look names up here, what is known of the office's own names, and where all else is asked."
PRIVATE = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
"""RFC 1918, RFC 3927, RFC 4193, RFC 4291: addresses that no name outside may answer with (rebinding)."""
CANARIES = ("use-application-dns.net",)
"""Programs ask for this before they look names up elsewhere; who is told that it is not there stays with the office's resolver."""
COPIES = "/var/lib/unbound"
ANCHORS = (
    ". IN DS 20326 8 2 E06D44B80B8F1D39A95C0B0D7C65D08458E880409BBC683457104237C7F8EC8D",
    ". IN DS 38696 8 2 683D2D0ACB8C9B712A1948B27F741219298D0A450D612C483AF444A4C0FB2B16",
)
"""The root's two keys, of 2017 and 2024, as IANA publishes them (root-anchors.xml); the one takes over from the other in 2026."""
STRICT = (
    "qname-minimisation: yes", "hide-identity: yes", "hide-version: yes", "harden-glue: yes", "harden-dnssec-stripped: yes",
    'module-config: "validator iterator"', "harden-below-nxdomain: yes", "aggressive-nsec: yes", "prefetch: yes", "ip-freebind: yes",
)  # fmt: skip


@dataclass(frozen=True)
class Client:
    """Who may ask: networks, whether they are told the office's names, and whether they may look names up elsewhere."""

    name: str
    networks: tuple[Net, ...]
    known: bool
    blocked: bool

    @property
    def view(self) -> str:
        """What it is told differently from others; empty where nothing is."""
        words = (["without-domain"] if not self.known else []) + (["stays-here"] if self.blocked else [])
        return "-".join(words)


def write(plan: Plan) -> Iterator[Written]:
    """A file for each machine that looks names up."""
    for resolver in plan.records(Server):
        if resolver.does != "lookups":
            continue
        where = "firewall" if resolver.holder == FIREWALL else f"machine {safe(resolver.holder)}"
        lines = [f"# {one}" for one in head(plan, WHAT)]
        lines += [*serving(resolver, clients(plan, resolver)), *telling(plan, resolver)]
        lines += [*knowing(plan, resolver), *views(plan, resolver)]
        yield Written(
            f"lookups/{safe(resolver.holder)}/unbound.conf", ("\n".join(lines) + "\n").encode("ascii"), WHAT,
            f"On the {where}, as /etc/unbound/unbound.conf.", "unbound-checkconf && systemctl restart unbound",
            "Put the file of the last revision back and run systemctl restart unbound.", "unbound-checkconf {file}",
        )  # fmt: skip


def clients(plan: Plan, resolver: Server) -> list[Client]:
    """Every zone that asks this resolver, and the firewall where it asks another machine."""
    nets: list[tuple[str, Net]] = [(one.slug, one.network) for one in plan.records(Subnet)]
    nets += [(one.slug, one.network) for one in plan.records(Prefix)]
    found = [
        Client(one.slug, tuple(net for slug, net in nets if slug == one.slug), bool(one.domain), blocked(plan, one.slug))
        for one in plan.records(Asking) if set(one.resolvers) & set(resolver.addresses)
    ]  # fmt: skip
    doors = firewall_towards(plan, resolver)
    return [*found, Client(FIREWALL, doors, known=False, blocked=False)] if doors else found


def firewall_towards(plan: Plan, resolver: Server) -> tuple[Net, ...]:
    """The firewall's own addresses in the zone of a resolver that it asks."""
    asks = any(
        one.does == "lookups" and str(a) in one.upstream for one in plan.records(Server) for a in resolver.addresses
    )
    if not asks:
        return ()
    gates: list[tuple[str, Host]] = [(one.slug, one.gateway) for one in plan.records(Subnet)]
    gates += [(one.slug, one.gateway) for one in plan.records(Prefix)]
    return tuple(ip_network(gate) for slug, gate in gates if slug == resolver.zone)


def blocked(plan: Plan, zone: str) -> bool:
    """Whether an intent forbids a zone to look names up elsewhere."""
    return any(
        flow.verdict is Verdict.DROP and flow.group == "lookups" and flow.source.zone == zone and flow.target.zone == OUTSIDE
        for flow in plan.records(Flow)
    )  # fmt: skip


def serving(resolver: Server, asking: Sequence[Client]) -> list[str]:
    """The addresses it listens on, and who may ask; all others are refused."""
    lines = ["server:", *(f"    interface: {address}" for address in resolver.addresses)]
    lines += ["    interface: 127.0.0.1", "    port: 53", *(f"    {one}" for one in STRICT)]
    lines += [
        "    access-control: 0.0.0.0/0 refuse",
        "    access-control: ::/0 refuse",
        "    access-control: 127.0.0.0/8 allow",
    ]
    for client in asking:
        lines.append(f"    # {safe(client.name)}")
        for network in client.networks:
            lines.append(f"    access-control: {network} allow")
            lines += [f'    access-control-view: {network} "{client.view}"'] if client.view else []
    return lines


def telling(plan: Plan, resolver: Server) -> Iterator[str]:
    """The program that holds the names may say that a zone has changed."""
    primary = next(one for one in plan.records(Server) if one.does == "names")
    if holds_copies(plan, resolver) and primary.holder != FIREWALL:
        yield "    # the machine that holds the names"
        yield from (f"    access-control: {ip_network(address)} allow" for address in primary.addresses)


def knowing(plan: Plan, resolver: Server) -> list[str]:
    """What it knows of the office's names, what no name outside may answer with, and whom it asks for all else."""
    zones = plan.records(NameZone) if holds_copies(plan, resolver) else ()
    lines = [
        "    # Answers are checked by their signatures (RFC 4035), but for the office's own names, which nobody outside signs."
    ]
    lines += [f'    trust-anchor: "{anchor}"' for anchor in ANCHORS]
    lines += [
        "    # Signatures have dates: the clocks must be found before the clock is right, so these names are taken without."
    ]
    lines += [f'    domain-insecure: "{name}"' for name in clock_names(plan)]
    lines += [f"    private-address: {network}" for network in PRIVATE]
    for zone in zones:
        lines.append(f'    domain-insecure: "{safe(zone.origin)}"')
        kind = (
            f'local-zone: "{safe(zone.origin)}." transparent'
            if zone.reverse
            else f'private-domain: "{safe(zone.origin)}"'
        )
        lines.append(f"    {kind}")
    primary = next(one for one in plan.records(Server) if one.does == "names")
    addresses, port = listens(primary)
    if zones and primary.holder == FIREWALL:
        lines.append("    do-not-query-localhost: no")
    for zone in zones:
        lines += ["auth-zone:", f'    name: "{safe(zone.origin)}"', f'    zonefile: "{COPIES}/{file_of(zone)}"']
        for address in addresses:
            lines += [f"    primary: {address}@{port}", f"    allow-notify: {address}"]
        lines += ["    for-downstream: no", "    for-upstream: yes", "    fallback-enabled: no"]
        if resolver.upstream:
            lines += holed(zone, addresses, port)
    if resolver.upstream:
        lines += ["forward-zone:", '    name: "."', *(f"    forward-addr: {safe(one)}" for one in resolver.upstream)]
    return lines


def clock_names(plan: Plan) -> list[str]:
    """The names of the time sources outside."""
    sources = (source for one in plan.records(Server) if one.does == "time" for source in one.upstream)
    return list(dict.fromkeys(safe(source) for source in sources if not source.replace(".", "").isdigit()))


def holed(zone: NameZone, addresses: Sequence[Host], port: int) -> list[str]:
    """Keeps a zone of ours from what is forwarded: its copy is asked first, and forwarding alone would pass it by."""
    return [
        "stub-zone:",
        f'    name: "{safe(zone.origin)}"',
        *(f"    stub-addr: {address}@{port}" for address in addresses),
    ]


def views(plan: Plan, resolver: Server) -> list[str]:
    """What some zones are told differently: none of the office's names, and that they stay with this resolver."""
    lines: list[str] = []
    for name in sorted({one.view for one in clients(plan, resolver)} - {""}):
        lines += ["view:", f'    name: "{name}"', "    view-first: yes"]
        if "without-domain" in name:
            lines += [line for zone in plan.records(NameZone) for line in hidden(plan, zone)]
        if "stays-here" in name:
            lines += [f'    local-zone: "{one}." always_nxdomain' for one in CANARIES]
    return lines


def hidden(plan: Plan, zone: NameZone) -> Iterator[str]:
    """A zone as it is for who may not know it: not there, or with the address that it has outside."""
    origin = safe(zone.origin)
    answers = [answer for one in plan.records(OutsideName) if one.name == zone.origin for answer in one.answers]
    outside = [answer.partition(" ")[2] for answer in answers if answer.startswith("A ")]
    yield f'    local-zone: "{origin}." {"static" if outside else "always_nxdomain"}'
    for address in outside:
        yield f'    local-data: "{origin}. IN A {safe(address)}"'
