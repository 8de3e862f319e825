"""Kea as the judge of its settings, inside a network of its own that has the ports that the settings name."""

import json
from collections.abc import Iterator, Mapping
from ipaddress import IPv4Address, IPv6Address
from pathlib import Path
from typing import Any

from kernel import alone
from referees.filtering import Moment, Packet, deciding
from scantling.figures import Leg, RuleSet, Verdict
from scantling.outputs.files import Written, leases, leases6
from scantling.plan.make import Plan

PORTS = (
    'n=0; for port in $PORTS; do ip link add "$port" type veth peer name "far-$n" || exit 9; n=$((n+1)); done; '
    'for host in $HOSTS; do ip address add "${host#*/}/64" dev "${host%%/*}" nodad || exit 9; done; '
    "exec $PROGRAM -t $FILE"
)
"""A port that is missing is an error to Kea; pairs of virtual ports work everywhere."""


def files(plan: Plan) -> dict[str, Written]:
    """What is written for the address server, by path."""
    return {one.path: one for one in (*leases.write(plan), *leases6.write(plan))}


def settings(one: Written | bytes) -> dict[str, Any]:
    """What stands in a file, below Dhcp4 or Dhcp6."""
    content = one if isinstance(one, bytes) else one.content
    (inside,) = json.loads(content).values()
    found: dict[str, Any] = inside
    return found


def refused(one: Written | bytes, tmp: Path, program: str = "", ports: list[str] | None = None) -> str:
    """What Kea says against a file; nothing when it takes it."""
    content = one if isinstance(one, bytes) else one.content
    path = tmp / "settings.conf"
    path.write_bytes(content)
    named = settings(content)["interfaces-config"]["interfaces"] if ports is None else ports
    told = alone(
        ["sh", "-c", PORTS],
        PORTS=" ".join(one for one in named if "/" not in one),
        HOSTS=" ".join(one for one in named if "/" in one),
        PROGRAM=program or (one.checked_by.split()[0] if isinstance(one, Written) else "kea-dhcp4"),
        FILE=str(path),
        KEA_PIDFILE_DIR=str(tmp),
        KEA_LOCKFILE_DIR=str(tmp),
        KEA_LOGGER_DESTINATION=str(tmp / "log"),
    )
    assert told.returncode != 9, told.stderr
    return (told.stderr + told.stdout) if told.returncode else ""


def judged(plan: Plan, tmp: Path) -> list[str]:
    """What Kea says against the files of a plan."""
    return [said for one in files(plan).values() if one.checked_by and (said := refused(one, tmp))]


def texts(thing: Any) -> Iterator[str]:
    """All words of plain data."""
    if isinstance(thing, str):
        yield thing
    elif isinstance(thing, Mapping):
        for word, below in thing.items():
            yield from (word, *texts(below))
    elif isinstance(thing, list):
        for below in thing:
            yield from texts(below)


def let_through(plan: Plan, zone: str, host: IPv4Address | IPv6Address, port: int) -> bool:
    """Whether the rules, read plainly, let somebody of a zone ask a server; who is in the zone asks past the firewall."""
    leg = next(one for one in plan.records(Leg) if one.slug == zone == one.zone)
    network = next(net for net in leg.networks if net.version == host.version)
    somebody = network[-2] if host.version == 4 else network[0xABCD]
    if host in network and host not in leg.own:
        return True
    rule = deciding(Packet(leg.interface, somebody, host, "udp", port), plan.records(RuleSet)[0], Moment(0, 0))
    return rule is not None and rule.verdict is Verdict.ACCEPT
