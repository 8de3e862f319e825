"""What is bought, and what there is to say: slots, options, demands, costs, findings."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum
from typing import Any, Generic, TypeVar

from scantling.figures.figure import Figure
from scantling.figures.terms import Attribute, Row, Term
from scantling.figures.units import MONEY

T = TypeVar("T")
PRICE = Attribute("price", MONEY, sums=True)


class Every(tuple[T, ...], Generic[T]):
    """All records of one kind that others yield before the reader runs."""

    __slots__ = ()


class Weight(Enum):
    """How heavy a finding is."""

    STOP = "stop"
    MEND = "mend"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to say when a true-or-false figure is true; kept either way, as checked.

    `says` may hold `{name}` for each figure in `shown`, or `{name:device keeps|devices keep}` for a count with the words that fit
    one and several; the plan prints it in. `about` names what a drawing circles:
    a slug of a zone, machine, array, copy or place.
    """

    code: str
    weight: Weight
    when: Figure[bool]
    says: str
    remedy: str
    shown: Mapping[str, Figure[Any]] = field(default_factory=dict)
    about: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """One way to fill a slot: rows with counts, and what only the composition knows (level, disks)."""

    slug: str
    parts: tuple[tuple[Row, int], ...]
    own: Mapping[Attribute[Any], Any] = field(default_factory=dict)
    stands: tuple[tuple[Row, int], ...] = ()
    """Which of its parts are there already: they cost nothing."""
    changes: bool = False
    """Whether something stands in this slot and this option is not exactly that."""
    left_out: int = 0
    """How many of the parts that stand in this slot it has no use for."""

    def get(self, attribute: Attribute[Any]) -> Any:
        """The number; None where no part has it."""
        if self.own and attribute in self.own:
            return self.own[attribute]
        if attribute is PRICE and self.stands:
            return self.price
        found = [(value, count) for row, count in self.parts if (value := row.get(attribute)) is not None]
        if not found:
            return None
        if attribute.sums:
            kind: Any = attribute.unit.kind
            return sum((value * count for value, count in found), kind())
        return found[0][0]

    @property
    def price(self) -> Decimal:
        """What its parts cost together, those that stand already left out."""
        return sum((price * n for row, n in self.to_buy if (price := row.get(PRICE)) is not None), Decimal(0))

    @property
    def to_buy(self) -> tuple[tuple[Row, int], ...]:
        """Its parts beyond those that stand."""
        if not self.stands:
            return tuple([(row, count) for row, count in self.parts if count])
        left: Counter[str] = Counter()
        for row, count in self.stands:
            left[row.slug] += count
        beyond = []
        for row, count in self.parts:
            there = min(count, left[row.slug])
            left[row.slug] -= there
            beyond.append((row, count - there))
        return tuple((row, count) for row, count in beyond if count)

    @property
    def minor_units(self) -> int:
        """The price in hundredths, an exact whole number. Raises ValueError if a catalogue price has more places."""
        cents = self.price * 100
        if cents != int(cents):
            message = f"{self.slug}: the price {self.price} has more than two places"
            raise ValueError(message)
        return int(cents)


@dataclass(frozen=True, slots=True)
class Slot:
    """Something to be bought: its options, before any demand."""

    id: str
    options: tuple[Option, ...]
    name: str = ""


@dataclass(frozen=True, slots=True)
class Demand:
    """What the purchase must meet: an attribute, a sum, or a rule over several, against an amount.

    With neither bound it must be true. A `need` comes from the brief and may give way when nothing fits; a fit (socket,
    bays) never does.
    """

    id: str
    label: str
    what: Term[Any]
    at_least: Figure[Any] | None = None
    at_most: Figure[Any] | None = None
    need: bool = False

    @property
    def bounds(self) -> tuple[Figure[Any], ...]:
        """The amounts it is held against."""
        return tuple(bound for bound in (self.at_least, self.at_most) if bound is not None)


@dataclass(frozen=True, slots=True)
class Cost:
    """Money that the choice drags behind it (licence per core, energy), beside the price of the parts."""

    id: str
    label: str
    what: Term[Decimal]
