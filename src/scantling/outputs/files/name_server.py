"""Settings of the program that holds the office's names (NSD): one zone after another, transferred to the resolver alone."""

from collections.abc import Iterator, Sequence

from scantling.figures import FIREWALL, Host, NameZone, Server
from scantling.outputs.files import Written
from scantling.outputs.files.name_zones import file_of, head, safe
from scantling.plan.make import Plan

WHAT = "Which zones of names the machine holds, and who may have a copy of them."


def write(plan: Plan) -> Iterator[Written]:
    """The file of the machine that holds the zones; none where the firewall's resolver reads them itself."""
    server = next((one for one in plan.records(Server) if one.does == "names" and one.holder != FIREWALL), None)
    if server is None:
        return
    copies = tuple(
        address for one in plan.records(Server) if one.does == "lookups" and holds_copies(plan, one) for address in one.addresses
    )  # fmt: skip
    yield Written(
        "names/nsd.conf", settings(server, plan.records(NameZone), copies, head(plan, WHAT)).encode("ascii"), WHAT,
        f"On the machine {safe(server.holder)}, as /etc/nsd/nsd.conf.", "systemctl restart nsd",
        "Put the file of the last revision back and run systemctl restart nsd.", "nsd-checkconf {file}",
    )  # fmt: skip


def holds_copies(plan: Plan, resolver: Server) -> bool:
    """Whether a resolver knows the office's names: the firewall's does not where another machine looks names up."""
    others = [one for one in plan.records(Server) if one.does == "lookups" and one.holder != FIREWALL]
    return resolver.holder != FIREWALL or not others


def settings(server: Server, zones: Sequence[NameZone], copies: Sequence[Host], says: Sequence[str]) -> str:
    """The whole file; the program listens on its own addresses and tells nothing of itself."""
    lines = [f"# {one}" for one in says]
    lines += ["server:", *(f"    ip-address: {address}" for address in server.addresses)]
    lines += ["    port: 53", "    server-count: 1", '    zonesdir: "/etc/nsd/zones"']
    lines += ["    hide-version: yes", "    hide-identity: yes", "remote-control:", "    control-enable: yes"]
    lines += ['    control-interface: "/run/nsd/nsd.ctl"']
    for zone in zones:
        lines += ["zone:", f'    name: "{safe(zone.origin)}"', f'    zonefile: "{file_of(zone)}"']
        for address in copies:
            lines += [f"    notify: {address} NOKEY", f"    provide-xfr: {address} NOKEY"]
    return "\n".join(lines) + "\n"
