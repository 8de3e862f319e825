"""Names outside: the domains, mail domains and certificates that the client owns, who may change them, and until when.

Figures:
    registrations.<slug>.left    days until it expires
    registrations.expiries       when each expires
    registrations.without        names that lead here without an address outside
    registrations.unused         names said to lead to a service that no machine here does
Findings: D-11 D-12 D-13 D-14 D-15 D-19 D-21.
Records: OutsideName, Page.
"""

from collections.abc import Iterator
from enum import StrEnum
from typing import Any

from scantling.brief import Given, Mapped, Office, Section, asked, assumed, optional
from scantling.catalogue import House, Practice
from scantling.figures import (
    BOXED, IN_CLOUD, Box, Desk, Every, Figure, Finding, OutsideName, Page, Prose, Ruled, Service, Weight, cells, count_of, missing,
    text, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.units import COUNT, DAY, Address, Date, Word
from scantling.handbook.naming import NAME, days_left, expiries, other_owner, written_name
from scantling.handbook.sizing import beyond, both, negated, shorter

SOON = Practice("names.expires-soon", DAY)
NONE = total((), COUNT)
UNKNOWN = "not known"


class Sort(StrEnum):
    """What is owned."""

    DOMAIN = "domain"
    MAIL = "mail domain"
    CERTIFICATE = "certificate"


class Owned(Section):
    """One domain, mail domain or certificate."""

    domain: Given[Word] = asked(
        "Which domain, or which name is the certificate for?", form=NAME, like="client.example"
    )
    kind: Given[Sort] = assumed("Is it a domain, a mail domain or a certificate?", "names.outside-kind")
    registrar: Given[Word] | None = optional("With whom is it registered, or who issued it?")
    owner: Given[Word] | None = optional("Who owns it by law?")
    expires: Given[Date] | None = optional("On which day does it expire?")
    leads_to: Given[Word] | None = optional(
        "Which service of this office answers under it, by its word in the brief?"
    )
    address: Given[Address] | None = optional("Which address does it answer outside?")
    mail: Given[Word] | None = optional("Which server takes its mail?", form=NAME, like="mail.client.example")


class Domains(Mapped[Owned]):
    """Domains, mail domains and certificates that the client owns."""

    key = "domains"
    default_whole = True


def asks(
    domains: Domains, services: Every[Service], boxes: Every[Box], desk: Desk
) -> Iterator[OutsideName | Finding]:
    """Each as given, and what answers for it here."""
    holders = {one.slug: one.machine for one in services if one.machine not in (BOXED, IN_CLOUD)}
    holders |= {role: box.slug for box in boxes for role in box.roles}
    days = {slug: one.expires for slug, one in domains.items.items() if one.expires is not None}
    until = cells(desk.figure("expiries", expiries.of(expires=days), "When what is owned outside expires"))
    vain: dict[str, Figure[str]] = {}
    for slug, one in domains.items.items():
        service = text(one.leads_to) if one.leads_to is not None else ""
        if one.leads_to is not None and service not in holders:
            vain[slug] = one.leads_to
        yield OutsideName(
            slug, text(written_name.of(written=one.domain)), text(one.kind), _given(one.registrar), _given(one.owner),
            until.get(slug), _answers(one), one.domain, holders.get(service, ""), text(one.mail) if one.mail is not None else "",
        )  # fmt: skip
    unused = desk.figure("unused", count_of(vain), "Names that lead to no machine here")
    silent = {
        slug: one.domain for slug, one in domains.items.items() if one.leads_to is not None and one.address is None
    }
    silent = {slug: name for slug, name in silent.items() if slug not in vain}
    without = desk.figure("without", count_of(silent), "Names that lead here and whose address outside is not given")
    yield Finding(
        "D-21", Weight.NOTE, beyond.of(have=without, limit=NONE),
        "{without:name leads|names lead} to a service here, and nobody has said which address answers outside; "
        "visitors get no answer for them.",
        "Write the outside address under address: who may not reach the machine inside is told that one.", {"without": without},
    )  # fmt: skip
    yield Finding(
        "D-19", Weight.MEND, beyond.of(have=unused, limit=NONE),
        "{unused} outside names are said to lead to a service that no machine or box of this office does.",
        "Write under leads_to the word of a service in this brief that runs here; leave it out for what others host.", {"unused": unused},
    )  # fmt: skip


def _given(word: Figure[str] | None) -> str:
    return text(word) if word is not None else ""


def _answers(one: Owned) -> tuple[str, ...]:
    """What it answers outside, as far as that is given."""
    address = (f"A {text(one.address)}",) if one.address is not None else ()
    return (*address, *((f"MX {text(one.mail)}",) if one.mail is not None else ()))


def asks_judged(domains: Domains, office: Office, house: House, desk: Desk) -> Iterator[Finding | Page]:
    """What runs out, what is another's, and what nobody knows."""
    rows: list[tuple[Cell, ...]] = []
    for at, slug, one in desk.each(domains.items):
        name = text(one.domain)
        what = f"the {text(one.kind)} {name}"
        if one.expires is not None:
            left = at.figure("left", days_left.of(since=office.as_of, until=one.expires), f"{name}: expires in")
            yield from _expiring(slug, one, (left, house[SOON], office.horizon))
        yield Finding(
            "D-15", Weight.NOTE, missing(one.expires, f"domains.{slug}.expires"), f"Nobody has said when {what} expires.",
            "Look it up with the registrar or in the certificate, write it here and into the calendar of whoever pays.", {}, slug,
        )  # fmt: skip
        for word, given in (("registrar", one.registrar), ("owner", one.owner)):
            yield Finding(
                "D-14", Weight.NOTE, missing(given, f"domains.{slug}.{word}"), f"Nobody has said who is the {word} of {what}.",
                "Find out who may change it, and that the client can get in: a name that nobody can change holds up every move.",
                {}, slug,
            )  # fmt: skip
        if one.owner is not None:
            yield Finding(
                "D-13", Weight.MEND, other_owner.of(owner=one.owner, client=office.name),
                f"The {text(one.kind)} {name} belongs to {{owner}}, not to {{client}}.",
                "Have it written over to the client before anything is built on it; ask somebody licensed if there is a quarrel.",
                {"owner": one.owner, "client": office.name}, slug,
            )  # fmt: skip
        rows.append((
            name, one.kind, _known(one.registrar), _known(one.owner), _known(one.expires), _leads(one),
        ))  # fmt: skip
    if rows:
        yield _page(rows)


def _expiring(slug: str, one: Owned, times: tuple[Figure[float], Figure[float], Figure[float]]) -> Iterator[Finding]:
    """Within the house's days, or later but before the horizon."""
    left, soon, horizon = times
    name, near = text(one.domain), shorter.of(have=left, need=soon)
    shown = {"left": left, **({"day": one.expires} if one.expires is not None else {})}
    yield Finding(
        "D-11", Weight.MEND, near, f"The {text(one.kind)} {name} expires on {{day}}: {{left}} from now.",
        "Renew it now, for as long as it can be had, and have it renew by itself.", shown, slug,
    )  # fmt: skip
    later = both.of(one=negated.of(given=near), other=shorter.of(have=left, need=horizon))
    yield Finding(
        "D-12", Weight.NOTE, later, f"The {text(one.kind)} {name} expires on {{day}}, before the horizon of this plan.",
        "Have it renew by itself, and let the bill go to whoever will still be there.", shown, slug,
    )  # fmt: skip


def _known(given: Figure[Any] | None) -> Cell:
    return UNKNOWN if given is None else given


def _leads(one: Owned) -> Cell:
    return one.leads_to if one.leads_to is not None else "what others host"


def _page(rows: list[tuple[Cell, ...]]) -> Page:
    heads = ("name", "what", "registrar or issuer", "legal owner", "expires", "leads to")
    return Page("outside-names", "N", "Names outside", (
        Prose("What the client owns outside, who may change it, and until when. A name that leads to a service here is answered inside "
              "with the inside address, and outside as its registrar's servers say: the same name, two answers."),
        Ruled("Domains, mail domains, certificates", heads, rows),
    ), 9)  # fmt: skip
