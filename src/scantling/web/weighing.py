"""Weighs what a brief buys, keeps the result in a folder and hands it over; run as a process of its own, so that it can be stopped."""

import os
import pickle
import sys
from collections.abc import Callable
from pathlib import Path
from time import monotonic

from scantling import UserError, api
from scantling.plan.telling import identity
from scantling import STEP

BAD_INPUT, SELDOM = 2, 0.2


def main(brief: str, out: str, firm: str = "") -> int:
    """Plan, weigh, keep it in the folder `out`, and write the plan's identity and the result, pickled; the exit code."""
    sys.stdout = sys.stderr  # nothing but the result goes there
    try:
        api.may_write(Path(out))
        _tell("Looking for the cheapest set")
        made = api.plan(Path(brief), _counted(), Path(firm) if firm else None)
        _tell("Weighing what else could be bought")
        weighed = api.weigh(made)
        found = (identity(made), weighed)
        api.write_weighing(made, weighed, Path(out))
    except UserError as wrong:
        sys.stderr.write(f"{wrong}\n")
        return BAD_INPUT
    with os.fdopen(1, "wb", closefd=False) as output:
        pickle.dump(found, output)
    return 0


def _counted() -> Callable[[int], None]:
    """Tells how many sets were looked at, but not every time."""
    told = monotonic()

    def tell(nodes: int) -> None:
        nonlocal told
        if monotonic() - told >= SELDOM:
            told = monotonic()
            _tell(f"Looking for the cheapest set: {nodes:,} sets looked at")

    return tell


def _tell(words: str) -> None:
    sys.stderr.write(f"{STEP}{words}\n")
    sys.stderr.flush()


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
