"""The board of one search: units of slots with the options left of each, what is picked, and the demands between them.

A unit is one slot, or several that were merged because demands tie them to each other alone: its options are then the
ways in which those slots go together.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from scantling.handbook.judging import Test
from scantling.handbook.nodes import Column, columns_of

ROUNDS = 3
Option = tuple[int, ...]
"""The place of an option for each slot of a unit."""


@dataclass
class Unit:
    """Slots that are filled together, what may fill them, cheapest first, and the rank of each."""

    slots: tuple[int, ...]
    options: list[Option]
    ranks: list[Decimal]


class Board:
    """Units, the demands that tie them, and what is paid over several of them."""

    def __init__(
        self, units: Sequence[Unit], tests: Sequence[Test], extras: Sequence[Any], also: Sequence[Test] = ()
    ) -> None:
        """`also` are demands that nothing is held to, but of which one may ask whether they pass for certain."""
        self.units, self.extras = list(units), extras
        self.tests = sorted(tests, key=lambda test: len(test.scope))
        nodes = [*(test.node for test in (*tests, *also)), *extras]
        self.used = set[Column]().union(*map(columns_of, nodes))
        for test in self.tests:
            test.waiting = len(test.waits)
        self.asked = self.tests
        self.link()
        for place, unit in enumerate(self.units):
            if unit.options:
                self.narrow(place)

    def settle(self) -> None:
        """Ask no more of what passes for certain: whatever is left of the open units, it will."""
        self.asked = [test for test in self.asked if not test.certain()]
        self.link()

    def link(self) -> None:
        """Which demands and columns each unit has to do with; those inside one unit are settled."""
        scopes = [frozenset(unit.slots) for unit in self.units]
        between = [test for test in self.asked if test.goal or not any(test.scope <= scope for scope in scopes)]
        self.watch = [[test for test in between if test.scope & scope] for scope in scopes]
        self.shared = [[[t for t in watch if t.scope & scope] for scope in scopes] for watch in self.watch]
        self.waiters = [[(t, len(t.waits & scope)) for t in self.tests if t.waits & scope] for scope in scopes]
        self.flat = [
            [(n, c) for n, slot in enumerate(unit.slots) for c in self.used if c.slot == slot] for unit in self.units
        ]

    @property
    def possible(self) -> bool:
        """Whether something is left of every unit."""
        return all(unit.options for unit in self.units)

    def narrow(self, place: int) -> None:
        """Renew the ends of an open unit's columns."""
        options = [set(ones) for ones in zip(*self.units[place].options, strict=True)]
        for number, column in self.flat[place]:
            column.narrow(options[number])

    def pick(self, place: int, option: Option) -> None:
        """Fill an open unit."""
        self.swap(place, option)
        for test, waits in self.waiters[place]:
            test.waiting -= waits

    def swap(self, place: int, option: Option) -> None:
        """Another option in a unit that is filled."""
        for number, column in self.flat[place]:
            column.pick(option[number])

    def free(self, place: int) -> None:
        """Empty a unit that is filled."""
        for _, column in self.flat[place]:
            column.free()
        for test, waits in self.waiters[place]:
            test.waiting += waits

    def keep(self, place: int, kept: Sequence[int]) -> bool:
        """Keep these options of an open unit, by their places; whether that is fewer than there were."""
        unit = self.units[place]
        fewer = len(kept) < len(unit.options)
        if fewer:
            unit.options, unit.ranks = [unit.options[n] for n in kept], [unit.ranks[n] for n in kept]
            if kept:
                self.narrow(place)
        return fewer

    def first(self, place: int) -> int | None:
        """The place of a unit's cheapest option that goes with all others open; None where there is none."""
        found = None
        self.pick(place, self.units[place].options[0])
        for number, option in enumerate(self.units[place].options):
            self.swap(place, option)
            if all(test.can_pass() for test in self.watch[place]):
                found = number
                break
        self.free(place)
        return found

    def supported(self, most: int | None = None) -> None:
        """Drop what fails with all others open, until nothing changes or a few rounds are over; of small units alone, with `most`."""
        small = {place for place, unit in enumerate(self.units) if most is None or len(unit.options) <= most}
        changed = small
        for _ in range(ROUNDS):
            waiting, changed = changed, set()
            for place in sorted(waiting & small, key=lambda place: (len(self.units[place].options), place)):
                if self.possible and self.keep(place, self._held(place)):
                    slots = {slot for test in self.watch[place] for slot in test.scope}
                    changed |= {p for p, unit in enumerate(self.units) if p != place and slots & set(unit.slots)}
            if not changed:
                return

    def _held(self, place: int) -> list[int]:
        """The places of a unit's options that go with all others open."""
        kept = list(range(len(self.units[place].options)))
        self.pick(place, self.units[place].options[0])
        for test in self.watch[place]:
            passes = self._each(place, kept, test, Test.can_pass)
            kept = [number for number, passed in zip(kept, passes, strict=True) if passed]
        self.free(place)
        return kept

    def certain(self, place: int, tests: Sequence[Test]) -> list[list[bool]]:
        """For each of these tests, of every option of a unit whether it passes for certain with all others open."""
        every = range(len(self.units[place].options))
        self.pick(place, self.units[place].options[0])
        found = [self._each(place, every, test, Test.certain) for test in tests]
        self.free(place)
        return found

    def _each(self, place: int, numbers: Sequence[int], test: Test, says: Callable[[Test], bool]) -> list[bool]:
        """What is said of a test with each of these options in a filled unit; those alike in what it reads are asked once."""
        options = self.units[place].options
        read = [(n, column) for n, column in self.flat[place] if column in test.columns]
        alike = list(
            zip(*([column.values[options[number][n]] for number in numbers] for n, column in read), strict=True)
        )
        said = {}
        for values, number in dict(zip(alike, numbers, strict=True)).items():
            for n, column in read:
                column.pick(options[number][n])
            said[values] = says(test)
        return [said[values] for values in alike]

    def private(self, one: int, other: int) -> bool:
        """Whether some demand ties two units to each other alone."""
        slots = {*self.units[one].slots, *self.units[other].slots}
        return any(test.scope <= slots for test in self.shared[one][other])

    def merge(self, one: int, other: int, together: Sequence[tuple[Option, Decimal]]) -> None:
        """Make one unit of two; `together` are the ways in which they go together, by slot in order, and their ranks."""
        slots = sorted((*self.units[one].slots, *self.units[other].slots))
        unit = Unit(tuple(slots), [option for option, _ in together], [rank for _, rank in together])
        self.units = [u for place, u in enumerate(self.units) if place not in (one, other)] + [unit]
        self.link()
        if unit.options:
            self.narrow(len(self.units) - 1)
