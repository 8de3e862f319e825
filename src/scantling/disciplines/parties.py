"""Parties: those outside whom the office speaks with, known by networks or by names.

Figures:
    parties.known         outside parties
    parties.unreadable    parties whose names or networks can't be read, or that have neither
    parties.undated       parties whose list of networks has no date
    parties.named         parties that are known by names
    parties.inside        parties whose networks lie in the office
    parties.private       parties whose networks no line leads to
Findings: T-5 T-6 T-7 T-8 T-9 T-27.
Records: Party, Page.
"""

from collections.abc import Iterator, Mapping
from enum import StrEnum

from scantling.brief import Given, Mapped, Office, Section, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    Desk, Every, Figure, Finding, Leg, Page, Party, Prose, Ruled, Weight, count_of, text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.spelled import titled
from scantling.figures.units import COUNT, DAY, Date, Word
from scantling.handbook.outsiders import Listed, overlapping, read_party, too_old
from scantling.handbook.set_aside import NEVER_OUTSIDE
from scantling.handbook.sizing import beyond

LIST_AGE = Practice("traffic.list-age", DAY)
NONE = total((), COUNT)


class Kind(StrEnum):
    """What a party is to the office."""

    PROCESSOR = "processor"
    TERMINALS = "terminals"
    TELEPHONE = "telephone"
    UPDATES = "updates"
    SUPPORT = "support"
    SITE = "site"
    OTHER = "other"


class Outsider(Section):
    """Somebody outside whom the office speaks with."""

    name: Given[Word] | None = optional("What are they called?")
    kind: Given[Kind] = assumed("What are they to the office?", "traffic.party-kind")
    names: Given[Word] | None = optional("Under which names do they answer, parted by commas?")
    networks: Given[Word] | None = optional("From which networks do they answer, parted by commas?")
    listed: Given[Date] | None = optional("Of which day is the list of their networks?")
    why: Given[Word] | None = optional("What are they needed for?")

    def written(self) -> Figure[str]:
        """The line that says by what they are known."""
        return next((one for one in (self.networks, self.names, self.name) if one is not None), self.kind)


class Outsiders(Mapped[Outsider]):
    """Those outside whom the office speaks with."""

    key = "parties"
    default_whole = True


def asks(parties: Outsiders, desk: Desk) -> Iterator[Party | Finding]:
    """Every party as far as it can be read."""
    read = {slug: read_party(_text(one.names), _text(one.networks)) for slug, one in parties.items.items()}
    desk.figure("known", count_of({slug: one.written() for slug, one in parties.items.items()}), "Outside parties")
    for slug, one in parties.items.items():
        if read[slug].networks or read[slug].names:
            yield Party(
                slug, _called(slug, one), text(one.kind), read[slug].networks, read[slug].names, _text(one.listed), one.written()
            )  # fmt: skip
    wrong = {
        slug: _wrong(slug, found)
        for slug, found in read.items()
        if found.wrong or not (found.networks or found.names)
    }
    many = count_of({slug: parties.items[slug].written() for slug in wrong})
    many = desk.figure("unreadable", many, "Parties that can't be read")
    yield Finding(
        "T-5", Weight.STOP, beyond.of(have=many, limit=NONE), f"{{many:party|parties}} can't be read: {'; '.join(wrong.values())}.",
        "Write names or networks, or both, each parted by commas.", {"many": many}, next(iter(wrong), ""),
    )  # fmt: skip


def _wrong(slug: str, found: Listed) -> str:
    return f"parties.{slug}: {', '.join(found.wrong) or 'neither names nor networks are given'}"


def _text(given: Figure[object] | None) -> str:
    return text(given) if given is not None else ""


def _called(slug: str, one: Outsider) -> str:
    return text(one.name) if one.name is not None else titled(slug)


def design(
    parties: Outsiders, office: Office, house: House, known: Every[Party], legs: Every[Leg], desk: Desk
) -> Iterator[Finding | Page]:
    """Lists that are too old, sets that must be filled, networks that lie in the office."""
    lists = {slug: one for slug, one in parties.items.items() if one.networks is not None}
    for slug, one in lists.items():
        if one.listed is not None:
            yield Finding(
                "T-6", Weight.MEND, too_old.of(listed=one.listed, day=office.as_of, most=house[LIST_AGE]),
                f"The list of networks of {_called(slug, one)} is of {{listed}}; lists older than {{most}} have changed.",
                "Fetch today's list from its maker, write its networks and its day, and load the rules again.",
                {"listed": one.listed, "most": house[LIST_AGE]}, slug,
            )  # fmt: skip
    undated = {slug: one.networks for slug, one in lists.items() if one.listed is None and one.networks is not None}
    many = desk.figure("undated", count_of(undated), "Parties whose list of networks has no date")
    yield Finding(
        "T-9", Weight.NOTE, beyond.of(have=many, limit=NONE),
        f"The networks of {{many:party|parties}} bear no date: {_names(parties, undated)}.",
        "Write under listed the day of the list they were taken from, so that its age is told.", {"many": many}, next(iter(undated), ""),
    )  # fmt: skip
    yield from _sets(known, desk)
    yield from _inside(known, legs, desk)
    yield _private(known, desk)
    if known:
        yield _page(known, parties)


def _names(parties: Outsiders, some: Mapping[str, object]) -> str:
    return ", ".join(_called(slug, parties.items[slug]) for slug in some)


def _sets(known: Every[Party], desk: Desk) -> Iterator[Finding]:
    named = {one.slug: one for one in known if one.named}
    many = count_of({slug: one.written for slug, one in named.items()})
    many = desk.figure("named", many, "Parties that are known by names")
    yield Finding(
        "T-7", Weight.NOTE, beyond.of(have=many, limit=NONE),
        f"{{many:party is|parties are}} known by names whose addresses move: {', '.join(one.name for one in named.values())}.",
        "Let the firewall fill their sets of addresses from the resolver, at its start and every few minutes: until then they are not "
        "reached. Ask whether they publish a list of networks.", {"many": many}, next(iter(named), ""),
    )  # fmt: skip


def _inside(known: Every[Party], legs: Every[Leg], desk: Desk) -> Iterator[Finding]:
    ours = [network for leg in legs for network in leg.networks]
    within = {one.slug: one for one in known if overlapping(one.networks, ours)}
    many = count_of({slug: one.written for slug, one in within.items()})
    many = desk.figure("inside", many, "Parties whose networks lie in the office")
    yield Finding(
        "T-8", Weight.STOP, beyond.of(have=many, limit=NONE),
        f"The networks of {{many:outside party|outside parties}} lie in the office itself: "
        f"{', '.join(one.name for one in within.values())}.",
        "Correct the list, or choose another block for the office: what lies inside is never looked for outside.", {"many": many},
        next(iter(within), ""),
    )  # fmt: skip


def _private(known: Every[Party], desk: Desk) -> Finding:
    beyond_reach = {one.slug: one for one in known if overlapping(one.networks, NEVER_OUTSIDE)}
    many = count_of({slug: one.written for slug, one in beyond_reach.items()})
    many = desk.figure("private", many, "Parties whose networks no line leads to")
    names = ", ".join(one.name for one in beyond_reach.values())
    return Finding(
        "T-27", Weight.MEND, beyond.of(have=many, limit=NONE),
        f"{{many:outside party has|outside parties have}} networks that are set aside, and no line leads there: {names}.",
        "Join the two sites by a tunnel first; until then these networks are never reached, and nothing from them is let in.",
        {"many": many}, next(iter(beyond_reach), ""),
    )  # fmt: skip


def _page(known: Every[Party], parties: Outsiders) -> Page:
    rows: list[tuple[Cell, ...]] = [
        (
            one.name, one.kind, ", ".join(one.named) or "none", ", ".join(map(str, one.networks)) or "none", one.listed or "none",
            _text(parties.items[one.slug].why) or "not given",
        )
        for one in known
    ]  # fmt: skip
    return Page("parties", "N", "Outside parties", (
        Prose("Whoever is known by networks is reached by rules that name them; a maker's list has a date and grows old. Whoever is known "
              "by names only is reached through a set of addresses that the firewall fills with what the names answer."),
        Ruled("Parties", ("who", "kind", "names", "networks", "list of", "needed for"), rows),
    ), 10)  # fmt: skip
