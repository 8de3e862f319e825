"""What one search looks for, and the options that it begins with."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from scantling.handbook.board import Unit
from scantling.handbook.judging import Test
from scantling.handbook.market import Assembly, Market

STRICTLY, LEAST = 1e-9, 1e-12
"""A number must differ by so much of itself, and by so much at all, to be better: less is the noise of binary fractions."""


@dataclass(frozen=True)
class Quest:
    """What a search looks for: the `count` cheapest sets that meet the tests and rank below an amount.

    With a `goal` it looks for the one set that does best in that demand, whatever it costs. With a `miss` every set that is
    wanted misses that demand. `known` are sets found already, in order.
    """

    tests: Sequence[Test]
    count: int = 1
    below: Decimal | None = None
    goal: Test | None = None
    miss: Test | None = None
    known: Sequence[Assembly] = ()


def offered(market: Market, quest: Quest) -> tuple[list[Unit], list[int]]:
    """The options of each slot that pass what reads it alone, and the slots where some may be beaten by others."""
    several = [*quest.tests, quest.goal] if quest.goal is not None else quest.tests
    units, fat = [], []
    for slot in range(len(market.slots)):
        kept = market.lean(slot, several) if quest.count == 1 else None
        if kept is None:
            fat.append(slot)
            kept = market.fitting(slot, market.alone(slot, quest.tests))
        miss, goal = quest.miss, quest.goal
        if miss is not None and miss.scope == {slot}:
            kept = [option for option in kept if not miss.holds(miss.node.at(option))]
        if goal is not None and goal.scope == {slot}:
            kept = [option for option in kept if goal.holds(goal.node.at(option))]
        units.append(market.unit(slot, kept))
    return units, fat


def next_step(amount: Any) -> Any:
    """By how much another amount must differ to be told from this one."""
    if isinstance(amount, int):
        return 1
    kind = type(amount)
    return max(abs(amount) * kind(str(STRICTLY)), kind(str(LEAST)))
