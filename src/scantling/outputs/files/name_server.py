"""Settings of the program that holds the office's names (NSD): one zone after another, transferred to the resolver alone."""

from collections.abc import Iterator, Sequence
from ipaddress import ip_address

from scantling.figures import FIREWALL, Host, NameZone, Server
from scantling.outputs.files import Written
from scantling.outputs.files.name_zones import file_of, head, safe
from scantling.plan.make import Plan

WHAT = "Which zones of names the machine holds, and who may have a copy of them."
PORT = 53


ON_FIREWALL = (ip_address("127.0.0.1"), 5335)
"""Where it listens on the firewall, whose resolver has the usual port to itself and asks nobody else."""
MOST_ASKERS = 10_000
"""So many are told apart where answers are rationed: only the office's resolvers ask. The server's own million takes 30 MB."""


def write(plan: Plan) -> Iterator[Written]:
    """The file of the machine, or of the firewall, that holds the zones."""
    for server in [one for one in plan.records(Server) if one.does == "names"]:
        says = settings(server, plan.records(NameZone), head(plan, WHAT))
        where = "firewall" if server.holder == FIREWALL else f"machine {safe(server.holder)}"
        yield Written(
            "names/nsd.conf", says.encode("ascii"), WHAT, f"On the {where}, as /etc/nsd/nsd.conf.",
            "nsd-checkconf /etc/nsd/nsd.conf && systemctl restart nsd",
            "Put the file of the last revision back and run systemctl restart nsd.", "nsd-checkconf {file}",
        )  # fmt: skip


def listens(server: Server) -> tuple[tuple[Host, ...], int]:
    """Addresses and port of the program that holds the zones."""
    return ((ON_FIREWALL[0],), ON_FIREWALL[1]) if server.holder == FIREWALL else (server.addresses, PORT)


def holds_copies(plan: Plan, resolver: Server) -> bool:
    """Whether a resolver knows the office's names: the firewall's does not where another machine looks names up."""
    others = [one for one in plan.records(Server) if one.does == "lookups" and one.holder != FIREWALL]
    return resolver.holder != FIREWALL or not others


def settings(server: Server, zones: Sequence[NameZone], says: Sequence[str]) -> str:
    """The whole file; only the resolver, whom the server tells of changes, may copy a zone."""
    copying = [str(ON_FIREWALL[0])] if server.holder == FIREWALL else [safe(one) for one in server.upstream]
    addresses, port = listens(server)
    lines = [f"# {one}" for one in says]
    lines += [
        "server:",
        *(f"    ip-address: {address}" for address in addresses),
        f"    port: {port}",
        "    server-count: 1",
        f"    rrl-size: {MOST_ASKERS}",
    ]
    lines += ['    zonesdir: "/etc/nsd/zones"', "    hide-version: yes", "    hide-identity: yes"]
    lines += ["remote-control:", "    control-enable: yes", '    control-interface: "/run/nsd/nsd.ctl"']
    for zone in zones:
        lines += ["zone:", f'    name: "{safe(zone.origin)}"', f'    zonefile: "{file_of(zone)}"']
        for address in copying:
            lines += [f"    notify: {address} NOKEY", f"    provide-xfr: {address} NOKEY"]
    return "\n".join(lines) + "\n"
