"""A list against our articles: which prices change, which rows are odd, which are none of ours."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from scantling.catalogue import Article
from scantling.catalogue.columns import CONFIRMED_ON, PRICED_ON, VALID_UNTIL
from scantling.catalogue.overlay import PRICES
from scantling.catalogue.pricelists.cells import Odd, called, letters
from scantling.catalogue.pricelists.heads import Headed, Role
from scantling.catalogue.pricelists.mapping import Reading, Shelves
from scantling.catalogue.pricelists.offers import Offer, Offers, offers
from scantling.figures import PRICE
from scantling.figures.spelled import quoted

JUMP = Decimal(40)
"""Per cent by which a price may differ from the one that stands before it is asked about (common practice, no source)."""
MOST_NAMED, CENT = 20, Decimal("0.01")
MARKS = (PRICED_ON.name, VALID_UNTIL.name, CONFIRMED_ON.name)


@dataclass(frozen=True)
class Terms:
    """What is said of one list beside its own words: days for rows that name none, the largest jump in per cent."""

    days: Mapping[str, date] = field(default_factory=dict)
    jump: Decimal = JUMP


@dataclass(frozen=True, slots=True)
class Change:
    """A new price of one of our articles: from which row, what stands now and where that stands."""

    article: str
    number: str
    place: str
    new: Decimal
    old: Decimal
    old_place: str
    days: Mapping[str, date]
    note: str = ""

    @property
    def share(self) -> Decimal | None:
        """By how many per cent it moves; None where it was nothing before."""
        return (self.new - self.old) * 100 / self.old if self.old else None


@dataclass(frozen=True)
class Judged:
    """A whole list: changes, rows that are as they stand, odd rows of ours and of others, rows of no article of ours.

    `asked` is what the whole list leaves open; nothing can be taken until it is answered.
    """

    changes: tuple[Change, ...]
    same: int
    odd: tuple[Odd, ...]
    odd_elsewhere: tuple[Odd, ...]
    unmatched: tuple[Offer, ...]
    matched: Mapping[str, str]
    notes: tuple[str, ...]
    asked: tuple[Odd, ...] = ()


def judged(table: Headed, reading: Reading, shelves: Shelves, terms: Terms, currency: str) -> Judged:
    """Every row judged; where no currency is said at all, it is asked for and the catalogue's is supposed meanwhile."""
    read = offers(table, reading, {*reading.articles, *shelves.short, *shelves.whole})
    asked = _no_currency(table, read, currency)
    if asked:
        read = replace(read, rows=tuple(replace(offer, currency=currency) for offer in read.rows))
    matched = _matched(read.rows, reading, shelves)
    ours = [offer for offer in read.rows if offer.number in matched or not offer.number]
    rows = {id(offer): tuple(_odd(table, offer, matched, shelves, terms, currency)) for offer in ours}
    doubled = _doubled(table, [offer for offer in ours if offer.number], matched)
    fine = [offer for offer in ours if not rows[id(offer)] and offer.row not in doubled]
    changes = [_change(table, offer, matched[offer.number], shelves, terms) for offer in fine]
    others = [offer for offer in read.rows if offer.number and offer.number not in matched]
    return Judged(
        tuple(change for change in changes if _moves(change, shelves)),
        sum(not _moves(change, shelves) for change in changes),
        tuple(sorted({odd for many in rows.values() for odd in many} | set(doubled.values()))),
        tuple(odd for offer in others for odd in offer.odd),
        tuple(others),
        matched,
        tuple(_notes(table, read, reading, matched)),
        asked,
    )


def _no_currency(table: Headed, read: Offers, currency: str) -> tuple[Odd, ...]:
    """The question for a currency, where neither the list nor a person names one."""
    if any(offer.currency for offer in read.rows) or not any(offer.price for offer in read.rows):
        return ()
    says = f"no currency is written in this list; say it: --currency {currency}"
    return (Odd(table.grid.file, table.head.number, letters(table.columns[Role.PRICE]), says),)


def _matched(rows: Iterable[Offer], reading: Reading, shelves: Shelves) -> dict[str, str]:
    """The supplier's numbers that are articles of ours: those that are kept, and those that are our own names."""
    numbers = {offer.number for offer in rows if offer.number}
    own = {
        number: shelves.short.get(number, number)
        for number in numbers
        if number in shelves.short or number in shelves.whole
    }
    return own | {number: article for number, article in reading.articles.items() if number in numbers}


def _odd(
    table: Headed, offer: Offer, matched: Mapping[str, str], shelves: Shelves, terms: Terms, currency: str
) -> Iterator[Odd]:
    """What is odd about a row of ours: by itself, its currency, its dates, its distance from the price that stands."""
    yield from offer.odd

    def at(role: Role, says: str) -> Odd:
        return Odd(table.grid.file, offer.row, letters(table.columns.get(role, table.columns[Role.PRICE])), says)

    if offer.price is None or not offer.number:
        return
    if offer.currency != currency:
        found = f"in {quoted(offer.currency)}" if offer.currency else "in no currency that is said"
        yield at(Role.CURRENCY, f"this price is {found}; the catalogue's prices are in {currency}")
        return
    days = {**terms.days, **offer.days}
    if PRICED_ON.name in days and VALID_UNTIL.name in days and days[VALID_UNTIL.name] < days[PRICED_ON.name]:
        yield at(
            Role.VALID_UNTIL,
            f"the price ends ({days[VALID_UNTIL.name]}) before the day it is of ({days[PRICED_ON.name]})",
        )
    change = _change(table, offer, matched[offer.number], shelves, terms)
    if change.share is not None and abs(change.share) > terms.jump:
        yield at(Role.PRICE, f"{change.new} {currency} is {change.share:+.0f} % against {change.old} {currency} of {change.article} "
                 f"({change.old_place}): another unit, or another article? If it is right, raise the limit: --jump")  # fmt: skip


def _doubled(table: Headed, ours: Iterable[Offer], matched: Mapping[str, str]) -> dict[int, Odd]:
    """Rows with different numbers that are one article of ours."""
    rows: dict[str, list[Offer]] = {}
    for offer in ours:
        rows.setdefault(matched[offer.number], []).append(offer)
    column = letters(table.columns[Role.ARTICLE])
    return {
        offer.row: Odd(
            table.grid.file, offer.row, column, f"{len(many)} numbers of this list are {article}; keep one"
        )
        for article, many in rows.items()
        if len({offer.number for offer in many}) > 1
        for offer in many
    }


def _change(table: Headed, offer: Offer, article: str, shelves: Shelves, terms: Terms) -> Change:
    row = shelves.whole[article]
    assert offer.price is not None
    place = f"{called(table.grid.file)}:{offer.row}:{letters(table.columns[Role.PRICE])}"
    note = "hidden in the list" if offer.hidden else ""
    there, old = row.places.get(PRICE.name, row.place), Decimal(row.get(PRICE)).quantize(CENT)
    return Change(article, offer.number, place, offer.price, old, there, {**terms.days, **offer.days}, note)


def _moves(change: Change, shelves: Shelves) -> bool:
    """Whether anything would be written: unless the firm's imported prices say the very same."""
    row: Article = shelves.whole[change.article]
    imported = f"/{PRICES}:" in change.old_place
    days = {name: row.marks[name] for name in MARKS if name in row.marks}
    return not imported or change.new != change.old or days != dict(change.days)


def _notes(table: Headed, read: Offers, reading: Reading, matched: Mapping[str, str]) -> Iterator[str]:
    """What a person should know of the list as a whole."""
    grid = table.grid
    yield from grid.notes
    if grid.sheet:
        yield f"read from the sheet {quoted(grid.sheet)}"
    hidden = sum(offer.hidden for offer in read.rows)
    if hidden:
        yield f"{hidden} hidden row{'s' if hidden > 1 else ''} read like the others"
    columns = [role for role, column in table.columns.items() if column in grid.hidden_columns]
    if columns:
        yield f"hidden in the list: the column of {', '.join(columns)}"
    if read.passed:
        yield f"rows without a price or a number, passed over as headings and remarks: {read.passed}"
    named = sorted({offer.currency for offer in read.rows if offer.currency})
    if len(named) > 1:
        yield f"several currencies in one list: {', '.join(map(quoted, named))}"
    if own := [number for number in matched if number not in reading.articles]:
        yield f"taken for our own names of articles: {_some(own)}"
    lost = [f"{quoted(number)} ({article})" for number, article in reading.articles.items() if number not in matched]
    if lost:
        yield f"kept numbers that this list no longer has: {_some(lost)}"


def _some(many: list[str]) -> str:
    """The first of many words."""
    return ", ".join(many[:MOST_NAMED]) + (" …" if len(many) > MOST_NAMED else "")
