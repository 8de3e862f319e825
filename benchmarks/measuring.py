"""What a bench returns, and how a time is taken."""

from collections.abc import Callable
from time import perf_counter
from typing import NamedTuple


class Row(NamedTuple):
    """A measured time beside a reference measured in the same run; times in seconds, 0 for no reference. With a unit: no time."""

    label: str
    seconds: float
    reference: str = ""
    reference_seconds: float = 0.0
    goal: str = ""
    unit: str = ""


def best(call: Callable[[], object], *, repeats: int = 7, loops: int = 1) -> float:
    """Seconds of one call: the best of some repeats, each the mean of some loops."""
    times = []
    for _ in range(repeats):
        began = perf_counter()
        for _ in range(loops):
            call()
        times.append((perf_counter() - began) / loops)
    return min(times)
