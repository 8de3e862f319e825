"""The registers of an office as tables: every zone, network, address, name, line, intent and rule of a plan, a row each."""

from collections.abc import Callable, Sequence
from typing import Any

from scantling.figures import (
    OUTSIDE, Address, Address6, Figure, FilterRule, Flow, Host, Leg, Line, Name, Net, OutsideName, Pool, Prefix, Range, Reservation,
    RuleSet, Subnet, Zone, text,
)  # fmt: skip
from scantling.figures.numbers import in_currency
from scantling.handbook.hours import written_hours
from scantling.handbook.intents import lines_of
from scantling.handbook.spoken import written_carried
from scantling.outputs.files.tables import Register, Value
from scantling.plan.make import Plan

FOURTH, SIXTH = 4, 6
NOT_GIVEN = "not given"
HOUSE = "house rule or standard"
LENT = "lent for a time"


def registers(plan: Plan) -> tuple[Register, ...]:
    """All of them, in the order of their sheets."""
    made = (_zones, _subnets, _pools, _addresses, _names, _outside_names, _lines, _intents, _rules)
    return tuple(make(plan) for make in made)


def _zones(plan: Plan) -> Register:
    rows = [
        (
            _number(one.number), one.slug, one.name, _number(one.devices), _yes(one.sealed),
            ", ".join(f"{kind} {text(many)}" for kind, many in one.kinds),
        )
        for one in plan.records(Zone)
    ]  # fmt: skip
    heads = ("network number", "zone", "name", "devices", "sealed", "kinds of device")
    return Register("zones", "Zones: which devices may see each other without leave.", heads, tuple(rows))


def _subnets(plan: Plan) -> Register:
    sixth = {one.slug: one for one in plan.records(Prefix)}
    ports = {one.zone: one.interface for one in plan.records(Leg) if one.zone != OUTSIDE}
    rows: list[tuple[Value, ...]] = []
    for one in plan.records(Subnet):
        other = sixth.pop(one.slug, None)
        new = (str(other.network), str(other.gateway)) if other is not None else ("", "")
        rows.append((one.slug, str(one.network), str(one.gateway), *new, ports.get(one.slug, "")))
    rows += [(s, "", "", str(one.network), str(one.gateway), ports.get(s, "")) for s, one in sixth.items()]
    heads = ("zone", "IPv4 network", "IPv4 gateway", "IPv6 network", "IPv6 gateway", "port of the firewall")
    return Register("subnets", "Subnets: the networks and gateways of every zone.", heads, tuple(rows))


def _pools(plan: Plan) -> Register:
    rows: list[tuple[Value, ...]] = [
        (one.zone, one.slug, one.purpose, str(one.first), str(one.last), int(one.last) - int(one.first) + 1, "", "")
        for one in plan.records(Range)
    ]
    zones = {subnet.network: subnet.slug for subnet in plan.records(Subnet)}
    for one in plan.records(Pool):
        zone = next((slug for network, slug in zones.items() if one.first in network), "")
        many = int(one.last) - int(one.first) + 1
        rows.append((zone, one.slug, LENT, str(one.first), str(one.last), many, text(one.peak), text(one.lease)))
    heads = ("zone", "run", "for", "first", "last", "addresses", "in use at the peak", "lent for")
    what = "Pools and ranges: what every run of IPv4 addresses in a zone is for."
    return Register("pools-and-ranges", what, heads, tuple(sorted(rows, key=_by_place(plan))))


def _by_place(plan: Plan) -> Callable[[tuple[Value, ...]], tuple[int, tuple[int, ...]]]:
    """Zones in their order, then addresses upwards."""
    order = {zone.slug: place for place, zone in enumerate(plan.records(Zone))}

    def place(row: tuple[Value, ...]) -> tuple[int, tuple[int, ...]]:
        return order.get(str(row[0]), len(order)), tuple(int(part) for part in str(row[3]).split("."))

    return place


class _Given:
    """Everything that one holder has in a zone."""

    def __init__(self, zone: str, what: str, holder: str) -> None:
        self.zone, self.what, self.holder = zone, what, holder
        self.hosts: list[Host] = []
        self.hardware: list[str] = []

    def row(self, names: Sequence[Name]) -> tuple[Value, ...]:
        of = {family: [str(one) for one in self.hosts if one.version == family] for family in (FOURTH, SIXTH)}
        called = [one.name for one in names if set(one.addresses) & set(self.hosts)]
        cells = (of[FOURTH], of[SIXTH], dict.fromkeys(self.hardware), dict.fromkeys(called))
        return (self.zone, self.what, self.holder, *(", ".join(cell) for cell in cells))


def _addresses(plan: Plan) -> Register:
    found: dict[tuple[str, str], _Given] = {}
    holders: dict[tuple[str, str], _Given] = {}
    every: list[Address | Address6] = [*plan.records(Address), *plan.records(Address6)]
    for one in every:
        given = found.setdefault((one.zone, one.slug), _Given(one.zone, one.slug, one.holder))
        holders.setdefault((one.zone, one.holder), given)
        given.hosts.append(one.address)
    for kept in plan.records(Reservation):
        key = kept.zone, kept.holder
        given = holders.setdefault(key, _Given(*key, kept.holder))
        found.setdefault((given.zone, given.what), given)
        given.hardware.append(kept.hardware_address)
        if kept.address not in given.hosts:
            given.hosts.append(kept.address)
    names = plan.records(Name)
    heads = ("zone", "entry", "held by", "IPv4", "IPv6", "hardware address", "name")
    what = "Addresses: everything that was given to one thing alone, in both families."
    return Register("addresses", what, heads, tuple(one.row(names) for one in found.values()))


def _names(plan: Plan) -> Register:
    rows = [
        (one.name, one.holder, *(_hosts(one.addresses, family) for family in (FOURTH, SIXTH)), ", ".join(one.aliases))
        for one in plan.records(Name)
    ]
    heads = ("name", "borne by", "IPv4", "IPv6", "also called")
    return Register("names", "Names: what everything inside the office is called.", heads, tuple(rows))


def _hosts(hosts: Sequence[Host], family: int) -> str:
    return ", ".join(str(one) for one in hosts if one.version == family)


def _outside_names(plan: Plan) -> Register:
    rows = [
        (
            one.name, one.kind, one.registrar or NOT_GIVEN, one.owner or NOT_GIVEN,
            one.expires.isoformat() if one.expires is not None else NOT_GIVEN, one.holder, ", ".join(map(str, one.answers)),
        )
        for one in plan.records(OutsideName)
    ]  # fmt: skip
    heads = ("name", "what", "registrar or issuer", "legal owner", "expires", "leads to", "answers outside")
    what = "Outside names and certificates: what the client owns outside, and until when."
    return Register("outside-names", what, heads, tuple(rows))


def _lines(plan: Plan) -> Register:
    legs = {leg.slug: leg for leg in plan.records(Leg) if leg.zone == OUTSIDE}
    rows = []
    for one in plan.records(Line):
        leg = legs.get(one.slug)
        given = (one.address, one.address6, one.road, one.provider, one.contact, one.ends)
        rows.append((
            one.slug, one.name, leg.interface if leg is not None else "", text(one.down), text(one.up),
            "stands by" if one.standby else "in use", text(one.handoff), text(one.router), *map(_given, given), text(one.term),
            text(one.notice), in_currency(text(one.monthly), plan.currency) if one.monthly is not None else NOT_GIVEN,
        ))  # fmt: skip
    heads = (
        "line", "name", "port of the firewall", "to the office", "from the office", "use", "hand-off", "provider's box translates",
        "IPv4 address", "IPv6 address", "comes by", "provider", "contact", "contract ends", "minimum term", "notice", "a month",
    )  # fmt: skip
    return Register("lines", "Lines to the outside: hand-off, provider and contract.", heads, tuple(rows))


def _intents(plan: Plan) -> Register:
    rows = [
        (
            one.slug, one.group, one.name, str(one.verdict), one.source.zone, one.source.label, _nets(one.source.networks),
            one.target.zone, one.target.label, _nets(one.target.networks) or ", ".join(one.target.named),
            written_carried(one.carried), written_hours(one.window), one.why, ", ".join(lines_of(one.cause)) or HOUSE,
        )
        for one in plan.records(Flow)
    ]  # fmt: skip
    heads = (
        "intent", "group", "name", "verdict", "from zone", "who", "whose addresses", "to zone", "to whom", "addresses or names",
        "what", "hours", "why", "rests on",
    )  # fmt: skip
    what = "Intents: who may begin to speak to whom, for what, when and why; what no intent allows is dropped."
    return Register("intents", what, heads, tuple(rows))


def _rules(plan: Plan) -> Register:
    rows = [_rule(rule) for rules in plan.records(RuleSet) for rule in rules.rules]
    heads = (
        "number", "verdict", "family", "before routing", "comes in by", "goes out to", "from", "from all but", "to", "to the set",
        "protocol", "ports or types", "state", "target was translated", "hours", "logged", "for", "intent",
    )  # fmt: skip
    what = "Rules: the firewall's list in its order; the first that matches decides."
    return Register("rules", what, heads, tuple(rows))


def _rule(rule: FilterRule) -> tuple[Value, ...]:
    spans = ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in rule.ports)
    return (
        rule.slug, str(rule.verdict), f"IPv{rule.family}" if rule.family else "both", _yes(rule.early), rule.zone_in, rule.zone_out,
        _nets(rule.sources), _nets(rule.not_sources), _nets(rule.targets), rule.target_set, rule.protocol, spans, rule.state,
        _yes(rule.translated), written_hours(rule.window), _yes(rule.log), rule.comment, rule.flow,
    )  # fmt: skip


def _nets(many: Sequence[Net]) -> str:
    return ", ".join(map(str, many))


def _yes(given: bool) -> str:  # noqa: FBT001 - a field of a record
    return "yes" if given else "no"


def _number(figure: Figure[int]) -> int:
    return int(figure.value)


def _given(figure: Figure[Any] | None) -> str:
    return text(figure) if figure is not None else NOT_GIVEN
