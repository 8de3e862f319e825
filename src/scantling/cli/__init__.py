"""The command line: thin wrappers over the api; heavy modules are loaded inside the commands."""

import gc
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path

import click

from scantling import UserError, __version__, defect
from scantling.cli.terminal import BAD_INPUT, BRIEF, FINE, FIRM, STOPPED, shown, watched

DEFECT = 70  # EX_SOFTWARE of sysexits.h
SELDOM = 20_000, 20, 50
"""A command makes much and drops little, so what has become rubbish is looked for after many new things, not after few."""
LAZY: dict[str, str] = {
    "compare": "scantling.cli.compare",
    "files": "scantling.cli.files",
    "set": "scantling.cli.set",
    "keep": "scantling.cli.keep",
    "new": "scantling.cli.new",
    "open": "scantling.cli.open",
    "options": "scantling.cli.options",
    "prices": "scantling.cli.prices",
    "prove": "scantling.cli.prove",
    "rehearse": "scantling.cli.rehearse",
}
"""Commands in modules of their own (each exports `command`), loaded only when they are called or listed."""


class Door(click.Group):
    """The group of all commands; those of LAZY are imported when they are asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names in order."""
        return sorted({*super().list_commands(ctx), *LAZY})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, None where there is none."""
        if cmd_name in LAZY:
            found = import_module(LAZY[cmd_name]).command
            assert isinstance(found, click.Command)
            return found
        return super().get_command(ctx, cmd_name)


@click.group(cls=Door, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="scantling")
def cli() -> None:
    """Plan a one-server office from a written brief, with every number explained."""


@cli.command(short_help="What to buy, machines, networks, copies, rough price.")
@BRIEF
@FIRM
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON, the same bytes every time.")
@click.option(
    "--weigh",
    is_flag=True,
    help="Also the next best sets, the price of every demand, and why the rest is never chosen.",
)
def plan(brief: Path, firm: Path | None, as_json: bool, weigh: bool) -> None:  # noqa: FBT001 - click passes flags by name
    """What to buy, machines, networks, storage, copies, rough price, findings.

    Exit code 0: fine; 1: a stop finding stands; 2: the input can't be used.
    """
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick

    made = watched(lambda tell: api.plan(brief, tell, firm))
    weighed = watched(lambda _: api.weigh(made), "Weighing what else could be bought") if weigh else None
    if as_json:
        from scantling.plan.telling import canonical  # noqa: PLC0415 - as above

        whole = canonical(made) if weighed is None else api.weighed_json(made, weighed)
        shown(lambda: sys.stdout.buffer.write(whole.encode()))  # UTF-8 wherever it runs
    else:
        from scantling.cli.showing import show_plan  # noqa: PLC0415 - as above

        shown(lambda: show_plan(made, weighed))
    raise SystemExit(STOPPED if made.stops else FINE)


@cli.command(short_help="The working of one figure, as a tree.")
@click.argument("id_", metavar="ID")
@click.argument("brief", type=click.Path(path_type=Path), default="brief.yaml")
@FIRM
def why(id_: str, brief: Path, firm: Path | None) -> None:
    """The working of one figure, as a tree down to brief line, catalogue row, standard or house rule."""
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.cli.showing import show_working  # noqa: PLC0415 - as above

    working = api.why(watched(lambda tell: api.plan(brief, tell, firm)), id_)
    shown(lambda: show_working(working))


@cli.command()
@BRIEF
@FIRM
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True, help="Folder to write to."
)
@click.option("--summary", is_flag=True, help="Print the plan and where to look next.")
@click.option("--options", "beside", is_flag=True, help="Lay the firm options side by side in the book, too.")
@click.option(
    "--weigh/--no-weigh", default=True, show_default=True, help="Say in the book what else could be bought."
)
@click.option(
    "--rehearsal",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Bind in the record of a rehearsal, rehearsal.json.",
)
def book(brief: Path, firm: Path | None, out: Path, rehearsal: Path | None, *, summary: bool, **wanted: bool) -> None:
    """The plan, its drawings and the book, as files."""
    from scantling import api  # noqa: PLC0415 - loaded when needed, so that help is quick
    from scantling.cli.showing import show_plan, show_written  # noqa: PLC0415 - as above

    rehearsed = api.read_rehearsal(rehearsal) if rehearsal is not None else None
    made = watched(lambda tell: api.plan(brief, tell, firm))
    others = watched(lambda _: api.options(brief, firm), "Planning every option") if wanted["beside"] else ()
    weighed = watched(lambda _: api.weigh(made), "Weighing what else could be bought") if wanted["weigh"] else None
    written = watched(lambda _: api.book(made, out, others, weighed, rehearsed), "Writing the book")
    if summary:
        shown(lambda: show_plan(made))
    shown(lambda: show_written(written, out, brief))
    raise SystemExit(STOPPED if made.stops else FINE)


@cli.command(short_help="The script that lets a shell complete commands.")
@click.argument("shell", type=click.Choice(["bash", "zsh", "fish"]))
def completion(shell: str) -> None:
    """The script that lets a shell complete commands and options; put it where the shell reads such scripts."""
    from click.shell_completion import get_completion_class  # noqa: PLC0415 - loaded when needed

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(cli, {}, "scantling", "_SCANTLING_COMPLETE").source())


def main() -> None:
    """Run a command; whatever goes wrong becomes one sentence and an exit code, never a traceback."""
    gc.set_threshold(*SELDOM)
    try:
        shown(lambda: cli(prog_name="scantling", standalone_mode=False))
    except click.exceptions.Exit as end:
        raise SystemExit(end.exit_code) from None
    except click.ClickException as wrong:
        _told(wrong.show)
        raise SystemExit(BAD_INPUT) from None
    except UserError as wrong:
        _tell(str(wrong))
        raise SystemExit(BAD_INPUT) from None
    except (KeyboardInterrupt, click.Abort):
        _tell("stopped; nothing was left half-written")
        raise SystemExit(BAD_INPUT) from None
    except Exception as wrong:  # noqa: BLE001 - the last door: whatever it is, the person gets a sentence
        _tell(defect(wrong))
        raise SystemExit(DEFECT) from None


def _tell(words: str) -> None:
    """To the person, where standard error can be written."""
    _told(lambda: click.echo(words, err=True))


def _told(say: Callable[[], object]) -> None:
    """Say it; where standard error can't be written nobody is told, and the exit code alone says it."""
    try:
        say()
        if sys.stderr is not None:
            sys.stderr.flush()
    except OSError:
        sys.stderr = None  # what is left in it would change the exit code on the way out
