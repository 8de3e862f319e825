"""Suppliers' price lists into a firm's prices: read and judged first, written only when a person has agreed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scantling import UserError
from scantling.api.planning import FIRM, stock
from scantling.catalogue.edited import Wanted, with_values
from scantling.catalogue.overlay import PRICES, says_something
from scantling.catalogue.pricelists import mapping
from scantling.catalogue.pricelists.cells import Grid, PriceListError, told
from scantling.catalogue.pricelists.heads import NEEDED, Headed, headed
from scantling.catalogue.pricelists.judging import MARKS, Change, Judged, Terms, judged
from scantling.catalogue.pricelists.listfiles import read_grids
from scantling.catalogue.pricelists.mapping import Reading, Shelves
from scantling.catalogue.pricelists.offers import Offer
from scantling.figures.placed import MOST_BYTES, WrittenError
from scantling.figures.spelled import quoted, shown, spelled

OPENING = """\
# Prices from suppliers' lists, written by `scantling prices`. They lie over the firm's other rows and over ours.
"""


@dataclass(frozen=True)
class PriceImport:
    """A list that was read: how, what it would change, and the files as they stood when it was read."""

    file: str
    name: str
    firm: Path
    new: bool
    kept: Reading
    reading: Reading
    table: Headed
    judged: Judged
    shelves: Shelves
    currency: str
    before: Mapping[Path, str]

    @property
    def stopped(self) -> bool:
        """Whether odd rows or an open question stand in the way."""
        return bool(self.judged.odd or self.judged.asked)

    @property
    def writes(self) -> bool:
        """Whether taking it would write anything."""
        return bool(self.judged.changes) or self.reading != self.kept

    def suggested(self, offer: Offer) -> str:
        """The article that a row of nobody's may be; only to be shown, never taken by itself."""
        return self.shelves.suggested(offer.number, offer.name)


def read_prices(
    path: Path, firm: Path = Path(FIRM), said: Reading | None = None, terms: Terms | None = None, name: str = ""
) -> PriceImport:
    """A supplier's list read against the firm's prices; nothing is written. Raises UserError.

    `said` lies over what is kept of such lists under the name; without a name the one whose heads fit is taken.
    """
    said, terms = said or Reading(), terms or Terms()
    if firm.exists() and not firm.is_dir():
        raise UserError(f"{shown(str(firm), 200)} is a file; name the folder of the firm's own prices with --firm")
    kept = stock(firm=firm if says_something(firm) else None)
    shelves = Shelves(kept.catalogue)
    try:
        _must_be_days(terms)
        said = _whole_names(said, shelves)
        grids = read_grids(path, said.sheet)
        found = mapping.checked_name(name) if name else _fitting(grids, firm, shelves, path)
        file = mapping.file_of(firm, found)
        before = {firm / PRICES: _text(firm / PRICES), file: _text(file)}
        old = _read(before[file], firm, found, shelves)
        wanted = said.over(old)
        table = _table(_of_sheet(grids, path, said, wanted), said, wanted, proposing=not old.columns)
        reading = replace(wanted, columns=table.heads())
        result = judged(table, reading, shelves, terms, kept.catalogue.currency)
    except PriceListError as wrong:
        raise UserError(str(wrong)) from None
    made = (path.name, found, firm, not old.columns, old, reading, table, result, shelves)
    return PriceImport(*made, kept.catalogue.currency, before)


def take_prices(found: PriceImport, *, leave_out_odd: bool = False) -> Mapping[str, int]:
    """Write the prices and how the list is read; sizes by name. Raises UserError, and then nothing is changed.

    Odd rows stop it unless they are left out; an open question about the whole list always does.
    """
    from scantling.outputs.writing import OutputError, write_all  # noqa: PLC0415 - loaded when needed

    if found.judged.asked or (found.stopped and not leave_out_odd):
        lines = told([*found.judged.asked, *found.judged.odd])
        raise UserError("\n".join([*lines, "nothing was taken; mend the list, or leave the odd rows out"]))
    prices, kept = found.firm / PRICES, mapping.file_of(found.firm, found.name)
    try:
        made = {
            PRICES: _with_prices(found.before[prices], found.judged.changes, found.currency, found.firm),
            f"{mapping.LISTS}/{kept.name}": mapping.kept_text(
                found.before[kept], mapping.label_of(found.firm, found.name), found.kept, found.reading
            ),
        }
        files = {name: text.encode() for name, text in made.items() if text != found.before[found.firm / name]}
        write_all(found.firm, files, {path: before.encode() for path, before in found.before.items()})
    except (PriceListError, WrittenError, OutputError) as wrong:
        raise UserError(str(wrong)) from None
    return {name: len(content) for name, content in files.items()}


def _with_prices(before: str, changes: Iterable[Change], currency: str, firm: Path) -> str:
    """The firm's prices with the new ones in their rows; days that the list does not say are those of the old price."""
    rows: dict[str, dict[str, dict[str, str | None]]] = {}
    for change in changes:
        kind, slug = change.article.split(".", 1)
        days = {name: change.days[name].isoformat() if name in change.days else None for name in MARKS}
        rows.setdefault(kind, {})[slug] = {"price": f"{change.new} {currency}", **days}
    wanted: Wanted = rows
    label = f"{shown(firm.resolve().name or FIRM)}/{PRICES}"
    return with_values(before or OPENING, label, wanted) if rows else before


def _must_be_days(terms: Terms) -> None:
    """Raises PriceListError for a day that no file of the firm could be read with afterwards."""
    for name, day in terms.days.items():
        try:
            spelled(day.isoformat(), date)
        except ValueError as wrong:
            raise PriceListError(f"--{name.replace('_', '-')}: {wrong}") from None


def _whole_names(said: Reading, shelves: Shelves) -> Reading:
    """The same with each article by its whole name. Raises PriceListError with every mistake."""
    wrong, articles = [], {}
    for number, word in said.articles.items():
        try:
            articles[number] = _article(number, word, shelves)
        except ValueError as why:
            wrong.append(f"--article {shown(number)}={shown(word)}: {why}")
    wrong += [
        f"--{option} {shown(getattr(said, option))}: {says}"
        for option in ("decimal", "dates", "currency")
        if getattr(said, option) and (says := mapping.wrong_word(option, getattr(said, option)))
    ]
    if wrong:
        raise PriceListError("\n".join(wrong))
    return Reading(said.columns, articles, said.decimal, said.dates, said.currency, said.sheet)


def _article(number: str, word: str, shelves: Shelves) -> str:
    """The whole name of an article that a supplier's number is said to be. Raises ValueError."""
    if says := mapping.wrong_number(number):
        raise ValueError(says)
    return shelves.named(word)


def _fitting(grids: list[Grid], firm: Path, shelves: Shelves, path: Path) -> str:
    """The name of the kept reading whose heads stand in the list, or a new one. Raises PriceListError."""
    fits = []
    for name in mapping.kept_names(firm):
        reading = _read(_text(mapping.file_of(firm, name)), firm, name, shelves)
        try:
            headed(grids, reading.columns)
        except PriceListError:  # a list of another supplier
            continue
        if reading.columns:
            fits.append(name)
    if len(fits) > 1:
        names = ", ".join(fits)
        raise PriceListError(
            f"{shown(path.name)}: it could be read like several lists ({names}); say which: --as NAME"
        )
    return fits[0] if fits else mapping.name_from(path.stem)


def _of_sheet(grids: list[Grid], path: Path, said: Reading, wanted: Reading) -> list[Grid]:
    """The tables of the sheet that is kept, where none is said."""
    return read_grids(path, wanted.sheet) if wanted.sheet and not said.sheet else grids


def _table(grids: list[Grid], said: Reading, wanted: Reading, *, proposing: bool) -> Headed:
    """The table with its columns: those wanted, and the first time all that seem likely. Raises PriceListError."""
    table = headed(grids, wanted.columns)
    given_up = {role for role, head in said.columns.items() if not head}
    roles = [
        role for role in table.columns if role not in given_up and (proposing or role in (*wanted.columns, *NEEDED))
    ]
    if missing := [role for role in NEEDED if role not in roles]:
        raise PriceListError(f"--column {missing[0]}=: this column is needed")
    return replace(table, columns={role: table.columns[role] for role in roles})


def _read(text: str, firm: Path, name: str, shelves: Shelves) -> Reading:
    return mapping.read_kept(text, mapping.label_of(firm, name), shelves) if text else Reading()


def _text(path: Path) -> str:
    """What a file of the firm holds, nothing where it is not there yet. Raises UserError."""
    if path.exists() and not (path.is_file() or path.is_dir()):
        raise UserError(f"{quoted(path.name)} can't be read: it is no plain file")
    try:
        with path.open(encoding="utf-8", newline="") as file:
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return ""
    except (OSError, UnicodeDecodeError) as wrong:
        raise UserError(
            f"{quoted(path.name)} can't be read: {getattr(wrong, 'strerror', None) or 'not UTF-8'}"
        ) from None
