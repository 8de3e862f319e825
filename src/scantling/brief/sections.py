"""How a section of the brief is declared: fields that are asked, assumed or optional, each a figure with its place."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Generic, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator
from pydantic_core import core_schema

from scantling.figures import Figure, Origin
from scantling.figures.placed import Text
from scantling.figures.quantities import parse
from scantling.figures.units import WORD, Unit, closed, convert

T = TypeVar("T")


class Assumed(Text):
    """A default that the loader put in: a house rule's text and its reason."""

    __slots__ = ("key", "why")
    key: str
    why: str


class Reader:
    """Reads one scalar as a figure of one unit; stands in Annotated, where pydantic finds it."""

    def __init__(self, inner: Any) -> None:
        plain = closed(inner) if isinstance(inner, type) else WORD
        self.unit: Unit[Any] = next((m for m in get_args(inner) if isinstance(m, Unit)), plain)

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def read(self, raw: Any, info: Any) -> Figure[Any]:
        """The figure. Raises ValueError in a person's words."""
        if isinstance(raw, Figure):
            return raw
        if not isinstance(raw, Text):
            message = "one value is wanted here, not a list or a group"
            raise ValueError(message)  # noqa: TRY004 - pydantic reports ValueError
        currency = (info.context or {}).get("currency", "")
        value, unit = parse(str(raw), self.unit, currency)
        label = raw.path.rsplit(".", 1)[-1].replace("_", " ").replace("-", " ")
        if isinstance(raw, Assumed):
            origin = Origin("house rule", f"{raw.key}: {raw} ({raw.why})", assumed=True)
        else:
            origin = Origin("brief", f"{raw.path}: {raw}", raw.place)
        return Figure(value, unit, origin, None, f"brief.{raw.path}", label)


if TYPE_CHECKING:
    Given = Figure[T]
else:

    class Given:
        """A figure to the type checker, a reading field to pydantic."""

        def __class_getitem__(cls, inner: Any) -> Any:
            return Annotated[Figure, Reader(inner)]


def asked(question: str, *, least: str = "", most: str = "") -> Any:
    """A field that the client must answer; `least` and `most` are bounds as a person writes them."""
    return Field(..., description=question, json_schema_extra={"least": least, "most": most})


def assumed(question: str, key: str, *, least: str = "", most: str = "") -> Any:
    """A field whose default is a house rule; listed as "assumed, ask" until it is answered."""
    return Field(..., description=question, json_schema_extra={"assumed": key, "least": least, "most": most})


def optional(question: str, *, least: str = "", most: str = "") -> Any:
    """A field that may stay unanswered."""
    return Field(default=None, description=question, json_schema_extra={"least": least, "most": most})


def extra(field: Any) -> dict[str, str]:
    """What `asked`, `assumed` or `optional` noted beside a field."""
    noted = field.json_schema_extra
    return noted if isinstance(noted, dict) else {}


def reader(field: Any) -> Reader | None:
    """The reader of a field, None for a group."""
    found = [m for m in field.metadata if isinstance(m, Reader)]
    for part in get_args(field.annotation):
        found += [m for m in get_args(part) if isinstance(m, Reader)]
    return found[0] if found else None


class Section(BaseModel):
    """One block of the brief, declared in its trade's file under the word that the client uses."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)
    key: ClassVar[str] = ""
    default_whole: ClassVar[bool] = False
    """Whether a brief without it is read as if all its fields were left to be assumed."""

    @field_validator("*", mode="after")
    @classmethod
    def _bounded(cls, value: Any, info: ValidationInfo) -> Any:
        """Bounds of the field, if it has any."""
        if not isinstance(value, Figure) or info.field_name is None:
            return value
        noted = extra(cls.model_fields[info.field_name])
        for word, sign in (("least", 1), ("most", -1)):
            if text := noted.get(word):
                bound, unit = parse(text, value.unit)
                if (value.value - convert(bound, unit, value.unit)) * sign < 0:
                    message = f"{'at least' if sign > 0 else 'at most'} {text} is wanted"
                    raise ValueError(message)
        return value


class Mapped(Section, Generic[T]):
    """A section that is a mapping of named things."""

    slugs: ClassVar[bool] = True
    items: dict[str, T]

    @model_validator(mode="before")
    @classmethod
    def _as_items(cls, data: Any) -> Any:
        return {"items": data} if isinstance(data, Mapping) else data
