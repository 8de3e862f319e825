"""How a comparison of two plans looks on a terminal, whole or in short."""

from pathlib import Path

from scantling.cli.showing import show_lines, show_sheet
from scantling.outputs.comparing import headline, tables
from scantling.plan.comparing import Comparison

MOST_IN_SHORT = 8


def show_comparison(told: Comparison, page: Path | None = None) -> None:
    """What it comes to, then every table."""
    show_lines(headline(told), "bold")
    for sheet in tables(told):
        show_sheet(sheet)
    if page is not None:
        show_lines([f"\nThe page with both workings of every figure: {page}"])


def show_in_short(told: Comparison) -> None:
    """What it comes to, the first figures that moved, and every finding that came or went."""
    show_lines(headline(told))
    moved = [f"  {one.id} {one.old} -> {one.new}" for one in told.moved]
    more = [f"  and {len(moved) - MOST_IN_SHORT} more"] if len(moved) > MOST_IN_SHORT else []
    show_lines([*moved[:MOST_IN_SHORT], *more])
    show_lines([f"  new {a.weight} {a.code}: {a.new}" for a in told.new_findings])
    show_lines([f"  cured {a.weight} {a.code}: {a.old}" for a in told.cured])
