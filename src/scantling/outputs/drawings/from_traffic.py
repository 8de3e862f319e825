"""From a plan's intents and rules to the doors between its rooms: who may call on whom, for what, and by which rules."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import count as counting
from typing import Literal

from scantling.figures import FIREWALL, OUTSIDE, Flow, RuleSet, Transport, Verdict, Zone
from scantling.figures.traffic import LAST_PORT, LAST_TYPE
from scantling.handbook.hours import written_hours
from scantling.handbook.spoken import MESSAGES, joined
from scantling.outputs.drawings.model import Caller, Door, Passage, Text
from scantling.plan.make import Plan
from scantling.plan.same import Same

HOUSEKEEPING = "housekeeping"
DASH = "\u2013"
ALL_OUTSIDE = "the outside"
EVERY_ROOM = "every room"
Kind = Literal["room", "out", "in", "corridor", "never", "always"]

KEPT = 4
"""For so many plans doors are not worked out again: each is asked for by several sheets."""


@dataclass(frozen=True)
class Traffic:
    """A plan's intents, the rules made of each, and its zones in the order of their numbers."""

    flows: tuple[Flow, ...]
    zones: tuple[Zone, ...]
    rules: Mapping[str, tuple[str, ...]]
    """Slugs of the rules by that of the intent."""
    logged: frozenset[str]
    """Rules that write a line in the log."""

    def place(self, slug: str) -> tuple[int, str]:
        """Where a zone stands in the order of the rooms; the outside and the firewall come last."""
        last = {OUTSIDE: len(self.zones), FIREWALL: len(self.zones) + 1}
        order = {zone.slug: place for place, zone in enumerate(self.zones)}
        return {**order, **last}.get(slug, len(self.zones) + 2), slug

    def name(self, slug: str) -> str:
        """A zone as people call it."""
        names = {zone.slug: zone.name for zone in self.zones}
        return {**names, OUTSIDE: ALL_OUTSIDE, FIREWALL: "the firewall"}.get(slug, slug)

    @property
    def accepted(self) -> tuple[Flow, ...]:
        """Intents that let something through from one place to another, housekeeping left out."""
        return tuple(
            flow
            for flow in self.flows
            if flow.verdict is Verdict.ACCEPT and flow.group != HOUSEKEEPING and flow.source.zone != flow.target.zone
        )

    @property
    def street(self) -> tuple[str, str]:
        """Numbers of the way out and the way in: the first two that no room has."""
        taken = {int(zone.number.value) for zone in self.zones}
        free = (number for number in counting(1) if number not in taken)
        return str(next(free)), str(next(free))


def traffic(plan: Plan) -> Traffic:
    """What the doors are made of."""
    return _traffic(Same(plan))


@lru_cache(KEPT)
def _traffic(same: Same) -> Traffic:
    plan = same.plan
    rules: dict[str, tuple[str, ...]] = {}
    logged: set[str] = set()
    for rule in (rule for many in plan.records(RuleSet) for rule in many.rules):
        rules[rule.flow] = (*rules.get(rule.flow, ()), rule.slug)
        logged |= {rule.slug} if rule.log else set()
    zones = sorted(plan.records(Zone), key=lambda zone: (zone.number.value, zone.slug))
    return Traffic(plan.records(Flow), tuple(zones), rules, frozenset(logged))


def doors(plan: Plan) -> tuple[Door, ...] | None:
    """Every door in the order of the schedule, and the parts of it without one; None where no traffic is planned."""
    return _doors(Same(plan))


@lru_cache(KEPT)
def _doors(same: Same) -> tuple[Door, ...] | None:
    told = traffic(same.plan)
    if not told.flows:
        return None
    out, into = told.street
    numbers = {zone.slug: str(int(zone.number.value)) for zone in told.zones}
    parts: list[tuple[Kind, str, str, str, Callable[[Flow], bool]]] = [
        ("out", out, "", "the way out", lambda flow: flow.target.zone == OUTSIDE),
        ("in", into, "", "the way in", lambda flow: flow.source.zone == OUTSIDE),
        *(("room", numbers[zone.slug], zone.slug, zone.name, _calls_on(zone.slug)) for zone in told.zones),
        ("corridor", "", "", "the firewall itself", _calls_on(FIREWALL)),
    ]
    found = [_door(told, part[:4], [flow for flow in told.accepted if part[4](flow)]) for part in parts]
    forbidding = [flow for flow in told.flows if flow.verdict is not Verdict.ACCEPT]
    found += [_door(told, ("never", "", "", "never"), forbidding), _housekeeping(told)]
    return tuple(door for door in found if door.callers or door.passages)


def _calls_on(slug: str) -> Callable[[Flow], bool]:
    return lambda flow: flow.target.zone == slug


def _door(told: Traffic, head: tuple[Kind, str, str, str], mine: Sequence[Flow]) -> Door:
    """A door and its lines, callers in the order of their rooms."""
    order = sorted(mine, key=lambda flow: (told.place(flow.source.zone), flow.source.label))
    if head[0] == "in":
        return Door(*head, tuple(_callers_in(told, order)), tuple(_passages(told, order)))
    every = _every_room(told, order)
    callers = (
        [Caller(EVERY_ROOM, (Text(", ".join(dict.fromkeys(small(flow.name) for flow in every))),))] if every else []
    )
    callers += _callers([flow for flow in order if flow not in every], named=head[0] in {"out", "never"})
    return Door(*head, tuple(callers), tuple(_passages(told, order)))


def _every_room(told: Traffic, mine: Sequence[Flow]) -> list[Flow]:
    """Intents that every room has alike, at all hours, for all that is in it."""
    whole = [
        flow
        for flow in mine
        if not flow.source.holder and flow.source.label == told.name(flow.source.zone) and not hours(flow)
    ]
    alike = _gathered(whole, lambda flow: (flow.name, flow.target.label))
    rooms = {zone.slug for zone in told.zones}
    return [flow for many in alike.values() if {flow.source.zone for flow in many} >= rooms for flow in many]


def _callers(mine: Sequence[Flow], *, named: bool) -> Iterator[Caller]:
    """One line a caller and its hours; whom it calls on is named where that is not the door's own room."""
    for key, many in _gathered(mine, lambda flow: (flow.source.zone, flow.source.label, hours(flow))).items():
        wants = dict.fromkeys(_want(flow, named=named) for flow in many)
        yield Caller(key[1], (Text(", ".join(wants)),), key[2])


def _want(flow: Flow, *, named: bool) -> str:
    said = named and flow.target.label != ALL_OUTSIDE and flow.target.label != ", ".join(flow.target.named)
    whom = f" ({flow.target.label})" if said else ""
    return f"{small(flow.name)}{whom}"


def _callers_in(told: Traffic, mine: Sequence[Flow]) -> Iterator[Caller]:
    """Who comes in from the street, and to which door; what for stands there."""
    for key, many in _gathered(mine, lambda flow: (flow.source.label, hours(flow))).items():
        numbers = {zone.slug: f"door {int(zone.number.value)}, {zone.name}" for zone in told.zones}
        whom = dict.fromkeys(f"to {numbers.get(flow.target.zone, 'the firewall itself')}" for flow in many)
        yield Caller(_capital(key[0]), (Text("; ".join(whom)),), key[1])


def _passages(told: Traffic, mine: Sequence[Flow]) -> Iterator[Passage]:
    """One line a caller and whom it calls on."""
    by_ends = _gathered(
        mine, lambda flow: (flow.source.zone, flow.source.label, flow.target.zone, flow.target.label, hours(flow))
    )
    for key, many in by_ends.items():
        rules = [slug for flow in many for slug in told.rules.get(flow.slug, ())]
        wants = ", ".join(dict.fromkeys(small(flow.name) for flow in many))
        logged = "yes" if told.logged & set(rules) else "no"
        carried = carried_text(transport for flow in many for transport in flow.carried)
        yield Passage(key[1], key[3], wants, key[4], carried, numbered(rules), logged)


def _housekeeping(told: Traffic) -> Door:
    """What every room needs of the firewall, told once for all rooms that need the same."""
    mine = [flow for flow in told.flows if flow.verdict is Verdict.ACCEPT and flow.group == HOUSEKEEPING]
    same = _gathered(mine, lambda flow: (_side(flow.source.zone), _side(flow.target.zone), flow.name, flow.carried))
    merged: dict[tuple[str, str], list[Flow]] = {}
    for many in same.values():
        ends = tuple(_ends(told, many, source=source) for source in (True, False))
        merged.setdefault((ends[0], ends[1]), []).extend(many)
    lines = []
    for (who, whom), many in merged.items():
        rules = [slug for flow in many for slug in told.rules.get(flow.slug, ())]
        wants = ", ".join(dict.fromkeys(small(flow.name) for flow in many))
        carried = carried_text(transport for flow in many for transport in flow.carried)
        lines.append(Passage(who, whom, wants, "", carried, many_rules(rules)))
    return Door("always", "", "", "what every room needs", (), tuple(lines))


def _side(zone: str) -> str:
    """The firewall and the outside as they are, any room as one of many."""
    return zone if zone in {FIREWALL, OUTSIDE} else ""


def _ends(told: Traffic, many: Sequence[Flow], *, source: bool) -> str:
    """One side of many like intents: all rooms, the rooms by name, or the one label they share."""
    ends = [flow.source if source else flow.target for flow in many]
    zones = {end.zone for end in ends}
    if len({end.label for end in ends}) == 1:
        return ends[0].label
    if zones == {zone.slug for zone in told.zones}:
        return EVERY_ROOM
    return ", ".join(told.name(zone) for zone in sorted(zones, key=told.place))


def _gathered(mine: Iterable[Flow], key: Callable[[Flow], tuple[object, ...]]) -> dict[tuple[str, ...], list[Flow]]:
    """Intents that share a key, in the order in which they come."""
    found: dict[tuple[str, ...], list[Flow]] = {}
    for flow in mine:
        found.setdefault(key(flow), []).append(flow)  # type: ignore[arg-type]  # the parts that are read are text
    return found


def hours(flow: Flow) -> str:
    """When an intent holds; empty where always."""
    return written_hours(flow.window) if flow.window is not None else ""


def carried_text(carried: Iterable[Transport]) -> str:
    """Protocols with their ports together: tcp 80, 443; udp 443; icmp 8."""
    spans: dict[str, list[tuple[int, int]]] = {}
    for one in carried:
        last = min(one.last, LAST_TYPE) if one.protocol in MESSAGES else min(one.last, LAST_PORT)
        spans.setdefault(one.protocol, []).append((one.first, last))
    parts = []
    for protocol, many in spans.items():
        runs = joined(protocol, many)
        parts.append(f"{protocol} {', '.join(_span(first, last) for first, last in runs)}".strip())
    return "; ".join(parts)


def _span(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}{DASH}{last}"


def numbered(rules: Iterable[str]) -> str:
    """Numbers of rules, those in a row as one run: 63001-63004, 83001. A dash where there is none."""
    numbers = sorted({int(slug.rpartition("-")[2]) for slug in rules})
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(_span(first, last) for first, last in runs) or DASH


def many_rules(rules: Iterable[str]) -> str:
    """How many rules these are."""
    count = len(set(rules))
    return f"{count} rule{'s' if count != 1 else ''}"


def small(name: str) -> str:
    """A name in the middle of a list: its first letter small, unless the word is written in capitals."""
    first = name.split(" ", maxsplit=1)[0]
    return name if first[1:] != first[1:].lower() or len(first) == 1 else name[:1].lower() + name[1:]


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]
