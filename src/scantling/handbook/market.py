"""What a search is given: slots with the rank of every option, demands as tests, costs that several slots drag together."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from scantling.figures.buying import Cost, Demand, Option, Slot
from scantling.handbook.judging import Bench
from scantling.handbook.nodes import Column

NOUGHT = Decimal(0)
CHANGE = Decimal("1e-12")
"""What a changed slot adds to a set's rank, in minor units: far below any price, so that it only breaks ties."""


def silent(nodes: int) -> None:
    """The default listener."""


@dataclass(frozen=True)
class Assembly:
    """One option for every slot, and what they cost together in minor units (costs dragged behind included)."""

    price: Decimal
    options: tuple[Option, ...]

    @cached_property
    def rank(self) -> Decimal:
        """The price, and next to nothing for every slot that is not left as it stands."""
        return self.price + CHANGE * sum(option.changes for option in self.options)

    @property
    def slugs(self) -> tuple[str, ...]:
        """The options' slugs in the order of the slots' ids."""
        return tuple(option.slug for option in self.options)

    @property
    def order(self) -> tuple[Decimal, tuple[str, ...]]:
        """The written rule: price, slots changed, slugs."""
        return self.rank, self.slugs


class Market:
    """Slots in the order of their ids, demands and costs; `tell` hears the number of nodes now and then."""

    def __init__(
        self,
        slots: Sequence[Slot],
        demands: Sequence[Demand],
        costs: Sequence[Cost],
        tell: Callable[[int], None] = silent,
    ) -> None:
        self.bench, self.demands, self.tell = Bench(slots), tuple(demands), tell
        self.slots = self.bench.slots
        self.tests = [self.bench.test(demand) for demand in demands]
        nodes = [self.bench.node(cost.what, cost.what.unit) for cost in costs]
        self.extras = [node for node in nodes if len(node.scope) > 1]
        self.fixed = sum((node.low() * 100 for node in nodes if not node.scope), NOUGHT)
        self.prices = self._prices([node for node in nodes if isinstance(node, Column)])
        self.slugs = [[option.slug for option in slot.options] for slot in self.slots]
        self.cheapest_first = [
            [one for _, _, one in sorted(zip(ranks, slugs, range(len(slugs)), strict=True))]
            for ranks, slugs in zip(self.prices, self.slugs, strict=True)
        ]
        self.nodes = 0

    def _prices(self, alone: Sequence[Column]) -> list[list[Decimal]]:
        """Rank of every option; a cost that one slot alone drags is added to its options."""
        prices = [[option.minor_units + CHANGE * option.changes for option in slot.options] for slot in self.slots]
        for column in alone:
            mine = prices[column.slot]
            for option in range(len(mine)):
                mine[option] += column.at(option) * 100
        return prices

    def dragged(self) -> Decimal:
        """What the picks drag behind them over several slots, at least."""
        return sum((extra.low() * 100 for extra in self.extras), NOUGHT)

    def assembly(self, picks: Sequence[int]) -> Assembly:
        """The set of these options, one for each slot; they are picked, so that what they drag is known."""
        options = tuple(slot.options[one] for slot, one in zip(self.slots, picks, strict=True))
        ranks = sum((self.prices[slot][one] for slot, one in enumerate(picks)), self.fixed)
        changes = CHANGE * sum(option.changes for option in options)
        return Assembly(ranks - changes + self.dragged(), options)
