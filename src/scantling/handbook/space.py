"""Room in a cabinet: depth, height, noise, and which units each part fills."""

from collections.abc import Mapping, Sequence
from typing import Annotated

from scantling.figures import Source, method, rule
from scantling.figures.units import (
    Count, Decibels, HeightUnits, Kilograms, Millimetres, Ratio, Truth, closed,
)  # fmt: skip

HABIT = Source("common practice, no source", "common practice")
ARITHMETIC = Source("arithmetic", "common practice")
RACK = Source("EIA-310, IEC 60297: one height unit is 44.45 mm")
MOMENTS = Source("centre of gravity: moments over weight")
UNIT = 44.45  # mm
NOISE = 1e-9  # of binary fractions
UnitRegister = Annotated[Mapping[str, int], closed(Mapping)]
SOUND = Source("ISO 80000-8, levels; a cabinet's insertion loss is taken off")


@rule(SOUND, rises="level", falls="damping")
def damped(level: Decibels, damping: Decibels) -> Decibels:
    """Sound that is left outside a cabinet."""
    return level - damping


@rule(HABIT, rises="usable", falls="deepest cables")
def deep_enough(usable: Millimetres, deepest: Millimetres, cables: Millimetres) -> Truth:
    """The deepest part and its cables fit the cabinet."""
    return deepest + cables <= usable


@rule(HABIT, rises="offered", falls="taken other free")
def high_enough(offered: Count, taken: HeightUnits, other: HeightUnits, free: Ratio) -> Truth:
    """All parts fit the cabinet's height, with the network's parts and so much left free."""
    return taken + other <= offered - offered * free


@method(RACK, says="whole units of 44.45 mm", rises="height")
def units_in(height: Millimetres) -> Count:
    """Whole height units that stand above each other in a space."""
    return int(height / UNIT + NOISE)


@rule(ARITHMETIC, rises="offered", falls="taken")
def units_left(offered: Count, taken: HeightUnits) -> Count:
    """Height units that nothing takes; below nought when too much is taken."""
    return offered - taken


@rule(ARITHMETIC, rises="own carried")
def laden(own: Kilograms, carried: Kilograms, hosts: Count) -> Kilograms:
    """What a part weighs with its share of what it carries."""
    return own + carried / max(hosts, 1)


def _free_from(start: int, height: int, taken: set[int]) -> int:
    """The lowest unit from a start at which so many units are free."""
    unit = start
    while taken & set(range(unit, unit + height)):
        unit += 1
    return unit


@method(
    HABIT, says="what a survey found stays in its unit; batteries lowest; then the heaviest first, each at the lowest free units above "
    "them, with free units above each as the house wants where there is room for all",
)  # fmt: skip
def stacked(
    foot: Mapping[str, HeightUnits],
    body: Mapping[str, HeightUnits],
    weights: Mapping[str, Kilograms],
    fixed: Mapping[str, Count],
    gap: HeightUnits,
    room: Count,
) -> UnitRegister:
    """The lowest unit of every part that stands from below; units count from 1 at the bottom."""
    order = [*foot, *sorted(body, key=lambda name: (-weights[name], name))]
    heights = {**foot, **body}
    stack: dict[str, int] = {}
    for space in dict.fromkeys((gap, 0)):
        stack = _stack(order, heights, fixed, space)
        if all(unit + heights[name] - 1 <= room for name, unit in stack.items()):
            break
    return {name: stack[name] for name in sorted(stack, key=lambda name: (stack[name], name))}


def _stack(order: Sequence[str], heights: Mapping[str, int], fixed: Mapping[str, int], space: int) -> dict[str, int]:
    stack = {name: unit for name, unit in fixed.items() if name in heights}
    taken = {unit for name, low in stack.items() for unit in range(low, low + heights[name] + space)}
    for name in [name for name in order if name not in stack]:
        stack[name] = _free_from(1, heights[name] + space, taken)
        taken |= set(range(stack[name], stack[name] + heights[name] + space))
    return stack


@method(HABIT, says="what a survey found stays in its unit; the others from the top down in the order given")
def hung(head: Mapping[str, HeightUnits], fixed: Mapping[str, Count], offered: Count) -> UnitRegister:
    """The lowest unit of every part that hangs from above; what has no room is put above the top."""
    found = {name: unit for name, unit in fixed.items() if name in head}
    taken = {unit for name, low in found.items() for unit in range(low, low + head[name])}
    for name in [name for name in head if name not in found]:
        low = next(
            (u for u in range(offered - head[name] + 1, 0, -1) if not taken & set(range(u, u + head[name]))),
            _free_from(offered + 1, head[name], taken),
        )
        found[name] = low
        taken |= set(range(low, low + head[name]))
    return {name: found[name] for name in sorted(found, key=lambda name: (found[name], name))}


@method(ARITHMETIC, says="units that two parts fill, and units outside the cabinet that a part fills")
def wrongly_filled(lowest: Mapping[str, Count], heights: Mapping[str, HeightUnits], offered: Count) -> Count:
    """Height units that are filled twice, or that are not there."""
    filled = [unit for name, low in lowest.items() for unit in range(low, low + heights[name])]
    outside = sum(not 1 <= unit <= offered for unit in filled)
    return outside + len(filled) - len(set(filled))


@method(MOMENTS, says="the heights of the parts' middles above the lowest unit, each weighed by its part")
def centre_height(
    lowest: Mapping[str, Count], heights: Mapping[str, HeightUnits], weights: Mapping[str, Kilograms]
) -> Millimetres:
    """Height of the centre of gravity of all parts above the foot of the lowest unit; nought of none."""
    whole = sum(weights[name] for name in lowest)
    if whole <= 0:
        return 0.0
    return UNIT * sum(weights[name] * (low - 1 + heights[name] / 2) for name, low in lowest.items()) / whole


@method(HABIT, says="the heaviest of the parts whose foot is above that height")
def heaviest_above(lowest: Mapping[str, Count], weights: Mapping[str, Kilograms], above: Millimetres) -> Kilograms:
    """Weight of the heaviest part that stands higher than so many millimetres above the lowest unit; nought of none."""
    return max((weights[name] for name, low in lowest.items() if (low - 1) * UNIT > above), default=0.0)
