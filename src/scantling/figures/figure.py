"""A value that knows where it came from."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, Literal, Protocol, TypeVar

from scantling.figures.units import TRUTH, Unit

T_co = TypeVar("T_co", covariant=True)

SourceKind = Literal["published", "common practice", "own derivation", "house rule"]
OriginKind = Literal["brief", "catalogue", "standing", "standard", "house rule"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a formula or a number comes from."""

    name: str
    kind: SourceKind = "published"


class How(Protocol):
    """What stands behind a figure: an origin (leaf), a rule, a method, a gathering, a choice, a pin."""

    def working(self, figure: "Figure[Any]") -> str:
        """One line: how this figure came about."""


class Figure(Generic[T_co]):
    """Id, label, value, unit, how it came about, and the figures it came from.

    It has no arithmetic, so lineage cannot be lost quietly; rules, methods and gatherings make new figures from it.
    """

    __slots__ = ("how", "id", "inputs", "label", "unit", "value")

    def __init__(
        self,
        value: T_co,
        unit: Unit[Any],
        how: How,
        inputs: Mapping[str, Any] | None = None,
        id_: str = "",
        label: str = "",
    ) -> None:
        self.value, self.unit, self.how = value, unit, how
        self.inputs: Mapping[str, Any] = inputs or {}
        self.id, self.label = id_, label

    def parents(self) -> Iterator["Figure[Any]"]:
        """Every figure this one came from, in order."""
        for _, parent in self.addressed():
            yield parent

    def addressed(self) -> Iterator[tuple[str, "Figure[Any]"]]:
        """Every parent with the name of the argument it filled."""
        for name, given in self.inputs.items():
            if isinstance(given, Figure):
                yield name, given
            else:
                for key, figure in given.items():
                    yield f"{name}.{key}", figure

    def __repr__(self) -> str:
        return f"<{self.id or 'figure'} {self.value!r} {self.unit.symbol}>"

    if not TYPE_CHECKING:  # hidden, so that mypy's truthy-bool refuses `if figure:`

        def __bool__(self) -> bool:
            message = "a figure decides nothing by itself: use desk.choose, Finding(when=…) or a rule"
            raise TypeError(message)


@dataclass(frozen=True, slots=True)
class Origin:
    """A leaf: brief line, catalogue row, standing line, standard's constant, house rule.

    `where` is the place as people look it up; `place` is what changes when lines move (file:line), kept apart so that a
    plan's identity ignores it.
    """

    kind: OriginKind
    where: str
    place: str = ""
    assumed: bool = False

    def working(self, figure: Figure[Any]) -> str:  # noqa: ARG002 - every How answers for a figure
        """Where the value stands."""
        at = f"{self.place}, {self.where}" if self.place else self.where
        return f"{self.kind}: {at}" + (" (assumed, ask)" if self.assumed else "")


def standard(value: Any, unit: Unit[Any], source: Source, label: str) -> Figure[Any]:
    """A constant that a standard fixes."""
    return Figure(value, unit, Origin("standard", f"{label}, {source.name}"), None, "", label)


def missing(given: "Figure[Any] | None", where: str) -> "Figure[bool]":
    """Whether the brief leaves a line out, as a figure that a finding can rest on."""
    if given is None:
        return Figure(True, TRUTH, Origin("brief", f"{where}: not given"), None, "", f"{where} not given")  # noqa: FBT003
    return Figure(False, TRUTH, Origin("brief", f"{where}: given"), {"given": given}, "", f"{where} not given")  # noqa: FBT003
