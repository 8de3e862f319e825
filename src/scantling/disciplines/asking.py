"""Asking: which machine answers for names, lookups, time and addresses, and whom each zone asks.

Figures:
    asking.sources    time sources outside
    asking.resolvers  resolvers outside that are asked
Findings: D-16 D-17 D-20.
Records: Asking, Server, Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from ipaddress import IPv4Address

from scantling.brief import Given, Section, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    FIREWALL, Address, Address6, Asking, Desk, Every, Figure, Finding, Host, Name, Page, Prefix, Prose,
    Ruled, Server, Service, Subnet, Weight, Zone, count_of, text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, HOUR, WORD
from scantling.figures.units import Address as Dotted
from scantling.figures.units import Word
from scantling.handbook.naming import NAME, distinct_sources
from scantling.handbook.sizing import beyond, both, negated, same, shorter

ENOUGH, NO_SOURCE = Practice("names.time-sources", COUNT), Practice("names.no-source", WORD)
WITHOUT_DOMAIN, WITHOUT_LOOKUPS = Practice("names.without-domain", WORD), Practice("names.without-lookups", WORD)
EXPIRE, OTHERS = Practice("names.expire", HOUR), Practice("names.others", WORD)
NAMING, DIRECTORY, FILTER = "names-and-addresses", "directory", "content-filter"
"""Profiles of the services that answer."""
NONE = total((), COUNT)


class Clocks(Section):
    """Which clocks outside the office are asked."""

    key = "time"
    default_whole = True
    first: Given[Word] = assumed(
        "Which time source outside is asked first?", "names.first-source", form=NAME, like="ntp.client.example"
    )
    second: Given[Word] = assumed(
        "Which second one (none where there is none)?", "names.second-source", form=NAME, like="ntp.client.example"
    )
    more: dict[str, Given[Word]] | None = optional("Which further ones?")


class Finds(StrEnum):
    """How the resolver comes by an answer that it does not know."""

    ITSELF = "itself"
    OTHERS = "others"


class Resolver(Section):
    """How names outside are looked up."""

    key = "resolver"
    default_whole = True
    finds: Given[Finds] = assumed(
        "Does the resolver find names outside itself, or does it ask others?", "names.finds"
    )
    ask: dict[str, Given[Dotted]] | None = optional("Which resolvers outside does it ask?")


@dataclass(frozen=True)
class _There:
    """Addresses by who bears them: machines by their word, the firewall's own by zone."""

    machines: Mapping[str, tuple[Host, ...]]
    zones: Mapping[str, str]
    gateways: Mapping[str, tuple[Host, ...]]

    def of(self, holder: str) -> tuple[Host, ...]:
        """All addresses of a machine, or of the firewall in every zone."""
        return (
            self.machines[holder] if holder != FIREWALL else tuple(a for many in self.gateways.values() for a in many)
        )

    def copying(self, naming: str, resolving: str) -> tuple[Host, ...]:
        """Where the resolver asks for copies from: its own addresses, or the firewall's in the zone of who holds the names."""
        if naming == resolving:
            return ()
        return self.machines[resolving] if resolving != FIREWALL else self.gateways.get(self.zones[naming], ())

    def server(self, slug: str, does: str, holder: str, upstream: Sequence[str] = ()) -> Server:
        """A program on a machine or on the firewall."""
        zone = FIREWALL if holder == FIREWALL else self.zones[holder]
        return Server(slug, does, holder, zone, self.of(holder), tuple(upstream))


def design_servers(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    time: Clocks,
    resolver: Resolver,
    house: House,
    services: Every[Service],
    addresses: Every[Address],
    addresses6: Every[Address6],
    subnets: Every[Subnet],
    prefixes: Every[Prefix],
    desk: Desk,
) -> Iterator[Server | Finding]:
    """Who answers: the machines that the services run on, and the firewall for what no machine does."""
    there = _there(addresses, addresses6, subnets, prefixes)
    held: dict[str, str] = {}
    for one in services:
        if one.machine in there.machines:
            held.setdefault(one.profile, one.machine)
    naming, filtering = held.get(NAMING, FIREWALL), held.get(FILTER, FIREWALL)
    clocks = {"first": time.first, "second": time.second, **(time.more or {})}
    sources = list(dict.fromkeys(text(one) for one in clocks.values() if text(one) != text(house[NO_SOURCE])))
    asked = [text(one) for one in (resolver.ask or {}).values()] if text(resolver.finds) == Finds.OTHERS else []
    yield there.server("names", "names", naming, [str(one) for one in there.copying(naming, filtering)])
    yield there.server("addresses", "addresses", naming)
    if naming != FIREWALL:
        yield there.server("relay", "relay", FIREWALL, [str(one) for one in there.of(naming)])
    yield there.server("lookups", "lookups", filtering, asked)
    if filtering != FIREWALL:
        yield there.server("lookups-firewall", "lookups", FIREWALL, [str(one) for one in there.of(filtering)])
    yield there.server("time-firewall", "time", FIREWALL, sources)
    second = _second(held)
    if second:
        yield there.server(f"time-{second}", "time", second, sources)
    yield from _findings(clocks, resolver, house, desk)


def _there(
    addresses: Sequence[Address],
    addresses6: Sequence[Address6],
    subnets: Sequence[Subnet],
    prefixes: Sequence[Prefix],
) -> _There:
    machines: dict[str, tuple[Host, ...]] = {}
    zones: dict[str, str] = {}
    gateways: dict[str, tuple[Host, ...]] = {one.slug: (one.gateway,) for one in subnets}
    given: list[tuple[str, str, Host]] = [(one.holder, one.zone, one.address) for one in addresses if not _door(one)]
    given += [(one.holder, one.zone, one.address) for one in addresses6 if not _door(one)]
    for holder, zone, address in given:
        machines[holder] = (*machines.get(holder, ()), address)
        zones.setdefault(holder, zone)
    for prefix in prefixes:
        gateways[prefix.slug] = (*gateways.get(prefix.slug, ()), prefix.gateway)
    return _There(machines, zones, gateways)


def _door(one: Address | Address6) -> bool:
    """Whether it is a zone's gateway; a machine may be called gateway, too."""
    return one.slug == f"gateway-{one.zone}"


def _second(held: Mapping[str, str]) -> str:
    """A second machine that gives the time: the directory's, else any that does a service; never the firewall's own."""
    wanted = [held.get(DIRECTORY, ""), held.get(NAMING, ""), *held.values()]
    return next((one for one in wanted if one and one != held.get(FIREWALL)), "")


def _findings(clocks: Mapping[str, Figure[str]], resolver: Resolver, house: House, desk: Desk) -> Iterator[Finding]:
    """Too few clocks, and nobody to ask."""
    many = desk.figure("sources", distinct_sources.of(sources=clocks, none=house[NO_SOURCE]), "Time sources outside")
    alone = negated.of(given=beyond.of(have=many, limit=NONE))
    few = both.of(one=shorter.of(have=many, need=house[ENOUGH]), other=negated.of(given=alone))
    yield Finding(
        "D-16", Weight.MEND, few, "{many:time source outside is|time sources outside are} asked; {enough} are wanted.",
        "Name a second one, kept by somebody else: a clock that is wrong is found only beside another.",
        {"many": many, "enough": house[ENOUGH]},
    )  # fmt: skip
    yield Finding(
        "D-17", Weight.MEND, alone, "No time source outside is asked: the office goes by the clock of its own server.",
        "Name two sources outside. Five minutes out, nobody can log in (RFC 4120); a machine asks its host, the host asks the machine, "
        "and both drift together.", {"many": many},
    )  # fmt: skip
    asked = desk.figure("resolvers", count_of(resolver.ask or {}), "Resolvers outside that may be asked")
    nobody = both.of(
        one=same.of(one=resolver.finds, other=house[OTHERS]),
        other=negated.of(given=beyond.of(have=asked, limit=NONE)),
    )
    yield Finding(
        "D-20", Weight.MEND, nobody, "The resolver is to ask others, but no resolver is named; it finds names itself.",
        "Write their addresses under resolver.ask, or let it find names itself.", {"asked": asked},
    )  # fmt: skip


def design_asking(
    house: House,
    zones: Every[Zone],
    subnets: Every[Subnet],
    prefixes: Every[Prefix],
    servers: Every[Server],
    names: Every[Name],
) -> Iterator[Asking | Page]:
    """Whom each zone asks, and who answers when the directory is down."""
    doors = _there((), (), subnets, prefixes).gateways
    plain, mute = ({text(one) for one in house.every(rule)} for rule in (WITHOUT_DOMAIN, WITHOUT_LOOKUPS))
    domain = names[0].name.partition(".")[2]
    clocks = [one for one in servers if one.does == "time" and one.holder != FIREWALL]
    found = []
    for zone in [one for one in zones if one.slug in doors]:
        known = zone.slug not in plain | mute
        answering = _answering(servers, known=known)
        own = doors[zone.slug]
        resolvers = () if zone.slug in mute else own if answering.holder == FIREWALL else answering.addresses
        times = (*own, *(a for clock in clocks for a in clock.addresses)) if known else own
        says = _when_down(servers, answering, house, known=known) if zone.slug not in mute else NOBODY
        found.append(Asking(zone.slug, resolvers, times, domain if known else "", says))
    yield from found
    yield _page(found, {one.slug: one.name for one in zones}, servers, names)


NOBODY = "Nobody is asked: this zone looks nothing up, and its devices know each other by their numbers."


def _answering(servers: Sequence[Server], *, known: bool) -> Server:
    """The resolver of zones that know the office's names, and that of the others: the firewall's wherever it has one."""
    resolvers = [one for one in servers if one.does == "lookups"]
    return next((one for one in resolvers if (one.holder != FIREWALL) == known), resolvers[0])


def _when_down(servers: Sequence[Server], answering: Server, house: House, *, known: bool) -> str:
    """Who answers at a cold start and when the machine that holds the names is down, in a sentence."""
    primary = next(one.holder for one in servers if one.does == "names")
    who = "The firewall" if answering.holder == FIREWALL else f"The machine {answering.holder}"
    if not known:
        return f"{who} answers for names outside; it tells this zone none of the office's."
    if primary == answering.holder:
        return f"{who} holds the office's names itself and reads them from its own disk when it starts."
    return (
        f"{who} answers from its copy of the office's names, for {text(house[EXPIRE])} while {primary} is down; "
        "at a cold start it reads the copy from its own disk."
    )


def _page(
    asking: Sequence[Asking], called: Mapping[str, str], servers: Sequence[Server], names: Sequence[Name]
) -> Page:
    """The page Names and time."""
    zones: list[tuple[Cell, ...]] = [
        (called[one.slug], _held(one.resolvers, servers), _held(one.time_sources, servers), one.domain or "none") for one in asking
    ]  # fmt: skip
    programs: list[tuple[Cell, ...]] = [
        (SAYS[one.does], one.holder, _fourth(one.upstream) if one.upstream else UPSTREAM.get(one.does, "")) for one in servers
    ]  # fmt: skip
    down: dict[str, list[str]] = {}
    for one in asking:
        down.setdefault(one.when_down, []).append(called[one.slug])
    return Page("names", "N", "Names and time", (
        Prose("Every zone asks the firewall or one machine for names, and two clocks for the time where it may reach them. Zones without "
              "the office's domain learn none of its names. Everything here is answered in IPv6 too, at the addresses of the register."),
        Ruled("Whom each zone asks", ("zone", "names from", "time from", "domain"), zones),
        Ruled("At a cold start, and when the directory is down", ("zones", "who answers"), [
            (", ".join(many), says) for says, many in down.items()
        ]),
        Ruled("Who answers", ("for", "where", "asks or tells in turn"), programs),
        Ruled("What is called how", ("name", "also", "address"), list(_called(names))),
    ), 6)  # fmt: skip


def _held(addresses: Sequence[Host], servers: Sequence[Server]) -> str:
    """Each IPv4 address with the machine that has it."""
    holders = {address: one.holder for one in servers for address in one.addresses}
    return ", ".join(f"{holders[one]} {one}" for one in addresses if isinstance(one, IPv4Address)) or "nobody"


def _fourth(words: Sequence[str]) -> str:
    """Names and IPv4 addresses; each machine's other address stands in the register."""
    return ", ".join(word for word in words if ":" not in word)


SAYS = {
    "names": "the office's names", "addresses": "addresses lent", "relay": "calls for addresses, passed on",
    "lookups": "names looked up", "time": "time",
}  # fmt: skip
UPSTREAM = {"lookups": "the name servers outside, from the root on"}


def _called(names: Sequence[Name]) -> Iterator[tuple[Cell, ...]]:
    """A row for each machine and gateway, and one for all devices of a kind."""
    groups: dict[str, list[Name]] = {}
    for one in names:
        groups.setdefault(one.holder, []).append(one)
    for many in groups.values():
        first, last = many[0], many[-1]
        label = _span(first.name.split(".")[0], last.name.split(".")[0])
        also = ", ".join(alias.split(".")[0] for alias in first.aliases)
        fourth = [str(one) for name in many for one in name.addresses if isinstance(one, IPv4Address)]
        where = (_span(fourth[0], fourth[-1]) if len(many) > 1 else ", ".join(fourth)) if fourth else "lent"
        yield label, also, where


def _span(first: str, last: str) -> str:
    return first if first == last else f"{first} to {last}"
