"""What can be tried at an edge at all: some addresses and protocols the kernel or the rehearsal itself keeps for something else."""

from ipaddress import IPv6Address, IPv6Network

from scantling.figures import Host, Net
from scantling.trials.probe.probing import Kind, Probe
from scantling.trials.rehearsal.office import Office

IGMP = 2
"""Which hosts speak of themselves (RFC 3376), so that the recorder passes over it."""
EMBEDDED = IPv6Network("::/96")
"""Unspecified, loopback and compatible addresses (RFC 4291 section 2.5): no packet on a wire bears them."""


class Sendable:
    """Of one office."""

    def __init__(self, office: Office) -> None:
        self.lines: tuple[Net, ...] = tuple(net for way in office.ways for net in (way.network4, way.network6))
        nets = [one.network6 for one in office.segments if one.network6 is not None]
        self.routers = frozenset(net.network_address for net in nets)
        """The lowest address of each network is that of its router, whatever else it bears (RFC 4291 section 2.6.1)."""

    def __call__(self, probe: Probe) -> bool:
        """Whether a try at an edge means what it says."""
        ends: tuple[Host, ...] = (probe.source_address, probe.address)
        if probe.kind is Kind.RAW and probe.port == IGMP:
            return False
        if any(isinstance(one, IPv6Address) and (one in EMBEDDED or one in self.routers) for one in ends):
            return False
        return not any(one.version == net.version and one in net for one in ends for net in self.lines)
