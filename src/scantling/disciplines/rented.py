"""Rented: services left with others in the cloud, what they cost, and what they ask of the line.

Figures:
    rented.services.<slug>.offers   offers for a service
    rented.services.<slug>.data     data that it keeps, at the horizon
    rented.services.<slug>.extra    of it, beyond the room that comes with its users
    rented.services.<slug>.yearly   what it costs a year
    rented.services.<slug>.down     speed its users want at once, to the office
    rented.services.<slug>.up       speed its users want at once, from the office
    rented.count                    services that are rented
    rented.hours                    work of moving there
    rented.yearly                   what all of them cost a year
    rented.horizon                  the same over the horizon
    rented.kept                     bodies of data that lie with others
    rented.down-needed              speed they want, to the office
    rented.up-needed                speed they want, from the office
    rented.down                     lines in use, to the office
    rented.up                       lines in use, from the office
    rented.daily                    data with others that change in a day
    rented.night                    data that the lines fetch in one night
    rented.standby                  lines that stand by
Findings: F-3 F-4 F-5 F-6 F-7 F-11.
Records: Rented, Fee, Task, Page.
"""

from collections.abc import Iterator
from typing import Any

from scantling.brief import Office
from scantling.catalogue import Article, Catalogue, House, Practice
from scantling.catalogue.columns import DOWN_EACH, FEE_PER_TB, MONTHLY_FEE, ROOM_EACH, UP_EACH, USER_FEE
from scantling.figures import (
    IN_CLOUD, Dataset, Desk, Every, Facts, Fee, Figure, Finding, Line, Page, Prose, Rented, Ruled, Service, Task, Weight,
    count_of, total,
)  # fmt: skip
from scantling.figures.units import COUNT, GB, HOUR, MBIT_PER_S, MONEY_A_YEAR, RATIO, TB
from scantling.handbook.copies import over_years
from scantling.handbook.lines import sent_in
from scantling.handbook.renting import beyond_included, rent
from scantling.handbook.sizing import beyond, both, negated, shorter, times

HOURS, NIGHT, NIGHT_SHARE = (
    Practice("rented.hours", HOUR),
    Practice("line.night", HOUR),
    Practice("line.night-share", RATIO),
)
NONE = total((), COUNT)


def asks(
    catalogue: Catalogue, services: Every[Service], bodies: Every[Dataset], desk: Desk
) -> Iterator[Rented | Fee | Finding]:
    """Each service in the cloud with its rent, and a refusal of those that nobody keeps for others."""
    rows = {row.slug: row for row in catalogue.every("rented")}
    for at, service in desk.every("services", [one for one in services if one.machine == IN_CLOUD]):
        found = {slug: row.figure(USER_FEE) for slug, row in rows.items() if slug == service.profile}
        offers = at.figure("offers", count_of(found), f"Offers for {service.name}")
        yield Finding(
            "F-3", Weight.STOP, negated.of(given=beyond.of(have=offers, limit=NONE)),
            f"{service.name} can't be left with others: it must stand in the office.",
            "Let it run on the server, or put it into a box: what lends addresses and guards the line has to be on this side of it.",
            {"offers": offers}, service.slug,
        )  # fmt: skip
        if found:
            yield from _rented(at, service, rows[service.profile], bodies)


def _rented(at: Desk, service: Service, row: Article, bodies: Every[Dataset]) -> Iterator[Rented | Fee]:
    kept = {body.slug: body.horizon for body in bodies if body.service == service.slug}
    data = at.figure("data", total(kept, TB), f"Data of {service.name} at the horizon")
    extra = beyond_included.of(size=data, each=row.figure(ROOM_EACH), users=service.users)
    extra = at.figure("extra", extra, "Data beyond the room that comes with its users")
    yearly = rent.of(
        users=service.users, each=row.figure(USER_FEE), fixed=row.figure(MONTHLY_FEE), room=row.figure(FEE_PER_TB), extra=extra
    )  # fmt: skip
    yearly = at.figure("yearly", yearly, f"{service.name}, rented, a year")
    speeds = {}
    for way, column in (("down", DOWN_EACH), ("up", UP_EACH)):
        wanted = times.of(count=service.users, each=row.figure(column))
        speeds[way] = at.figure(way, wanted, f"Speed that {service.name} wants, {WAYS[way]} the office")
    yield Rented(service.slug, service.name, service.users, speeds["down"], speeds["up"], yearly)
    yield Fee(f"rented-{service.slug}", f"{service.name}, rented", yearly)


WAYS = {"down": "to", "up": "from"}


def asks_line(
    office: Office, house: House, lines: Every[Line], rented: Every[Rented], bodies: Every[Dataset], desk: Desk
) -> Iterator[Finding | Task | Page]:
    """What it costs over the years, where the data lie, and whether the lines carry it."""
    if not rented:
        return
    many = desk.figure("count", count_of({one.slug: one.yearly for one in rented}), "Services that are rented")
    hours = desk.figure("hours", times.of(count=many, each=house[HOURS]), "Work of moving there")
    yield Task("rented", "Moving to rented services", hours)
    yearly = total({one.slug: one.yearly for one in rented}, MONEY_A_YEAR)
    yearly = desk.figure("yearly", yearly, "What is rented costs a year")
    dear = over_years.of(yearly=yearly, years=office.horizon)
    dear = desk.figure("horizon", dear, "What is rented costs over the horizon")
    rows, facts = _speeds(lines, rented, desk)
    for way, (have, need) in rows.items():
        yield Finding(
            "F-4", Weight.MEND, shorter.of(have=have, need=need),
            f"What is rented wants {{need}} {WAYS[way]} the office; the lines in use carry {{have}}.",
            "Order a faster line before anything moves, or keep on the server what is used most.", {"need": need, "have": have},
        )  # fmt: skip
    spare = count_of({line.slug: line.down for line in lines if line.standby})
    spare = desk.figure("standby", spare, "Lines that stand by")
    alone = negated.of(given=beyond.of(have=spare, limit=NONE))
    yield Finding(
        "F-5", Weight.MEND, both.of(one=beyond.of(have=many, limit=NONE), other=alone),
        "When the line is down, {count} rented services stop for everybody, and no line stands by.",
        "Order a second line of another kind, by another way and from another firm, before anything moves.", {"count": many},
    )  # fmt: skip
    yield from _kept_elsewhere(bodies, rented, desk)
    yield from _fetched(house, bodies, rented, desk)
    yield Finding(
        "F-7", Weight.NOTE, beyond.of(have=many, limit=NONE),
        "What is rented costs {yearly}, which comes to {dear} over {years}; it never becomes the client's own.",
        "Put that sum beside the price of the server, and ask what a higher rent or a farewell would cost.",
        {"yearly": yearly, "dear": dear, "years": office.horizon},
    )  # fmt: skip
    yield _page(rented, desk, [("A year", yearly), ("Over the horizon", dear), *facts])


def _speeds(
    lines: Every[Line], rented: Every[Rented], desk: Desk
) -> tuple[dict[str, tuple[Figure[float], Figure[float]]], list[tuple[str, Figure[Any]]]]:
    """Both ways: what the lines in use carry, and what all users of what is rented want at once."""
    used = [line for line in lines if not line.standby]
    have = {
        "down": total({line.slug: line.down for line in used}, MBIT_PER_S),
        "up": total({line.slug: line.up for line in used}, MBIT_PER_S),
    }
    need = {
        "down": total({one.slug: one.down for one in rented}, MBIT_PER_S),
        "up": total({one.slug: one.up for one in rented}, MBIT_PER_S),
    }
    rows, facts = {}, []
    for way, word in WAYS.items():
        there = desk.figure(way, have[way], f"Lines in use, {word} the office")
        wanted = desk.figure(f"{way}-needed", need[way], f"Wanted by what is rented, {word} the office")
        rows[way] = (there, wanted)
        facts += [(wanted.label, wanted), (there.label, there)]
    return rows, facts


def _kept_elsewhere(bodies: Every[Dataset], rented: Every[Rented], desk: Desk) -> Iterator[Finding]:
    """Where the data lie (F-6)."""
    slugs = {one.slug for one in rented}
    kept = count_of({body.slug: body.size for body in bodies if body.service in slugs})
    kept = desk.figure("kept", kept, "Bodies of data that lie with others")
    yield Finding(
        "F-6", Weight.NOTE, beyond.of(have=kept, limit=NONE),
        "{kept:body of data lies|bodies of data lie} with others. "
        "If there are personal data among them, somebody else keeps them for the client.",
        "Ask in which country they lie, who may read them, how they come back and in which form; the copies in this plan are the "
        "client's own. Ask somebody licensed about the law.", {"kept": kept},
    )  # fmt: skip


def _fetched(house: House, bodies: Every[Dataset], rented: Every[Rented], desk: Desk) -> Iterator[Finding]:
    """Whether a night is long enough to fetch what changed (F-11)."""
    slugs = {one.slug for one in rented}
    daily = total({body.slug: body.daily for body in bodies if body.service in slugs}, GB)
    daily = desk.figure("daily", daily, "Data with others that change in a day")
    night = sent_in.of(speed=desk.kept("down", MBIT_PER_S), time=house[NIGHT], share=house[NIGHT_SHARE])
    night = desk.figure("night", night, "Data that the lines fetch in one night")
    yield Finding(
        "F-11", Weight.MEND, beyond.of(have=daily, limit=night),
        "With others {daily} change in a day; the lines fetch {night} in a night, so the copy here falls behind.",
        "Order a faster line, or keep on the server what changes most.", {"daily": daily, "night": night},
    )  # fmt: skip


def _page(rented: Every[Rented], desk: Desk, facts: list[tuple[str, Figure[Any]]]) -> Page:
    rows = []
    for one in rented:
        at = desk.under("services", one.slug)
        rows.append((one.name, one.users, at.kept("data", TB), at.kept("extra", TB), one.down, one.up, one.yearly))
    heads = ("service", "people", "data", "beyond the room included", "to the office", "from the office", "a year")
    return Page("rented", "S", "Left with others", (
        Prose("These services run on other people's computers and are used over the line. The rent is counted for the people and "
              "the data at the horizon. Their data is still copied here every night: a copy that its keeper alone holds is not one."),
        Ruled("Rented services", heads, rows), Facts(facts, "All together"),
    ), 5)  # fmt: skip
