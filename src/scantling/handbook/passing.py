"""Why an option is passed over in every cheapest set: what it fails, what beats it, or what it costs beside all the rest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from scantling.handbook.board import Board
from scantling.handbook.judging import Test
from scantling.handbook.market import Market
from scantling.handbook.narrowing import beaters


@dataclass(frozen=True)
class Passed:
    """An option by its slot and its place there, with the one reason for which it can't be in a cheapest set.

    `fails` is a demand that it misses by itself, `alone` one that it misses whatever else is bought; `beaten_by` is the
    place of an option that costs no more and is no worse in anything that a demand reads; `least` is what the cheapest of
    all else costs with it, in minor units, where that is more than the set bought.
    """

    slot: int
    option: int
    fails: str = ""
    alone: str = ""
    beaten_by: int | None = None
    least: Decimal | None = None


def passed(market: Market, best: Decimal) -> Iterator[Passed]:
    """Every option that is never chosen, slot by slot; `best` is the rank of the cheapest set."""
    slots = range(len(market.slots))
    failing = [_failing(market, slot) for slot in slots]
    left = [[o for o in market.cheapest_first[slot] if o not in failing[slot]] for slot in slots]
    units = [market.unit(slot, left[slot]) for slot in slots]
    board = Board(units, [test for test in market.tests if len(test.scope) > 1], market.extras)
    for slot in slots:
        yield from (Passed(slot, option, fails=test) for option, test in failing[slot].items())
    if board.possible:
        for slot in slots:
            yield from _beside_others(market, board, slot, best)


def _failing(market: Market, slot: int) -> dict[int, str]:
    """The options that miss a demand by themselves, with the first that each misses."""
    tests = [test for test in market.tests if test.scope == {slot}]
    found = {}
    for option in range(len(market.slots[slot].options)):
        missed = next((test.id for test in tests if not test.holds(test.node.at(option))), None)
        if missed is not None:
            found[option] = missed
    return found


def _beside_others(market: Market, board: Board, slot: int, best: Decimal) -> Iterator[Passed]:
    """What is left of a slot: beaten, going with nothing, or too dear beside the cheapest of all else."""
    unit, beaten = board.units[slot], beaters(board, slot)
    others = sum((other.ranks[0] for place, other in enumerate(board.units) if place != slot), market.fixed)
    others += market.dragged()
    board.pick(slot, unit.options[0])
    missed = []
    for one in unit.options:
        board.swap(slot, one)
        missed.append(_first(board.watch[slot]))
    board.free(slot)
    for place, one in enumerate(unit.options):
        option = one[0]
        if place in beaten:
            yield Passed(slot, option, beaten_by=unit.options[beaten[place]][0])
        elif missed[place]:
            yield Passed(slot, option, alone=missed[place])
        elif others + unit.ranks[place] > best:
            yield Passed(slot, option, least=others + unit.ranks[place])


def _first(tests: Sequence[Test]) -> str:
    return next((test.id for test in tests if not test.can_pass()), "")
