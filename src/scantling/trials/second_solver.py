"""A second road to the purchase: a solver of another kind (HiGHS, in whole numbers) confirms every plan's optimum to the cent.

It shares slots, demands and costs with the search and no line of code. What it returns is priced again in exact minor units
and held against every demand's own rule; a set that slipped through a rounding is cut off, and it is asked again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from scantling.figures import Cost, Demand, Option, Slot
from scantling.figures.units import MONEY
from scantling.trials.dragged import dragged, least
from scantling.trials.encoding import Encoder
from scantling.trials.plain import Bought, Offers, Places, Wanted, wanted
from scantling.trials.program import INFINITE, Program, Row, Solver, UnfinishedError
from scantling.trials.shapes import Shape, Shaping

HUNDRED = 100
MOST_ROUNDS = 500
MONEY_SLACK = Decimal("0.001")
TO_THE_CENT = Decimal("0.5")


@dataclass(frozen=True)
class Found:
    """A cheapest set: its exact price in minor units, and its options by slot."""

    price: Decimal
    chosen: Mapping[str, Option]


class SecondSolver:
    """Slots, demands and costs as a program in whole numbers.

    `known` is the price of some set that meets every demand: an option that makes any set dearer needs no column.
    """

    def __init__(
        self,
        slots: Sequence[Slot],
        demands: Sequence[Wanted],
        costs: Sequence[Cost],
        known: Decimal | None = None,
    ) -> None:
        self.costs = tuple(costs)
        offers = Offers(slots)
        halves = [(half, offers.read(half.term)) for one in demands for half in one.halves()]
        fixed = [half for half, scope in halves if not scope]
        shared = [half for half, scope in halves if len(scope) > 1]
        fitting = offers.left({slot: _fitting(offers, slot, halves) for slot in offers.slots})
        self.possible = all(slot.options for slot in fitting.slots.values()) and not any(
            Bought({}).misses(half) for half in fixed
        )
        self.program = Program()
        self.columns: dict[str, list[int]] = {}
        self.tied: list[tuple[Wanted, Shape]] = []
        self.watched: list[tuple[int, Cost, Shape]] = []
        if self.possible:
            prices = {slot: self._prices(fitting, slot) for slot in fitting.slots}
            kept = self._worth_it(fitting, prices, shared, known)
            self.offers = fitting.left(kept)
            for slot, places in kept.items():
                self._options(slot, [prices[slot][place] for place in places])
            self._write(shared)

    def _worth_it(
        self, offers: Offers, prices: Mapping[str, list[Decimal]], shared: Sequence[Wanted], known: Decimal | None
    ) -> dict[str, list[int]]:
        """The options of each slot without those too dear for the price known, and without all but the cheapest of equals."""
        several = [cost.what for cost in self.costs if len(offers.read(cost.what)) > 1]
        always = sum(
            (Bought({}).amount(cost.what, MONEY) for cost in self.costs if not offers.read(cost.what)), Decimal(0)
        )
        bottom = sum(map(min, prices.values()), always * HUNDRED)
        spare = None if known is None or several else known - bottom
        kept = {}
        for slot, mine in prices.items():
            most = None if spare is None else min(mine) + spare
            numbers = offers.numbers(slot, [*(half.term for half in shared), *several])
            cheapest: dict[Any, int] = {}
            told = [
                (price, option.changes, option.slug)
                for price, option in zip(mine, offers.slots[slot].options, strict=True)
            ]
            for place in sorted(range(len(mine)), key=told.__getitem__):
                if most is None or mine[place] <= most:
                    cheapest.setdefault(numbers[place], place)
            kept[slot] = sorted(cheapest.values())
        return kept

    def _prices(self, offers: Offers, slot: str) -> list[Decimal]:
        """What each option of a slot costs with what it drags by itself, in minor units; exact."""
        reads = [offers.reader(cost.what, MONEY) for cost in self.costs if offers.read(cost.what) == {slot}]
        return [
            option.minor_units + sum((read({slot: place}) for read in reads), Decimal(0)) * HUNDRED
            for place, option in enumerate(offers.slots[slot].options)
        ]

    def _options(self, slot: str, prices: Sequence[Decimal]) -> None:
        """A column for each option of a slot at its price; one of them."""
        self.columns[slot] = [self.program.column(float(price), whole=True) for price in prices]
        self.program.row(1.0, dict.fromkeys(self.columns[slot], 1.0), 1.0)

    def _write(self, shared: Sequence[Wanted]) -> None:
        """Every demand and cost that reads several slots."""
        encoder = Encoder(self.program, self.columns)
        for half in shared:
            shape = Shaping(self.offers).shape(half.term, half.term.unit)
            self.tied.append((half, shape))
            encoder.demand(half, shape)
        for cost in [cost for cost in self.costs if len(self.offers.read(cost.what)) > 1]:
            shape = Shaping(self.offers).shape(cost.what, MONEY)
            if not dragged(encoder, shape):
                self.watched.append((self.program.column(1.0, ends=(least(shape), INFINITE)), cost, shape))

    def cheapest(self) -> Found | None:
        """A cheapest set, None where there is none. Raises UnfinishedError when the solver comes to no end."""
        solver = Solver(self.program) if self.possible else None
        for _ in range(MOST_ROUNDS if solver is not None else 0):
            assert solver is not None
            columns = solver.solved()
            if columns is None:
                return None
            places = {slot: _taken(columns, mine) for slot, mine in self.columns.items()}
            bought = Bought({slot: self.offers.slots[slot].options[place] for slot, place in places.items()})
            cuts = [*self._missed(places, bought), *self._underpriced(columns, places, bought)]
            if not cuts:
                return Found(bought.price(self.costs), bought.chosen)
            for row in cuts:
                solver.add(*row)
        if solver is None:
            return None
        raise UnfinishedError(f"no end after {MOST_ROUNDS} rounds")

    def _missed(self, places: Places, bought: Bought) -> list[Row]:
        """A row for each demand that the set misses: not this combination again, nor one that is the same to it."""
        rows: list[Row] = []
        for half, shape in self.tied:
            if bought.misses(half):
                rows.append((-INFINITE, dict.fromkeys(self._alike(shape, places), 1.0), len(shape.slots) - 1.0))
        return rows

    def _underpriced(self, columns: Sequence[float], places: Places, bought: Bought) -> list[Row]:
        """A row for each watched cost that the set drags and the solver did not count."""
        rows: list[Row] = []
        for column, cost, shape in self.watched:
            due = bought.amount(cost.what, MONEY) * HUNDRED
            if due - Decimal(columns[column]) > MONEY_SLACK:
                bottom = self.program.lowest[column]
                more = float(due) - bottom
                alike = dict.fromkeys(self._alike(shape, places), -more)
                rows.append((bottom - more * (len(shape.slots) - 1), alike | {column: 1.0}, INFINITE))
        return rows

    def _alike(self, shape: Shape, places: Places) -> list[int]:
        """The columns of all options that are the same to a term as those taken."""
        return [self.columns[slot][place] for slot in shape.slots for place in shape.alike(slot, places[slot])]


def _fitting(offers: Offers, slot: str, halves: Sequence[tuple[Wanted, frozenset[str]]]) -> list[int]:
    """The options that meet every demand which reads this slot alone."""
    places = list(range(len(offers.slots[slot].options)))
    for half, scope in halves:
        if scope == {slot}:
            read = offers.reader(half.term, half.term.unit)
            places = [place for place in places if half.kept(read({slot: place}))]
    return places


def _taken(columns: Sequence[float], mine: Sequence[int]) -> int:
    return max(range(len(mine)), key=lambda place: columns[mine[place]])


def cheapest(slots: Sequence[Slot], demands: Sequence[Demand], costs: Sequence[Cost]) -> Found | None:
    """A cheapest set that meets every demand, None where there is none. Raises UnfinishedError."""
    return SecondSolver(slots, [wanted(demand) for demand in demands], costs).cheapest()
