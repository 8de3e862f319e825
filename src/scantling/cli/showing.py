"""How a plan looks on a terminal: ruled columns, findings in red pencil; plain text on a pipe."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from scantling.outputs.summary import Sheet, findings, heading, sheets
from scantling.plan.make import Plan
from scantling.plan.telling import Line

PENCIL = "red"
PIPE_WIDTH = 120


def console() -> Console:
    """The terminal as wide as it is; a pipe gets a fixed width and no colour."""
    screen = Console(highlight=False, soft_wrap=False)
    return screen if screen.is_terminal else Console(highlight=False, width=PIPE_WIDTH)


def show_plan(plan: Plan) -> None:
    """Every table of the summary, then the findings."""
    screen = console()
    screen.print(Text(heading(plan), style="bold"))
    for sheet in sheets(plan):
        _table(screen, sheet)
    told = findings(plan)
    if not told.rows:
        screen.print(f"\nFindings: none; {len(plan.checked)} things were checked.")
        return
    screen.print(Text("\nFindings", style="bold"))
    for weight, code, says, remedy in told.rows:
        line = (
            Text(f"  {weight} ", style=f"bold {PENCIL}")
            + Text(f"{code}  ", style=PENCIL)
            + Text(says, style="not bold")
        )
        screen.print(line, soft_wrap=False)
        screen.print(Text(f"        {remedy}", style="dim"))
    screen.print(f"\n{len(plan.checked)} other things were checked and are well.")


def _table(screen: Console, sheet: Sheet) -> None:
    table = Table(title=Text(sheet.title, style="bold"), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for place, head in enumerate(sheet.heads):
        table.add_column(Text(head), justify="right" if place in sheet.right else "left")
    for row in sheet.rows:
        table.add_row(*(Text(cell) for cell in row))
    screen.print()
    screen.print(table)


def show_working(lines: Sequence[Line]) -> None:
    """A working as an indented tree."""
    screen = console()
    for line in lines:
        lead = "  " * line.depth
        label = f" ({line.label})" if line.label and line.label != line.address else ""
        screen.print(Text(f"{lead}{line.address}{label} = {line.value}", style="bold" if line.depth == 0 else ""))
        screen.print(Text(f"{lead}    {line.working}", style="dim"))


def show_written(written: Mapping[str, int], folder: Path, brief: Path) -> None:
    """What was written and where to look next."""
    screen = console()
    screen.print()
    for name, size in sorted(written.items()):
        screen.print(Text(f"  {folder / name}  {size / 1000:,.0f} kB"))
    screen.print(
        Text(
            f"\nRead {folder / 'book.pdf'}, look at {folder / 'N-1.svg'}, or ask: scantling why host.cores.needed {brief}"
        )
    )
