"""What can be bought and the house rules: typed columns, each number with its row as origin; no file is read here."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Generic, TypeVar

from scantling.figures import Attribute, Figure, Option, Origin, text
from scantling.figures.units import Unit

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class CatalogueError(LookupError):
    """A row that the catalogue does not have, in a person's words."""


@dataclass(frozen=True, slots=True)
class Article:
    """One row: its kind, slug and values by column name, each with the unit it is written in."""

    kind: str
    slug: str
    values: Mapping[str, Any]
    units: Mapping[str, Unit[Any]]
    place: str = ""

    def get(self, attribute: Attribute[Any]) -> Any:
        """The plain value in the column's unit, None where the row lacks it."""
        return self.values.get(attribute.name)

    def figure(self, attribute: Attribute[T]) -> Figure[T]:
        """The value with this row as its origin. Raises CatalogueError where the row lacks it."""
        if attribute.name not in self.values:
            message = f"the {self.kind} {self.slug} has no {attribute.name}"
            raise CatalogueError(message)
        where = f"{self.kind}.{self.slug}.{attribute.name}"
        origin = Origin("catalogue", where, self.place)
        label = f"{attribute.name.replace('_', ' ')} of {self.slug}"
        return Figure(self.values[attribute.name], attribute.unit, origin, None, f"catalogue.{where}", label)


class Catalogue:
    """Rows by kind and slug."""

    def __init__(self, rows: Mapping[str, Mapping[str, Article]], currency: str = "") -> None:
        self.rows, self.currency = rows, currency
        self._names = {
            kind: {str(article.values.get("name", slug)): slug for slug, article in articles.items()} for kind, articles in rows.items()
        }

    def every(self, kind: str) -> tuple[Article, ...]:
        """All rows of a kind. Raises CatalogueError for a kind that it does not have."""
        if kind not in self.rows:
            message = f"the catalogue has no rows of kind {kind}"
            raise CatalogueError(message)
        return tuple(self.rows[kind].values())

    def only(self, kind: str) -> Article:
        """The one row of a kind that is not a choice."""
        (row,) = self.every(kind)
        return row

    def pick(self, kind: str, slug: Figure[str]) -> Article:
        """The row that a brief line names by its slug or its name. Raises CatalogueError with the nearest."""
        word = text(slug)
        rows = self.rows.get(kind, {})
        if (found := rows.get(word) or rows.get(self._names.get(kind, {}).get(word, ""))) is not None:
            return found
        names = sorted(self._names.get(kind, {}))
        near = get_close_matches(word, names, 1, 0.5)
        hint = f"; did you mean {near[0]}?" if near else ""
        place = getattr(slug.how, "place", "")
        message = f"{place + ': ' if place else ''}{slug.id.removeprefix('brief.')}: the catalogue has no {kind.replace('_', ' ')} called {word!r}{hint} There are: {', '.join(names)}"
        raise CatalogueError(message)

    def options(self, kind: str, counts: Iterable[int] = (1,)) -> tuple[Option, ...]:
        """Every row so many times."""
        return tuple(Option(f"{n}x-{r.slug}" if n > 1 else r.slug, ((r, n),)) for r in self.every(kind) for n in counts)


@dataclass(frozen=True, slots=True)
class Practice(Generic[T_co]):
    """A house rule that a trade relies on: its key and unit, declared where it is used."""

    key: str
    unit: Unit[T_co]


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One house rule as written: its text (or texts), range, reason and source."""

    texts: tuple[str, ...]
    range: str
    reason: str
    source: str
    place: str

    @property
    def why(self) -> str:
        """Range, reason and source in one line."""
        return f"{self.range}; {self.reason}; {self.source}"


@dataclass(frozen=True, slots=True)
class House:
    """The practice numbers of the firm: read values by key, and the lines they came from."""

    lines: Mapping[str, RuleLine] = field(default_factory=dict)
    values: Mapping[str, tuple[tuple[Any, Unit[Any]], ...]] = field(default_factory=dict)

    def __getitem__(self, practice: Practice[T]) -> Figure[T]:
        return next(self.every(practice))

    def every(self, practice: Practice[T]) -> Iterator[Figure[T]]:
        """A house rule that is a list: each of its values."""
        line = self.lines[practice.key]
        for place, (value, unit) in enumerate(self.values[practice.key]):
            origin = Origin("house rule", f"{practice.key}: {line.why}", line.place)
            suffix = f".{place + 1}" if len(line.texts) > 1 else ""
            label = practice.key.replace(".", " ").replace("-", " ")
            yield Figure(value, unit, origin, None, f"house.{practice.key}{suffix}", label)
