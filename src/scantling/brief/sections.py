"""How a section of the brief is declared: fields asked, assumed or optional, each a figure with its place."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from re import ASCII, fullmatch
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Generic, TypedDict, TypeVar, Unpack, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import core_schema

from scantling.figures import Figure, Origin
from scantling.figures.figure import OriginKind
from scantling.figures.placed import Node, Text
from scantling.figures.quantities import Amount, Limits, amount, limits_of, parse
from scantling.figures.spelled import nearest, quoted
from scantling.figures.units import SHARE, WORD, Unit, closed

T = TypeVar("T")
NARROWER: Mapping[Unit[Any], int] = {SHARE: 100}
"""Where the brief takes less than a catalogue may hold, unless the field says otherwise: no share above the whole."""


class Assumed(Text):
    """A default that the loader put in: a house rule's text and its reason, and its place if a firm wrote it."""

    __slots__ = ("key", "said_at", "why")
    key: str
    why: str
    said_at: str


@dataclass(frozen=True, slots=True)
class Ask:
    """What a field says beside its type: the question, the house rule that may answer it, and what is taken."""

    question: str
    assumed: str = ""
    least: str = ""
    most: str = ""
    like: str = ""
    form: str = ""
    among: str = ""

    def limits(self, unit: Unit[Any]) -> Limits:
        """The range of amounts, the unit's own where the field names none. Raises ValueError for a bad bound."""
        usual = limits_of(unit)
        top = Amount(Fraction(NARROWER[unit]), unit) if unit in NARROWER else usual.most
        return Limits(
            amount(self.least, unit) if self.least else usual.least, amount(self.most, unit) if self.most else top
        )

    def fits(self, text: str, words: Mapping[str, Any]) -> None:
        """Raises ValueError when the text is not of the form, or not among the words, that the field takes."""
        if self.form and not fullmatch(self.form, text, ASCII):
            raise ValueError(f"{quoted(text)} is not taken here; write one like {self.like}")
        known = words.get(self.among, ())
        if known and text not in known:
            near = nearest(text, known)
            hint = f"; did you mean {near}?" if near else ""
            raise ValueError(f"{quoted(text)} is not one of {', '.join(known)}{hint}")


class Reader:
    """The unit of a field; stands in Annotated, where pydantic finds it."""

    def __init__(self, inner: Any) -> None:
        plain = closed(inner) if isinstance(inner, type) else WORD
        self.unit: Unit[Any] = next((m for m in get_args(inner) if isinstance(m, Unit)), plain)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def read(self, raw: Any, info: Any) -> Figure[Any]:
        """The figure. Raises ValueError in a person's words."""
        if isinstance(raw, Figure):
            return raw
        return self.figure(raw, info.context or {}, limits_of(self.unit) if self.unit.numeric else None)

    def figure(self, raw: Any, context: Mapping[str, Any], limits: Limits | None) -> Figure[Any]:
        """A text with its place as a figure within limits. Raises ValueError in a person's words."""
        if not isinstance(raw, Text):
            raise ValueError("one value is wanted here, not a list or a group")  # noqa: TRY004 - reported by pydantic
        value, unit = parse(str(raw), self.unit, context.get("currency", ""), limits)
        label = raw.path.rsplit(".", 1)[-1].replace("_", " ").replace("-", " ")
        kind: OriginKind = context.get("kind", "brief")
        if isinstance(raw, Assumed):
            origin = Origin("house rule", f"{raw.key}: {raw} ({raw.why})", raw.said_at, assumed=True)
        else:
            origin = Origin(kind, f"{raw.path}: {raw}", raw.place)
        return Figure(value, unit, origin, None, f"{kind}.{raw.path}", label)


if TYPE_CHECKING:
    Given = Figure[T]
else:

    class Given:
        """A figure to the type checker, a reading field to pydantic."""

        def __class_getitem__(cls, inner: Any) -> Any:
            return Annotated[Figure, Reader(inner)]


class Noted(TypedDict, total=False):
    """What a field may say beside its question.

    `least` and `most` are bounds as a person writes them; `like` an example; `form` a pattern for words (then with
    `like`); `among` the kind of catalogue row that the words name.
    """

    least: str
    most: str
    like: str
    form: str
    among: str


def asked(question: str, **noted: Unpack[Noted]) -> Any:
    """A field that the client must answer."""
    return Field(..., description=question, json_schema_extra=_noted(Ask(question, **noted)))


def assumed(question: str, key: str, **noted: Unpack[Noted]) -> Any:
    """A field whose default is a house rule; listed as "assumed, ask" until it is answered."""
    return Field(..., description=question, json_schema_extra=_noted(Ask(question, key, **noted)))


def optional(question: str, **noted: Unpack[Noted]) -> Any:
    """A field that may stay unanswered."""
    return Field(default=None, description=question, json_schema_extra=_noted(Ask(question, **noted)))


def _noted(ask: Ask) -> Any:
    return {"ask": ask}


def ask_of(field: Any) -> Ask:
    """What `asked`, `assumed` or `optional` noted beside a field."""
    noted = field.json_schema_extra
    found = noted.get("ask") if isinstance(noted, dict) else None
    return found if isinstance(found, Ask) else Ask(field.description or "")


def reader(field: Any) -> Reader | None:
    """The reader of a field or of a mapping's values, None for a group."""
    found = [m for m in field.metadata if isinstance(m, Reader)]
    for part in _parts(field.annotation):
        found += [m for m in get_args(part) if isinstance(m, Reader)]
    return found[0] if found else None


def _parts(annotation: Any) -> tuple[Any, ...]:
    """The types inside `X | None` and `dict[str, X]`."""
    return tuple(
        inside for part in get_args(annotation) for inside in (part, *_parts(part) * (get_origin(part) is dict))
    )


def is_mapping(field: Any) -> bool:
    """Whether a field holds named things."""
    return dict in (get_origin(field.annotation), *map(get_origin, get_args(field.annotation)))


def group(field: Any) -> "type[Section] | None":
    """The section inside a field: itself, or the values of its named things."""
    for part in (field.annotation, *_parts(field.annotation)):
        if isinstance(part, type) and issubclass(part, Section):
            return part
    return None


class Section(BaseModel):
    """One block of the brief, declared in its trade's file under the word that the client uses."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
    key: ClassVar[str] = ""
    default_whole: ClassVar[bool] = False
    """Whether a brief without it is read as if all its fields were left to be assumed."""
    slugs: ClassVar[bool] = True
    """Whether the names of its named things must be short words; otherwise they are ids or codes."""
    field_limits: ClassVar[Mapping[str, Limits]] = {}
    """The range of each field that is a number; filled when the class is made."""

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        """Read every bound once, so that a bad one shows when the trade is imported."""
        readers = {name: reader(field) for name, field in cls.model_fields.items()}
        cls.field_limits = {
            name: ask_of(cls.model_fields[name]).limits(one.unit)
            for name, one in readers.items() if one is not None and one.unit.numeric
        }  # fmt: skip

    @field_validator("*", mode="before")
    @classmethod
    def _read(cls, value: Any, info: ValidationInfo) -> Any:
        """A text as a figure within the field's own range; other things go on to their own readers."""
        if info.field_name is None:
            return value
        field, context = cls.model_fields[info.field_name], info.context or {}
        if (
            isinstance(value, Node)
            and not value
            and is_mapping(field)
            and field.is_required()
            and cls.key != value.path
        ):
            raise ValueError("nothing is named here; at least one is wanted")
        one = reader(field)
        if one is None or not isinstance(value, Text) or is_mapping(field):
            return value
        if value.strip():
            ask_of(field).fits(str(value), context.get("words", {}))
        return one.figure(value, context, cls.field_limits.get(info.field_name))


class Mapped(Section, Generic[T]):
    """A section that is a mapping of named things."""

    items: dict[str, T]

    @model_validator(mode="before")
    @classmethod
    def _as_items(cls, data: Any) -> Any:
        return {"items": data} if isinstance(data, Mapping) else data
