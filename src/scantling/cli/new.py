"""The command new: the first meeting with a client, on a terminal, from a pipe or from a file of answers."""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scantling import UserError
from scantling.cli.terminal import FINE, STOPPED, shown, watched

if TYPE_CHECKING:
    from scantling.api.interviewing import Meeting
    from scantling.brief.answers import Answers
    from scantling.brief.interview import Put

LIKE = "Is it like an office you know? Write like millrace but 12 people, or nothing to begin afresh."


@dataclass(frozen=True)
class Wishes:
    """What the command was told, one field an option."""

    like: str | None = None
    people: int | None = None
    rough: bool = False
    every: bool = False
    answers: Path | None = None
    sheet: bool = False
    paper: str | None = None
    day: str | None = None
    yes: bool = False


def _day(_: click.Context, __: click.Parameter, value: str | None) -> str | None:
    """The day it is planned on, if one is given."""
    from scantling.figures.spelled import spelled  # noqa: PLC0415 - loaded when needed, so that help is quick

    try:
        return spelled(value, date).isoformat() if value is not None else None
    except ValueError as wrong:
        raise click.BadParameter(str(wrong)) from None


@click.command(short_help="The first meeting: questions, a rough price, a brief.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--like", help="Begin with a similar office: a name or a brief's path, as in: millrace but 12 people.")
@click.option("--people", type=int, help="How many people there are, with --like.")
@click.option("--rough", is_flag=True, help="A rough price in ten answers.")
@click.option("--all", "every", is_flag=True, help="Every question, after --rough or --like.")
@click.option("--answers", type=click.Path(path_type=Path), help="All answers from a file; nothing is asked.")
@click.option(
    "--sheet", is_flag=True, help="Write the interview sheet for the meeting, interview.pdf, and ask nothing."
)
@click.option("--paper", type=click.Choice(["A4", "letter"]), help="Paper of the sheet.")
@click.option(
    "--on",
    "day",
    callback=_day,
    metavar="DATE",
    help="The day it is planned on; today if left out (with --answers it must be said).",
)
@click.option("--yes", is_flag=True, help="Write brief.yaml anew even if it was written or changed by hand.")
def command(folder: Path, **given: Any) -> None:
    """Ask what must be asked, in a client's words, and write DIR/brief.yaml.

    At any question: ? says why it is asked and what is assumed, nothing takes the assumption, back goes back, stop
    stops and keeps the answers in DIR/answers.yaml; the same command goes on from there. What an answer changes is
    shown. Without a terminal the answers are read line by line.

    Exit code 0: the brief, or the sheet, is written; 1: stopped before the end, not overwritten, or written but not to
    be planned; 2: the input can't be used.
    """
    from scantling.api.interviewing import Meeting  # noqa: PLC0415 - loaded when needed, so that help is quick

    wishes = Wishes(**given)
    _fits_together(wishes)
    # a script says the day itself, so that it gives the same whenever it runs
    today = "" if wishes.answers is not None else datetime.now(UTC).astimezone().date().isoformat()
    meeting = Meeting(folder, wishes.day or today)
    if wishes.sheet:
        _sheet(meeting, wishes.paper)
        return
    if wishes.answers is not None:
        meeting.script(wishes.answers, _begun(meeting, wishes))
        _finished(meeting, yes=wishes.yes)
        return
    raise SystemExit(_talk(meeting, wishes))


def _begun(meeting: "Meeting", wishes: Wishes) -> "Answers | None":
    """What the options say about a file of answers; None where the file itself says it."""
    from scantling.api.interviewing import like  # noqa: PLC0415 - loaded when needed
    from scantling.brief.answers import Answers, Asking  # noqa: PLC0415 - as above

    if wishes.like is not None:
        return Answers(asking=Asking.PERSONAL, similar=like(meeting, wishes.like, wishes.people))
    return Answers(asking=Asking.ROUGH) if wishes.rough else None


def _fits_together(wishes: Wishes) -> None:
    if wishes.like is not None and wishes.rough:
        raise UserError("--like begins with a similar office and --rough with ten answers; choose one")
    if wishes.people is not None and wishes.like is None:
        raise UserError("--people says for how many a similar office is scaled; add --like millrace")
    if wishes.rough and wishes.every:
        raise UserError("--rough asks ten questions and --all asks every one; choose one")


def _sheet(meeting: "Meeting", paper: str | None) -> None:
    from scantling.api.interviewing_sheet import sheet  # noqa: PLC0415 - the document compiler is heavy

    path = sheet(meeting, paper)
    shown(lambda: click.echo(f"written: {path}"))


# ------------------------------------------------------------------------------------------------------------- the talk


class Lines:
    """Typed lines: from a terminal, or from a pipe, and what is said to the person."""

    def __init__(self) -> None:
        self.live = sys.stdin is not None and sys.stdin.isatty()
        if isinstance(sys.stdin, TextIOWrapper):
            sys.stdin.reconfigure(
                errors="surrogateescape"
            )  # what is no text is refused as an answer, with a sentence

    def say(self, words: str = "", *, bold: bool = False) -> None:
        """To the person; a pipe's answers stay alone on standard output."""
        click.echo(click.style(words, bold=True) if bold else words, err=not self.live)

    def read(self, prompt: str) -> str | None:
        """One line without its end; None when there are no more."""
        click.echo(prompt, nl=self.live is False, err=not self.live)
        line = sys.stdin.readline() if sys.stdin is not None else ""
        return line.rstrip("\r\n") if line else None


def _talk(meeting: "Meeting", wishes: Wishes) -> int:
    """The whole interview; its exit code. An interrupt keeps what was said, as stop does."""
    lines = Lines()
    try:
        _begin(meeting, wishes, lines)
        ended = _ask(meeting, lines)
    except (KeyboardInterrupt, click.Abort):
        ended = False
    if not ended:
        done, many = meeting.progress
        lines.say(f"\nKept in {meeting.folder / 'answers.yaml'}: {done} of about {many} answered. "
                  f"To go on: scantling new {meeting.folder}")  # fmt: skip
        return STOPPED
    return _write(meeting, wishes, lines)


def _begin(meeting: "Meeting", wishes: Wishes, lines: Lines) -> None:
    from scantling.api.interviewing import like  # noqa: PLC0415 - loaded when needed
    from scantling.brief.answers import Asking  # noqa: PLC0415 - as above

    if wishes.like is not None:
        meeting.begin(Asking.PERSONAL, like(meeting, wishes.like, wishes.people))
    elif wishes.rough:
        meeting.begin(Asking.ROUGH)
    elif wishes.every:
        meeting.begin(Asking.ALL)
    elif not meeting.resumed:
        _offer_like(meeting, lines)
    if meeting.theirs() and not wishes.yes:
        path = meeting.folder / "brief.yaml"
        if not lines.live:
            raise UserError(f"{path} was written or changed by hand; add --yes to write it anew")
        lines.say(f"{path} was written or changed by hand; you will be asked before it is written anew.")
    if meeting.resumed:
        done, many = meeting.progress
        lines.say(f"Going on: {done} of about {many} answered.")
    similar = meeting.answers.similar
    if similar is not None:
        lines.say(
            f"Like {similar.name}: {len(similar.scaled)} numbers scaled, the rest kept; all of it assumed, ask."
        )
        for id_, was in similar.scaled.items():
            lines.say(f"  {id_}: {was} -> {similar.said[id_]}")
    lines.say("? says why, nothing takes what stands in [ ], back goes back, stop stops and keeps all.")


def _offer_like(meeting: "Meeting", lines: Lines) -> None:
    """The question before the first: on a terminal only, so that a pipe's lines are answers."""
    from scantling.api.interviewing import like  # noqa: PLC0415 - loaded when needed
    from scantling.brief.answers import Asking  # noqa: PLC0415 - as above

    while lines.live and (typed := (lines.read(f"{LIKE}\n> ") or "").strip()):
        try:
            meeting.begin(Asking.PERSONAL, like(meeting, typed, None))
        except UserError as wrong:
            lines.say(str(wrong))
        else:
            return


def _ask(meeting: "Meeting", lines: Lines) -> bool:
    """Question after question; whether the end was reached."""
    from scantling.api.interviewing import moved  # noqa: PLC0415 - loaded when needed

    quick, title = meeting.quick(), ""
    while (put := meeting.question()) is not None:
        if put.group != title:
            title = put.group
            lines.say(f"\n{title}", bold=True)
        choices = f"\n  ({put.choices})" if put.choices else ""
        typed = lines.read(f"{put.text}{choices}\n[{put.hint}] > ")
        if typed is None:
            return False
        turn = meeting.put(typed)
        for said in turn.says:
            lines.say(f"  {said}")
        if turn.stop:
            return False
        if turn.taken and _whole(put, meeting.question()):
            after = watched(lambda _: meeting.quick(), "Reckoning")
            if change := moved(quick, after):
                lines.say(f"  {change}")
            quick = after
    return True


def _whole(put: "Put", then: "Put | None") -> bool:
    """Whether a small form, or an answer that stands alone, is complete, so that the price is worth reckoning."""
    return then is None or not then.about or (then.about != put.about and bool(put.about))


# ------------------------------------------------------------------------------------------------------------ the brief


def _write(meeting: "Meeting", wishes: Wishes, lines: Lines) -> int:
    """Write the brief, asking first where somebody's own would go."""
    if meeting.theirs() and not wishes.yes and lines.live:
        path = meeting.folder / "brief.yaml"
        answer = lines.read(f"{path} was written or changed by hand. Write it anew? [no] > ")
        if (answer or "").strip() != "yes":
            lines.say(f"{path} stays as it is; the answers are kept in answers.yaml")
            return STOPPED
        wishes = replace(wishes, yes=True)
    _finished(meeting, yes=wishes.yes)
    return FINE


def _finished(meeting: "Meeting", *, yes: bool) -> None:
    """Write, then say the price, its range for ten answers, what stands in the way, and what comes next."""
    from scantling.api.interviewing import price_of  # noqa: PLC0415 - loaded when needed
    from scantling.brief.answers import Asking  # noqa: PLC0415 - as above

    meeting.write(yes=yes)
    told = [f"Written: {meeting.folder / 'brief.yaml'}"]
    try:
        made = watched(lambda _: meeting.plan(), "Reckoning")
    except UserError as wrong:
        told.append(f"No price: {wrong}")
        shown(lambda: click.echo("\n".join(told)))
        raise SystemExit(STOPPED) from None
    told.append(f"Rough price, tax included: {price_of(made)}")
    if made.provisional:
        told.append(
            "Provisional: nothing in the catalogue meets every need; this is the price of what comes nearest."
        )
    if meeting.answers.asking is Asking.ROUGH:
        ends = meeting.range(made)
        told.append(f"Between {ends.low} and {ends.high}, as these end well or badly (assumed, ask):")
        told += [f"  {one}" for one in ends.unknowns]
        if ends.short:
            told.append(
                f"At the {ends.short} end nothing in the catalogue meets every need: that price is of what comes nearest."
            )
    for stop in made.stops:
        told.append(f"stop {stop.finding.code}: {stop.says}")
    rest = " --all" if meeting.answers.asking is not Asking.ALL else ""
    more = f"scantling new {meeting.folder}{rest} asks the rest; " if rest else ""
    told.append(f"Next: {more}scantling plan {meeting.folder / 'brief.yaml'}")
    say: Callable[[], None] = lambda: click.echo("\n".join(told))  # noqa: E731 - shown wants something to call
    shown(say)
