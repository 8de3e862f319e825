"""The settings of the address server for IPv4: Kea's, as JSON."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.figures import FIREWALL, Host, Name, Reservation
from scantling.handbook.addressing import asks_anybody_after, renewed_after
from scantling.handbook.naming import written_name
from scantling.outputs.files import Written
from scantling.outputs.files.leasing import (
    FOURTH, Served, head, holder, interfaces, label, longest, plainly, served,
)  # fmt: skip
from scantling.plan.make import Plan

WHAT = "Which IPv4 addresses are lent in each zone, for how long, and which are kept for whom."


def write(plan: Plan) -> Iterator[Written]:
    """One file, for the machine that gives addresses."""
    who = holder(plan)
    where = "the firewall" if who == FIREWALL else f"the machine {who}"
    yield Written(
        "addresses/kea-dhcp4.conf", as_json({"Dhcp4": settings(plan)}), WHAT, f"On {where}, as /etc/kea/kea-dhcp4.conf.",
        "kea-dhcp4 -t /etc/kea/kea-dhcp4.conf, then systemctl restart kea-dhcp4-server",
        "Put the last revision's file back and restart; addresses that were lent stay lent until their time is over.",
        "kea-dhcp4 -t {file}",
    )  # fmt: skip


def as_json(settings: Any) -> bytes:
    """Settings as a file."""
    return (json.dumps(settings, indent=2) + "\n").encode("ascii")


def settings(plan: Plan) -> dict[str, Any]:
    """All of it, as plain data."""
    zones, names = served(plan), plan.records(Name)
    return {
        "comment": head(plan, WHAT),
        **common("kea-dhcp4", "4", zones),
        "authoritative": True,
        **times(longest(zones)),
        "subnet4": [subnet(zone, names) for zone in zones],
    }


def common(program: str, version: str, zones: Sequence[Served]) -> dict[str, Any]:
    """What both families' servers are told alike."""
    return {
        "interfaces-config": {"interfaces": interfaces(zones)},
        "control-socket": {"socket-type": "unix", "socket-name": f"/run/kea/kea{version}-ctrl-socket"},
        "lease-database": {
            "type": "memfile", "persist": True, "name": f"/var/lib/kea/kea-leases{version}.csv", "lfc-interval": 3600,
        },
        "host-reservation-identifiers": ["hw-address"],
        "reservations-in-subnet": True,
        "reservations-out-of-pool": True,
        "loggers": [{"name": program, "output_options": [{"output": "syslog"}], "severity": "INFO"}],
    }  # fmt: skip


def times(lease: int) -> dict[str, int]:
    """How long an address is lent, and when its holder asks again (RFC 2131 section 4.4.5), seconds."""
    if not lease:
        return {}
    return {
        "valid-lifetime": lease, "renew-timer": int(renewed_after(lease)), "rebind-timer": int(asks_anybody_after(lease)),
    }  # fmt: skip


def subnet(zone: Served, names: Sequence[Name]) -> dict[str, Any]:
    """One zone."""
    kept = [one for one in zone.reservations if one.address.version == FOURTH]
    return {
        "id": zone.number,
        "comment": plainly(zone.name),
        "subnet": str(zone.subnet),
        **reached(zone, zone.door(FOURTH)),
        **times(zone.seconds()),
        "pools": [{"pool": f"{pool.first} - {pool.last}"} for pool in zone.pools],
        "option-data": [*options(zone)],
        "reservations": [
            {**known(one, names), "ip-address": str(one.address)} for one in sorted(kept, key=lambda one: one.address)
        ],
    }


def reached(zone: Served, door: Host) -> dict[str, Any]:
    """How its devices' calls come to the server: on a port of its own, or passed on by the firewall."""
    return {"interface": zone.interface} if zone.direct else {"relay": {"ip-addresses": [str(door)]}}


def known(one: Reservation, names: Sequence[Name]) -> dict[str, Any]:
    """Whom an address is kept for."""
    name = label(names, one.address)
    return {
        "comment": plainly(one.holder), "hw-address": one.hardware_address, **({"hostname": name} if name else {}),
    }  # fmt: skip


def options(zone: Served) -> Iterator[dict[str, Any]]:
    """What devices are told with their address (RFC 2132 options 3, 6, 42, 15; RFC 3397)."""
    yield {"name": "routers", "data": str(zone.door(FOURTH))}
    yield from listed("domain-name-servers", zone.asked("resolvers", FOURTH))
    yield from listed("ntp-servers", zone.asked("time_sources", FOURTH))
    if zone.asking is not None and zone.asking.domain:
        yield {"name": "domain-name", "data": written_name(zone.asking.domain)}
        yield {"name": "domain-search", "data": written_name(zone.asking.domain)}


def listed(name: str, hosts: Sequence[Host]) -> Iterator[dict[str, Any]]:
    """An option of addresses, where there are any."""
    if hosts:
        yield {"name": name, "data": ", ".join(map(str, hosts))}
