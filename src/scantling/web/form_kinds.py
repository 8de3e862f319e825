"""What a form of the brief is made of: sections, answers, tables of named things; plain values that compare by content."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from re import ASCII, sub

MOST_TOLD = 120
MOST_ROWS = 150
"""So many things of a list stand on the form; further ones are written as text."""
SHORTEST, LONGEST = 5, 40
"""Letters that a line is long, at least and at most."""
MOST_COLUMNS, FEWEST_COLUMNS = 6, 2
"""A table of named things has so many columns; its further answers stand below each thing."""


def handle(id_: str) -> str:
    """A word of letters, digits and strokes for an id, so that it may stand in an address, a selector or a page."""
    return sub(r"[^A-Za-z0-9-]", lambda found: f"_{ord(found[0]):x}_", id_, flags=ASCII)


@dataclass(frozen=True, slots=True)
class Assumption:
    """What is taken where nothing is written, and why."""

    text: str
    why: str


@dataclass(frozen=True, slots=True)
class Field:
    """One answer: its id, what is asked, what is written, and what would be taken."""

    id: str
    pattern: str
    label: str
    question: str
    why: str
    value: str | None
    """As the brief has it, None where it is silent."""
    assumed: Assumption | None
    example: str
    unit: str
    choices: tuple[str, ...]
    accepted: str
    required: bool
    group: str = ""
    """The words between the section, or the thing, and the answer, such as cabinet."""
    fault: str = ""
    place: tuple[int, int] | None = field(default=None, compare=False)
    """Line and column in the text; two fields that differ in nothing else look alike."""

    @property
    def handle(self) -> str:
        """A word for the page, different for every id."""
        return handle(self.id)

    @property
    def help_handle(self) -> str:
        """The same for what is told of it, which is alike for all things of a kind."""
        return handle(self.pattern)

    @property
    def size(self) -> int:
        """Letters that its line should hold."""
        return min(max(len(self.value or self.empty), SHORTEST), LONGEST) + 1

    @property
    def help(self) -> str:
        """Question, reason and what is taken, as sentences."""
        assumed = f"Assumed: {self.assumed.text} (house rule: {self.assumed.why})." if self.assumed else ""
        return " ".join(part for part in (self.question, self.beside, assumed) if part)

    @property
    def beside(self) -> str:
        """Reason and what is taken, for where the question is told already."""
        taken = f"Taken: {self.accepted}." if self.accepted and self.accepted != "words" else ""
        shown = f"Like {self.example}." if self.example and self.example not in self.accepted else ""
        return " ".join(part for part in (self.why, taken, shown) if part)

    @property
    def empty(self) -> str:
        """What an empty line says."""
        if self.assumed is not None:
            return f"assumed: {self.assumed.text}"
        return "to be answered" if self.required else "left open"

    @property
    def numeric(self) -> bool:
        """Whether its amounts stand right in a column."""
        return bool(self.unit) or self.accepted[:1].isdigit()


@dataclass(frozen=True, slots=True)
class Row:
    """One named thing."""

    slug: str
    id: str
    fields: tuple[Field, ...]

    @property
    def handle(self) -> str:
        """A word for the page."""
        return handle(self.id)

    def told(self, columns: Sequence[Field]) -> str:
        """What its further answers say, in short; empty where none is written."""
        written = [f"{one.label} {one.value}" for one in self.beside(columns) if one.value is not None]
        told = ", ".join(written)
        return told if len(told) <= MOST_TOLD else f"{told[: MOST_TOLD - 1]}…"

    def value(self, pattern: str) -> str | None:
        """What is written for one answer."""
        return next((one.value for one in self.fields if one.pattern == pattern), None)

    def within(self, columns: Sequence[Field]) -> tuple[Field, ...]:
        """Its answers that stand in columns."""
        return tuple(one for one in self.fields if one.pattern in {column.pattern for column in columns})

    def beside(self, columns: Sequence[Field]) -> tuple[Field, ...]:
        """Its further answers."""
        return tuple(one for one in self.fields if one.pattern not in {column.pattern for column in columns})


@dataclass(frozen=True, slots=True)
class Named:
    """Named things of one kind: a table with one row a thing, and what is asked of a new one."""

    id: str
    label: str
    question: str
    rows: tuple[Row, ...]
    new: tuple[Field, ...]
    """The fields of a thing to be added, each with `*` for its word."""
    free: bool
    """Whether its words may be made from a name; otherwise they are codes or ids."""
    has_name: bool
    """Whether the name is an answer of its own beside the word."""
    at_least_one: bool

    @property
    def handle(self) -> str:
        """A word for the page."""
        return handle(self.id)

    @property
    def shown(self) -> tuple[Row, ...]:
        """The things that stand on the form."""
        return self.rows[:MOST_ROWS]

    @property
    def asked(self) -> tuple[Field, ...]:
        """What is asked of a new thing beside its name."""
        return tuple(one for one in self.new if not (self.has_name and one.pattern.endswith(".*.name")))

    @property
    def asked_at_once(self) -> tuple[Field, ...]:
        """What a new thing can't do without."""
        return tuple(one for one in self.asked if one.required)

    @property
    def word_head(self) -> str:
        """What stands above the words of its things."""
        return "short name" if self.free else "for"

    @property
    def naming(self) -> str:
        """How the first answer of a new thing is called."""
        return "name" if self.has_name else "short name" if self.free else "id or code"

    @property
    def columns(self) -> tuple[Field, ...]:
        """The answers that stand in columns: those that a thing must have, then those most things have; in their order."""
        written = {one.pattern: sum(row.value(one.pattern) is not None for row in self.rows) for one in self.new}
        told = sorted(
            self.new, key=lambda one: (not one.pattern.endswith(".name"), not one.required, -written[one.pattern])
        )
        best = {
            one.pattern
            for one in told[:MOST_COLUMNS]
            if one.required or one.pattern.endswith(".name") or written[one.pattern]
        }
        fewest = {one.pattern for one in self.new[:FEWEST_COLUMNS]} if len(best) < FEWEST_COLUMNS else set()
        return tuple(one for one in self.new if one.pattern in best | fewest)


@dataclass(frozen=True, slots=True)
class SectionForm:
    """One section: whether it stands in the brief, whether it counts without, its answers and named things in order."""

    key: str
    title: str
    told: str
    there: bool
    counts: bool
    """Whether a brief without it is read as if all its answers were assumed."""
    parts: tuple[Field | Named, ...]
    faults: tuple[str, ...] = ()
    """Mistakes in it that are no single field's."""
    begins: int = field(default=0, compare=False)
    """Lines of the brief before it: places of its fields are counted from there."""

    @property
    def handle(self) -> str:
        """A word for the page."""
        return handle(self.key)

    @property
    def fields(self) -> Iterator[Field]:
        """Every answer in it, those of named things too."""
        for part in self.parts:
            if isinstance(part, Field):
                yield part
            else:
                yield from (one for row in part.rows for one in row.fields)

    @property
    def wanted(self) -> tuple[Field, ...]:
        """What a section that is to be added must answer, with `*` for the word of its first thing."""
        needed = []
        for part in self.parts:
            if isinstance(part, Field):
                needed += [part] * part.required
            elif part.at_least_one:
                needed += part.asked_at_once
        return tuple(needed)

    @property
    def id(self) -> str:
        """The section's word, as an id."""
        return self.key

    @property
    def first_things(self) -> tuple[Named, ...]:
        """Lists of which a section that is to be added must have a thing."""
        return tuple(part for part in self.tables if part.at_least_one)

    @property
    def tables(self) -> tuple[Named, ...]:
        """Its lists of named things."""
        return tuple(part for part in self.parts if isinstance(part, Named))

    @property
    def clusters(self) -> tuple[tuple[str, tuple[Field, ...]], ...]:
        """Its single answers, those of a group together under the group's word."""
        single = [part for part in self.parts if isinstance(part, Field)]
        words = dict.fromkeys(one.group for one in single)
        return tuple((word, tuple(one for one in single if one.group == word)) for word in words)

    @property
    def assumptions(self) -> bool:
        """Whether house rules answer anything in it."""
        return any(isinstance(part, Field) and part.assumed is not None for part in self.parts)
