"""Which column of a list holds what: by the heads that a person confirmed, or proposed from the words in use."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import islice
from re import findall

from scantling.catalogue.pricelists.amounts import SIGNS
from scantling.catalogue.pricelists.cells import Grid, PriceListError, Row, called, letters, refused
from scantling.figures.spelled import quoted, shown

DEEPEST = 50
"""A head row stands among the first so many rows."""
MOST_HEADS = 12


class Role(StrEnum):
    """What a column of a list can be to us."""

    ARTICLE = "article"
    PRICE = "price"
    NAME = "name"
    CURRENCY = "currency"
    PRICED_ON = "priced_on"
    VALID_UNTIL = "valid_until"
    CONFIRMED_ON = "confirmed_on"


NEEDED = (Role.ARTICLE, Role.PRICE)
WORDS: Mapping[Role, tuple[str, ...]] = {
    Role.ARTICLE: (
        "article", "article no", "article nr", "article number", "art no", "art nr", "item", "item no", "item number",
        "part no", "part number", "product no", "product code", "product number", "order no", "order number", "sku",
        "code", "number", "no", "artikel", "artikelnr", "artikel nr", "artikelnummer", "bestellnummer", "reference", "référence",
        "ref", "réf",
    ),
    Role.PRICE: (
        "price", "net", "net price", "price net", "unit price", "price each", "your price", "preis", "netto",
        "nettopreis", "netto preis", "preis netto", "ek", "ek netto", "einkaufspreis", "prix", "prix net", "prix ht",
    ),
    Role.NAME: (
        "name", "description", "product", "product name", "article name", "item name", "text", "bezeichnung",
        "beschreibung", "artikelbezeichnung", "désignation", "designation", "libellé",
    ),
    Role.CURRENCY: ("currency", "cur", "curr", "währung", "devise", "monnaie"),
    Role.PRICED_ON: (
        "date", "price date", "date of price", "as of", "valid from", "stand", "preisstand", "gültig ab", "datum",
        "date du prix", "valable dès",
    ),
    Role.VALID_UNTIL: (
        "valid until", "valid to", "valid till", "expires", "price valid until", "gültig bis", "preis gültig bis",
        "valable jusqu au", "validité",
    ),
    Role.CONFIRMED_ON: ("confirmed", "confirmed on", "stock date", "stock confirmed on", "bestätigt am", "confirmé le"),
}  # fmt: skip
"""Heads in use in English, German and French lists (common practice, no source)."""
CODES = frozenset({*SIGNS.values(), "USD", "SEK", "NOK", "DKK"})
"""Currencies that a head may name (ISO 4217)."""


@dataclass(frozen=True)
class Headed:
    """A grid whose columns are known: the head row, the column of each role, and the currency that the head names."""

    grid: Grid
    head: Row
    columns: Mapping[Role, int]
    currency: str = ""

    def heads(self) -> dict[Role, str]:
        """The words over each column."""
        return {role: spoken(self.head.cells[column].text) for role, column in self.columns.items()}

    def below(self) -> Sequence[Row]:
        """The rows under the head."""
        return [row for row in self.grid.rows if row.number > self.head.number]


def spoken(head: str) -> str:
    """A head on one line without spaces around it."""
    return " ".join(head.split())


def headed(grids: Iterable[Grid], said: Mapping[Role, str]) -> Headed:
    """The one grid that has all heads that are said, and, where they leave a needed one open, a likely one.

    Raises PriceListError where no grid, or more than one, is such a table.
    """
    looked, found, wrong = [], [], []
    for grid in grids:
        looked.append(grid)
        try:
            if (one := _headed(grid, said)) is not None:
                found.append(one)
        except PriceListError as why:
            wrong.append(why)
    if len({one.grid.sheet for one in found}) > 1:
        sheets = ", ".join(quoted(one.grid.sheet) for one in found)
        raise PriceListError(
            f"{called(found[0].grid.file)}: several sheets hold such a table ({sheets}); say which one: --sheet NAME"
        )
    if found:
        return max(found, key=lambda one: (len(one.columns), len(one.head.cells)))
    raise wrong[0] if wrong else _no_head(looked, said)


def _headed(grid: Grid, said: Mapping[Role, str]) -> Headed | None:
    """The first row that holds every head wanted; None where no row does. Raises PriceListError for a twofold one."""
    for row in islice(grid.rows, DEEPEST):
        fitting = {role: _columns(row, role, said) for role in Role}
        wanted = list(dict.fromkeys((*NEEDED, *said)))
        if not all(fitting[role] for role in wanted):
            continue
        for role in wanted:
            _only(grid, row, role, fitting[role])
        taken = {role: columns[0] for role, columns in fitting.items() if len(columns) == 1}
        known = {
            role: column
            for role, column in taken.items()
            if list(taken.values()).count(column) == 1 or role in wanted
        }
        return Headed(grid, row, known, _currency(row.cells[known[Role.PRICE]].text))
    return None


def _columns(row: Row, role: Role, said: Mapping[Role, str]) -> list[int]:
    if role in said:
        return [column for column, cell in row.cells.items() if spoken(cell.text) == spoken(said[role])]
    return [column for column, cell in row.cells.items() if said_plainly(cell.text, role) in WORDS[role]]


def said_plainly(head: str, role: Role) -> str:
    """The head's words in small letters; over a price without the currency."""
    words = findall(r"[^\W_]+", head)
    return " ".join(word for word in words if role is not Role.PRICE or word not in CODES).casefold()


def _currency(head: str) -> str:
    """The currency that a head names: `Net EUR`, `Price (€)`; empty where it names none, or several."""
    named = {word for word in findall(r"[^\W\d_]+", head) if word in CODES}
    named |= {code for sign, code in SIGNS.items() if sign in head}
    return named.pop() if len(named) == 1 else ""


def _only(grid: Grid, row: Row, role: Role, columns: Sequence[int]) -> None:
    if len(columns) > 1:
        many = " and ".join(f"{letters(column)} ({quoted(spoken(row.cells[column].text))})" for column in columns)
        how = f'say which one: --column {role}="its head", and let no two heads be the same'
        raise refused(grid.file, row.number, columns[0], f"two columns could be the {role}: {many}; {how}")
    area = grid.merged_at(row.number, columns[0])
    if area is not None and area.right > area.left:
        over = f"{letters(area.left)} to {letters(area.right)}"
        says = f"the head of the {role} is merged over several columns, {over}; part them in the list"
        raise refused(grid.file, row.number, columns[0], says)


def _no_head(grids: Sequence[Grid], said: Mapping[Role, str]) -> PriceListError:
    """What was looked for and what stands there instead."""
    grid = max(grids, key=lambda one: len(one.rows), default=None)
    if grid is None or not grid.rows:
        return PriceListError(f"{called(grid.file) if grid else 'the list'}: no sheet that people see holds a table")
    first = next((row for row in grid.rows if len(row.cells) > 1), grid.rows[0])
    there = ", ".join(quoted(spoken(cell.text)) for cell in islice(first.cells.values(), MOST_HEADS))
    wanted = [
        f"{role} under {quoted(said[role])}" if role in said else f"{role} (any usual head)"
        for role in {**dict.fromkeys(NEEDED), **said}
    ]
    says = f"a list of another shape: no row among the first {DEEPEST} has the heads {', '.join(wanted)}; here stand {there}"
    how = 'say them: --column article="its head" --column price="its head"'
    return refused(grid.file, first.number, 1, shown(f"{says}; {how}", 1000))
