"""Drops options before a search: those that others beat, and those that no whole set can hold.

An option is beaten when others are no dearer and no worse in every column that a shared demand reads (dominance). It
can't be held when a shared demand fails with it even at the best ends of all other slots, or when no option of another
slot goes with it (arc consistency: Mackworth 1977, Artificial Intelligence 8). What is dropped narrows the ends of the
columns, which lets more be dropped; a demand that passes with an option even at the worst ends of all others no longer
asks anything of it, so that the columns it reads count for nothing against that option.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from math import inf
from operator import ge
from typing import Any

from scantling.handbook.judging import OPEN, Column, Picks, Test, UnknownEndError, pulls

MOST_PARTNERS = 60
"""A slot with more options than this is not tried partner by partner: it costs more than it saves."""
Left = list[list[int]]


def narrowed(columns: Iterable[Column], slot: int, left: list[int]) -> None:
    """Renew the ends of every column of a slot, when anything is left of it."""
    for column in columns:
        if column.slot == slot and left:
            column.narrow(left)


def tightened(
    left: Left, watch: Sequence[Sequence[Test]], extras: Sequence[Any], columns: Sequence[Column], count: int
) -> Left:
    """The options that are left of each slot when the `count` cheapest sets are wanted, cheapest first as they came.

    `watch` are the shared demands of each slot, `extras` what is paid over several slots.
    """
    places = range(len(left))
    kept = [undominated(_Wish(place, watch[place], extras, count), left) for place in places]
    for place in places:
        narrowed(columns, place, kept[place])
    if not all(kept):
        return kept
    kept = supported(kept, watch, columns)
    for place in places if all(kept) else ():
        kept[place] = undominated(_Wish(place, watch[place], extras, count), kept, settled=True)
        narrowed(columns, place, kept[place])
    return supported(kept, watch, columns) if all(kept) else kept


class _Wish:
    """What is asked of the options of one slot: the columns that each shared demand reads there, and which way."""

    def __init__(self, slot: int, tests: Sequence[Test], extras: Sequence[Any], count: int) -> None:
        self.slot, self.tests, self.count = slot, tests, count
        self.read = [self._pulled([(test.node, sense) for sense in test.senses]) for test in tests]
        self.paid = self._pulled([(extra, -1) for extra in extras])
        self.ways: dict[Column, int] = {}
        for columns in (*self.read, self.paid):
            for column, way in columns.items():
                self.ways[column] = way if self.ways.setdefault(column, way) == way else 0

    def _pulled(self, nodes: Iterable[tuple[Any, int]]) -> dict[Column, int]:
        """Columns of this slot: 1 where more is better, -1 where less is, 0 where only the same will do."""
        found: dict[Column, set[int]] = {}
        for node, sense in nodes:
            pulls(node, sense, found)
        return {c: min(s) if len(s) == 1 else 0 for c, s in found.items() if c.slot == self.slot}

    def asked(self, picks: Picks) -> set[Column]:
        """The columns that still matter for what is picked in this slot."""
        asked = set(self.paid)
        for test, columns in zip(self.tests, self.read, strict=True):
            if not columns.keys() <= asked and not certain(test, picks):
                asked |= columns.keys()
        return asked


def undominated(wish: _Wish, left: Left, *, settled: bool = False) -> list[int]:
    """The options of one slot without those that enough others beat; `settled` when the columns' ends are known."""
    picks = [OPEN] * len(left)
    better = [(column, way) for column, way in wish.ways.items() if way]
    equal = [column for column, way in wish.ways.items() if not way]
    groups: dict[tuple[Any, ...], list[tuple[Any, ...]]] = {}
    kept = []
    for option in left[wish.slot]:
        picks[wish.slot] = option
        asked = wish.asked(picks) if settled else wish.ways.keys()
        merit = tuple(column.values[option] * way if column in asked else inf for column, way in better)
        others = groups.setdefault(tuple(column.values[option] for column in equal), [])
        if not _beaten(merit, others, wish.count):
            others.append(merit)
            kept.append(option)
    return kept


def _beaten(merit: tuple[Any, ...], others: Sequence[tuple[Any, ...]], count: int) -> bool:
    """Whether so many others are at least as good in everything."""
    better = (other for other in others if all(map(ge, other, merit)))
    return len(tuple(islice(better, count))) == count


def certain(test: Test, picks: Picks) -> bool:
    """Whether a demand passes even at the worst ends of all open slots."""
    try:
        if test.most is not None and not test.node.end(picks, True) <= test.most:  # noqa: FBT003 - the high end
            return False
        if test.least is None and test.most is not None:
            return True
        low = test.node.end(picks, False)  # noqa: FBT003 - the low end
    except UnknownEndError:
        return False
    return bool(low) if test.least is None else bool(low >= test.least)


def supported(left: Left, watch: Sequence[Sequence[Test]], columns: Sequence[Column]) -> Left:
    """The options left of each slot without those that no whole set can hold; `watch` are the demands of each slot."""
    kept = [list(options) for options in left]
    waiting = set(range(len(kept)))
    while waiting:
        slot = min(waiting, key=lambda place: (len(kept[place]), place))
        waiting.discard(slot)
        held = _held(slot, kept, watch[slot])
        if len(held) < len(kept[slot]):
            kept[slot] = held
            narrowed(columns, slot, held)
            waiting |= {other for test in watch[slot] for other in test.node.scope} - {slot}
    return kept


def _held(slot: int, left: Left, tests: Sequence[Test]) -> list[int]:
    """The options of one slot that pass with all others open, and with some option of each slot they share a pair with."""
    picks = [OPEN] * len(left)
    pairs = _pairs(slot, left, tests)
    kept = []
    for option in left[slot]:
        picks[slot] = option
        if all(test.passes(picks) for test in tests) and _partnered(picks, left, pairs):
            kept.append(option)
    return kept


def _pairs(slot: int, left: Left, tests: Sequence[Test]) -> dict[int, list[Test]]:
    """The demands that a slot shares with one other slot alone, by that other slot."""
    pairs: dict[int, list[Test]] = {}
    for test in tests:
        others = test.node.scope - {slot}
        if len(others) == 1 and len(left[min(others)]) <= MOST_PARTNERS:
            pairs.setdefault(min(others), []).append(test)
    return pairs


def _partnered(picks: Picks, left: Left, pairs: Mapping[int, Sequence[Test]]) -> bool:
    """Whether every slot of a pair has an option that goes with what is picked."""
    for other, tests in pairs.items():
        found = False
        for option in left[other]:
            picks[other] = option
            found = all(test.passes(picks) for test in tests)
            if found:
                break
        picks[other] = OPEN
        if not found:
            return False
    return True
