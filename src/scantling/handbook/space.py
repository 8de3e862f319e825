"""Room in a cabinet: depth, height, noise."""

from scantling.figures import Source, rule
from scantling.figures.units import Count, Decibels, HeightUnits, Millimetres, Ratio, Truth

HABIT = Source("common practice, no source", "common practice")
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
