"""Lists of boxes judged by the z3 solver over bit vectors: it is told what the boxes are and searches for a point."""

from collections.abc import Hashable, Sequence
from typing import Any

import z3

Box = tuple[tuple[tuple[int, int], ...], ...]
Rule = tuple[Box, Hashable]
Point = tuple[int, ...]


class Solving:
    """One variable for each dimension."""

    def __init__(self, lasts: Sequence[int]) -> None:
        self.lasts = tuple(lasts)
        self.variables = [z3.BitVec(f"x{at}", max(1, last.bit_length())) for at, last in enumerate(lasts)]
        self.bounds = [z3.ULE(one, last) for one, last in zip(self.variables, lasts, strict=True)]

    def inside(self, box: Box) -> Any:
        """That the point lies in a box."""
        parts = []
        for variable, form, last in zip(self.variables, box, self.lasts, strict=True):
            if form != ((0, last),):
                parts.append(z3.Or([z3.And(z3.UGE(variable, low), z3.ULE(variable, high)) for low, high in form]))
        return z3.And(parts)

    def never_deciding(self, boxes: Sequence[Box]) -> list[int]:
        """Places of the boxes without a point that no earlier one has; one question for each."""
        solver = self._solver()
        found = []
        for place, box in enumerate(boxes):
            mine = self.inside(box)
            solver.push()
            solver.add(mine)
            if self._answer(solver) is None:
                found.append(place)
            solver.pop()
            solver.add(z3.Not(mine))
        return found

    def apart(self, one: Sequence[Rule], other: Sequence[Rule], default: Hashable) -> Point | None:
        """A point to which two lists give different values; None: proved that there is none."""
        values = _numbered([default, *(value for _, value in (*one, *other))])
        solver = self._solver()
        solver.add(self._value(one, default, values) != self._value(other, default, values))
        return self._answer(solver)

    def reached(self, rules: Sequence[Rule], default: Hashable, value: Hashable, box: Box) -> Point | None:
        """A point in a box with a value; None: proved that there is none."""
        values = _numbered([default, value, *(one for _, one in rules)])
        solver = self._solver()
        solver.add(self.inside(box), self._value(rules, default, values) == values[value])
        return self._answer(solver)

    def _value(self, rules: Sequence[Rule], default: Hashable, values: dict[Hashable, int]) -> Any:
        """The value of the first rule that matches, as a number."""
        found = z3.BitVecVal(values[default], 16)
        for box, value in reversed(rules):
            found = z3.If(self.inside(box), z3.BitVecVal(values[value], 16), found)
        return found

    def _solver(self) -> Any:
        solver = z3.SolverFor("QF_BV")
        solver.add(self.bounds)
        return solver

    def _answer(self, solver: Any) -> Point | None:
        answer = solver.check()
        if answer == z3.unsat:
            return None
        if answer != z3.sat:
            raise RuntimeError(f"the solver does not know: {solver.reason_unknown()}")
        model = solver.model()
        return tuple(model.eval(one, model_completion=True).as_long() for one in self.variables)


def _numbered(values: Sequence[Hashable]) -> dict[Hashable, int]:
    """A number for each value."""
    return {value: number for number, value in enumerate(dict.fromkeys(values))}
