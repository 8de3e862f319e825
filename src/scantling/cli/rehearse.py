"""The command that stands the planned office up on this machine and tries it with real packets."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from scantling import UserError
from scantling.cli.terminal import BRIEF, FINE, FIRM, STOPPED, shown, stepwise, tell_step, watched

T = TypeVar("T")
CLEAR = "\r\x1b[K"
YEARS = click.IntRange(0, 5)
FAMILIES = {"4": (4,), "6": (6,), "both": (4, 6)}


@click.command("rehearse", short_help="The planned office stood up here, tried with real packets.")
@BRIEF
@FIRM
@click.option("--everyone", is_flag=True, help="Every device and visitor, not one of each row.")
@click.option("--year", metavar="YEAR", type=YEARS, default=0, show_default=True, help="The office grown by then.")
@click.option(
    "--family", type=click.Choice(["4", "6", "both"]), default="both", show_default=True, help="Which IP devices use."
)
@click.option("--drill", is_flag=True, help="Also put faults into it, and see whether each is found.")
@click.option("--planted", is_flag=True, help="Also break the rules, and see whether that is noticed.")
@click.option("--busiest-day", "busiest", is_flag=True, help="Also live the busiest day, hastened.")
@click.option("--live", is_flag=True, help="Keep the office up afterwards, to look around.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the record and the drawings.")
@click.option("--json", "as_json", is_flag=True, help="The evidence as JSON, the same bytes every time.")
def command(brief: Path, firm: Path | None, family: str, out: Path | None, *, as_json: bool, **wished: Any) -> None:
    """The planned office stood up on this machine, from the plan's own files, and tried with real packets.

    Each device is a namespace of its own; the address, name and time servers and the packet filter are real and read the
    generated files. Every device takes an address, looks names up, and tries what it may and what it may not. No rights are
    needed, nothing is written on the disk, nothing is left when it ends. Where this machine does not let that be done, the
    files are read by their own programs and the rules are proved, and that is said.

    What is rehearsed is the generated files, not the box that will be installed.

    Exit code 0: everything went as meant; 1: something did not, or nothing could be stood up; 2: the input can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.cli import living  # noqa: PLC0415 - as above

    if out is not None:
        api.may_write(out)
    if as_json and wished["live"]:
        raise UserError("--json writes JSON alone, and --live talks with you: leave one of them out")
    made = watched(lambda tell: api.planned(brief, tell, firm).plan)  # no second solver: it would stay in memory
    wish = api.RehearsalWish(families=FAMILIES[family], **wished)
    who = living.person(brief, firm, out) if wish.live else None
    found = stepping(lambda tell: api.rehearse(made, wish, tell, who))
    papers = api.write_rehearsal(api.proved(made), found, out) if out is not None else None
    if as_json:
        shown(lambda: sys.stdout.buffer.write(api.rehearsed_json(found).encode()))
    else:
        from scantling.cli.rehearsed import show_papers, show_rehearsed  # noqa: PLC0415 - as above

        if who is None or found.why_not:  # whoever is in the office has seen it already
            shown(lambda: show_rehearsed(found))
        if papers is not None:
            shown(lambda: show_papers(papers, str(out)))
    raise SystemExit(FINE if found.well else STOPPED)


def stepping(work: Callable[[Callable[[str], None]], T]) -> T:
    """Do it with each step told on one line of a terminal; a pipe hears nothing, unless it asks for the steps.

    No thread: the office is forked from here.
    """
    if stepwise():
        return work(tell_step)
    told = sys.stderr is not None and sys.stderr.isatty()

    def tell(words: str) -> None:
        if told:
            sys.stderr.write(f"{CLEAR}{words} …")
            sys.stderr.flush()

    try:
        return work(tell)
    finally:
        if told:
            sys.stderr.write(CLEAR)
            sys.stderr.flush()
