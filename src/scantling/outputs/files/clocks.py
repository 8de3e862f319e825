"""Settings of the clocks (chrony): those that give the time inside, and one file for the server's machines in each zone."""

from collections.abc import Iterator, Sequence

from scantling.figures import FIREWALL, Asking, Host, Machine, Net, Prefix, Server, Subnet
from scantling.outputs.files import Written
from scantling.outputs.files.name_zones import head, safe
from scantling.plan.make import Plan

GIVES = "Where the time comes from, and who may ask for it here."
TAKES = "Where the server's machines in one zone get the time."
MANAGEMENT, HOST = "management", "the server itself"
ALONE = {True: 10, False: 12}
"""How far from a true clock (stratum, RFC 5905) the firewall and another machine say to be while nobody outside answers."""
PLACE, LOAD = "/etc/chrony/chrony.conf", "systemctl restart chrony"
UNDO = f"Put the file of the last revision back and run {LOAD}."


def write(plan: Plan) -> Iterator[Written]:
    """A file for each machine that gives the time, and one a zone for machines that take it."""
    clocks = [one for one in plan.records(Server) if one.does == "time"]
    for clock in clocks:
        says = giving(clock, allowed(plan, clock), first_of(plan, clock), head(plan, GIVES))
        where = "firewall" if clock.holder == FIREWALL else f"machine {safe(clock.holder)}"
        yield _written(f"time/{safe(clock.holder)}/chrony.conf", says, GIVES, f"On the {where}, as {PLACE}.")
    givers, machines = {clock.holder for clock in clocks}, plan.records(Machine)
    for asking in plan.records(Asking):
        here = [safe(one.slug) for one in machines if one.zones[:1] == (asking.slug,) and one.slug not in givers]
        here += [HOST] if asking.slug == MANAGEMENT and machines else []
        if here:
            path = f"time/machines-{safe(asking.slug)}/chrony.conf"
            says = taking(asking.time_sources, head(plan, TAKES))
            yield _written(path, says, TAKES, f"On {', '.join(here)}, as {PLACE}.")


def _written(path: str, says: str, what: str, goes: str) -> Written:
    return Written(path, says.encode("ascii"), what, goes, LOAD, UNDO, "chronyd -p -f {file}")


def allowed(plan: Plan, clock: Server) -> list[Net]:
    """The networks of the zones that ask this clock."""
    asking = {one.slug for one in plan.records(Asking) if set(one.time_sources) & set(clock.addresses)}
    nets: list[tuple[str, Net]] = [(one.slug, one.network) for one in plan.records(Subnet)]
    nets += [(one.slug, one.network) for one in plan.records(Prefix)]
    return [net for slug, net in nets if slug in asking]


def first_of(plan: Plan, clock: Server) -> tuple[Host, ...]:
    """The firewall's addresses in the clock's own zone, which it asks beside those outside; none for the firewall itself."""
    own = next((one for one in plan.records(Asking) if one.slug == clock.zone), None)
    return tuple(one for one in own.time_sources if one not in clock.addresses) if own is not None else ()


def giving(clock: Server, networks: Sequence[Net], inside: Sequence[Host], says: Sequence[str]) -> str:
    """Sources outside, the firewall beside them, and the zones that may ask."""
    lines = [f"# {one}" for one in says]
    lines += [f"server {safe(source)} iburst" for source in clock.upstream]
    lines += [f"server {address} iburst" for address in inside]
    lines += common()
    lines += ["# Goes on by itself while nobody outside answers, so that the office keeps one time."]
    lines += [f"local stratum {ALONE[clock.holder == FIREWALL]}", *(f"allow {network}" for network in networks)]
    return "\n".join(lines) + "\n"


def taking(sources: Sequence[Host], says: Sequence[str]) -> str:
    """The firewall first, then the second clock; never the own host."""
    lines = [f"# {one}" for one in says]
    lines += [f"server {address} iburst" for address in sources]
    return "\n".join([*lines, *common(), "# Gives the time to nobody.", "port 0"]) + "\n"


def common() -> list[str]:
    """A step at the start only, then slowly; the clock of the hardware follows; nobody asks over the network how it goes."""
    return ["driftfile /var/lib/chrony/drift", "makestep 1.0 3", "rtcsync", "cmdport 0"]
