"""The cheapest set of articles that meets every demand: exact branch and bound, standard library only.

Slots are filled one by one, cheapest option first. A branch is cut when a demand fails even with every open column at its
favourable end (see judging), or when its price with the cheapest of every open slot passes the best known. Before
that, options that others beat or no whole set can hold are dropped (see narrowing). Method: Land and Doig 1960,
Econometrica 28.
Of equally cheap sets the one that changes fewer slots from what stands wins, then the options' slugs in the order of
the slots' ids.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Any

from scantling.figures import Figure, Origin
from scantling.figures.buying import Cost, Demand, Option, Slot
from scantling.handbook.judging import OPEN, Bench, Column, Picks, Test
from scantling.handbook.narrowing import tightened


def silent(nodes: int) -> None:
    """The default listener."""


TOLD_EVERY = 20_000
NOUGHT = Decimal(0)
CHANGE = Decimal("1e-12")
"""What a changed slot adds to a set's rank, in minor units: far below any price, so that it only breaks ties."""


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


@dataclass(frozen=True)
class Pair:
    """Two slots whose shared demands make them dearer together than apart.

    `gain` is by how much at least; `above`, for each option of the first, what its cheapest partner costs above the
    cheapest of the second slot, None where no partner goes with it.
    """

    first: int
    second: int
    gain: Decimal
    above: dict[int, Decimal | None]
    tests: tuple[Test, ...]


class Search:
    """Slots, demands and costs ready to be searched; `tell` hears the number of nodes now and then."""

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
        self.extras = [self.bench.node(cost.what, cost.what.unit) for cost in costs]
        self.prices = self._prices()
        self.nodes = 0

    def _prices(self) -> list[list[Decimal]]:
        """Rank of every option; a cost that one slot alone drags is added to its options."""
        prices = [[option.minor_units + CHANGE * option.changes for option in slot.options] for slot in self.slots]
        for extra in [e for e in self.extras if isinstance(e, Column)]:
            for option, value in enumerate(extra.values):
                prices[extra.slot][option] += value * 100
        self.extras = [e for e in self.extras if not isinstance(e, Column)]
        return prices

    def best(self, count: int = 1) -> list[Assembly]:
        """The cheapest assemblies in order; fewer than `count` when there are no more."""
        self._ready(count)
        found: list[Assembly] = []
        if all(self.left):
            self.pairs = self._paired()
            self.seconds = {pair.second: pair for pair in self.pairs.values()}
            self.fitting: dict[tuple[int, int], list[int]] = {}
            rest = [NOUGHT]
            for slot in reversed(self.order):
                gain = self.pairs[slot].gain if slot in self.pairs else NOUGHT
                rest.insert(0, rest[0] + self._least(slot) + gain)
            self._descend([OPEN] * len(self.slots), 0, (NOUGHT, NOUGHT), (rest, found, count))
        return found

    def _least(self, slot: int) -> Decimal:
        return min(self.prices[slot][option] for option in self.left[slot])

    def _paired(self) -> dict[int, Pair]:
        """Slots matched in twos so that the dearest needs of two slots together lift the bound; by the earlier slot."""
        candidates = []
        for place, first in enumerate(self.order):
            for second in self.order[place + 1 :]:
                tests = [test for test in self.watch[first] if test.node.scope == {first, second}]
                if tests and (pair := self._pair(first, second, tests)).gain > 0:
                    candidates.append(pair)
        taken: set[int] = set()
        kept = {}
        for pair in sorted(candidates, key=lambda pair: (-pair.gain, pair.first, pair.second)):
            if not taken & {pair.first, pair.second}:
                kept[pair.first] = pair
                taken |= {pair.first, pair.second}
        return kept

    def _pair(self, first: int, second: int, tests: Sequence[Test]) -> Pair:
        """For each option of the first slot, what the cheapest partner costs above the cheapest of the second slot."""
        picks = [OPEN] * len(self.slots)
        least = self._least(second)
        above: dict[int, Decimal | None] = {}
        together = []
        for option in self.left[first]:
            picks[first] = option
            above[option] = None
            for partner in self.left[second]:
                picks[second] = partner
                if all(test.passes(picks) for test in tests):
                    above[option] = extra = self.prices[second][partner] - least
                    together.append(self.prices[first][option] + extra)
                    break
        gain = min(together, default=Decimal(0)) - self._least(first)
        return Pair(first, second, gain, above, tuple(tests))

    def _partners(self, picks: Picks, slot: int) -> list[int]:
        """The options left of a slot; only those that go with its partner's pick, where it has a partner."""
        pair = self.seconds.get(slot)
        if pair is None:
            return self.left[slot]
        key = (slot, picks[pair.first])
        if key not in self.fitting:
            alone = [OPEN] * len(self.slots)
            alone[pair.first] = picks[pair.first]
            kept = []
            for option in self.left[slot]:
                alone[slot] = option
                if all(test.passes(alone) for test in pair.tests):
                    kept.append(option)
            self.fitting[key] = kept
        return self.fitting[key]

    def _ready(self, count: int) -> None:
        """Demands of one slot as filters, dominance, ends of columns, order of slots."""
        shared = [test for test in self.tests if len(test.node.scope) > 1]
        self.hopeless = [test.id for test in self.tests if not test.node.scope and not test.passes([])]
        places = range(len(self.slots))
        fitting = [[] if self.hopeless else self._alone(place) for place in places]
        shared.sort(key=lambda test: len(test.node.scope))  # those that fail soonest first
        self.watch = [[test for test in shared if place in test.node.scope] for place in places]
        columns = (*self.bench.columns.values(), *self.bench.derived)
        self.left = tightened(fitting, self.watch, self.extras, columns, count)
        self.order = sorted(places, key=lambda place: (-len(self.watch[place]), len(self.left[place]), place))

    def _alone(self, slot: int) -> list[int]:
        """Options that pass every demand touching this slot alone, cheapest first."""
        tests = [test for test in self.tests if test.node.scope == {slot}]
        picks = [OPEN] * len(self.slots)
        kept = []
        for option in range(len(self.slots[slot].options)):
            picks[slot] = option
            if all(test.passes(picks) for test in tests):
                kept.append(option)
        return sorted(kept, key=lambda option: (self.prices[slot][option], self.slots[slot].options[option].slug))

    def _dragged(self, picks: Picks) -> Decimal:
        return sum((extra.end(picks, False) * 100 for extra in self.extras), Decimal(0))  # noqa: FBT003 - the low end

    def _descend(
        self,
        picks: Picks,
        depth: int,
        price: tuple[Decimal, Decimal],
        book: tuple[list[Decimal], list[Assembly], int],
    ) -> None:
        """Fill the next slot; `price` is what is picked, and what half-open pairs still owe above their cheapest."""
        rest, found, count = book
        paid, owed = price
        if depth == len(self.order):
            self._enter(picks, paid, found, count)
            return
        slot = self.order[depth]
        pair, owed = self.pairs.get(slot), owed - self._settled(picks, slot)
        for option in self._partners(picks, slot):
            self.nodes += 1
            if self.nodes % TOLD_EVERY == 0:
                self.tell(self.nodes)
            with_it = paid + self.prices[slot][option]
            least = with_it + owed + rest[depth + 1]
            full = len(found) == count
            if full and least > found[-1].rank:
                break
            due = pair.above[option] if pair is not None else NOUGHT
            if due is None or (full and least + due > found[-1].rank):
                continue
            picks[slot] = option
            if self._affordable(picks, least + due, found, full=full) and all(
                t.passes(picks) for t in self.watch[slot]
            ):
                self._descend(picks, depth + 1, (with_it, owed + due), book)
        picks[slot] = OPEN

    def _settled(self, picks: Picks, slot: int) -> Decimal:
        """What the slot's partner, picked earlier, had counted for it."""
        pair = self.seconds.get(slot)
        return NOUGHT if pair is None else pair.above[picks[pair.first]] or NOUGHT

    def _affordable(self, picks: Picks, least: Decimal, found: list[Assembly], *, full: bool) -> bool:
        return not full or not self.extras or least + self._dragged(picks) <= found[-1].rank

    def _enter(self, picks: Picks, price: Decimal, found: list[Assembly], count: int) -> None:
        options = tuple(slot.options[option] for slot, option in zip(self.slots, picks, strict=True))
        changes = CHANGE * sum(option.changes for option in options)
        found.append(Assembly(price - changes + self._dragged(picks), options))
        found.sort(key=lambda assembly: (assembly.rank, assembly.slugs))
        del found[count:]


@dataclass(frozen=True)
class Easing:
    """A need that gave way: the least it had to, and the cheapest assembly then."""

    demand: Demand
    reached: Any
    assembly: Assembly


def eased(slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost]) -> list[Easing]:
    """Every single need whose easing alone makes an assembly possible, each eased as little as can be, cheapest first."""
    tried = [least_easing(slots, demands, costs, demand) for demand in demands if demand.need]
    found = [easing for easing in tried if easing is not None]
    return sorted(found, key=lambda easing: (easing.assembly.price, easing.demand.id))


def least_easing(
    slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost], which: Demand
) -> Easing | None:
    """Drop one need, then ask for strictly better until nothing is; a need without an amount is just dropped."""
    search = Search(slots, [d for d in demands if d is not which], costs)
    node = search.bench.node(which.what, which.what.unit)
    easing = None
    while best := search.best(1):
        picks = [slot.options.index(option) for slot, option in zip(search.slots, best[0].options, strict=True)]
        reached = node.end(picks, None)
        easing = Easing(which, reached, best[0])
        if not which.bounds:
            break
        better = Test(which.id, node, *_better(which, reached))
        search.tests = [test for test in search.tests if test.id != which.id] + [better]
    return easing


def _better(which: Demand, reached: Any) -> tuple[Any, Any]:
    """Bounds that only a strictly better value passes: the next number above, or below."""
    step = abs(reached) * Decimal("1e-9") if isinstance(reached, Decimal) else max(abs(reached) * 1e-9, 1e-12)
    step = 1 if isinstance(reached, int) else step
    return (reached + step, None) if which.at_least is not None else (None, reached - step)


def eased_to(demand: Demand, reached: Any) -> Demand:
    """The same demand held only to what can be reached; one without an amount is no longer asked for."""
    bound = Figure(reached, demand.what.unit, Origin("standard", "what can be reached"), None, "", demand.label)
    if demand.at_least is not None:
        return replace(demand, at_least=bound, at_most=None)
    return replace(demand, at_most=bound)
