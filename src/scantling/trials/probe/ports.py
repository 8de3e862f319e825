"""Ports that probes need: one of its own for each to send from, and all that must be listened at."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from types import MappingProxyType

from scantling.figures import Host
from scantling.trials.probe.probing import Kind, Probe

FIRST_PORT, LAST_PORT = 20000, 63999
"""Source ports are taken from here up; those above are for tries that are thought of later."""
LISTENED = frozenset({Kind.TCP, Kind.UDP})


def ports_of(probes: Iterable[Probe]) -> dict[int, int]:
    """Source port or echo number of each probe, by its number: no port is used twice under one address, nor listened at.

    No number of an echo is used twice at all: where many leave under one address, a kernel would change one of two alike.
    """
    many = [*probes]
    listened = {one.port for one in many if one.kind in LISTENED} | {one.arrives[1] for one in many if one.arrives}
    free = [port for port in range(FIRST_PORT, LAST_PORT) if port not in listened]
    count: Counter[Host | int] = Counter()
    found: dict[int, int] = {}
    for one in many:
        among = one.family if one.kind is Kind.ECHO else one.source_address
        found[one.id] = free[count[among]]
        count[among] += 1
    return found


def listeners(
    probes: Iterable[Probe], real: Mapping[str, Collection[tuple[Kind, int]]] = MappingProxyType({})
) -> dict[str, set[tuple[Kind, int]]]:
    """By station, all ports that something is tried on, allowed or not, that a leak is seen as one; but for real services'."""
    found: dict[str, set[tuple[Kind, int]]] = {}
    for one in probes:
        port = one.arrives[1] if one.arrives else one.port
        if one.kind in LISTENED and one.target and not one.first and (one.kind, port) not in real.get(one.target, ()):
            found.setdefault(one.target, set()).add((one.kind, port))
    return found
