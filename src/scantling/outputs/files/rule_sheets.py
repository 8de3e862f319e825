"""The rules in plain words, a page a zone, for whatever firewall is bought: sheets/<zone>.txt."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap

from scantling.figures import (
    ANY_PROTOCOL, FIREWALL, OUTSIDE, FilterRule, Flow, Host, Leg, Net, RuleSet, Translation, Verdict, Window,
    Zone, text,
)  # fmt: skip
from scantling.handbook.set_aside import FAMILIES, of_family
from scantling.outputs.files import Written
from scantling.outputs.files.packet_filter_text import (
    DAYS, LAST_MINUTE, address, clock, head, one_line, ranges, slug, span,
)  # fmt: skip
from scantling.plan.make import Plan

WIDTH = 100
READING = (
    "The firewall asks the rules in the order of their numbers; the first that matches decides. What no rule allows is "
    "dropped, in both directions and in both families of addresses. Whoever may begin a connection gets its replies; "
    "nothing else comes back. What passes between two devices of one zone never meets the firewall. The numbers are those "
    "of rules.nft and acl.json."
)
FATES = {Verdict.ACCEPT: "passes", Verdict.DROP: "dropped", Verdict.REJECT: "refused, and told so"}
EVERYWHERE = {OUTSIDE: "the outside", FIREWALL: "the firewall itself", "": "any zone"}
KNOWN = {
    "established": "replies, and what belongs to a connection that was allowed",
    "invalid": "what belongs to no connection and can begin none",
}


@dataclass(frozen=True, slots=True)
class Terms:
    """What rules speak of, in words: names of zones by slug, and the intents that rules are made from."""

    zones: Mapping[str, str]
    flows: Mapping[str, Flow]

    def zone(self, zone: str) -> str:
        """A zone as people call it."""
        return EVERYWHERE.get(zone) or one_line(self.zones.get(zone, zone))


def write(plan: Plan) -> Iterator[Written]:
    """A page for each zone that the firewall has a port into, and one for the firewall itself."""
    for rules in plan.records(RuleSet):
        terms = Terms(
            {zone.slug: zone.name for zone in plan.records(Zone)}, {flow.slug: flow for flow in plan.records(Flow)}
        )
        for zone in (*sorted({leg.zone for leg in rules.legs} - {OUTSIDE}), FIREWALL):
            called = terms.zone(zone)
            opening = head(
                text(plan.office.name),
                text(plan.office.as_of),
                [f"rule sheet of {called}, for whatever firewall it is"],
            )
            yield Written(
                path=f"sheets/{slug(zone, 'zone')}.txt",
                content=sheet(zone, rules, terms, opening).encode(),
                what=f"What {called} may speak to, and who may speak to it, in plain words.",
                goes="To whoever sets up the firewall, if it takes neither rules.nft nor acl.json; and into the handover folder.",
                load="By hand, rule by rule in the order of the numbers.",
                undo="Take the rules of this sheet out again.",
            )


def sheet(zone: str, rules: RuleSet, terms: Terms, opening: Iterable[str]) -> str:
    """One page, no line longer than a hundred characters."""
    mine = [rule for rule in rules.rules if _concerns(rule, zone)]
    late = [rule for rule in mine if not rule.early and rule.state not in KNOWN]
    passing = [rule for rule in late if rule.verdict is Verdict.ACCEPT]
    coming = [rule for rule in passing if rule.zone_out == zone or (rule.zone_out == "" and rule.zone_in != zone)]
    leaving = [rule for rule in passing if rule.zone_in == zone or rule not in coming]
    sections = (
        ("False sources, before all else", [rule for rule in mine if rule.early]),
        ("What belongs to a connection, and what belongs to none", [rule for rule in mine if rule.state in KNOWN]),
        (f"What may leave {terms.zone(zone)}", leaving),
        (f"What may come in to {terms.zone(zone)}", coming),
        ("What is stopped", [rule for rule in late if rule not in passing]),
    )
    lines = [
        *(line for part in opening for line in filled(part)), "", *_place(zone, rules, terms), "", *filled(READING),
        *(line for title, found in sections for line in _section(title, found, rules, terms)),
        *_translated(zone, rules, terms),
    ]  # fmt: skip
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _concerns(rule: FilterRule, zone: str) -> bool:
    """Whether a rule names the zone, or any zone, on one of its sides; false sources are told of where they come in."""
    if rule.early:
        return zone != FIREWALL and rule.zone_in in {zone, ""}
    return bool({zone, ""} & {rule.zone_in, rule.zone_out})


def filled(words: str, first: str = "", rest: str | None = None) -> list[str]:
    """Words on lines of the sheet's width, the first and the others with their margins; a long word is broken."""
    margin = " " * len(first) if rest is None else rest
    return wrap(one_line(words), WIDTH, initial_indent=first, subsequent_indent=margin, break_on_hyphens=False) or [
        first
    ]


def _place(zone: str, rules: RuleSet, terms: Terms) -> Iterator[str]:
    """The zone's ports, networks and gateways."""
    legs = rules.legs if zone == FIREWALL else [leg for leg in rules.legs if leg.zone == zone]
    for leg in sorted(legs, key=lambda leg: leg.interface):
        yield from filled(f"{terms.zone(leg.zone)}, by the firewall's port {leg.interface}", "  ")
        for family in FAMILIES:
            networks = ", ".join(address(network) for network in of_family(leg.networks, family))
            own = ", ".join(str(host) for host in leg.own if host.version == family)
            if networks or own:
                parts = [networks, f"the firewall is {own}" if own else ""]
                yield from filled("; ".join(part for part in parts if part), f"    IPv{family}  ")


def _section(title: str, found: Sequence[FilterRule], rules: RuleSet, terms: Terms) -> Iterator[str]:
    yield from ("", *filled(title.upper()))
    if not found:
        yield "  Nothing."
    for (flow, comment, _, _), group in groupby(
        found, key=lambda rule: (rule.flow, rule.comment, rule.zone_in, rule.zone_out)
    ):
        many = list(group)
        yield from ("", *_heading(many[0], terms.flows.get(flow), comment, terms))
        for rule in many:
            yield from filled(_said(rule, rules), f"    {rule.slug:<9} {FATES[rule.verdict]}: ", " " * 14)


def _heading(rule: FilterRule, flow: Flow | None, comment: str, terms: Terms) -> Iterator[str]:
    """What a group of rules is for: name, who and to whom, why."""
    here, there = terms.zone(rule.zone_in), terms.zone(rule.zone_out)
    if flow:
        here, there = _end(flow.source.label, here), _end(flow.target.label, there)
    way = f": {here} to {there}" if (rule.zone_in or rule.zone_out) and not rule.early else ""
    yield from filled(f"{one_line(flow.name if flow else comment)}{way}", "  ", "    ")
    if flow and flow.why:
        yield from filled(flow.why, "    Why: ")
    if rule.window:
        yield from filled(f"{hours(rule.window)}, by the office's clock", "    Hours, to begin: ")


def _end(label: str, zone: str) -> str:
    """An end of an intent, with the zone it lies in unless it says so itself."""
    plain = one_line(label) or zone
    return plain if plain == zone or zone in EVERYWHERE.values() else f"{plain} ({zone})"


def _said(rule: FilterRule, rules: RuleSet) -> str:
    """What a rule matches, in a sentence."""
    families = [rule.family] if rule.family else list(FAMILIES)
    parts = [
        " and ".join(f"IPv{family}" for family in families),
        KNOWN.get(rule.state, ""),
        carried(rule),
        _networks("from ", rule.sources, families),
        _networks("from anything but ", rule.not_sources, families),
        _networks("to ", rule.targets, families),
        _party(rule.target_set, rules, families),
        "after its target was translated" if rule.translated else "",
        "and logged" if rule.log else "",
    ]
    return "; ".join(part for part in parts if part) + "."


def carried(rule: FilterRule) -> str:
    """The protocol with its ports or message types; any, where the rule does not say."""
    if rule.state in KNOWN and not rule.protocol:
        return ""
    if rule.protocol in {"", ANY_PROTOCOL}:
        return "any protocol"
    asked = ", ".join(span(one) for one in ranges(rule.ports, rule.protocol))
    kind = "message type" if rule.protocol.startswith("icmp") else "port"
    return f"{rule.protocol} {kind} {asked}" if asked else rule.protocol


def _networks(word: str, networks: Iterable[Net], families: Iterable[int]) -> str:
    known = list(networks)
    words = [address(network) for family in families for network in of_family(known, family)]
    return word + ", ".join(words) if words else ""


def _party(party: str, rules: RuleSet, families: Iterable[int]) -> str:
    """Whom a set stands for: the names that fill it, and what is listed."""
    for known, networks, names in rules.sets:
        if known == party:
            answered = f"whatever {', '.join(names)} answer" if names else ""
            told = [answered, _networks("", networks, families)]
            return f"to {party}: {' and '.join(part for part in told if part) or 'nobody'}"
    return f"to {party}" if party else ""


def hours(window: Window) -> str:
    """Days and hours in words; the last minute counts."""
    days = sorted(set(window.days))
    running = len(days) > 2 and days == list(range(days[0], days[-1] + 1))  # noqa: PLR2004 -- two days are named, not spanned
    said = f"{DAYS[days[0]]} to {DAYS[days[-1]]}" if running else ", ".join(DAYS[day] for day in days)
    if len(days) == len(DAYS):
        said = "every day"
    if (window.first, window.last) == (0, LAST_MINUTE):
        return said
    return f"{said}, {clock(window.first)} up to and including {clock(window.last)}"


def _translated(zone: str, rules: RuleSet, terms: Terms) -> Iterator[str]:
    found = [line for one in rules.translations for line in _translation(one, zone, rules, terms)]
    if found:
        yield from ("", "TRANSLATION", *found)


def _translation(one: Translation, zone: str, rules: RuleSet, terms: Terms) -> list[str]:
    """A translation that concerns a zone, in a sentence."""
    if one.kind == "source":
        return filled(f"What leaves to {terms.zone(one.zone)} in IPv4 bears the firewall's own address there.", "  ")
    if one.to is None or one.carried is None or zone not in {FIREWALL, *_zones_of(one.to, rules.legs)}:
        return []
    port = f", port {one.port}" if one.port else ""
    return filled(
        f"What comes in IPv4 from {terms.zone(one.zone)} to the firewall's own address there, {one.carried}, goes to "
        f"{one.to}{port}.", "  ",
    )  # fmt: skip


def _zones_of(host: Host, legs: Sequence[Leg]) -> list[str]:
    return [leg.zone for leg in legs if any(host in network for network in leg.networks)]
