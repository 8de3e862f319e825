"""Talk: what services and devices must say to each other, from what is there and what programs listen on.

Figures:
    talk.intents.<slug>    what an intent carries
Findings: .
Records: Flow.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scantling.catalogue import Article, Catalogue
from scantling.catalogue.columns import NAME
from scantling.figures import (
    Address, Address6, Attribute, Box, Desk, Device, End, Every, Figure, Flow, Machine, Party, Range, Reservation, Service,
    Visitors, Zone, text,
)  # fmt: skip
from scantling.figures.units import WORD
from scantling.handbook.intents import asked_for
from scantling.handbook.spoken import parted, read_carried
from scantling.handbook.whereabouts import Whereabouts, together

SOURCE, TARGET = Attribute("source", WORD), Attribute("target", WORD)
CARRIED, GROUP, WHY = Attribute("carried", WORD), Attribute("group", WORD), Attribute("why", WORD)
COLUMNS = {"talk": (NAME, SOURCE, TARGET, CARRIED, GROUP, WHY)}


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
    desk: Desk,
) -> Iterator[Flow]:
    """An intent for every pair of ends that a row of the catalogue joins."""
    where = Whereabouts(zones, devices, machines, services, boxes, visitors, addresses, addresses6, ranges)
    for row in catalogue.every("talk"):
        yield from _flows(row, where, desk)


def _flows(row: Article, where: Whereabouts, desk: Desk) -> Iterator[Flow]:
    sources, targets = _ends(str(row.get(SOURCE)), where), _ends(str(row.get(TARGET)), where)
    for source in sources:
        for target in targets:
            if source.end.zone != target.end.zone:
                slug = f"{row.slug}-{_key(source.end)}-to-{_key(target.end)}"
                cause = asked_for.of(carried=row.figure(CARRIED), among={**source.there, **target.there})
                cause = desk.under("intents").figure(slug, cause, f"{source.end.label} to {target.end.label}")
                yield Flow(
                    slug, str(row.get(NAME)), source.end, target.end, read_carried(text(cause)).transports, str(row.get(WHY)), cause,
                    str(row.get(GROUP)),
                )  # fmt: skip


@dataclass(frozen=True)
class _There:
    """An end, and the figures that say it is there."""

    end: End
    there: Mapping[str, Figure[int]]


def _key(end: End) -> str:
    return end.holder or end.zone


def _ends(words: str, where: Whereabouts) -> list[_There]:
    return [one for word in parted(words) for one in _meant(word, where)]


def _meant(word: str, where: Whereabouts) -> Iterator[_There]:
    """The ends of one word of a row."""
    kind, _, name = word.partition(" ")
    if kind == "people":
        for zone in where.people():
            yield _There(where.zone(zone), {one.slug: one.devices for one in where.zones if one.slug == zone})
    if kind == "profile":
        for end in where.doing(name):
            yield _There(end, {one.slug: one.users for one in where.services if one.profile == name})
    if kind == "kind":
        for zone in dict.fromkeys(one.zone for one in where.devices if one.kind == name):
            mine = [one for one in where.devices if one.kind == name and one.zone == zone]
            for end in together([where.device(one) for one in mine], name):
                yield _There(end, {one.slug: one.now for one in mine})
