"""The settings of the address server for IPv6: Kea's, as JSON, and what the firewall tells devices beside it."""

from collections.abc import Iterator, Sequence
from ipaddress import IPv6Network
from typing import Any

from scantling.figures import FIREWALL, Host, Name, Server
from scantling.handbook.addressing6 import asks_again6, asks_anybody6
from scantling.handbook.naming import written_name
from scantling.outputs.files import Written
from scantling.outputs.files.leases import as_json, common, known, listed, reached
from scantling.outputs.files.leasing import SIXTH, Served, head, holder, interfaces, longest, plainly, served
from scantling.plan.make import Plan

WHAT = (
    "What devices are told over IPv6, and which addresses are given where things are wired; visitors make their own."
)
TELLS = "What the firewall tells every zone about IPv6."
PASSES = "How the firewall passes calls for addresses on to the machine that gives them."
LENT_AT, LENT_LENGTH = 1 << 32, 96
"""Where lent addresses lie in a zone's network: far above those that machines bear."""


def write(plan: Plan) -> Iterator[Written]:
    """The server's file, and notes for whatever firewall there is."""
    who, zones = holder(plan), served(plan)
    where = "the firewall" if who == FIREWALL else f"the machine {who}"
    yield Written(
        "addresses/kea-dhcp6.conf", as_json({"Dhcp6": settings(plan, zones)}), WHAT,
        f"On {where}, as /etc/kea/kea-dhcp6.conf.",
        "kea-dhcp6 -t /etc/kea/kea-dhcp6.conf, then systemctl restart kea-dhcp6-server",
        "Put the last revision's file back and restart.", "kea-dhcp6 -t {file}",
    )  # fmt: skip
    by_hand = "By hand, in the firewall's own settings."
    yield Written(
        "addresses/router-advertisements.txt", lines_of(advertised(plan, zones)), TELLS, "To whoever sets up the firewall.", by_hand,
        "Set the router lifetime of every zone to 0: devices forget the firewall, and IPv4 goes on.",
    )  # fmt: skip
    if who != FIREWALL:
        yield Written(
            "addresses/relay.txt", lines_of(passed_on(plan, zones)), PASSES, "To whoever sets up the firewall.", by_hand,
            "Switch the relay off: only zones in which the machine has a port of its own get addresses then.",
        )  # fmt: skip


def lines_of(lines: Iterator[str]) -> bytes:
    """A note as a file: each line one line, plain letters only."""
    return "".join(plainly(line) + "\n" for line in lines).encode("ascii")


def settings(plan: Plan, zones: Sequence[Served]) -> dict[str, Any]:
    """All of the server's file, as plain data."""
    names = plan.records(Name)
    return {
        "comment": head(plan, WHAT),
        **common("kea-dhcp6", "6", zones),
        "interfaces-config": {"interfaces": [*interfaces(zones), *unicast(plan, zones)]},
        "mac-sources": ["client-link-addr-option", "duid", "ipv6-link-local"],
        **times6(longest(zones)),
        "subnet6": [subnet6(zone, names) for zone in zones],
    }


def unicast(plan: Plan, zones: Sequence[Served]) -> list[str]:
    """Where the server also hears what is sent to its own address, as the firewall's relay does; at a port alone it hears only calls.

    Kea's manual, "Unicast Traffic Support" (from memory); without it Kea 2.2 answered no relay.
    """
    if holder(plan) == FIREWALL or all(zone.direct for zone in zones):
        return []
    own = [host for one in plan.records(Server) if one.does == "addresses" for host in one.addresses]
    return [f"{zone.interface}/{host}" for zone in zones if zone.direct for host in own if host in zone.prefix]


def times6(lease: int) -> dict[str, int]:
    """How long an address is lent, and when its holder asks again (RFC 8415 section 21.4), seconds."""
    if not lease:
        return {}
    return {
        "preferred-lifetime": lease, "valid-lifetime": lease, "renew-timer": int(asks_again6(lease)),
        "rebind-timer": int(asks_anybody6(lease)),
    }  # fmt: skip


def subnet6(zone: Served, names: Sequence[Name]) -> dict[str, Any]:
    """One zone: addresses where it is managed, else only what devices are told beside those that they make."""
    kept = [one for one in zone.reservations if one.address.version == SIXTH]
    how = (
        "devices make their own addresses and may be given one"
        if zone.managed
        else "devices make their own addresses"
    )
    return {
        "id": zone.number,
        "comment": plainly(f"{zone.name}: {how}"),
        "subnet": str(zone.prefix),
        **reached(zone, zone.door(SIXTH)),
        **times6(zone.seconds()),
        "pools": [{"pool": str(lent(zone.prefix))}] if zone.managed else [],
        "option-data": [*options6(zone)],
        "reservations": [
            {**known(one, names), "ip-addresses": [str(one.address)]}
            for one in sorted(kept, key=lambda one: one.address)
        ],
    }


def lent(network: IPv6Network) -> IPv6Network:
    """The part of a zone's network from which addresses are given."""
    return IPv6Network((int(network.network_address) + LENT_AT, LENT_LENGTH))


def options6(zone: Served) -> Iterator[dict[str, Any]]:
    """What devices are told (RFC 3646, RFC 4075)."""
    yield from listed("dns-servers", zone.asked("resolvers", SIXTH))
    yield from listed("sntp-servers", zone.asked("time_sources", SIXTH))
    if zone.asking is not None and zone.asking.domain:
        yield {"name": "domain-search", "data": written_name(zone.asking.domain)}


def advertised(plan: Plan, zones: Sequence[Served]) -> Iterator[str]:
    """The note on router advertisements (RFC 4861, RFC 4862, RFC 8106)."""
    yield head(plan, TELLS)
    yield ""
    yield "On: the prefix lies on this network. Own: devices make an address from it. Given: they also ask for one. Other: they ask"
    yield "for names and time. Devices that make up an address for each visit (RFC 8981) do so in every zone."
    for zone in zones:
        yield ""
        yield f"{zone.interface} ({zone.name})"
        yield f"  prefix               {zone.prefix}"
        yield "  on-link (L)          yes"
        yield "  own address (A)      yes"
        yield f"  given address (M)    {'yes' if zone.managed else 'no'}"
        yield "  other settings (O)   yes"
        yield f"  resolvers (RDNSS)    {_named(zone.asked('resolvers', SIXTH))}"
        yield f"  search list (DNSSL)  {zone.asking.domain if zone.asking is not None and zone.asking.domain else 'none'}"


def passed_on(plan: Plan, zones: Sequence[Served]) -> Iterator[str]:
    """The note on passing calls on (RFC 2131, RFC 8415 section 19)."""
    who = holder(plan)
    where = [a for one in plan.records(Server) if one.does == "addresses" for a in one.addresses]
    yield head(plan, PASSES)
    yield ""
    yield f"The machine {who} gives addresses; it is reached at {_named(where)}."
    yield "Pass calls on from these ports, each with the firewall's own address there as the relay's; over IPv6 with the device's"
    yield "hardware address (RFC 6939), so that what is kept for a device finds it."
    for zone in zones:
        if not zone.direct:
            yield f"  {zone.interface:<12}{zone.door(4)!s:<18}{zone.door(6)!s:<40}{zone.name}"


def _named(hosts: Sequence[Host]) -> str:
    return ", ".join(map(str, hosts)) or "none"
