"""Talk: what services and devices must say to each other, from what is there and what programs listen on.

Figures:
    talk.intents.<slug>    what an intent carries
    talk.terminals         payment terminals
    talk.processors        outside parties that process payments
    talk.telephones        telephones
    talk.exchanges         outside parties that carry calls
    talk.unheard           services that nobody may reach
    talk.within            conversations inside one zone
Findings: T-1 T-2 T-3 T-4.
Records: Flow, Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from scantling.catalogue import Article, Catalogue
from scantling.catalogue.columns import NAME
from scantling.catalogue.columns import TALK_CARRIED as CARRIED
from scantling.catalogue.columns import TALK_GROUP as GROUP
from scantling.catalogue.columns import TALK_SOURCE as SOURCE
from scantling.catalogue.columns import TALK_TARGET as TARGET
from scantling.catalogue.columns import TALK_WHY as WHY
from scantling.figures import (
    FIREWALL, OUTSIDE, Address, Address6, Box, Desk, Device, End, Every, Figure, Finding, Flow, Leg, Machine, Page,
    Party, Prose, Range, Ruled, Service, Visitors, Weight, Zone, count_of, text, total,
)  # fmt: skip
from scantling.figures.units import COUNT
from scantling.handbook.intents import asked_for
from scantling.handbook.sizing import beyond, both, negated
from scantling.handbook.spoken import parted, read_carried
from scantling.handbook.whereabouts import Whereabouts, together

REMOTE = "remote-access"
NONE = total((), COUNT)
NO_PROCESSOR = (
    "T-1", "{many:payment terminal has|payment terminals have} nobody to reach: the brief names no processor.",
    "Ask the card provider for the names or networks of its hosts, and write them under parties with kind: processor.",
)  # fmt: skip
NO_EXCHANGE = (
    "T-2", "{many:telephone has|telephones have} no exchange outside: the brief names no provider of calls.",
    "Ask the telephone provider for the names or networks of its exchange, and write them under parties with kind: telephone.",
)  # fmt: skip


@dataclass(frozen=True)
class _There:
    """An end with a word of its own, and the figures that say it is there."""

    key: str
    end: End
    there: Mapping[str, Figure[int]] = field(default_factory=dict)
    wanted: Mapping[str, Figure[float]] = field(default_factory=dict)
    """Services that it does, by the time that each may be down."""


@dataclass(frozen=True)
class _Talk:
    """One row between two ends that are there."""

    row: Article
    source: _There
    target: _There

    @property
    def slug(self) -> str:
        """Unique among all talks of an office."""
        return f"{self.row.slug}-{self.source.key}-to-{self.target.key}"

    @property
    def inside(self) -> bool:
        """Whether both ends share a zone, so that the firewall never sees it."""
        return self.source.end.zone == self.target.end.zone

    def rests(self) -> Figure[str]:
        """What it carries, resting on its row and on what is there."""
        wanted = {**self.target.wanted, **self.source.wanted}
        return asked_for.of(
            carried=self.row.figure(CARRIED), wanted=wanted, among={**self.source.there, **self.target.there}
        )


def design(  # noqa: PLR0913 - decisions/arguments-of-trades.md
    catalogue: Catalogue,
    zones: Every[Zone],
    devices: Every[Device],
    machines: Every[Machine],
    services: Every[Service],
    boxes: Every[Box],
    visitors: Every[Visitors],
    addresses: Every[Address],
    addresses6: Every[Address6],
    ranges: Every[Range],
    parties: Every[Party],
    legs: Every[Leg],
    desk: Desk,
) -> Iterator[Flow | Finding | Page]:
    """An intent for every pair of ends that a row of the catalogue joins, and what is left unsaid."""
    where = Whereabouts(
        zones, devices, machines, services, boxes, visitors, addresses, addresses6, ranges, parties, legs
    )
    talks = [talk for row in catalogue.every("talk") for talk in _talks(row, where)]
    yield from (_flow(talk, desk) for talk in talks if not talk.inside)
    within = {talk.slug: talk.rests() for talk in talks if talk.inside}
    many = desk.figure("within", count_of(within), "Conversations inside one zone")
    yield from _lonely(where, desk)
    yield from _unheard(catalogue, talks, where, desk)
    yield Finding(
        "T-4", Weight.NOTE, beyond.of(have=many, limit=NONE),
        "{many:conversation stays|conversations stay} inside one zone, where the firewall stands between nobody and nobody.",
        "Set the machines' own filters after the page Inside one zone, first of all for the database.", {"many": many},
    )  # fmt: skip
    if within:
        yield _page([talk for talk in talks if talk.inside])


def _talks(row: Article, where: Whereabouts) -> Iterator[_Talk]:
    """Every pair of different ends of a row, once."""
    for source in _ends(str(row.get(SOURCE)), where):
        for target in _ends(str(row.get(TARGET)), where):
            to = _Talk(row, source, _doored(source, target, where))
            if source.key != target.key:
                yield to


def _doored(source: _There, target: _There, where: Whereabouts) -> _There:
    """The firewall is spoken to at its own address in the zone of whoever speaks."""
    if target.end.zone == FIREWALL:
        return _There(FIREWALL, where.door(source.end.zone))
    return target


def _ends(words: str, where: Whereabouts) -> list[_There]:
    found = {one.key: one for word in parted(words) for one in _meant(word, where)}
    return list(found.values())


def _meant(word: str, where: Whereabouts) -> Iterator[_There]:
    """The ends of one word of a row."""
    kind, _, name = word.partition(" ")
    if kind == "people":
        yield from (_zone(zone, where) for zone in where.people())
        yield from _meant(f"profile {REMOTE}", where)
    elif kind == "machines":
        yield from _machines(where)
    elif kind in {OUTSIDE, FIREWALL}:
        yield _There(kind, where.zone(kind))
    elif kind == "profile":
        wanted = {one.slug: one.down for one in where.services if one.profile == name}
        yield from (_There(where.key(end), end, wanted=wanted) for end in where.doing(name))
    elif kind == "party":
        yield from (_There(one.slug, where.party(one)) for one in where.parties if one.kind == name)
    elif kind == "kind":
        yield from _devices(name, where)


def _zone(slug: str, where: Whereabouts) -> _There:
    return _There(slug, where.zone(slug), {zone.slug: zone.devices for zone in where.zones if zone.slug == slug})


def _machines(where: Whereabouts) -> Iterator[_There]:
    for zone in where.zones:
        mine = {one.slug: one.cores for one in where.machines if zone.slug in one.zones and one.slug != where.gate()}
        yield from (
            _There(where.key(end) if end.holder else f"{zone.slug}-machines", end, mine)
            for end in where.hosted(zone.slug)
        )


def _devices(kind: str, where: Whereabouts) -> Iterator[_There]:
    for zone in dict.fromkeys(one.zone for one in where.devices if one.kind == kind):
        mine = [one for one in where.devices if one.kind == kind and one.zone == zone]
        label = " and ".join(one.name for one in mine)
        for end in together([where.device(one) for one in mine], label):
            yield _There(end.holder or f"{zone}-{kind}", end, {one.slug: one.now for one in mine})


def _flow(talk: _Talk, desk: Desk) -> Flow:
    row, source, target = talk.row, talk.source.end, talk.target.end
    label = f"{row.get(NAME)}: {source.label} to {target.label}"
    cause = desk.under("intents").figure(talk.slug, talk.rests(), label)
    transports = read_carried(text(cause)).transports
    return Flow(
        talk.slug, str(row.get(NAME)), source, target, transports, str(row.get(WHY)), cause, str(row.get(GROUP))
    )


def _lonely(where: Whereabouts, desk: Desk) -> Iterator[Finding]:
    """Terminals without a processor, telephones without an exchange."""
    yield _without(NO_PROCESSOR, ("terminals", "payment-terminal"), ("processors", "processor"), where, desk)
    yield _without(NO_EXCHANGE, ("telephones", "phone"), ("exchanges", "telephone"), where, desk)


def _without(
    lack: tuple[str, str, str], who: tuple[str, str], whom: tuple[str, str], where: Whereabouts, desk: Desk
) -> Finding:
    """Devices of a kind that want outside parties of a kind, and have none; the lack is code, sentence and remedy."""
    (code, says, remedy), (id_, kind), (other, party) = lack, who, whom
    mine = {one.slug: one.now for one in where.devices if one.kind == kind}
    many = desk.figure(id_, total(mine, COUNT), f"{id_.capitalize()} that want somebody outside")
    known = {one.slug: one.written for one in where.parties if one.kind == party}
    there = desk.figure(other, count_of(known), f"Outside parties of the kind {party}")
    nobody = both.of(one=beyond.of(have=many, limit=NONE), other=negated.of(given=beyond.of(have=there, limit=NONE)))
    return Finding(code, Weight.MEND, nobody, says, remedy, {"many": many})


def _unheard(catalogue: Catalogue, talks: Sequence[_Talk], where: Whereabouts, desk: Desk) -> Iterator[Finding]:
    """Services that are meant to be asked, and nobody may."""
    rows = [row for row in catalogue.every("talk") if "people" in parted(str(row.get(SOURCE)))]
    answered = {name for row in rows for name in parted(str(row.get(TARGET)))}
    heard = [talk.target.end for talk in talks]
    deaf = {
        one.slug: one for one in where.services
        if f"profile {one.profile}" in answered and where.holders(one) and not any(end in heard for end in where.holders(one))
    }  # fmt: skip
    many = desk.figure(
        "unheard", count_of({slug: one.users for slug, one in deaf.items()}), "Services that nobody may reach"
    )
    names = ", ".join(one.name for one in deaf.values())
    yield Finding(
        "T-3", Weight.MEND, beyond.of(have=many, limit=NONE), f"Nobody may reach {{many:service|services}}: {names}.",
        "Put the devices of those who use them into a zone for people, or write a line under traffic.allow.", {"many": many},
        next(iter(deaf), ""),
    )  # fmt: skip


def _page(talks: Sequence[_Talk]) -> Page:
    rows = [
        (talk.source.end.zone, str(talk.row.get(NAME)), _at(talk.source.end), _at(talk.target.end), talk.row.figure(CARRIED))
        for talk in talks
    ]  # fmt: skip
    return Page("inside", "N", "Inside one zone", (
        Prose("These speak with each other inside one zone. The firewall sees none of it and can neither allow nor forbid it: where "
              "that matters, each machine's own filter does. All else that shares the zone could reach them too."),
        Ruled("Who speaks with whom", ("zone", "what", "who", "to whom", "carried"), rows),
    ), 9)  # fmt: skip


def _at(end: End) -> str:
    return f"{end.label} ({', '.join(map(str, end.networks))})" if end.networks else end.label
