"""The faults of the drill, by sort; a new one is a function in one of these modules and its name in that module's SORTS."""

from collections.abc import Iterator

from scantling.trials.rehearsal.faults import addresses, cables, clocks, machines, names, rules
from scantling.trials.rehearsal.faults.fault import Ground, LeftOut, Mishap, Sorts

__all__ = ["Ground", "LeftOut", "Mishap", "Sorts", "mishaps"]


def mishaps(ground: Ground) -> Iterator[Mishap | LeftOut]:
    """Everything that can go wrong in an office, and what it has no place for."""
    for module in (addresses, names, clocks, rules, cables, machines):
        for sort in module.SORTS:
            yield from sort(ground)
