"""The command that writes the configuration files of a plan, with a list of what each is for and how to load and undo it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scantling.cli.terminal import BRIEF, FINE, FIRM, STOPPED, shown, watched

MARGIN = 10

if TYPE_CHECKING:
    from scantling.outputs.files import Written


@click.command("files", short_help="The files that servers load: rules, addresses, names, registers.")
@BRIEF
@FIRM
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("files"), show_default=True, help="Folder to write to."
)
@click.option("--list", "only_list", is_flag=True, help="Only tell what would be written.")
def command(brief: Path, firm: Path | None, out: Path, *, only_list: bool) -> None:
    """Every file that the plan's servers load, and its registers, written into a folder.

    Firewall rules, addresses, names, lookups, time, a rule sheet a zone, registers as CSV and one spreadsheet. Tells of each
    what it is for, where it goes, how to load it and how to undo that; the same list is in files.txt and files.csv.
    Nothing is sent to any machine.

    Exit code 0: fine; 1: a stop finding stands, nothing should be built from them; 2: the input can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    made = watched(lambda tell: api.plan(brief, tell, firm))
    if only_list:
        shown(lambda: _show(api.files(made)))
    else:
        filed = watched(lambda _: api.write_files(made, out), "Writing the files")
        shown(lambda: _show(filed.files, out, filed.left))
    raise SystemExit(STOPPED if made.stops else FINE)


def _show(files: "Sequence[Written]", folder: Path | None = None, left: Sequence[str] = ()) -> None:
    """Each file with what is known of it."""
    from scantling.cli.showing import show_lines  # noqa: PLC0415 - loaded when needed
    from scantling.figures.spelled import shown as printable  # noqa: PLC0415 - as above

    for one in files:
        show_lines([f"\n{one.path}"], "bold")
        _known((("for", one.what), ("goes", one.goes), ("load", one.load), ("undo", one.undo)))
    if folder is None:
        show_lines([f"\n{len(files)} files; nothing was written"])
        return
    show_lines([f"\nwrote {len(files)} files in {printable(str(folder), 200)}; read files.txt there first"])
    if left:
        show_lines(["an earlier plan's files that this one has no more lie there still; take them away:"])
        show_lines([f"    {printable(path, 200)}" for path in left])


def _known(told: Sequence[tuple[str, str]]) -> None:
    """Labels with words; what is too long for its line goes on below its beginning."""
    from rich.text import Text  # noqa: PLC0415 - loaded when needed

    from scantling.cli.showing import NARROWEST, console  # noqa: PLC0415 - as above

    screen = console()
    for label, words in told:
        lines = Text(words).wrap(screen, max(screen.width - MARGIN, NARROWEST))
        for place, line in enumerate(lines):
            lead = f"    {label}" if place == 0 else ""
            screen.print(Text(lead.ljust(MARGIN)) + line, soft_wrap=True)
