"""Restore: how long each service takes to come back from the copy at hand, against what the client can bear.

Figures:
    restore.rate              rate at which a copy comes back, with the network's limit
    restore.sent              rate at which it goes back to others, over the line
    restore.ready             until restoring can begin: somebody is there, the copy is attached
    restore.<slug>.size       what must be back before a service counts as back
    restore.<slug>.hours      time to bring the service back
Findings: B-3.
Records: Page.
"""

from collections.abc import Iterator

from scantling.brief import Support
from scantling.catalogue import House, Practice
from scantling.catalogue.columns import READ_RATE
from scantling.figures import (
    IN_CLOUD, Chosen, Dataset, Desk, Every, Figure, Finding, Line, Machine, Of, Page, Prose, Ruled, Service, Steps, Weight, total,
)  # fmt: skip
from scantling.figures.units import HOUR, MBIT_PER_S, TB
from scantling.handbook.copies import first_back, payload, restore_time, slower
from scantling.handbook.sizing import added, beyond

NETWORK, MOUNT = Practice("backup.network", MBIT_PER_S), Practice("backup.mount", HOUR)


def design(  # noqa: PLR0913 - a sheet reads what it shows
    support: Support,
    house: House,
    chosen: Chosen,
    bodies: Every[Dataset],
    machines: Every[Machine],
    services: Every[Service],
    lines: Every[Line],
    desk: Desk,
) -> Iterator[Finding | Page]:
    """Every service back from the first copy there is; silent without a copy. What lies with others goes over the line."""
    slot = next((slot for slot in ("near", "away") if chosen.has(slot)), None)
    if slot is None:
        return
    slowest = slower.of(one=chosen.of(Of(slot, READ_RATE)), other=payload.of(line=house[NETWORK]))
    rate = desk.figure("rate", slowest, "Rate at which a copy comes back")
    sent = _sent(slowest, services, lines, desk)
    ready = desk.figure("ready", added.of(one=support.reach, other=house[MOUNT]), "Until restoring can begin")
    disks = {machine.slug: machine.disk for machine in machines}
    rows = []
    kept = {body.service for body in bodies}
    for service in [
        one for one in services if one.machine in disks or (one.machine == IN_CLOUD and one.slug in kept)
    ]:
        pace = sent if service.machine == IN_CLOUD else rate
        hours = _back(service, pace, ready, disks, bodies, desk.under(service.slug))
        rows.append((service.name, hours, service.down))
        yield Finding(
            "B-3", Weight.MEND, beyond.of(have=hours, limit=service.down),
            f"{service.name}: back {{hours}} after a loss; the client can bear {{down}}.",
            "Ask what must come back first, take a faster copy at hand, or agree a longer time and write it down.",
            {"hours": hours, "down": service.down}, service.machine,
        )  # fmt: skip
    yield _page(rows, alone=not disks)


def _sent(slowest: Figure[float], services: Every[Service], lines: Every[Line], desk: Desk) -> Figure[float]:
    """What goes back to others goes out by the lines in use; the copy's own rate where there is none of either."""
    used = {line.slug: line.up for line in lines if not line.standby}
    if not used or all(service.machine != IN_CLOUD for service in services):
        return slowest
    sent = slower.of(one=slowest, other=payload.of(line=total(used, MBIT_PER_S)))
    return desk.figure("sent", sent, "Rate at which a copy goes back to others, over the line")


def _back(
    service: Service,
    rate: Figure[float],
    ready: Figure[float],
    disks: dict[str, Figure[float]],
    bodies: Every[Dataset],
    at: Desk,
) -> Figure[float]:
    """Its machine first, then its data that may not wait."""
    first = {
        body.slug: first_back.of(size=body.horizon, copied=body.copied, later=body.later)
        for body in bodies
        if body.service == service.slug
    }
    system = {"system": disks[service.machine]} if service.machine in disks else {}
    size = at.figure("size", total({**system, **first}, TB), f"Back first for {service.name}")
    hours = restore_time.of(start=ready, size=size, rate=rate)
    return at.figure("hours", hours, f"Time to bring {service.name} back")


FROM_THE_CALL = (
    "Counted from the call: somebody comes, attaches the copy to a host that runs, brings back the machine first, then the data that "
    "may not wait. If the host itself must be replaced, its delivery comes on top; say so to the client."
)
OVER_THE_LINE = (
    "Counted from the call: somebody comes, attaches the copy and sends back over the line the data that may not wait. Until the "
    "keeper has the service itself running again nothing can be sent; say so to the client."
)


def _page(rows: list[tuple[str, Figure[float], Figure[float]]], *, alone: bool) -> Page:
    return Page(
        "restore", "B", "Back after a loss",
        (
            Ruled("Back after a loss, counted from the call", ("service", "back after", "may be down"), rows),
            Prose(OVER_THE_LINE if alone else FROM_THE_CALL),
            Steps("Restore tests", ("Bring back one file every month.", "Bring back one machine every quarter, on its own network.",
                                    "Rehearse the loss of the whole server once a year, with the clock running.")),
        ), 2,
    )  # fmt: skip
