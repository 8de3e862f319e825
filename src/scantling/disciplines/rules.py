"""Rules: all intents compiled to the firewall's one ordered list, and what they add up to.

Figures:
    rules.intents        intents
    rules.forbidding     intents that forbid
    rules.list           rules of the list
    rules.places         zones, and the outside
    rules.pairs          ordered pairs of them
    rules.open           pairs that some intent joins
    rules.shut           share of the pairs that are shut
    rules.reached        zones that may be reached from another one or from outside
    rules.<slug>.in      places that may reach the zone
    rules.<slug>.out     places that the zone may reach
    rules.published      intents that let the outside in
    rules.shared         lines with an address that is not the firewall's own
Findings: T-23 T-24 T-25 T-28.
Records: RuleSet, Page.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from scantling.figures import (
    OUTSIDE, Desk, Every, Facts, Figure, Finding, Flow, Leg, Line, Page, Prose, Ruled, RuleSet, Source, Verdict, Weight, Zone,
    count_of, standard, text, total,
)  # fmt: skip
from scantling.figures.pages import Block, Cell
from scantling.figures.units import COUNT, SHARE, WORD
from scantling.handbook.filtering import compiled
from scantling.handbook.listing import rule_rows
from scantling.handbook.reach import killed, open_pairs, ordered_pairs, rows_of
from scantling.handbook.sizing import beyond, both, free_share
from scantling.handbook.translating import published, translations, twice

NONE = total((), COUNT)
SHARED, YES = "shared", "yes"
ALWAYS = standard(
    "default deny", WORD, Source("RFC 2647 section 3.26, RFC 2196 section 3.1.3, RFC 2827"), "every list has it"
)
GROUPS = {
    "brief": "The brief's own lines", "services": "Services", "devices": "Devices", "outside": "To the outside",
    "remote": "From outside", "lookups": "Names and time", "management": "Management", "monitoring": "Monitoring", "backup": "Backup",
    "discovery": "Found across zones", "housekeeping": "What the network needs",
}  # fmt: skip
COUNTS = (
    ("intents", "Intents", COUNT), ("forbidding", "Of these forbid", COUNT), ("list", "Rules made of them", COUNT),
    ("open", "Pairs of zones that are open, outside counted as one", COUNT), ("pairs", "Pairs there are", COUNT),
    ("shut", "Share of them that is shut", SHARE), ("reached", "Zones that may be reached from another one or from outside", COUNT),
)  # fmt: skip
HEADS = ("who", "to whom", "what", "why", "rests on")


def design(
    flows: Every[Flow], legs: Every[Leg], zones: Every[Zone], lines: Every[Line], desk: Desk
) -> Iterator[RuleSet | Finding | Page]:
    """The list, what it is made of, counted, and two pages."""
    rules = compiled(flows, legs, translations(flows, legs))
    causes = {flow.slug: flow.cause for flow in flows}
    desk.figure("intents", count_of(causes), "Intents")
    forbidding = {flow.slug: flow.cause for flow in flows if flow.verdict is not Verdict.ACCEPT}
    desk.figure("forbidding", count_of(forbidding), "Intents that forbid")
    desk.figure(
        "list", count_of({one.slug: causes.get(one.flow, ALWAYS) for one in rules.rules}), "Rules of the list"
    )
    yield rules
    _counted(flows, legs, zones, desk)
    yield from _findings(flows, legs, desk)
    yield _shared(lines, desk)
    yield _who(flows, zones, desk)
    yield _list(rules)


def _counted(flows: Sequence[Flow], legs: Sequence[Leg], zones: Sequence[Zone], desk: Desk) -> None:
    """Doors in and out of every zone, and how much is shut."""
    behind = [zone for zone in zones if any(leg.zone == zone.slug for leg in legs)]
    joined = {pair: flow.cause for pair, flow in open_pairs(flows, legs).items()}
    there: dict[str, Figure[Any]] = {zone.slug: zone.devices for zone in behind}
    places = desk.figure("places", count_of({**there, OUTSIDE: ALWAYS}), "Zones, and the outside")
    pairs = desk.figure("pairs", ordered_pairs.of(places=places), "Ordered pairs of zones, and of the outside")
    open_ = desk.figure(
        "open", count_of({" to ".join(pair): cause for pair, cause in joined.items()}), "Pairs that are open"
    )
    desk.figure("shut", free_share.of(whole=pairs, used=open_), "Share of the pairs that are shut")
    reached = {zone.slug: zone.devices for zone in behind if any(target == zone.slug for _, target in joined)}
    desk.figure("reached", count_of(reached), "Zones that may be reached from another one or from outside")
    for zone in behind:
        at = desk.under(zone.slug)
        into = {source: cause for (source, target), cause in joined.items() if target == zone.slug}
        out = {target: cause for (source, target), cause in joined.items() if source == zone.slug}
        at.figure("in", count_of(into), f"{zone.name}: who may reach it")
        at.figure("out", count_of(out), f"{zone.name}: whom it may reach")


def _findings(flows: Sequence[Flow], legs: Sequence[Leg], desk: Desk) -> Iterator[Finding]:
    """What is allowed and forbidden at once; what is published."""
    dead, by_slug = killed(flows, legs), {flow.slug: flow for flow in flows}
    lines = {(by_slug[slug].cause.id, drop.cause.id): (by_slug[slug], drop) for slug, drop in dead.items()}
    for (allowed, forbidden), (flow, drop) in lines.items():
        yield Finding(
            "T-23", Weight.STOP, beyond.of(have=count_of({allowed: flow.cause}), limit=NONE),
            f"{allowed} allows what {forbidden} forbids: {flow.source.label} to {flow.target.label}.",
            "Take one of the two lines away, or make the one that forbids narrower: what is forbidden stays shut.",
            {"allowed": flow.cause, "forbidden": drop.cause}, flow.source.zone,
        )  # fmt: skip
    if not dead:
        says = "Nothing is allowed and forbidden at once."
        yield Finding("T-23", Weight.STOP, beyond.of(have=NONE, limit=NONE), says, "Nothing is to be done.")
    both = twice(flows)
    yield Finding(
        "T-24", Weight.STOP, beyond.of(have=count_of({flow.slug: flow.cause for flow in both}), limit=NONE),
        f"The same port outside leads to two machines: {', '.join(flow.name for flow in both)}.",
        "Give one of them another port, or put a program before both that tells them apart by name.",
        {flow.slug: flow.cause for flow in both},
    )  # fmt: skip
    open_ = {flow.slug: flow.cause for flow in published(flows)}
    many = desk.figure("published", count_of(open_), "Intents that let the outside in")
    names = ", ".join(f"{flow.name} on {flow.target.label}" for flow in published(flows))
    yield Finding(
        "T-25", Weight.NOTE, beyond.of(have=many, limit=NONE), f"Intents that let the outside in, {{many}} in all: {names}.",
        "Keep what answers there up to date, ask for a second factor, and look at its log: strangers try it all day.",
        {"many": many},
    )  # fmt: skip


def _shared(lines: Sequence[Line], desk: Desk) -> Finding:
    """Lines through which nothing that is published in IPv4 is found."""
    behind = {one.slug: one.handoff for one in lines if text(one.handoff) == SHARED or text(one.router) == YES}
    many = desk.figure("shared", count_of(behind), "Lines with an address that is not the firewall's own")
    names = ", ".join(one.name for one in lines if one.slug in behind)
    inward = desk.kept("published", COUNT)
    return Finding(
        "T-28", Weight.MEND, both.of(one=beyond.of(have=many, limit=NONE), other=beyond.of(have=inward, limit=NONE)),
        f"{{inward:intent lets|intents let}} the outside in, and nobody finds the way by {names}: its address is not the firewall's own.",
        "Order an address of the firewall's own, have the provider's box pass everything on, or let the service answer in IPv6 only.",
        {"inward": inward, "lines": many}, next(iter(behind), ""),
    )  # fmt: skip


def _who(flows: Sequence[Flow], zones: Sequence[Zone], desk: Desk) -> Page:
    doors: list[tuple[Cell, ...]] = [
        (zone.name, desk.under(zone.slug).kept("in", COUNT), desk.under(zone.slug).kept("out", COUNT)) for zone in zones
    ]  # fmt: skip
    blocks: list[Block] = [
        Prose("Everything that is not on this sheet is dropped, from inside and from outside, in both families. Who is asked may "
              "always answer. Errors that belong to a conversation pass with it (RFC 4890, RFC 1191). What happens inside one zone "
              "never meets the firewall."),
        Facts([(label, desk.kept(id_, unit)) for id_, label, unit in COUNTS]),
        Ruled("Doors", ("zone", "reached from", "reaches"), doors),
    ]  # fmt: skip
    for group, title in GROUPS.items():
        mine = [flow for flow in flows if flow.group == group]
        if mine:
            blocks.append(Ruled(title, HEADS, rows_of(mine)))
    return Page("traffic", "N", "Who may reach whom and why", tuple(blocks), 7)


def _list(rules: RuleSet) -> Page:
    return Page("rules", "N", "The rule list", (
        Prose("In this order; the first that matches decides, and what none matches is dropped. The first digit of a number is the part "
              "of the list, the next ones are the zone's network number (0 the outside, all nines the firewall itself)."),
        Ruled("Rules", ("number", "verdict", "way", "from", "to", "what", "for"), rule_rows(rules.rules)),
    ), 8)  # fmt: skip
