"""What can be bought and the house rules: typed columns, each number with its row as origin; no file is read here."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Generic, TypeVar

from scantling.figures import Attribute, Figure, Option, Origin, text
from scantling.figures.units import Unit

LONGEST_SHOWN = 40
STILL_SOLD = "sold"
T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class CatalogueError(LookupError):
    """A row that the catalogue does not have, in a person's words."""


@dataclass(frozen=True, slots=True)
class Article:
    """One row: its kind, slug, values by column name (each in its column's unit) and place (`hosts.yaml:4`).

    `marks` are what it says beside its columns, each optional: see `columns.MARKS`. `places` are those of columns and
    marks that a firm's files lay over the row (`firm/disks.yaml:4`).
    """

    kind: str
    slug: str
    values: Mapping[str, Any]
    place: str = ""
    marks: Mapping[str, Any] = field(default_factory=dict)
    places: Mapping[str, str] = field(default_factory=dict)

    def get(self, attribute: Attribute[Any]) -> Any:
        """The plain value in the column's unit, or the mark; None where the row lacks it."""
        return self.values.get(attribute.name, self.marks.get(attribute.name))

    def mark(self, name: str) -> Any:
        """What the row says of itself, None where it says nothing; a row that says nothing is still sold."""
        return self.marks.get(name, True if name == STILL_SOLD else None)

    def mark_figure(self, name: str, unit: Unit[T]) -> Figure[T] | None:
        """A mark as a figure with this row as its origin, None where the row says nothing."""
        return None if self.mark(name) is None else self._told(name, unit, self.mark(name))

    def figure(self, attribute: Attribute[T]) -> Figure[T]:
        """The value with this row as its origin. Raises CatalogueError where the row lacks it."""
        if (value := self.get(attribute)) is None:
            message = f"the {self.kind} {self.slug} has no {attribute.name}"
            raise CatalogueError(message)
        return self._told(attribute.name, attribute.unit, value)

    def _told(self, name: str, unit: Unit[T], value: Any) -> Figure[T]:
        where = f"{self.kind}.{self.slug}.{name}"
        origin = Origin("catalogue", where, self.places.get(name, self.place))
        return Figure(value, unit, origin, None, f"catalogue.{where}", f"{name.replace('_', ' ')} of {self.slug}")


class Catalogue:
    """Rows by kind and slug, priced in one currency; nobody changes them once it is made."""

    def __init__(self, rows: Mapping[str, Mapping[str, Article]], currency: str = "") -> None:
        self.rows, self.currency = rows, currency
        self._worked: dict[str, Any] = {}
        self._slugs = {
            kind: {str(row.values.get("name", slug)): slug for slug, row in articles.items()}
            for kind, articles in rows.items()
        }

    def __reduce__(self) -> tuple[Any, ...]:
        return Catalogue, (self.rows, self.currency)

    def once(self, what: str, work: Callable[["Catalogue"], T]) -> T:
        """What follows from the rows alone, worked out once for all plans; `what` names it."""
        if what not in self._worked:
            self._worked[what] = work(self)
        found: T = self._worked[what]
        return found

    def every(self, kind: str) -> tuple[Article, ...]:
        """All rows of a kind. Raises CatalogueError for a kind that it does not have."""
        if kind not in self.rows:
            message = f"the catalogue has no rows of kind {kind}"
            raise CatalogueError(message)
        return tuple(self.rows[kind].values())

    def only(self, kind: str) -> Article:
        """The one row of a kind that is not a choice. Raises CatalogueError where there are several."""
        rows = self.every(kind)
        if len(rows) != 1:
            message = f"one row of kind {kind} is wanted; the catalogue has {', '.join(row.slug for row in rows)}"
            raise CatalogueError(message)
        return rows[0]

    def pick(self, kind: str, slug: Figure[str]) -> Article:
        """The row that a brief line names by its slug or its name. Raises CatalogueError with the nearest name."""
        word = text(slug)
        if (found := self._found(kind, word)) is None:
            raise CatalogueError(self._unknown(kind, word, slug))
        return found

    def lacking(self, kind: str, slugs: Iterable[Figure[str]]) -> tuple[str, ...]:
        """A sentence for each brief line that names a row which is not there: all of them at once."""
        return tuple(self._unknown(kind, text(s), s) for s in slugs if self._found(kind, text(s)) is None)

    def options(self, kind: str, counts: Iterable[int] = (1,)) -> tuple[Option, ...]:
        """Every row so many times."""
        return tuple(
            Option(f"{n}x-{r.slug}" if n > 1 else r.slug, ((r, n),)) for r in self.every(kind) for n in counts
        )

    def _found(self, kind: str, word: str) -> Article | None:
        rows = self.rows.get(kind, {})
        return rows.get(word) or rows.get(self._slugs.get(kind, {}).get(word, ""))

    def _unknown(self, kind: str, word: str, slug: Figure[str]) -> str:
        """`brief.yaml:63: services.files.profile: no profile called "filez"; did you mean "files"? There are: …`."""
        names, said = sorted(self._slugs.get(kind, {})), kind.replace("_", " ")
        near = get_close_matches(word, names, 1, 0.5)
        hint = f'; did you mean "{near[0]}"?' if near else "."
        where = [place for place in (getattr(slug.how, "place", ""), slug.id.removeprefix("brief.")) if place]
        called = f'no {said} called "{word[:LONGEST_SHOWN]}"'
        return ": ".join([*where, f"{called}{hint} There are: {', '.join(names) or 'none'}"])


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

    @property
    def laid_at(self) -> str:
        """Where a firm wrote it over ours; empty for our own."""
        return ""


@dataclass(frozen=True, slots=True)
class House:
    """The practice numbers of the firm: read values by key, and the lines they came from."""

    lines: Mapping[str, RuleLine] = field(default_factory=dict)
    values: Mapping[str, tuple[tuple[Any, Unit[Any]], ...]] = field(default_factory=dict)

    def __getitem__(self, practice: Practice[T]) -> Figure[T]:
        """The rule's value (the first of a list). Raises CatalogueError where no rule of that key was read."""
        return next(self.every(practice))

    def every(self, practice: Practice[T]) -> Iterator[Figure[T]]:
        """A house rule that is a list: each of its values. Raises CatalogueError where none of that key was read."""
        if practice.key not in self.values:
            message = f"the house rules lack {practice.key}"
            raise CatalogueError(message)
        line = self.lines[practice.key]
        label = practice.key.replace(".", " ").replace("-", " ")
        for number, (value, unit) in enumerate(self.values[practice.key], 1):
            origin = Origin("house rule", f"{practice.key}: {line.why}", line.place)
            suffix = f".{number}" if len(line.texts) > 1 else ""
            yield Figure(value, unit, origin, None, f"house.{practice.key}{suffix}", label)
