"""Costs that a choice drags behind it, over several slots, written into a program in whole numbers."""

from collections.abc import Sequence
from itertools import product
from math import isclose
from typing import Any

from scantling.figures.terms import Sum
from scantling.trials.encoding import Encoder, Numbers, Way, combined, in_order
from scantling.trials.program import INFINITE
from scantling.trials.shapes import Atom, Shape

HUNDRED = 100.0
SAMPLES = 4
AGREEING = 1e-9

Line = tuple[float, float]
"""Minor units for each unit of the sum, and at nought."""


def dragged(encoder: Encoder, shape: Shape) -> bool:
    """Write one cost; False where it has no shape that rows can hold, so that it must be watched.

    Few combinations: what each costs. A sum on which it rises in a straight line: that line, for each combination of the rest.
    """
    gathered = [place for place, atom in enumerate(shape.atoms) if atom.across is not None]
    if len(gathered) == 1 and _on_a_line(encoder, shape, gathered[0]):
        return True
    groups = encoder.groups(shape, range(len(shape.atoms)))
    if groups is None:
        return False
    for way in encoder.linked(groups, list(combined(groups)), shape):
        _charge(encoder, way, float(shape.made(in_order(way.numbers))) * HUNDRED)
    return True


def least(shape: Shape) -> float:
    """No set drags less than this, in minor units, if the cost rises or falls with each of its numbers: its corners."""
    ends = []
    for atom in shape.atoms:
        alone = () if atom.across is not None else atom.columns[atom.slot]
        ordered = not alone or not isinstance(alone[0], (str, bool))
        ends.append(atom.ends if atom.across is not None else (min(alone), max(alone)) if ordered else set(alone))
    return min(float(shape.made(corner)) for corner in product(*ends)) * HUNDRED


def _charge(encoder: Encoder, way: Way, amount: float) -> None:
    """So much more wherever that way is so."""
    for column in way.columns:
        encoder.program.costs[column] += amount


def _on_a_line(encoder: Encoder, shape: Shape, pivot: int) -> bool:
    atom = shape.atoms[pivot]
    groups = encoder.groups(shape, [place for place in range(len(shape.atoms)) if place != pivot])
    if groups is None or not isinstance(atom.across, Sum):
        return False
    ways = list(combined(groups))
    lines = [_line(shape, pivot, way.numbers) for way in ways]
    known = [line for line in lines if line is not None]
    if len(known) < len(lines):
        return False
    linked = encoder.linked(groups, ways, shape)
    if all(isclose(slope, known[0][0], rel_tol=AGREEING, abs_tol=AGREEING) for slope, _ in known):
        _one_line(encoder, atom, linked, known)
    else:
        _several_lines(encoder, atom, linked, known)
    return True


def _line(shape: Shape, pivot: int, rest: Numbers) -> Line | None:
    """The straight line on which the cost lies as the sum grows; None where it lies on none."""
    low, high = shape.atoms[pivot].ends
    given: list[Any] = [(low * (SAMPLES - step) + high * step) / SAMPLES for step in range(SAMPLES + 1)]
    if isinstance(shape.atoms[pivot].nought, int):
        given = sorted({round(point) for point in given})
    costs = [float(shape.made(in_order({**rest, pivot: point}))) * HUNDRED for point in given]
    points = [float(point) for point in given]
    slope = (costs[-1] - costs[0]) / (points[-1] - points[0]) if points[-1] > points[0] else 0.0
    base = costs[0] - slope * points[0]
    near = AGREEING * max(1.0, *(abs(cost) for cost in costs)) + 1e-4
    return (
        (slope, base) if all(abs(base + slope * p - c) <= near for p, c in zip(points, costs, strict=True)) else None
    )


def _one_line(encoder: Encoder, atom: Atom, ways: Sequence[Way], lines: Sequence[Line]) -> None:
    """The same slope everywhere: each option costs what it adds to the sum, each way its own beginning."""
    for column, weight in encoder.weighed(atom).items():
        encoder.program.costs[column] += weight * lines[0][0]
    for way, (_, base) in zip(ways, lines, strict=True):
        if way.columns:
            _charge(encoder, way, base)
        else:
            encoder.program.column(base, ends=(1.0, 1.0))


def _several_lines(encoder: Encoder, atom: Atom, ways: Sequence[Way], lines: Sequence[Line]) -> None:
    """A column for the cost, at least the line of the way that is so."""
    weighed = encoder.weighed(atom)
    low, high = (float(end) for end in atom.ends)
    ends = [base + slope * end for slope, base in lines for end in (low, high)]
    lowest, highest = min(ends), max(ends)
    cost = encoder.program.column(1.0, ends=(lowest, highest))
    for way, (slope, base) in zip(ways, lines, strict=True):
        spare = max(base + slope * end for end in (low, high)) - lowest
        row = {column: -slope * weight for column, weight in weighed.items()} | {cost: 1.0}
        for column in way.columns:
            row[column] = row.get(column, 0.0) - spare
        encoder.program.row(base - spare if way.columns else base, row, INFINITE)
