"""What is still to be chosen, written so that it can be judged on numbers and told as figures."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import log10
from typing import Any, Generic, Protocol, TypeVar

from scantling.figures.figure import Figure
from scantling.figures.units import Unit

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Attribute(Generic[T_co]):
    """A typed column of the catalogue; `sums` when it adds over the parts of one option (watts, bays, price)."""

    name: str
    unit: Unit[T_co]
    sums: bool = False

    def __hash__(self) -> int:
        return hash(
            self.name
        )  # looked up a hundred thousand times a plan: one word is told apart as well as all three


class Row(Protocol):
    """A row of the catalogue, as the ground floor sees it."""

    @property
    def slug(self) -> str:
        """Its identifier."""

    def get(self, attribute: Attribute[Any]) -> Any:
        """The plain value, None where the row lacks it."""

    def figure(self, attribute: Attribute[T]) -> Figure[T]:
        """The value as a figure with the row as its origin."""


class Term(Generic[T_co]):
    """A number not known before the purchase."""

    __slots__ = ()

    @property
    def unit(self) -> Unit[Any]:
        """The unit of the number."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Of(Term[T_co]):
    """One attribute of what is chosen for one slot."""

    slot: str
    attribute: Attribute[T_co]

    @property
    def unit(self) -> Unit[Any]:
        """The attribute's unit."""
        return self.attribute.unit


@dataclass(frozen=True, slots=True)
class Across(Term[T_co]):
    """One attribute over every slot whose choice has it."""

    attribute: Attribute[T_co]

    word = "total"

    @property
    def unit(self) -> Unit[Any]:
        """The attribute's unit."""
        return self.attribute.unit

    @staticmethod
    def fold(values: Iterable[Any], nought: Any) -> Any:
        """Many values into one; must never fall when one of them rises."""
        return sum(values, nought)


class Sum(Across[T_co]):
    """The sum over all slots (watts, bays taken)."""


class Most(Across[T_co]):
    """The largest over all slots (depth in a cabinet)."""

    word = "largest"

    @staticmethod
    def fold(values: Iterable[Any], nought: Any) -> Any:
        """The largest; nought of none."""
        return max(values, default=nought)


class Levels(Across[T_co]):
    """Sound levels together: 10 log10 of the sum of 10^(L/10) (ISO 80000-8; incoherent sources)."""

    word = "sound levels together"

    @staticmethod
    def fold(values: Iterable[Any], nought: Any) -> Any:
        """The level of all together; nought of none."""
        power = sum(10 ** (level / 10) for level in values if level > 0)
        return 10 * log10(power) if power else nought


class Speaker(Protocol):
    """A rule or table, as a term sees it."""

    @property
    def unit(self) -> Unit[Any]:
        """Of the result."""

    def of(self, **figures: Any) -> Figure[Any]:
        """On figures."""


@dataclass(frozen=True, slots=True)
class Over(Term[T]):
    """A rule (or table) whose arguments wait for the purchase; it may stand inside another."""

    rule: Any
    terms: Mapping[str, Any]

    @property
    def unit(self) -> Unit[Any]:
        """The unit of the rule's result; a rule for any unit takes that of its first such argument."""
        found: Unit[Any] = self.rule.unit_for({name: term.unit for name, term in self.terms.items()})
        return found

    def told(self, figure: Callable[[Any], Figure[Any]]) -> Figure[T]:
        """The same as a figure, once every term is one."""
        told: Figure[T] = self.rule.of(**{name: figure(term) for name, term in self.terms.items()})
        return told
