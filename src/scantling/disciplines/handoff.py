"""Handoff: how each line is handed over, the firewall's port to it, and what can't be reached through it.

Figures:
    handoff.ports    what the firewall's port to each line is called
    handoff.own      its own addresses there
Records: Leg.
"""

from collections.abc import Iterator

from scantling.figures import OUTSIDE, Desk, Every, Leg, Line, cells
from scantling.handbook.handoffs import outside_ports, own_outside


def design(lines: Every[Line], desk: Desk) -> Iterator[Leg]:
    """A port of the firewall for every line, in the brief's order."""
    names = desk.figure(
        "ports", outside_ports.of(lines={line.slug: line.down for line in lines}), "Ports to the outside"
    )
    own = own_outside.of(
        handoffs={line.slug: line.handoff for line in lines},
        fourth={line.slug: line.address for line in lines if line.address is not None},
        sixth={line.slug: line.address6 for line in lines if line.address6 is not None},
    )
    own = desk.figure("own", own, "The firewall's own addresses outside")
    for line in lines:
        yield Leg(line.slug, OUTSIDE, cells(names)[line.slug], (), cells(own)[line.slug])
