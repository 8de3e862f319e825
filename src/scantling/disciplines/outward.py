"""Outward: what people, visitors and machines may reach outside.

Figures:
    outward.intents.<slug>    what an intent carries
    outward.anywhere          machines that fetch updates from anywhere outside
    outward.web               zones that may speak to any page outside
Findings: T-10 T-11.
Records: Flow.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scantling.catalogue import House, Practice
from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Desk, Device, End, Every, Figure, Finding, Flow, Machine, Party, Service, Visitors, Weight,
    Zone, count_of, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT, WORD
from scantling.handbook.intents import asked_for
from scantling.handbook.sizing import beyond
from scantling.handbook.spoken import read_carried
from scantling.handbook.whereabouts import Whereabouts

PEOPLE, VISITORS = Practice("traffic.people-outside", WORD), Practice("traffic.visitors-outside", WORD)
MACHINES = Practice("traffic.machines-outside", WORD)
UPDATES, GROUP = "updates", "outside"
NONE = total((), COUNT)


@dataclass(frozen=True)
class _Wish:
    """Who reaches whom outside, with what, and why."""

    slug: str
    name: str
    source: End
    target: End
    carried: Figure[str]
    among: Mapping[str, Figure[int]]
    why: str


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    house: House,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    visitors: Every[Visitors],
    addresses: Every[Address],
    addresses6: Every[Address6],
    parties: Every[Party],
    desk: Desk,
) -> Iterator[Flow | Finding]:
    """People by the house's list, visitors to the web, machines and the firewall to their updates."""
    where = Whereabouts(zones, devices, machines, services, (), visitors, addresses, addresses6, (), parties)
    held = {zone.slug: zone for zone in zones}
    people = [_zone(held[slug], "out", "Out to the web and mail", house[PEOPLE], "people work with what is outside", where)
              for slug in where.people()]  # fmt: skip
    people += [_zone(held[slug], "web", "Visitors to the web", house[VISITORS], "visitors reach the web and nothing else", where)
               for slug in where.guests()]  # fmt: skip
    fetching = [wish for target in _sources(where) for wish in _machines(where, target, house[MACHINES])]
    for wish in (*people, *fetching):
        yield _flow(wish, desk)
    yield from _findings(people, fetching, desk)


def _zone(zone: Zone, word: str, name: str, carried: Figure[str], why: str, where: Whereabouts) -> _Wish:
    whole, outside = where.zone(zone.slug), where.zone(OUTSIDE)
    return _Wish(f"{word}-{zone.slug}", name, whole, outside, carried, {zone.slug: zone.devices}, why)


def _sources(where: Whereabouts) -> tuple[End, ...]:
    """Where updates come from: the parties that give them, or anywhere outside."""
    return tuple(where.party(one) for one in where.parties if one.kind == UPDATES) or (where.zone(OUTSIDE),)


def _machines(where: Whereabouts, target: End, carried: Figure[str]) -> Iterator[_Wish]:
    """Machines zone by zone, and the firewall."""
    why = "machines and the firewall are kept up to date"
    to = f"-{target.holder}" if target.holder else ""
    for zone in where.zones:
        mine = {one.slug: one.cores for one in where.machines if zone.slug in one.zones and one.slug != where.gate()}
        for end in where.hosted(zone.slug):
            yield _Wish(f"updates-{zone.slug}{to}", "Updates of machines", end, target, carried, mine, why)
    yield _Wish(f"updates-firewall{to}", "Updates of the firewall", where.zone(FIREWALL), target, carried, {}, why)


def _flow(wish: _Wish, desk: Desk) -> Flow:
    cause = asked_for.of(carried=wish.carried, wanted={}, among=wish.among)
    label = f"{wish.name}: {wish.source.label} to {wish.target.label}"
    cause = desk.under("intents").figure(wish.slug, cause, label)
    transports = read_carried(text(cause)).transports
    return Flow(wish.slug, wish.name, wish.source, wish.target, transports, wish.why, cause, GROUP)


def _findings(people: list[_Wish], fetching: list[_Wish], desk: Desk) -> Iterator[Finding]:
    """Updates from anywhere; encrypted lookups that look like any page."""
    anywhere = {slug: cores for wish in fetching if not wish.target.holder for slug, cores in wish.among.items()}
    many = desk.figure("anywhere", count_of(anywhere), "Machines that fetch updates from anywhere outside")
    yield Finding(
        "T-10", Weight.NOTE, beyond.of(have=many, limit=NONE),
        "{many:machine|machines} may reach any page outside, because nobody is named who gives their updates.",
        "Write whoever gives updates under parties with kind: updates; then machines reach them and nobody else.",
        {"many": many}, "servers",
    )  # fmt: skip
    open_ = {slug: devices for wish in people for slug, devices in wish.among.items()}
    web = desk.figure("web", count_of(open_), "Zones that may speak to any page outside")
    yield Finding(
        "T-11", Weight.NOTE, beyond.of(have=web, limit=NONE),
        "In {web:zone|zones} a device can look names up inside an ordinary encrypted page (RFC 8484), past the resolver: no rule sees it.",
        "Where that matters, have the filter refuse the names of known resolvers, set the browsers by policy, and tell the client.",
        {"web": web}, next(iter(open_), ""),
    )  # fmt: skip
