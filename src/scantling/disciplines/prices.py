"""Prices: how old those of the chosen articles are, how long they hold, and what the supplier has confirmed.

Figures:
    prices.oldest         age of the oldest price
    prices.old            articles whose price is older than the house allows
    prices.left           how long the price that ends first still holds
    prices.ended          articles whose price no longer holds
    prices.undated        articles whose price bears no date
    prices.unconfirmed    articles that no supplier has confirmed
    prices.confirmed      age of the oldest confirmation
    prices.late           articles that were confirmed too long ago
Findings: O-2 O-3 O-4.
Records: Page.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from scantling.brief import Office
from scantling.catalogue import House, Practice
from scantling.catalogue.columns import CONFIRMED_ON, PRICED_ON, VALID_UNTIL
from scantling.figures import (
    PRICE, Attribute, Chosen, Desk, Figure, Finding, Page, Prose, Ruled, Weight, count_of, largest, smallest, total,
)  # fmt: skip
from scantling.figures.pages import Cell
from scantling.figures.terms import Row
from scantling.figures.units import COUNT, DAY
from scantling.handbook.prices import days_between, named_below, named_beyond
from scantling.handbook.sizing import beyond, shorter

OLDEST, LEFT, CONFIRMED = (
    Practice("prices.age", DAY),
    Practice("prices.left", DAY),
    Practice("prices.confirmed", DAY),
)
NONE = total((), COUNT)
UNSAID = "not said"
Ages = dict[str, Figure[float]]


def design(office: Office, house: House, chosen: Chosen, desk: Desk) -> Iterator[Finding | Page]:
    """What is to be bought, held against the day of the plan; parts that stand already have no price to be old."""
    rows = {row.slug: row for option in chosen.options.values() for row, _ in option.to_buy if row.get(PRICE)}
    yield from _old(office, house, rows, desk)
    yield from _ended(office, house, rows, desk)
    undated = desk.figure("undated", _lacking(rows, PRICED_ON), "Articles whose price bears no date")
    yield Finding(
        "O-4", Weight.NOTE, beyond.of(have=undated, limit=NONE),
        f"No date stands at the price of: {_named(rows, PRICED_ON)}.",
        "Write priced_on and valid_until into the catalogue, or ask for a new offer: nobody can say how old these prices are.",
        {"undated": undated},
    )  # fmt: skip
    yield from _unconfirmed(office, house, rows, desk)
    if rows:
        yield _page(rows, desk)


def _old(office: Office, house: House, rows: Mapping[str, Row], desk: Desk) -> Iterator[Finding]:
    """Prices older than the house allows (O-2)."""
    ages = _since(office, rows, PRICED_ON)
    oldest = desk.figure("oldest", largest(ages, DAY), "Age of the oldest price")
    old = desk.figure("old", named_beyond.of(amounts=ages, limit=house[OLDEST]), "Articles of too old a price")
    yield Finding(
        "O-2", Weight.MEND, beyond.of(have=oldest, limit=house[OLDEST]),
        "On the day of this plan the price is older than {limit} for: {old}. The oldest is {oldest} old.",
        "Ask the supplier for a new offer before the owner is shown a sum.", {"limit": house[OLDEST], "old": old, "oldest": oldest},
    )  # fmt: skip


def _ended(office: Office, house: House, rows: Mapping[str, Row], desk: Desk) -> Iterator[Finding]:
    """Prices that no longer hold on the day of the plan (O-2)."""
    left = {
        slug: days_between.of(first=office.as_of, second=row.figure(VALID_UNTIL))
        for slug, row in rows.items()
        if row.get(VALID_UNTIL) is not None
    }
    first = desk.figure("left", smallest(left, DAY), "How long the price that ends first still holds")
    ended = desk.figure(
        "ended", named_below.of(amounts=left, limit=house[LEFT]), "Articles whose price no longer holds"
    )
    yield Finding(
        "O-2", Weight.MEND, shorter.of(have=first, need=house[LEFT]),
        "On the day of this plan the price no longer holds for: {ended}.",
        "Ask the supplier for a new offer before the owner is shown a sum.", {"ended": ended, "left": first},
    )  # fmt: skip


def _unconfirmed(office: Office, house: House, rows: Mapping[str, Row], desk: Desk) -> Iterator[Finding]:
    """Articles of which no supplier has said that price and stock are right, or too long ago (O-3)."""
    ages = _since(office, rows, CONFIRMED_ON)
    count = desk.figure("unconfirmed", _lacking(rows, CONFIRMED_ON), "Articles that no supplier has confirmed")
    oldest = desk.figure("confirmed", largest(ages, DAY), "Age of the oldest confirmation")
    late = named_beyond.of(amounts=ages, limit=house[CONFIRMED])
    slugs = desk.figure("late", late, "Articles confirmed too long ago")
    remedy = "Ask before the order is written; until then say that delivery is not certain."
    yield Finding(
        "O-3", Weight.NOTE, beyond.of(have=count, limit=NONE),
        f"The supplier has not confirmed price and stock for: {_named(rows, CONFIRMED_ON)}.", remedy, {"count": count},
    )  # fmt: skip
    yield Finding(
        "O-3", Weight.NOTE, beyond.of(have=oldest, limit=house[CONFIRMED]),
        "The supplier confirmed price and stock more than {limit} ago for: {late}.", remedy, {"late": slugs, "limit": house[CONFIRMED]},
    )  # fmt: skip


def _since(office: Office, rows: Mapping[str, Row], mark: Attribute[date]) -> Ages:
    """Days since the mark's day, of each article that bears it."""
    return {
        slug: days_between.of(first=row.figure(mark), second=office.as_of)
        for slug, row in rows.items()
        if row.get(mark) is not None
    }


def _lacking(rows: Mapping[str, Row], mark: Attribute[date]) -> Figure[int]:
    """How many articles do not bear the mark."""
    return count_of({slug: row.figure(PRICE) for slug, row in rows.items() if row.get(mark) is None})


def _named(rows: Mapping[str, Row], mark: Attribute[date]) -> str:
    """The articles that do not bear the mark."""
    return ", ".join(sorted(slug for slug, row in rows.items() if row.get(mark) is None)) or "none"


def _page(rows: Mapping[str, Row], desk: Desk) -> Page:
    cells: list[Sequence[Cell]] = [
        (slug, row.figure(PRICE), *(_said(row, mark) for mark in (PRICED_ON, VALID_UNTIL, CONFIRMED_ON)))
        for slug, row in rows.items()
    ]
    oldest = desk.kept("oldest", DAY)
    return Page(
        "prices", "O", "How firm the prices are",
        (
            Ruled("What is to be bought, each article once", ("article", "price of one", "of", "holds until", "confirmed"), cells),
            Ruled("In short", ("what", "days"), [(oldest.label, oldest), (desk.kept("left", DAY).label, desk.kept("left", DAY))]),
            Prose("A confirmed article is one for which the supplier has said on that day that price and stock are right."),
        ), 2,
    )  # fmt: skip


def _said(row: Row, mark: Attribute[date]) -> Cell:
    return UNSAID if row.get(mark) is None else row.figure(mark)
