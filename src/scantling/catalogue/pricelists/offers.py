"""What each row of a list offers: number, price, currency, dates, and everything that is odd about it."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from re import ASCII, fullmatch

from scantling.catalogue.pricelists.amounts import SIGNS, OddAmountError, in_bounds, read_date, read_price
from scantling.catalogue.pricelists.cells import Area, Cell, Grid, Nature, Odd, Row, letters
from scantling.catalogue.pricelists.heads import Headed, Role, spoken
from scantling.catalogue.pricelists.mapping import Reading, wrong_number
from scantling.figures.spelled import quoted

DATES = (Role.PRICED_ON, Role.VALID_UNTIL, Role.CONFIRMED_ON)
CUT_SHORT = r"\d([.,]\d+)?[eE]\+?\d+"
"""A long number that a spreadsheet has turned into a power of ten."""


@dataclass(frozen=True)
class Offer:
    """One row of a list as far as it can be read, and what is odd about it."""

    row: int
    hidden: bool
    number: str = ""
    name: str = ""
    price: Decimal | None = None
    currency: str = ""
    mark: str = ""
    days: Mapping[str, date] = field(default_factory=dict)
    odd: tuple[Odd, ...] = ()


@dataclass(frozen=True)
class Offers:
    """Every offer of a list, and how many rows were passed over because they offer nothing."""

    rows: tuple[Offer, ...]
    passed: int


def offers(table: Headed, reading: Reading, ours: Container[str] = ()) -> Offers:
    """All rows under the head, each judged by itself and beside the others; `ours` are the numbers that we know."""
    reader = _Reader(table, reading, ours)
    found = [offer for row in table.below() if (offer := reader.offer(row)) is not None]
    passed = len(table.below()) - len(found)
    return Offers(tuple(_one_mark(_no_twins(found, reader), reader)), passed)


class _Reader:
    """What reading a row needs of its list."""

    def __init__(self, table: Headed, reading: Reading, ours: Container[str]) -> None:
        self.table, self.reading, self.ours = table, reading, ours
        self.heads = {column: spoken(cell.text) for column, cell in table.head.cells.items()}
        self.widest = max(table.head.width, self._usual_width())
        columns = table.columns.values()
        self.merged = {column: _joined(table.grid, column) for column in columns} if table.grid.merged else {}

    def _usual_width(self) -> int:
        widths = Counter(row.width for row in self.table.below())
        return widths.most_common(1)[0][0] if widths else 0

    def odd(self, row: int, role: Role, says: str) -> Odd:
        """Something odd in the column of a role."""
        return self.odd_at(row, self.table.columns.get(role, 1), says)

    def odd_at(self, row: int, column: int, says: str) -> Odd:
        """Something odd in a cell."""
        return Odd(self.table.grid.file, row, letters(column), says)

    def cell(self, row: Row, role: Role) -> Cell | None:
        """What stands in the column of a role."""
        return row.cells.get(self.table.columns.get(role, 0))

    def offer(self, row: Row) -> Offer | None:
        """The row as an offer; None where it offers nothing: a heading, a remark, the head once more."""
        number, price = self.cell(row, Role.ARTICLE), self.cell(row, Role.PRICE)
        again = {column: spoken(cell.text) for column, cell in row.cells.items()} == self.heads
        alone = number is not None and len(row.cells) == 1 and spoken(number.text) not in self.ours
        if again or alone or (number is None and price is None):
            return None
        odd = list(self._shape(row))
        made = Offer(row.number, row.hidden, name=self._name(row))
        made = replace(made, number=self._number(row, number, odd))
        made = self._priced(row, made, price, odd)
        return replace(made, days=self._days(row, odd), odd=tuple(odd))

    def _shape(self, row: Row) -> Iterator[Odd]:
        """Cells that are merged, and more cells than the head has."""
        for column, blocks in self.merged.items():
            place = bisect_right(blocks, (row.number, 10**9)) - 1
            if place >= 0 and blocks[place][0] <= row.number <= blocks[place][1]:
                yield self.odd_at(row.number, column, "this cell is merged with others; part them in the list")
        if not self.table.grid.sheet and (
            row.width > self.widest or any(c > self.table.head.width for c in row.cells)
        ):
            says = f"this row has {row.width} cells, its head {self.table.head.width}: does a mark that parts cells stand inside one?"
            yield self.odd_at(row.number, self.table.head.width + 1, says)

    def _name(self, row: Row) -> str:
        cell = self.cell(row, Role.NAME)
        return spoken(cell.text) if cell is not None else ""

    def _number(self, row: Row, cell: Cell | None, odd: list[Odd]) -> str:
        """The supplier's number of the article."""
        if cell is None:
            odd.append(self.odd(row.number, Role.ARTICLE, "a price without an article number"))
            return ""
        number = spoken(cell.text)
        says = wrong_number(number)
        if cell.nature is Nature.FORMULA:
            says = "a formula stands here; save the list with its values only"
        elif cell.nature in (Nature.DATE, Nature.FAULT):
            says = f"a spreadsheet has turned this number into something else ({quoted(number)}); ask for it as text"
        elif fullmatch(CUT_SHORT, number, ASCII):
            says = f"{quoted(number)}: a spreadsheet has cut this long number short; ask for it as text"
        if says:
            odd.append(self.odd(row.number, Role.ARTICLE, says))
        return "" if says else number

    def _priced(self, row: Row, made: Offer, cell: Cell | None, odd: list[Odd]) -> Offer:
        """The offer with price and currency."""
        try:
            value, beside, mark = self._price(cell)
            currency = self._currency(row, beside)
        except OddAmountError as wrong:
            odd.append(self.odd(row.number, Role.PRICE, str(wrong)))
            return made
        return replace(made, price=value, currency=currency, mark=mark)

    def _price(self, cell: Cell | None) -> tuple[Decimal, str, str]:
        """Price, the currency beside it, the decimal mark it shows. Raises OddAmountError."""
        if cell is None:
            raise OddAmountError("the price is missing")
        if cell.nature is Nature.FORMULA:
            last = f", last {quoted(cell.text)}" if cell.text else ""
            raise OddAmountError(f"a formula stands here{last}; save the list with its values only")
        if cell.nature in (Nature.DATE, Nature.FAULT):
            raise OddAmountError(
                f"{quoted(cell.text)} ({cell.nature.value}) is no price; a spreadsheet has changed it"
            )
        if cell.nature is Nature.NUMBER:
            try:
                return in_bounds(Decimal(cell.text), cell.text), SIGNS.get(cell.sign, cell.sign), ""
            except InvalidOperation:
                raise OddAmountError(f"{quoted(cell.text)} is no number that can be read") from None
        read = read_price(cell.text, self.reading.mark())
        return read.value, read.currency, read.mark

    def _currency(self, row: Row, beside: str) -> str:
        """The one currency of a price, empty where nothing says it. Raises OddAmountError where two are said."""
        cell = self.cell(row, Role.CURRENCY)
        written = spoken(cell.text) if cell is not None else ""
        named = SIGNS.get(written, written.upper())
        said = [one for one in dict.fromkeys([named, beside]) if one]
        if len(said) > 1:
            raise OddAmountError(f"two currencies are said of this price: {' and '.join(map(quoted, said))}")
        return (said or [self.table.currency or self.reading.currency])[0]

    def _days(self, row: Row, odd: list[Odd]) -> dict[str, date]:
        """The dates that the row says."""
        found = {}
        for role in DATES:
            cell = self.cell(row, role)
            if cell is None:
                continue
            try:
                found[role.value] = _day(cell, self.reading.dates)
            except OddAmountError as wrong:
                odd.append(self.odd(row.number, role, str(wrong)))
        return found


def _day(cell: Cell, order: str) -> date:
    """The day in a cell. Raises OddAmountError."""
    if cell.nature not in (Nature.TEXT, Nature.DATE):
        raise OddAmountError(f"{quoted(cell.text)} ({cell.nature.value}) is no date; write one like 2026-11-25")
    return read_date(cell.text, order)


def _joined(grid: Grid, column: int) -> list[tuple[int, int]]:
    """The rows that merged areas cover in a column, as ranges in order that do not touch each other."""
    touching = sorted((a.top, a.bottom) for a in grid.merged if _over(a, column))
    ranges: list[tuple[int, int]] = []
    for top, bottom in touching:
        if ranges and top <= ranges[-1][1]:
            ranges[-1] = (ranges[-1][0], max(bottom, ranges[-1][1]))
        else:
            ranges.append((top, bottom))
    return ranges


def _over(area: Area, column: int) -> bool:
    return area.left <= column <= area.right


def _no_twins(found: Sequence[Offer], reader: _Reader) -> list[Offer]:
    """A number that stands in several rows is odd in each of them."""
    rows: dict[str, list[int]] = {}
    for offer in found:
        if offer.number:
            rows.setdefault(offer.number, []).append(offer.row)
    return [_with(offer, _twin(offer, rows.get(offer.number, []), reader)) for offer in found]


def _twin(offer: Offer, rows: Sequence[int], reader: _Reader) -> Odd | None:
    others = [str(row) for row in rows if row != offer.row]
    if not others:
        return None
    many = f"row{'s' if len(others) > 1 else ''} {', '.join(others[:5])}{' …' if len(others) > 5 else ''}"  # noqa: PLR2004 - enough to look
    return reader.odd(offer.row, Role.ARTICLE, f"{quoted(offer.number)} stands in {many} too; leave one")


def _one_mark(found: Sequence[Offer], reader: _Reader) -> list[Offer]:
    """Prices written with another decimal mark than most of the list are odd."""
    marks = Counter(offer.mark for offer in found if offer.mark)
    if len(marks) < 2:  # noqa: PLR2004 - comma and point
        return list(found)
    (usual, most), (rare, fewer) = marks.most_common()
    odd_marks = {rare} if fewer < most else {usual, rare}
    says = (
        "this list writes prices both with comma and with point before the cents; say which: --decimal comma or point"
    )
    return [_with(o, reader.odd(o.row, Role.PRICE, says) if o.mark in odd_marks else None) for o in found]


def _with(offer: Offer, odd: Odd | None) -> Offer:
    return offer if odd is None else replace(offer, odd=(*offer.odd, odd))
