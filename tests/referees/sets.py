"""Every set there is, judged by plain functions and put in order: the referee of the purchase on any slots.

It knows neither rules nor terms nor demands: an option is a slug, a price in hundredths, whether it changes what stands, and
numbers by name; a condition and a cost are functions of one option for each slot.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import product
from typing import Any


@dataclass(frozen=True)
class Raw:
    """One option: `numbers` by column."""

    slug: str
    price: int
    numbers: Mapping[str, Any] = field(default_factory=dict)
    changes: bool = False


Taken = Mapping[str, Raw]
Condition = Callable[[Taken], bool]


@dataclass(frozen=True)
class Ranked:
    """A set that meets all: price in hundredths with what it drags, slots changed, slugs by slot."""

    price: Decimal
    changed: int
    slugs: tuple[str, ...]

    @property
    def order(self) -> tuple[Decimal, int, tuple[str, ...]]:
        """Cheapest first, then fewest changes, then slugs."""
        return self.price, self.changed, self.slugs


def together(taken: Taken, column: str) -> list[Any]:
    """The numbers of a column over all slots that have it."""
    return [option.numbers[column] for _, option in sorted(taken.items()) if column in option.numbers]


def sets(
    slots: Mapping[str, Sequence[Raw]], conditions: Sequence[Condition], costs: Sequence[Callable[[Taken], Decimal]]
) -> list[Ranked]:
    """All sets that meet every condition, in order."""
    names = sorted(slots)
    found = []
    for options in product(*(slots[name] for name in names)):
        taken = dict(zip(names, options, strict=True))
        if all(condition(taken) for condition in conditions):
            price = sum((Decimal(option.price) for option in options), Decimal(0))
            dragged = sum((cost(taken) for cost in costs), Decimal(0)) * 100
            found.append(Ranked(price + dragged, sum(o.changes for o in options), tuple(o.slug for o in options)))
    return sorted(found, key=lambda one: one.order)
