"""What every command needs of the terminal: signs of life, output that survives a closed pipe, exit codes."""

import os
import sys
from collections.abc import Callable
from io import TextIOWrapper
from pathlib import Path
from time import monotonic
from typing import Any

import click

from scantling import STEP, STEPS, UserError

FINE, STOPPED, BAD_INPUT = 0, 1, 2
SELDOM = 0.2  # seconds between two lines of one step
BRIEF = click.argument("brief", type=click.Path(path_type=Path), default="brief.yaml")
FIRM = click.option(
    "--firm",
    type=click.Path(path_type=Path),
    help="Folder of the firm's own prices, articles and house rules.  [default: firm beside the brief, if it is there]",
)


def watched(work: Callable[[Callable[[int], None]], Any], label: str = "Looking for the cheapest set") -> Any:
    """Do it with a sign of life on a terminal; a pipe hears nothing, unless it asks for the steps."""
    if stepwise():
        tell_step(label)
        return work(_seldom(label))
    if sys.stderr is None or not sys.stderr.isatty():
        return work(lambda _: None)
    from rich.console import Console  # noqa: PLC0415 - loaded when needed, so that help is quick

    console = Console(stderr=True)
    with console.status(f"{label} …") as status:
        return work(lambda nodes: status.update(f"{label}: {nodes:,} sets looked at …"))


def stepwise() -> bool:
    """Whether a program watches, so that each step is to be told on a line of its own."""
    return sys.stderr is not None and bool(os.environ.get(STEPS))


def tell_step(words: str) -> None:
    """One step, on one line."""
    from scantling.figures.spelled import shown as printable  # noqa: PLC0415 - loaded when needed, so that help is quick

    if sys.stderr is not None:
        sys.stderr.write(f"{STEP}{printable(words, 200)}\n")
        sys.stderr.flush()


def _seldom(label: str) -> Callable[[int], None]:
    """Tells how many sets were looked at, but not every time."""
    told = monotonic()

    def tell(nodes: int) -> None:
        nonlocal told
        if monotonic() - told >= SELDOM:
            told = monotonic()
            tell_step(f"{label}: {nodes:,} sets looked at")

    return tell


def shown(show: Callable[[], object]) -> None:
    """Print to the end; a reader that has gone (`| head`) changes nothing, the exit code included."""
    if sys.stdout is None:
        raise UserError("can't write the answer: standard output is closed")
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # a letter that this terminal can't write
    try:
        show()
        sys.stdout.flush()
    except BrokenPipeError:
        _mute()
    except OSError as wrong:
        if wrong.filename is not None:  # a file that the command came upon, not the answer
            raise _unusable(wrong) from None
        _mute()
        raise UserError(f"can't write the answer: {wrong.strerror or wrong}") from None


def _unusable(wrong: OSError) -> UserError:
    """What to say of a file that can't be used."""
    from scantling.figures.spelled import shown as printable  # noqa: PLC0415 - loaded when needed, so that help is quick

    return UserError(f"can't use {printable(str(wrong.filename), 100)}: {wrong.strerror or wrong}")


def agreed(question: str, yes: bool) -> bool:  # noqa: FBT001 - what --yes says
    """Whether the person agrees. Raises UserError where nobody can be asked: standard input is no terminal."""
    if yes:
        return True
    if sys.stdin is None or not sys.stdin.isatty():
        raise UserError(f"{question} Nobody can be asked here: add --yes to agree. Nothing was changed")
    return click.confirm(question, default=False, err=True)


def _mute() -> None:
    """What is left to print goes nowhere, so that nothing fails on the way out."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
