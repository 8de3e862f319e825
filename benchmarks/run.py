"""Runs every bench_*.py beside this file and prints ratios against a reference measured in the same run.

A bench is a function named `bench_*` without arguments that returns rows; see `measuring.Row`. Nothing here fails on
wall time: machines differ and are noisy, so a goal that is missed is printed, not asserted.
"""

import importlib
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from measuring import Row

HERE = Path(__file__).parent
HEAD = f"{'what':<44} {'time':>10}   {'against':<36} {'time':>10} {'ratio':>9}   goal"


def benches(wanted: list[str]) -> Iterator[Callable[[], Iterable[Row]]]:
    """Every bench function whose file or name holds one of the words; all of them without words."""
    for file in sorted(HERE.glob("bench_*.py")):
        module = importlib.import_module(file.stem)
        for name in sorted(vars(module)):
            full = f"{file.stem}.{name}"
            if name.startswith("bench_") and (not wanted or any(word in full for word in wanted)):
                yield getattr(module, name)


def clock(seconds: float) -> str:
    """Seconds in the unit a person reads best."""
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-6:.3g} µs"


def line(row: Row) -> str:
    """One row of the table."""
    ratio = f"{row.seconds / row.reference_seconds:.3g} x" if row.reference_seconds else "-"
    reference = clock(row.reference_seconds) if row.reference_seconds else "-"
    measured = f"{row.seconds:.0f} {row.unit}" if row.unit else clock(row.seconds)
    return f"{row.label:<44} {measured:>10}   {row.reference:<36} {reference:>10} {ratio:>9}   {row.goal}"


def main(wanted: list[str]) -> int:
    """Print the table; 2 when no bench was found."""
    print(HEAD)
    found = 0
    for bench in benches(wanted):
        for row in bench():
            print(line(row), flush=True)
            found += 1
    return 0 if found else 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
