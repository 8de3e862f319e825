"""The command that changes one answer of a brief by its id: one line differs, remarks stay."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from scantling import UserError
from scantling.cli.terminal import FINE, STOPPED, agreed, shown, watched

if TYPE_CHECKING:
    from scantling.api import Changed

DEFAULT = "brief.yaml"


@click.command("set", short_help="Change one answer of a brief by its id.")
@click.argument("id_", metavar="ID")
@click.argument("rest", metavar="VALUE [BRIEF]", nargs=-1)
@click.option("--because", metavar="TEXT", default="", help="The reason of a pin.")
@click.option("--remove", is_flag=True, help="Take the answer, or the whole pin, out: ID [BRIEF].")
@click.option("--plan", "show_plan", is_flag=True, help="Show what moves in the plan.")
@click.option("--yes", is_flag=True, help="Write it without asking.")
def command(id_: str, rest: tuple[str, ...], because: str, remove: bool, show_plan: bool, yes: bool) -> None:  # noqa: FBT001 - click
    """Change one answer of a brief by its id, or add it where it is missing; remarks and all other lines stay.

    An id is the way to the answer: people.roles.office.heads, services.files.down. pins.ID sets a figure or a choice by
    hand and needs --because. The line is shown before and after; a person at a terminal is asked first. Nothing is
    written that would not be read as a brief, nor over what somebody else has changed meanwhile. A value that begins
    with a hyphen stands after --.

    Exit code 0: fine; 1: not agreed, or with --plan a stop finding stands; 2: the edit or the brief can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    value, brief = _given(rest, remove)
    edit = api.edited(brief, id_, value, because)
    if edit.nothing:
        shown(lambda: click.echo(f"{id_} is {edit.old} already; nothing to write"))
        raise SystemExit(FINE)
    shown(lambda: _lines(edit, brief))
    stopped = show_plan and _moved(edit, brief)
    if not agreed("Write it?", yes or not _asked()):
        click.echo("nothing was written", err=True)
        raise SystemExit(STOPPED)
    api.set_value(brief, id_, value, edit.seen, because)
    raise SystemExit(STOPPED if stopped else FINE)


def _asked() -> bool:
    """Whether a person sits there to be asked; a script has said what it wants."""
    return sys.stdin is not None and sys.stdin.isatty()


def _given(rest: tuple[str, ...], remove: bool) -> tuple[str | None, Path]:  # noqa: FBT001 - a flag of the command
    """Value and brief. Raises UserError where one too many or too few is given."""
    value, briefs = (None, rest) if remove else (rest[0] if rest else None, rest[1:])
    if (value is None) is not remove or len(briefs) > 1:
        wanted = "ID [BRIEF] --remove" if remove else "ID VALUE [BRIEF]"
        raise UserError(f"write it as: scantling set {wanted}; a value of several words stands in quotes")
    return value, Path(briefs[0] if briefs else DEFAULT)


def _lines(edit: "Changed", brief: Path) -> None:
    """The lines before and after, with the number of the first."""
    click.echo(f"{brief}:{edit.line}")
    for sign, lines in (("-", edit.line_before), ("+", edit.line_after)):
        for line in lines.splitlines():
            click.echo(f"{sign} {line}")


def _moved(edit: "Changed", brief: Path) -> bool:
    """Show in short what moves in the plan, and tell whether a stop finding stands then. Raises UserError."""
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.cli.comparison import show_in_short  # noqa: PLC0415 - as above

    old = watched(lambda tell: api.planned(brief, tell, written=edit.text_before))
    new = watched(lambda tell: api.planned(brief, tell, written=edit.text_after))
    shown(lambda: show_in_short(api.compare_planned(old, new)))
    return bool(new.plan.stops)
