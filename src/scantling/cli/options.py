"""The command that lays firm options of one brief side by side."""

import sys
from pathlib import Path

import click

from scantling.cli.terminal import BRIEF, FINE, FIRM, STOPPED, shown, watched


@click.command(short_help="The brief as planned beside other ways to build it.")
@BRIEF
@FIRM
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON, the same bytes every time.")
def command(brief: Path, firm: Path | None, as_json: bool) -> None:  # noqa: FBT001 - click passes flags by name
    """The brief as planned beside other ways to build it: price, fees, power, what stops when something fails.

    Each column is a whole plan: the firewall on the server or in a box, no server at all with services left to
    others, one server or two smaller ones. Nothing is written; scantling set makes an option the brief's own.

    Exit code 0: fine; 1: a stop finding stands in the brief as planned; 2: the input can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.outputs.side_by_side import side_by_side  # noqa: PLC0415 - as above

    made = watched(lambda _: api.options(brief, firm), "Planning every option")
    told = side_by_side(made)
    if as_json:
        shown(lambda: sys.stdout.buffer.write(told.as_json().encode()))  # UTF-8 wherever it runs
    else:
        from scantling.cli.showing import show_sheet  # noqa: PLC0415 - as above

        shown(lambda: show_sheet(told.sheet()))
    first = made[0].plan
    raise SystemExit(STOPPED if first is not None and first.stops else FINE)
