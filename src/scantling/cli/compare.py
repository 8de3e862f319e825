"""The command that holds two plans against each other: what moved, why, and what it costs."""

import sys
from pathlib import Path

import click

from scantling.cli.terminal import FINE, FIRM, STOPPED, shown, watched


@click.command("compare", short_help="What differs between the plans of two briefs, and why.")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@FIRM
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON, the same bytes every time.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path), help="Write it as one page (HTML) too.")
def command(old: Path, new: Path, firm: Path | None, as_json: bool, page: Path | None) -> None:  # noqa: FBT001 - click
    """What differs between the plans of two briefs, each with the standing file and the firm's folder beside it.

    The lines, prices and rules that moved come first; then the purchase by slot, new and cured findings, every figure
    that moved with its reason, and records that came, went or changed. --page writes both workings of each figure too.

    Exit code 0: nothing moved, or nothing worse; 1: the new plan has a stop finding that the old one had not; 2: a
    brief can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.outputs.comparing import canonical  # noqa: PLC0415 - as above

    told = watched(lambda tell: api.compare(old, new, tell, firm))
    if page is not None:
        api.write_comparison(told, page, (str(old), str(new)))
    if as_json:
        shown(lambda: sys.stdout.buffer.write(canonical(told).encode()))  # UTF-8 wherever it runs
    else:
        from scantling.cli.comparison import show_comparison  # noqa: PLC0415 - as above

        shown(lambda: show_comparison(told, page))
    raise SystemExit(STOPPED if told.stops else FINE)
