"""The cheapest set of articles that meets every demand, and the next cheapest: exact, standard library only.

Options that others beat or no whole set can hold are dropped (see narrowing), slots that are tied to each other alone are
merged, and branch and bound proves the rest (see hunting). Method: Land and Doig 1960, Econometrica 28.
Of equally cheap sets the one that changes fewer slots from what stands wins, then the options' slugs in the order of
the slots' ids.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import islice
from typing import Any

from scantling.handbook.board import Board
from scantling.handbook.hunting import Hunt
from scantling.handbook.judging import Test, worth
from scantling.handbook.market import Assembly, Market, silent
from scantling.handbook.quests import Quest

__all__ = ["Assembly", "Search", "silent"]


class Search(Market):
    """Slots, demands and costs ready to be searched, once or often."""

    def best(
        self,
        count: int = 1,
        *,
        tests: Sequence[Test] | None = None,
        below: Decimal | None = None,
        known: Assembly | None = None,
    ) -> list[Assembly]:
        """The cheapest assemblies in order; fewer than `count` when there are no more.

        `tests` are other demands than those it was made for; with `below` only sets that rank below it are looked for;
        `known` is a set that meets them.
        """
        asked = self.tests if tests is None else tests
        found = Hunt(self, Quest(asked, 1, below, known=[known] if known is not None else [])).run()
        if count == 1 or not found:
            return found
        near = [one for one in self._near(found[0], asked, count) if below is None or one.rank < below]
        return Hunt(self, Quest(asked, count, below, known=near)).run()

    def given(self, place: int, assembly: Assembly) -> Any:
        """What a set gives against the demand at a place."""
        picks = [slot.options.index(option) for slot, option in zip(self.slots, assembly.options, strict=True)]
        return worth(self.tests[place].node, picks)

    def beside(self, assembly: Assembly, tests: Sequence[Test], slots: Iterable[int]) -> Assembly | None:
        """The cheapest set that meets the tests and differs from one in a single slot of these; None where there is none."""
        board, picks = self._filled(assembly, tests)
        found: list[Assembly] = []
        for slot in sorted(slots):
            others = self._instead(board, slot, picks[slot], tests)
            found += others if self.extras else islice(others, 1)  # what is dragged behind is in no option's price
            board.swap(slot, (picks[slot],))
        return min(found, key=lambda one: one.order, default=None)

    def _filled(self, assembly: Assembly, tests: Sequence[Test]) -> tuple[Board, list[int]]:
        """A board with all slots filled, and the places of the options there."""
        picks = [slot.options.index(option) for slot, option in zip(self.slots, assembly.options, strict=True)]
        board = Board([self.unit(slot, [option]) for slot, option in enumerate(picks)], tests, self.extras)
        for slot, option in enumerate(picks):
            board.pick(slot, (option,))
        return board, picks

    def _near(self, assembly: Assembly, tests: Sequence[Test], count: int) -> list[Assembly]:
        """A set and the cheapest that differ from it in one slot only: a good beginning for a search of several."""
        board, picks = self._filled(assembly, tests)
        found = [assembly]
        for slot, mine in enumerate(picks):
            alone = [test for test in tests if slot in test.scope]
            found += islice(self._instead(board, slot, mine, alone), count - 1)
            board.swap(slot, (mine,))
        return sorted(found, key=lambda one: one.order)[:count]

    def _instead(self, board: Board, slot: int, mine: int, tests: Sequence[Test]) -> Iterator[Assembly]:
        """The sets with another option in one slot that meet all demands, cheapest first."""
        picks = [unit.options[0][0] for unit in board.units]
        for option in self.cheapest_first[slot]:
            for _, column in board.flat[slot]:
                column.at(option)
            board.swap(slot, (option,))
            if option != mine and all(test.can_pass() for test in tests):
                yield self.assembly([*picks[:slot], option, *picks[slot + 1 :]])
