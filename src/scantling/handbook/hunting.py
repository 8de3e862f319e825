"""One search of the purchase: branch and bound that looks ahead, on what dominance has left and merging has tied together.

After each pick every open unit looks for its cheapest option that can still go with all that is picked; a branch is cut when
one has none, or when all those together with what is picked cost more than the best known.
Methods: Land and Doig 1960, Econometrica 28; looking ahead: Haralick and Elliott 1980, Artificial Intelligence 14.
"""

from bisect import bisect_right
from decimal import Decimal
from typing import Any

from scantling.handbook.board import Board, Option
from scantling.handbook.judging import Test
from scantling.handbook.market import NOUGHT, Assembly, Market
from scantling.handbook.narrowing import Wish, undominated
from scantling.handbook.nodes import Column, columns_of
from scantling.handbook.quests import Quest, next_step, offered

TOLD_EVERY = 1_000
MOST_PAIRS = 40_000
"""Two units are merged only where there are no more pairs of their options."""
SMALL = 60
"""A unit with more options is tried against all others only once dominance has made it smaller."""
Root = tuple[list[int], Decimal]
"""The place of every unit's cheapest option that goes with all others open, and what they cost together."""


class Hunt:
    """One search on a market."""

    def __init__(self, market: Market, quest: Quest) -> None:
        self.market, self.quest = market, quest
        self.count, self.below, self.goal = quest.count, quest.below, quest.goal
        self.found = list(quest.known)
        self.entered = {one.slugs for one in quest.known}
        self.reached: Any = None
        self.drag = NOUGHT
        several = [test for test in quest.tests if len(test.scope) > 1]
        several += [self.goal] if self.goal is not None else []
        also = [quest.miss] if quest.miss is not None else []
        units, self.fat = offered(market, quest)
        self.board = Board(units, several, market.extras, also)
        self.possible = self.board.possible and all(test.can_pass() for test in quest.tests if not test.scope)
        self.picks: list[Option | None] = []
        self.order: list[int] = []

    def run(self) -> list[Assembly]:
        """Drop what can't matter, merge what is tied together, prove the rest; the sets in order."""
        if self.possible and self._affordable() and not self._all_meet() and self._dropped() and self._merged():
            self._from_root()
        return self.found

    def _all_meet(self) -> bool:
        """Whether no set can miss what is to be missed."""
        miss = self.quest.miss
        return miss is not None and len(miss.scope) > 1 and not miss.waits and miss.certain()

    def _dropped(self) -> bool:
        """Keep what is not beaten, goes with something, and is not too dear; whether anything is left of every unit."""
        board = self.board
        for place in self.fat:
            self._undominated(place, settled=False)
        board.settle()
        board.supported(SMALL)
        if not board.possible or not self._affordable():
            return False
        board.settle()
        for place in range(len(board.units)):
            self._undominated(place, settled=True)
        board.supported()
        board.settle()
        return board.possible

    def _undominated(self, place: int, *, settled: bool) -> None:
        """Drop what enough others beat; where the price is nothing to the quest, dearer ones beat as well."""
        priced = self.goal is None or self.below is not None
        wish = Wish(self.count, priced=priced, settled=settled, slack=self._slack())
        self.board.keep(place, undominated(self.board, place, wish))

    def _affordable(self) -> bool:
        """Drop what is too dear beside the best known; whether anything is left of every unit."""
        root = self._root()
        for place, unit in enumerate(self.board.units if root is not None else ()):
            ahead, bound = root or ([], NOUGHT)
            ranks, base = unit.ranks, bound - unit.ranks[ahead[place]]
            kept = [n for n in range(ahead[place], len(ranks)) if not self._too_dear(base + ranks[n])]
            self.board.keep(place, kept)
        return root is not None and self.board.possible

    def _merged(self) -> bool:
        """Make one unit of two that are tied to each other alone, again and again; whether anything is left."""
        board = self.board
        while self._affordable() and (root := self._root()) is not None:
            pairs = [
                (size, one, other)
                for other in range(len(board.units))
                for one in range(other)
                if board.private(one, other) and (size := self._pairs(one, other, root)) <= MOST_PAIRS
            ]
            if not pairs:
                board.supported()
                return board.possible
            _, one, other = min(pairs)
            board.merge(one, other, self._together(one, other, root))
            if not board.possible:
                return False
            self._undominated(len(board.units) - 1, settled=True)
        return False

    def _pairs(self, one: int, other: int, root: Root) -> int:
        """How many pairs of two units' options are not too dear."""
        first, second = self.board.units[one].ranks, self.board.units[other].ranks
        worst = self._worst()
        if worst is None:
            return len(first) * len(second)
        ahead, bound = root
        most = worst - bound - self.drag + first[ahead[one]] + second[ahead[other]]
        return sum(bisect_right(second, most - rank) for rank in first)

    def _together(self, one: int, other: int, root: Root) -> list[tuple[Option, Decimal]]:
        """The options of two units that go together and are not too dear, cheapest first, with their ranks."""
        board, (ahead, bound) = self.board, root
        first, second = board.units[one], board.units[other]
        base = bound - first.ranks[ahead[one]] - second.ranks[ahead[other]]
        slots = (*first.slots, *second.slots)
        tests = [test for test in board.shared[one][other] if len(test.scope) <= len(slots) + 1]  # others seldom fail
        read = set[Column]().union(*(columns_of(test.node) for test in tests))
        mine, theirs = ([(n, column) for n, column in board.flat[unit] if column in read] for unit in (one, other))
        order = sorted(range(len(slots)), key=lambda number: slots[number])
        slugs = [self.market.slugs[slot] for slot in sorted(slots)]
        found = []
        board.pick(one, first.options[0])
        board.pick(other, second.options[0])
        for option, rank in zip(first.options, first.ranks, strict=True):
            for n, column in mine:
                column.pick(option[n])
            for partner, more in zip(second.options, second.ranks, strict=True):
                if self._too_dear(base + rank + more):
                    break
                for n, column in theirs:
                    column.pick(partner[n])
                if all(test.can_pass() for test in tests):
                    both = (*option, *partner)
                    found.append((tuple(both[number] for number in order), rank + more))
        board.free(other)
        board.free(one)
        found.sort(key=lambda pair: (pair[1], [mine[one] for mine, one in zip(slugs, pair[0], strict=True)]))
        return found

    def _slack(self) -> Decimal | None:
        """By how much a set may be dearer than the cheapest, where that is known."""
        full = self.count > 1 and len(self.found) == self.count
        return self.found[-1].rank - self.found[0].rank if full else None

    def _worst(self) -> Decimal | None:
        """The rank that a set may not pass."""
        return self.found[-1].rank if len(self.found) == self.count and self.goal is None else self.below

    def _too_dear(self, bound: Decimal) -> bool:
        """Whether a set that costs at least so much, and what is dragged at least, is not wanted."""
        if len(self.found) == self.count and self.goal is None:
            return bound + self.drag > self.found[-1].rank
        return self.below is not None and bound + self.drag >= self.below

    def _root(self) -> Root | None:
        """Every unit's cheapest option that goes with all others open; None where one has none."""
        ahead = []
        for place in range(len(self.board.units)):
            first = self.board.first(place)
            if first is None:
                return None
            ahead.append(first)
        self.drag = self.market.dragged()
        ranks = (unit.ranks[n] for unit, n in zip(self.board.units, ahead, strict=True))
        return ahead, sum(ranks, self.market.fixed)

    def _from_root(self) -> None:
        """Unit by unit; those with the most options first, which are the most tied."""
        units = self.board.units
        self.order = sorted(range(len(units)), key=lambda place: (-len(units[place].options), place))
        self.picks = [None] * len(units)
        if (root := self._root()) is not None:
            self._descend(0, *root)

    def _descend(self, depth: int, ahead: list[int], bound: Decimal) -> None:
        """Fill the next unit; `ahead` are the places of the cheapest options that still go, `bound` what they cost."""
        if depth == len(self.order):
            self._enter()
            return
        board, place = self.board, self.order[depth]
        unit, watch = board.units[place], board.watch[place]
        base, drag = bound - unit.ranks[ahead[place]], self.drag
        for number in range(ahead[place], len(unit.options)):
            self._node()
            least = base + unit.ranks[number]
            self.drag = drag
            if self._too_dear(least):
                break
            self._fill(place, unit.options[number])
            if not all(test.can_pass() for test in watch):
                continue
            now = self._look_ahead(depth, ahead, least)
            if now is not None:
                self._descend(depth + 1, *now)
        self.drag = drag
        if self.picks[place] is not None:
            board.free(place)
            self.picks[place] = None

    def _fill(self, place: int, option: Option) -> None:
        """An option into a unit, and what is dragged at least from now on."""
        if self.picks[place] is None:
            self.board.pick(place, option)
        else:
            self.board.swap(place, option)
        self.picks[place] = option
        if self.market.extras:
            self.drag = self.market.dragged()

    def _node(self) -> None:
        """Count one more; now and then say so."""
        self.market.nodes += 1
        if self.market.nodes % TOLD_EVERY == 0:
            self.market.tell(self.market.nodes)

    def _look_ahead(self, depth: int, ahead: list[int], bound: Decimal) -> Root | None:
        """The cheapest option of every open unit that goes with the last pick; None where one has none, or it is too dear."""
        board, now = self.board, ahead
        shared = board.shared[self.order[depth]]
        for other in self.order[depth + 1 :]:
            unit, at = board.units[other], ahead[other]
            if not shared[other]:
                continue
            board.pick(other, unit.options[at])
            if not all(test.can_pass() for test in shared[other]):
                base = bound - unit.ranks[at]
                found = self._next(other, at + 1, base)
                if found is None:
                    board.free(other)
                    return None
                bound = base + unit.ranks[found]
                now = now.copy() if now is ahead else now
                now[other] = found
            board.free(other)
        return now, bound

    def _next(self, place: int, start: int, base: Decimal) -> int | None:
        """The next option of a unit that goes with what is picked, while it is not too dear."""
        board = self.board
        unit, watch = board.units[place], board.watch[place]
        for number in range(start, len(unit.options)):
            if self._too_dear(base + unit.ranks[number]):
                return None
            board.swap(place, unit.options[number])
            if all(test.can_pass() for test in watch):
                return number
        return None

    def _enter(self) -> None:
        """A whole set, judged once more by every demand."""
        if not all(test.can_pass() for test in self.board.tests):
            return
        filled = zip(self.board.units, self.picks, strict=True)
        taken = sorted(pair for unit, pick in filled for pair in zip(unit.slots, pick or (), strict=True))
        made = self.market.assembly([option for _, option in taken])
        if made.slugs in self.entered or (self.below is not None and made.rank >= self.below):
            return
        if self.goal is not None:
            self._raise(self.goal)
            self.found.clear()
        self.entered.add(made.slugs)
        self.found.append(made)
        self.found.sort(key=lambda one: one.order)
        del self.found[self.count :]

    def _raise(self, goal: Test) -> None:
        """What the set reaches in the goal; from now on only more of it will do."""
        self.reached = goal.node.high()
        more = next_step(self.reached)
        if goal.most is None:
            goal.least = self.reached + more
        else:
            goal.most = self.reached - more
