"""The command that writes what a plan issued, and what was bought, into the standing file: shown first, asked, then written."""

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scantling.cli.terminal import BRIEF, FINE, FIRM, STOPPED, agreed, shown, watched

if TYPE_CHECKING:
    from scantling.api import Kept


def _day(_: click.Context, __: click.Parameter, word: str | None) -> date | None:
    """A day as year-month-day."""
    try:
        return date.fromisoformat(word) if word else None
    except ValueError:
        raise click.BadParameter(f"{word!r} is not a day; write one like 2026-11-25") from None


@click.command("keep", short_help="Write what a plan issued, and bought, into standing.yaml.")
@BRIEF
@click.option("--bought", is_flag=True, help="The parts too, as bought at the plan's prices.")
@click.option("--on", callback=_day, metavar="DATE", help="The day they were bought.  [default: the brief's as_of]")
@click.option(
    "--replace", is_flag=True, help="Also write over answers that stand there and that the plan says otherwise."
)
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option("--json", "as_json", is_flag=True, help="What would be written, as JSON; written only with --yes.")
@FIRM
def command(brief: Path, **said: Any) -> None:
    """Write what the plan issued (networks and addresses of both families, names) into standing.yaml beside the brief.

    From then on every plan keeps it: nothing that was issued moves, whatever is added to the brief. With --bought the
    parts are written down as well, and cost nothing in the next plan.

    Shows the lines first and asks. Lines are only added; what stands there already, remarks and what was written by
    hand, stays. An answer that the plan says otherwise is refused with its place, unless --replace is given.

    Exit code 0: written, or nothing to write; 1: not agreed to; 2: the brief or what stands can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    wish = api.Wish(said["bought"], said["on"], said["replace"])
    made = watched(lambda tell: api.kept(brief, wish, said["firm"], tell))
    shown(lambda: click.echo(json.dumps(_as_json(made), indent=1) if said["as_json"] else "\n".join(_told(made))))
    if made.nothing or (said["as_json"] and not said["yes"]):
        raise SystemExit(FINE)
    if not agreed(f"Write this into {made.file}?", said["yes"]):
        click.echo("nothing was written", err=True)
        raise SystemExit(STOPPED)
    api.keep(made)
    if not said["as_json"]:
        shown(lambda: click.echo(f"wrote {made.file}"))
    raise SystemExit(FINE)


def _told(made: "Kept") -> list[str]:
    """The lines to add and the answers to change, for a person."""
    from difflib import ndiff  # noqa: PLC0415 - loaded when needed

    from scantling.figures.spelled import shown as printable  # noqa: PLC0415 - as above

    if made.nothing:
        return [f"{made.file.name} says all of it already"]
    lines = ndiff(made.before.splitlines(), made.after.splitlines())
    told = [printable(line.rstrip(), 200) for line in lines if line[:2] in ("+ ", "- ") and line[2:].strip()]
    stops = [told.finding.code for told in made.plan.stops]
    if stops:
        told.append(
            f"\nThis plan has findings that stop it ({', '.join(stops)}): nothing should be built from it yet."
        )
    return told


def _as_json(made: "Kept") -> dict[str, Any]:
    """What would be written, as plain data."""
    return {
        "file": made.file.name,
        "added": [
            {"path": ".".join(line.path), "answers": line.answers if isinstance(line.answers, str) else dict(line.answers)}
            for line in made.added
        ],
        "replaced": [{"path": ".".join(one.path), "there": one.there, "here": one.here} for one in made.replaced],
    }  # fmt: skip
