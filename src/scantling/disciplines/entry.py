"""Entry: those who come in from outside by the remote access, to the machine or the firewall at which it ends.

Figures:
    entry.<slug>    people who may come in
Records: Flow.
"""

from collections.abc import Iterator

from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Desk, Device, End, Every, Flow, Machine, Range, RemoteAccess, Service, Zone,
)  # fmt: skip
from scantling.handbook.whereabouts import Whereabouts

GROUP = "remote"
WHY = "people at home and on the road come in here and then use what people use"
SECOND = ", each with a second factor"


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    accesses: Every[RemoteAccess],
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    addresses: Every[Address],
    addresses6: Every[Address6],
    ranges: Every[Range],
    desk: Desk,
) -> Iterator[Flow]:
    """An intent for every way in."""
    where = Whereabouts(zones, devices, machines, services, addresses=addresses, addresses6=addresses6, ranges=ranges)
    for access in accesses:
        cause = desk.figure(access.slug, access.people, f"People who may come in by {access.slug}")
        why = WHY + (SECOND if access.second_factor else "")
        for target in _ends(access, where):
            slug = f"in-{access.slug}" if target.zone == FIREWALL else f"in-{access.slug}-to-{where.key(target)}"
            yield Flow(slug, "Remote access", where.zone(OUTSIDE), target, access.carried, why, cause, GROUP)


def _ends(access: RemoteAccess, where: Whereabouts) -> tuple[End, ...]:
    """The machine in its zone, the box, or the firewall wherever its provider puts it."""
    if access.machine == FIREWALL:
        return (where.zone(FIREWALL),)
    boxes = [where.device(one) for one in where.devices if one.slug == access.machine]
    ends = where.machine(access.machine) or tuple(boxes)
    return tuple(end for end in ends if end.zone == access.zone) or ends
