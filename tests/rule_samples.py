"""An invented office's rules by hand: five zones, both families, parties, hours, a service that is published."""

from ipaddress import ip_address, ip_network

from scantling.figures.traffic import (
    FIREWALL, OUTSIDE, FilterRule, Host, Leg, Net, RuleSet, Translation, Transport, Verdict, Window,
)  # fmt: skip

NOWHERE = "0.0.0.0"  # noqa: S104 -- nothing is bound: who has no address yet speaks from here (RFC 1122)
A, D = Verdict.ACCEPT, Verdict.DROP
ZONES = {"staff": 10, "servers": 20, "guests": 30, "tills": 40, "printers": 50}
OFFICE_HOURS = Window(days=(0, 1, 2, 3, 4), first=8 * 60, last=18 * 60 - 1)


def nets(*texts: str) -> tuple[Net, ...]:
    """Networks of both families from their texts."""
    return tuple(ip_network(text) for text in texts)


def hosts(*texts: str) -> tuple[Host, ...]:
    """Addresses of both families from their texts."""
    return tuple(ip_address(text) for text in texts)


def leg(zone: str) -> Leg:
    """The firewall's port into a zone of the sample: 10.20.N.0/24 and 2001:db8:20:N::/64."""
    number = ZONES[zone]
    return Leg(
        zone,
        zone,
        f"zone-{number}",
        networks=nets(f"10.20.{number}.0/24", f"2001:db8:20:{number}::/64"),
        own=hosts(f"10.20.{number}.1", f"2001:db8:20:{number}::1"),
    )


LEGS = (
    *(leg(zone) for zone in ZONES),
    Leg("fibre", OUTSIDE, "outside-1", own=hosts("198.51.100.2")),
    Leg("mobile", OUTSIDE, "outside-2"),
)
NEVER_OUTSIDE = nets(
    "10.0.0.0/8", "100.64.0.0/10", "127.0.0.0/8", "169.254.0.0/16", "172.16.0.0/12", "192.168.0.0/16", "224.0.0.0/3",
    "fc00::/7", "fe80::/10", "ff00::/8", "::1/128",
)  # fmt: skip
BEHIND = {one.zone: one.networks for one in LEGS if one.zone != OUTSIDE}


def spoof_drops() -> list[FilterRule]:
    """What comes in by a port it can't have come from."""
    rules = [
        FilterRule(
            f"r-{number:03}", D, f"{zone}: not from here", zone_in=zone, early=True, family=family,
            not_sources=nets(*((NOWHERE,) if family == 4 else ("::", "fe80::/10"))) + BEHIND[zone],
        )
        for number, (zone, family) in enumerate([(zone, family) for zone in ZONES for family in (4, 6)], 1)
    ]  # fmt: skip
    inside = tuple(network for networks in BEHIND.values() for network in networks)
    return [
        *rules,
        FilterRule("r-011", D, "outside: our own", zone_in=OUTSIDE, early=True, family=4, sources=(*inside, *NEVER_OUTSIDE)),
        FilterRule("r-012", D, "outside: our own", zone_in=OUTSIDE, early=True, family=6, sources=inside),
    ]  # fmt: skip


FILES_SERVER = nets("10.20.20.5", "2001:db8:20:20::5")
STAFF, GUESTS = BEHIND["staff"], BEHIND["guests"]
RULES = (
    *spoof_drops(),
    FilterRule("r-020", A, "Replies", state="established"),
    FilterRule("r-021", D, "Belongs to nothing", state="invalid"),
    FilterRule("r-030", D, "Guests to nothing inside", flow="guests-inside", zone_in="guests", zone_out="servers"),
    FilterRule("r-040", A, "Files", flow="files", family=4, zone_in="staff", zone_out="servers", sources=STAFF[:1],
               targets=FILES_SERVER[:1], protocol="tcp", ports=((445, 445),), state="new"),
    FilterRule("r-041", A, "Files", flow="files", family=6, zone_in="staff", zone_out="servers", sources=STAFF[1:],
               targets=FILES_SERVER[1:], protocol="tcp", ports=((445, 445),), state="new"),
    FilterRule("r-050", A, "Printing in office hours", flow="printing", family=4, zone_in="staff", zone_out="printers",
               sources=STAFF[:1], targets=nets("10.20.50.16/30", "10.20.50.20"), protocol="tcp",
               ports=((631, 631), (9100, 9102)), state="new", window=OFFICE_HOURS),
    FilterRule("r-060", A, "Card payments", flow="payments", zone_in="tills", zone_out=OUTSIDE, family=4,
               sources=BEHIND["tills"][:1], target_set="processor", protocol="tcp", ports=((443, 443),), state="new"),
    FilterRule("r-061", A, "Card payments", flow="payments", zone_in="tills", zone_out=OUTSIDE, family=6,
               sources=BEHIND["tills"][1:], target_set="processor", protocol="tcp", ports=((443, 443),), state="new"),
    FilterRule("r-062", A, "Calls", flow="calls", zone_in="staff", zone_out=OUTSIDE, family=4, sources=STAFF[:1],
               target_set="exchange", protocol="udp", ports=((5060, 5061), (10000, 20000)), state="new"),
    FilterRule("r-070", A, "Web site in our house", flow="site", zone_in=OUTSIDE, zone_out="servers", family=4,
               targets=nets("10.20.20.8"), protocol="tcp", ports=((8443, 8443),), state="new", translated=True),
    FilterRule("r-071", A, "Web site in our house", flow="site", zone_in=OUTSIDE, zone_out="servers", family=6,
               targets=nets("2001:db8:20:20::8"), protocol="tcp", ports=((443, 443),), state="new"),
    FilterRule("r-080", A, "Addresses are asked for", flow="lending", zone_in="staff", zone_out=FIREWALL, family=4,
               sources=(*nets(NOWHERE), *STAFF[:1]), targets=nets("255.255.255.255", "10.20.10.1"), protocol="udp",
               ports=((67, 67),), state="new"),
    FilterRule("r-081", A, "Neighbours", flow="neighbours", zone_out=FIREWALL, protocol="icmpv6", family=6,
               ports=((133, 133), (135, 136)), state="new"),
    FilterRule("r-082", A, "Echo", flow="echo", zone_in="staff", zone_out=FIREWALL, protocol="icmp", family=4,
               sources=STAFF[:1], ports=((8, 8),), state="new"),
    FilterRule("r-083", A, "Neighbours", flow="neighbours", zone_in=FIREWALL, protocol="icmpv6", family=6,
               ports=((133, 136),), state="new"),
    FilterRule("r-090", A, "The firewall asks for names", flow="lookups", zone_in=FIREWALL, zone_out="servers",
               protocol="udp", ports=((53, 53),), family=4, targets=FILES_SERVER[:1], state="new"),
    FilterRule("r-100", D, "Never outside", zone_out=OUTSIDE, family=4,
               targets=tuple(n for n in NEVER_OUTSIDE if n.version == 4)),
    FilterRule("r-101", D, "Never outside", zone_out=OUTSIDE, family=6,
               targets=tuple(n for n in NEVER_OUTSIDE if n.version == 6)),
    FilterRule("r-110", A, "Guests to the web", flow="web", zone_in="guests", zone_out=OUTSIDE, family=4,
               sources=GUESTS[:1], protocol="tcp", ports=((80, 80), (443, 443)), state="new"),
    FilterRule("r-111", A, "Guests to the web", flow="web", zone_in="guests", zone_out=OUTSIDE, family=6,
               sources=GUESTS[1:], protocol="tcp", ports=((80, 80), (443, 443)), state="new"),
    FilterRule("r-999", D, "Whatever else", log=True),
)  # fmt: skip


def office() -> RuleSet:
    """The sample office's rules."""
    return RuleSet(
        "office",
        rules=RULES,
        legs=LEGS,
        translations=(
            Translation("site", "target", OUTSIDE, Transport("tcp", 443, 443), hosts("10.20.20.8")[0], 8443),
            Translation("masked", "source", OUTSIDE),
        ),
        sets=(
            ("processor", (), ("pay.processor.example", "api.processor.example")),
            ("exchange", nets("203.0.113.0/26", "203.0.113.32/27", "2001:db8:ffff::/48"), ()),
        ),
        never_outside=NEVER_OUTSIDE,
    )
