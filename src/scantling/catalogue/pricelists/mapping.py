"""How one supplier's lists are read: columns, marks, and which of its numbers is which article; kept in the firm's folder."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from re import ASCII, fullmatch, sub
from typing import Any

from scantling.catalogue import Article, Catalogue
from scantling.catalogue.edited import Wanted, with_values
from scantling.catalogue.pricelists.amounts import DAY_FIRST, MARKS, MONTH_FIRST
from scantling.catalogue.pricelists.cells import PriceListError
from scantling.catalogue.pricelists.heads import Role
from scantling.catalogue.shelf import near
from scantling.figures import PRICE
from scantling.figures.composing import placed
from scantling.figures.placed import Mistake, Node, Text, WrittenError
from scantling.figures.spelled import nearest, quoted, shown, unfit

LISTS = "lists"
NAME = r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?"
LONGEST_NUMBER = 60
OPENING = """\
# How the lists of one supplier are read. Kept by `scantling prices`, yours to change:
# `columns` are the heads as the list writes them, `articles` say which of its numbers is which of our articles.
"""
WORDS: Mapping[str, tuple[str, ...]] = {"decimal": tuple(MARKS), "dates": (DAY_FIRST, MONTH_FIRST)}


@dataclass(frozen=True)
class Reading:
    """Heads by what they are to us, articles (`disk.spin-4`) by the supplier's number, and what the list leaves open."""

    columns: Mapping[Role, str] = field(default_factory=dict)
    articles: Mapping[str, str] = field(default_factory=dict)
    decimal: str = ""
    dates: str = ""
    currency: str = ""
    sheet: str = ""

    def over(self, other: "Reading") -> "Reading":
        """This one laid over another; a column without a head is given up."""
        columns = {**other.columns, **self.columns}
        return Reading(
            {role: head for role, head in columns.items() if head},
            {**other.articles, **self.articles},
            *(getattr(self, name) or getattr(other, name) for name in ("decimal", "dates", "currency", "sheet")),
        )

    def mark(self) -> str:
        """The decimal mark that the list is said to use, empty where nothing is said."""
        return MARKS.get(self.decimal, "")

    def written(self) -> dict[str, Any]:
        """As the file holds it, empty parts left out."""
        parts: dict[str, Any] = {"columns": {role.value: head for role, head in self.columns.items()}}
        parts |= {name: getattr(self, name) for name in ("decimal", "dates", "currency", "sheet")}
        parts["articles"] = dict(self.articles)
        return {name: part for name, part in parts.items() if part}


class Shelves:
    """Every article that has a price, by the words that a person may name it with."""

    def __init__(self, catalogue: Catalogue) -> None:
        rows = [row for rows in catalogue.rows.values() for row in rows.values() if row.get(PRICE) is not None]
        self.whole: dict[str, Article] = {f"{row.kind}.{row.slug}": row for row in rows}
        slugs = [row.slug for row in rows]
        self.short: dict[str, str] = {
            row.slug: f"{row.kind}.{row.slug}" for row in rows if slugs.count(row.slug) == 1
        }

    def named(self, word: str) -> str:
        """The whole name of an article. Raises ValueError naming the nearest."""
        if word in self.whole or word in self.short:
            return self.short.get(word, word)
        several = [whole for whole in self.whole if whole.split(".", 1)[1] == word]
        if several:
            raise ValueError(f"{quoted(word)} could be {' or '.join(several)}; write which")
        there = nearest(word, [*self.whole, *self.short])
        hint = f"; did you mean {self.short.get(there, there)}?" if there else ", written like disk.spin-4"
        raise ValueError(f"{quoted(word)} is no article that has a price{hint}")

    def suggested(self, number: str, name: str) -> str:
        """The article whose slug or name is nearest to what a list says; empty where none is near. Only to be shown."""
        names = {str(row.values.get("name", "")): whole for whole, row in self.whole.items()}
        by_number = nearest(number, self.short, 0.8)
        by_name = nearest(name, names, 0.6) if name else ""
        return self.short.get(by_number, "") or names.get(by_name, "")


def file_of(firm: Path, name: str) -> Path:
    """Where the reading of that name is kept."""
    return firm / LISTS / f"{name}.yaml"


def label_of(firm: Path, name: str) -> str:
    """The same as messages tell it."""
    return f"{shown(firm.resolve().name or 'firm')}/{LISTS}/{name}.yaml"


def kept_names(firm: Path) -> list[str]:
    """The readings that a firm keeps."""
    return sorted(path.stem for path in (firm / LISTS).glob("*.yaml"))


def name_from(stem: str) -> str:
    """A name for the lists of a supplier, from the name of one: without its date or number."""
    words = sub(r"[^a-z0-9]+", "-", stem.casefold()).strip("-")
    return sub(r"(-?\d+)+$", "", words)[:40].strip("-") or words[:40].strip("-") or "list"


def checked_name(name: str) -> str:
    """The same name. Raises PriceListError where no file can be called so."""
    if fullmatch(NAME, name, ASCII):
        return name
    raise PriceListError(f"--as {quoted(name)}: a list's name is small letters, digits and hyphens, at most 40")


def read_kept(text: str, file: str, shelves: Shelves) -> Reading:
    """The reading that a file holds. Raises PriceListError with every mistake at its place."""
    try:
        tree = placed(text, file)
    except WrittenError as wrong:
        raise PriceListError(str(wrong)) from None
    known = ("columns", "articles", "decimal", "dates", "currency", "sheet")
    odd = [key for key in tree if key not in known]
    mistakes = [Mistake(file, *tree.keys_at[key], shown(key), near(key, known, "no such word here")) for key in odd]
    words = {name: _word(tree, name, mistakes) for name in known[2:]}
    columns = {
        Role(key): str(head) for key, head in _pairs(tree, "columns", mistakes) if _is_role(tree, key, mistakes)
    }
    articles = {}
    for number, word in _pairs(tree, "articles", mistakes):
        try:
            articles[number] = shelves.named(str(word))
        except ValueError as wrong:
            mistakes.append(Mistake(file, word.line, word.column, f"articles.{shown(number)}", str(wrong)))
    if mistakes:
        raise PriceListError(str(WrittenError(mistakes)))
    return Reading(columns, articles, **words)


def _pairs(tree: Node, key: str, mistakes: list[Mistake]) -> Iterator[tuple[str, Text]]:
    """What stands under a word: texts by their keys."""
    group = tree.get(key, "")
    if not isinstance(group, Node):
        if group == "":
            return
        mistakes.append(
            Mistake(tree.file, *tree.keys_at[key], key, "a group is wanted here: words, each with its answer")
        )
        return
    for name, value in group.items():
        if isinstance(value, Text) and value.strip():
            yield name, value
        else:
            mistakes.append(
                Mistake(tree.file, *group.keys_at[name], f"{key}.{shown(name)}", "one text is wanted here")
            )


def _is_role(tree: Node, key: str, mistakes: list[Mistake]) -> bool:
    roles = [role.value for role in Role]
    if key not in roles:
        says = near(key, roles, "no such kind of column")
        at: tuple[int, int] = tree["columns"].keys_at[key]
        mistakes.append(Mistake(tree.file, *at, f"columns.{shown(key)}", says))
    return key in roles


def _word(tree: Node, name: str, mistakes: list[Mistake]) -> str:
    value = tree.get(name, "")
    if value == "":
        return ""
    says = "one text is wanted here" if not isinstance(value, Text) else wrong_word(name, str(value))
    if says:
        mistakes.append(Mistake(tree.file, *tree.keys_at[name], name, says))
    return str(value)


def wrong_word(name: str, value: str) -> str:
    """What is wrong with one of the list's own words; empty where nothing is."""
    if name in WORDS and value not in WORDS[name]:
        return f"{quoted(value)} is not one of {', '.join(WORDS[name])}"
    if name == "currency" and not fullmatch("[A-Z]{3}", value, ASCII):
        return f"{quoted(value)} is no currency; write its three letters, like EUR"
    return ""


def wrong_number(number: str) -> str:
    """Why a supplier's number can't be kept; empty where it can."""
    if len(number) > LONGEST_NUMBER:
        return f"this article number is longer than {LONGEST_NUMBER} letters"
    return next((says for says in map(unfit, number) if says), "")


def kept_text(before: str, file: str, old: Reading, new: Reading) -> str:
    """The file that keeps a reading, what stood in it left as it was. Raises PriceListError."""
    was, wanted = old.written(), new.written()
    changes: Wanted = {
        name: _changed(was.get(name, {}), part)
        if isinstance(part, dict) else part
        for name, part in wanted.items() if was.get(name) != part
    }  # fmt: skip
    try:
        return with_values(before or OPENING, file, changes) if changes else before
    except WrittenError as wrong:
        raise PriceListError(str(wrong)) from None


def _changed(was: Mapping[str, str], now: Mapping[str, str]) -> dict[str, str | None]:
    """What to write of a group: what is new or other, and what is gone."""
    gone = dict.fromkeys([key for key in was if key not in now])
    return {**{key: value for key, value in now.items() if was.get(key) != value}, **gone}
