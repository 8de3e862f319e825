"""Lists of boxes judged by binary decision diagrams (CUDD, through dd): every number as its bits, the highest first."""

from collections.abc import Hashable, Sequence
from typing import Any

from dd import cudd

Box = tuple[tuple[tuple[int, int], ...], ...]
Rule = tuple[Box, Hashable]


class Bits:
    """One variable for each bit of each dimension."""

    def __init__(self, lasts: Sequence[int]) -> None:
        self.lasts = tuple(lasts)
        self.bdd = cudd.BDD()
        self.names = [[f"x{at}b{bit}" for bit in range(last.bit_length())] for at, last in enumerate(lasts)]
        self.bdd.declare(*(name for names in self.names for name in names))
        self.bdd.configure(reordering=False)
        self._forms: dict[tuple[int, tuple[tuple[int, int], ...]], Any] = {}
        self.space = self.bdd.true
        for at, last in enumerate(lasts):
            self.space &= self.form(at, ((0, last),))

    def form(self, at: int, form: tuple[tuple[int, int], ...]) -> Any:
        """That a number lies in one of the intervals."""
        key = (at, form)
        if key not in self._forms:
            found = self.bdd.false
            for first, last in form:
                found |= self._at_least(at, first) & self._at_most(at, last)
            self._forms[key] = found
        return self._forms[key]

    def _at_least(self, at: int, least: int) -> Any:
        found = self.bdd.true
        for bit, name in enumerate(reversed(self.names[at])):
            one = self.bdd.var(name)
            found = one & found if least >> bit & 1 else one | found
        return found

    def _at_most(self, at: int, most: int) -> Any:
        found = self.bdd.true
        for bit, name in enumerate(reversed(self.names[at])):
            zero = ~self.bdd.var(name)
            found = zero | found if most >> bit & 1 else zero & found
        return found

    def inside(self, box: Box) -> Any:
        """That a point lies in a box."""
        found = self.bdd.true
        for at in range(len(box) - 1, -1, -1):
            if box[at] != ((0, self.lasts[at]),):
                found &= self.form(at, box[at])
        return found

    def never_deciding(self, boxes: Sequence[Box]) -> list[int]:
        """Places of the boxes without a point that no earlier one has."""
        left, found = self.space, []
        for place, box in enumerate(boxes):
            mine = self.inside(box) & left
            if mine == self.bdd.false:
                found.append(place)
            left &= ~mine
        return found

    def where(self, rules: Sequence[Rule], default: Hashable, value: Hashable) -> Any:
        """The points that have a value: from the last rule to the first, each before what stands below it."""
        found = self.space if default == value else self.bdd.false
        for box, mine in reversed(rules):
            inside = self.inside(box) & self.space
            found = inside | found if mine == value else found & ~inside
        return found

    def count(self, points: Any) -> int:
        """How many points; exact up to 2 to the power of 53."""
        return int(self.bdd.count(points, nvars=sum(map(len, self.names))))
