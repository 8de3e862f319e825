"""Opened: what the brief's own lines open that is better shut, each told with the line it goes against.

Figures:
    opened.lines    intents by which the brief's own lines allow something
Findings: T-17 T-18 T-19 T-20 T-21 T-22 T-26.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scantling.figures import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, Desk, Device, End, Every, Figure, Finding, Flow, Machine, Party, Service, Verdict, Visitors,
    Weight, Zone, count_of, total,
)  # fmt: skip
from scantling.figures.units import COUNT
from scantling.handbook.intents import lines_of
from scantling.handbook.sizing import beyond, negated
from scantling.handbook.whereabouts import Whereabouts

TERMINAL, PAID, MANAGEMENT = "payment-terminal", ("processor", "terminals"), "management"
NONE = total((), COUNT)


@dataclass(frozen=True)
class _Said:
    """A line of the brief with one of its intents, and what it goes against."""

    flow: Flow
    place: str
    against: Figure[int]


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    flows: Every[Flow],
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    visitors: Every[Visitors],
    parties: Every[Party],
    desk: Desk,
) -> Iterator[Finding]:
    """Every line that allows, and every place that manages, looked at."""
    where = Whereabouts(zones, devices, machines, services, (), visitors, parties=parties)
    lines = [flow for flow in flows if flow.group == "brief" and flow.verdict is Verdict.ACCEPT]
    desk.figure(
        "lines",
        count_of({flow.slug: flow.cause for flow in lines}),
        "Intents by which the brief's own lines allow something",
    )
    yield from _told(
        "T-17", Weight.MEND, (_Said(flow, flow.source.zone, NONE) for flow in lines if _anything(flow)),
        "{path} lets {source} reach all of {target} by any protocol.", "Write the protocols and ports that are needed, and to whom.",
    )  # fmt: skip
    yield from _shut(lines, where, parties)
    managing = [flow for flow in flows if flow.group == "management" and flow.source.zone in where.guests()]
    yield from _told(
        "T-20", Weight.STOP, (_Said(flow, flow.source.zone, NONE) for flow in managing),
        "traffic.manage_from lets visitors manage the office: {source} to {target}.", "Name the zone management, or devices of the staff.",
    )  # fmt: skip
    yield from _nobody(lines, zones)
    yield from _alike(flows, where)
    shut = [flow for flow in flows if flow.group == "brief" and flow.verdict is not Verdict.ACCEPT]
    yield from _told(
        "T-26", Weight.MEND, (_Said(flow, end.zone, NONE) for flow in shut for end in (flow.source, flow.target) if _one_family(end)),
        "{path} holds in IPv4 only: the IPv6 addresses of {source} are not known, and the rest of the zone may do more.",
        "Put these devices into a zone of their own, or switch IPv6 off in them.",
    )  # fmt: skip


def _shut(lines: Sequence[Flow], where: Whereabouts, parties: Sequence[Party]) -> Iterator[Finding]:
    """Lines into or out of the terminals' zone, and of sealed ones."""
    paid = {one.zone: one for one in where.devices if one.kind == TERMINAL}
    yield from _told(
        "T-18", Weight.MEND, _opened(lines, paid, _processors(parties)),
        "{path} opens the zone of the payment terminals ({devices}): {source} to {target}.",
        "Keep the terminals alone with their processor: whatever may reach them, or be reached by them, falls under the card rules too.",
    )  # fmt: skip
    yield from _told(
        "T-19", Weight.MEND, _opened(lines, _sealed(where, paid), frozenset()),
        "{path} opens a sealed zone ({devices}): {source} to {target}.",
        "Ask whoever answers for what is in it. Where it must be, name one machine, one port and the hours.",
    )  # fmt: skip


def _one_family(end: End) -> bool:
    """Devices that are known by their addresses of one family."""
    families = {net.version for net in end.networks}
    return bool(end.holder) and end.zone not in {OUTSIDE, FIREWALL} and len(families) == 1


def _processors(parties: Sequence[Party]) -> frozenset[str]:
    """Outside parties that payment terminals are there to reach."""
    return frozenset(one.slug for one in parties if one.kind in PAID)


def _anything(flow: Flow) -> bool:
    """Any protocol from a whole zone to a whole zone or all the outside."""
    whole = not (flow.source.networks or flow.target.networks or flow.target.named)
    return whole and any(one.protocol == ANY_PROTOCOL for one in flow.carried)


def _sealed(where: Whereabouts, besides: Iterable[str]) -> dict[str, Device]:
    """Sealed zones with the first devices that the brief puts there."""
    sealed = {zone.slug for zone in where.zones if zone.sealed} - {MANAGEMENT, *besides}
    return {one.zone: one for one in reversed(where.devices) if one.zone in sealed}


def _opened(lines: Iterable[Flow], shut: dict[str, Device], leave: frozenset[str]) -> Iterator[_Said]:
    """Lines into or out of zones that should be shut; those to some parties are meant."""
    for flow in lines:
        for zone in (flow.source.zone, flow.target.zone):
            if zone in shut and flow.target.holder not in leave:
                yield _Said(flow, zone, shut[zone].now)


def _told(code: str, weight: Weight, said: Iterable[_Said], says: str, remedy: str) -> Iterator[Finding]:
    """One finding for every line and place; one that does not hold where there is none."""
    many = {(one.flow.cause.id, one.place): one for one in said}
    for (path, place), one in many.items():
        devices = ", ".join(lines_of(one.against))
        words = {
            "{path}": path,
            "{source}": one.flow.source.label,
            "{target}": one.flow.target.label,
            "{devices}": devices,
        }
        sentence = says
        for sign, word in words.items():
            sentence = sentence.replace(sign, word)
        shown = {"line": one.flow.cause, "against": one.against}
        yield Finding(
            code, weight, beyond.of(have=count_of({path: one.flow.cause}), limit=NONE), sentence, remedy, shown, place
        )
    if not many:
        yield Finding(
            code, weight, beyond.of(have=NONE, limit=NONE), "No line on traffic opens what is better shut.", remedy
        )


def _nobody(lines: Iterable[Flow], zones: Iterable[Zone]) -> Iterator[Finding]:
    """Lines from or to a zone in which there is nothing."""
    held = {zone.slug: zone for zone in zones}
    many = {
        (flow.cause.id, end.zone): flow
        for flow in lines
        for end in (flow.source, flow.target)
        if end.zone in held and not end.networks
    }
    for (path, zone), flow in many.items():
        yield Finding(
            "T-21", Weight.NOTE, negated.of(given=beyond.of(have=held[zone].devices, limit=NONE)),
            f"{path} speaks of {held[zone].name}, where there is nothing.", "Take the line away, or write what is in the zone.",
            {"line": flow.cause, "devices": held[zone].devices}, zone,
        )  # fmt: skip
    if not many:
        says = "No line on traffic speaks of an empty zone."
        yield Finding("T-21", Weight.NOTE, beyond.of(have=NONE, limit=NONE), says, "Nothing is to be done.")


def _alike(flows: Iterable[Flow], where: Whereabouts) -> Iterator[Finding]:
    """Devices that no address tells apart from the rest of their zone."""
    devices = {one.slug: one for one in where.devices}
    ends: dict[str, tuple[Flow, End]] = {}
    for flow in flows:
        for end in (flow.source, flow.target):
            one = devices.get(end.holder)
            if (
                one is not None
                and end.zone == one.zone
                and end.zone != FIREWALL
                and not end.networks
                and not where.alone(one)
            ):
                ends.setdefault(f"{flow.cause.id} {one.slug}", (flow, end))
    for flow, end in ends.values():
        one = devices[end.holder]
        yield Finding(
            "T-22", Weight.NOTE, beyond.of(have=one.now, limit=NONE),
            f"{flow.cause.id} is meant for {end.label}, whose addresses are lent: it holds for all of the zone {end.zone}.",
            "Keep addresses for these devices, or put them into a zone of their own.", {"line": flow.cause, "devices": one.now}, end.zone,
        )  # fmt: skip
    if not ends:
        says = "Every device that a line is meant for has addresses of its own."
        yield Finding("T-22", Weight.NOTE, beyond.of(have=NONE, limit=NONE), says, "Nothing is to be done.")
