"""How a plan looks on a terminal: ruled columns, findings in red pencil; plain text on a pipe."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from rich import box
from rich.console import Console, JustifyMethod
from rich.table import Table
from rich.text import Text

from scantling.outputs.summary import Sheet, findings, heading, pinned, sheets
from scantling.plan.make import Plan
from scantling.outputs.weighed import tables
from scantling.plan.telling import Line
from scantling.plan.weighing import Weighed

PENCIL = "red"
PIPE_WIDTH = 120
NARROWEST = 30


class Screen(Console):
    """A console that tells its caller when the reader has gone."""

    def on_broken_pipe(self) -> None:
        """Pass it on: the command ends quietly, with its own exit code."""
        raise BrokenPipeError


def console() -> Console:
    """The terminal as wide as it is; a pipe gets a fixed width and no colour."""
    screen = Screen(highlight=False, soft_wrap=False)
    return screen if screen.is_terminal else Screen(highlight=False, width=PIPE_WIDTH)


def show_plan(plan: Plan, weighed: Weighed | None = None) -> None:
    """Every table of the summary, what was weighed, then the findings."""
    screen = console()
    screen.print(Text(heading(plan), style="bold"))
    for line in pinned(plan):
        _hung(screen, Text(line), 0)
    for sheet in (*sheets(plan), *(tables(weighed, plan.currency) if weighed is not None else ())):
        _table(screen, sheet)
    told = findings(plan)
    if not told.rows:
        screen.print(f"\nFindings: none; {len(plan.checked)} things were checked.")
        return
    screen.print(Text("\nFindings", style="bold"))
    for weight, code, says, remedy in told.rows:
        screen.print(Text("  ") + Text(f"{weight} ", style=f"bold {PENCIL}") + Text(code, style=PENCIL))
        _hung(screen, Text(says), 8)
        _hung(screen, Text(remedy, style="dim"), 8)
    screen.print(f"\n{len(plan.checked)} other things were checked and are well.")


def show_sheet(sheet: Sheet) -> None:
    """One table by itself."""
    _table(console(), sheet)


def show_lines(lines: Sequence[str], style: str = "") -> None:
    """Sentences under each other."""
    screen = console()
    for line in lines:
        _hung(screen, Text(line, style=style), 0)


def _table(screen: Console, sheet: Sheet) -> None:
    table = Table(title=Text(sheet.title, style="bold"), title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for place, head in enumerate(sheet.heads):
        side: JustifyMethod = "right" if place in sheet.right else "left"
        table.add_column(Text(head), justify=side, overflow="fold", no_wrap=place in sheet.whole)
    for row in sheet.rows:
        table.add_row(*(Text(cell) for cell in row))
    screen.print()
    screen.print(table)


def _hung(screen: Console, words: Text, lead: int) -> None:
    """Words that keep their indent when they go on below."""
    for row in words.wrap(screen, max(screen.width - lead, NARROWEST)):
        screen.print(Text(" " * lead) + row, soft_wrap=True)


def show_working(lines: Sequence[Line]) -> None:
    """A working as an indented tree; what is too long for its line goes on below its beginning."""
    screen = console()
    for line in lines:
        label = f" ({line.label})" if line.label and line.label != line.address else ""
        said = Text(f"{line.address}{label} = {line.value}", style="bold" if line.depth == 0 else "")
        for words, lead in ((said, 2 * line.depth), (Text(line.working, style="dim"), 2 * line.depth + 4)):
            _hung(screen, words, lead)


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
