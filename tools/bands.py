"""Prints how many cores, how much memory and what price generated offices and both examples come to, by people."""

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from generated_offices import HEADS, STEPS, brief  # noqa: E402 - the path comes first
from offices import BRIEFS  # noqa: E402 - as above

from scantling import api  # noqa: E402 - as above
from scantling.figures.numbers import text  # noqa: E402 - as above
from scantling.plan.make import Plan  # noqa: E402 - as above

HEADS_OF_COLUMNS = (
    "people", "cores needed", "bought", "memory needed", "bought", "floors", "ceilings", "battery", "room free", "price with tax", "stops",
)  # fmt: skip
IDS = (
    "host.cores.needed", "host.cores.bought", "host.memory.needed", "host.memory.bought", "host.memory.floors",
    "host.memory.ceilings", "power.shared",
)  # fmt: skip


def row(who: str, plan: Plan) -> Iterator[str]:
    """One office's line."""
    yield who
    for id_ in IDS:
        yield text(plan.figures[id_])
    free = [
        float(figure.value)
        for id_, figure in plan.figures.items()
        if id_.startswith("arrays.") and id_.endswith(".free")
    ]
    yield f"{min(free):.1f} %"
    yield f"{plan.figures['money.total'].value:,.2f}"
    yield ", ".join(told.finding.code for told in plan.stops) or "-"


def main() -> int:
    """Print the table."""
    offices = {name: path.read_text("utf-8") for name, path in BRIEFS.items()}
    offices |= {str(heads): brief(heads) for heads in sorted({*HEADS, *STEPS})}
    rows = [HEADS_OF_COLUMNS, *(tuple(row(who, api.plan_text(written))) for who, written in offices.items())]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for cells in rows:
        print("  ".join(cell.rjust(width) for cell, width in zip(cells, widths, strict=True)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
