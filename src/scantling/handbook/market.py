"""What a search is given: slots with the rank of every option, demands as tests, costs that several slots drag together."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from scantling.figures.buying import Cost, Demand, Option, Slot
from scantling.handbook.board import Board, Unit
from scantling.handbook.judging import Bench, Test
from scantling.handbook.narrowing import Wish, undominated
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
        self.shared = [test for test in self.tests if len(test.scope) > 1]
        self.read = {(test.node, sense) for test in self.shared for sense in test.senses}
        self.known: dict[tuple[Any, ...], list[int]] = {}
        self.nodes = 0

    def fitting(self, slot: int, tests: Sequence[Test]) -> list[int]:
        """The options of a slot that pass these tests, which read it alone; cheapest first, and worked out once."""
        key = (slot, *tests)
        if key not in self.known:
            kept = self.cheapest_first[slot]
            for test in tests:
                kept = [option for option in kept if test.holds(test.node.at(option))]
            self.known[key] = list(kept)
        return self.known[key]

    def alone(self, slot: int, tests: Sequence[Test]) -> tuple[Test, ...]:
        """Those of the tests that read this slot and no other."""
        return tuple(test for test in tests if test.scope == {slot})

    def lean(self, slot: int, tests: Sequence[Test]) -> list[int] | None:
        """The options of a slot that no other beats, when these tests ask for nothing that ours do not; else None."""
        alone = self.alone(slot, tests)
        several = [(test.node, sense) for test in tests if len(test.scope) > 1 for sense in test.senses]
        if alone != self.alone(slot, self.tests) or not self.read.issuperset(several):
            return None
        key = ("lean", slot)
        if key not in self.known:
            fitting = self.fitting(slot, alone)
            self.known[key] = [fitting[place] for place in undominated(self._whole, slot, Wish())] if fitting else []
        return self.known[key]

    @cached_property
    def _whole(self) -> Board:
        """All slots open, each with the options that pass what our own demands ask of it alone."""
        every = range(len(self.slots))
        return Board(
            [self.unit(n, self.fitting(n, self.alone(n, self.tests))) for n in every], self.shared, self.extras
        )

    def unit(self, slot: int, options: Sequence[int]) -> Unit:
        """These options of a slot, cheapest first, as a unit of a board."""
        ranks = self.prices[slot]
        return Unit((slot,), [(option,) for option in options], [ranks[option] for option in options])

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
