"""The command that holds two plans against each other: what moved, why, and what it costs."""

import sys
from pathlib import Path

import click

from scantling import UserError
from scantling.cli.terminal import FINE, FIRM, STOPPED, shown, watched

TWO = 2


@click.command("compare", short_help="What differs between the plans of two briefs, and why.")
@click.argument("briefs", metavar="OLD NEW", type=click.Path(path_type=Path), nargs=-1)
@FIRM
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON, the same bytes every time.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path), help="Write it as one page (HTML) too.")
@click.option("--options", is_flag=True, help="Lay other ways to build one brief beside it instead: [BRIEF].")
@click.pass_context
def command(
    context: click.Context,
    briefs: tuple[Path, ...],
    firm: Path | None,
    page: Path | None,
    *,
    as_json: bool,
    options: bool,
) -> None:
    """What differs between the plans of two briefs, each with the standing file and the firm's folder beside it.

    The lines, prices and rules that moved come first; then the purchase by slot, new and cured findings, every figure
    that moved with its reason, and records that came, went or changed. --page writes both workings of each figure too.

    Exit code 0: nothing moved, or nothing worse; 1: the new plan has a stop finding that the old one had not; 2: a
    brief can't be used.
    """
    if options:
        _options(context, briefs, firm, page, as_json=as_json)
        return
    if len(briefs) != TWO:
        raise UserError("write it as: scantling compare OLD NEW, two briefs")
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.outputs.comparing import canonical  # noqa: PLC0415 - as above

    old, new = briefs
    told = watched(lambda tell: api.compare(old, new, tell, firm))
    if page is not None:
        api.write_comparison(told, page, (str(old), str(new)))
    if as_json:
        shown(lambda: sys.stdout.buffer.write(canonical(told).encode()))  # UTF-8 wherever it runs
    else:
        from scantling.cli.comparison import show_comparison  # noqa: PLC0415 - as above

        shown(lambda: show_comparison(told, page))
    raise SystemExit(STOPPED if told.stops else FINE)


def _options(
    context: click.Context, briefs: tuple[Path, ...], firm: Path | None, page: Path | None, *, as_json: bool
) -> None:
    """The same as `scantling options`. Raises UserError where more than one brief is named."""
    from scantling.cli.options import command as options  # noqa: PLC0415 - loaded when needed

    if len(briefs) > 1 or page is not None:
        raise UserError("write it as: scantling compare --options [BRIEF], one brief and no page")
    context.invoke(options, brief=briefs[0] if briefs else Path("brief.yaml"), firm=firm, as_json=as_json)
