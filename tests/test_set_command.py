"""`scantling set` as a person and a script meet it: the line before and after, what moves, exit codes, the question."""

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from offices import changed, millrace
from saving import HEADS, LINE, answer, environment


@pytest.fixture
def brief(tmp_path: Path) -> Path:
    """A Millrace of one's own."""
    path = tmp_path / "brief.yaml"
    path.write_text(millrace(), encoding="utf-8")
    return path


def command(*words: str, folder: Path) -> "subprocess.CompletedProcess[str]":
    """`scantling set`, as a script runs it."""
    return subprocess.run(
        [sys.executable, "-m", "scantling", "set", *words],
        cwd=folder, env=environment(), text=True, capture_output=True, check=False, stdin=subprocess.DEVNULL,
    )  # fmt: skip


def test_the_command_shows_the_line_before_and_after(brief: Path) -> None:
    done = command(HEADS, "30", folder=brief.parent)
    assert done.returncode == 0, done.stderr
    where, before, after = done.stdout.splitlines()
    assert where == f"brief.yaml:{LINE}"
    assert before == f"- {millrace().splitlines()[LINE - 1]}"
    assert after == before.replace("- ", "+ ", 1).replace("heads: 40", "heads: 30")
    assert brief.read_text(encoding="utf-8") == changed(millrace(), "heads: 40", "heads: 30")
    again = command(HEADS, "30", folder=brief.parent)
    assert (again.returncode, again.stdout) == (0, f"{HEADS} is 30 already; nothing to write\n")


def test_the_command_takes_out_and_pins(brief: Path) -> None:
    id_ = "pins.host.cores.needed"
    assert command(id_, "30", "brief.yaml", "--because", "room to grow", folder=brief.parent).returncode == 0
    assert answer(brief, "office.name") == "The Millrace Arts Centre"
    assert "host.cores.needed: {value: 30, because: room to grow}" in brief.read_text(encoding="utf-8")
    done = command(id_, "brief.yaml", "--remove", folder=brief.parent)
    assert done.returncode == 0, done.stderr
    assert brief.read_text(encoding="utf-8") == millrace()


def test_the_command_shows_what_moves(brief: Path) -> None:
    done = command("budget.once", "1000 EUR", "--plan", folder=brief.parent)
    assert done.returncode in (0, 1), done.stderr
    assert "What is to buy costs as before" in done.stdout
    assert "figures moved" in done.stdout
    assert answer(brief, "budget.once") == "1000 EUR"


WRONG_COMMANDS = [
    ((HEADS,), "scantling set ID VALUE [BRIEF]"),
    ((HEADS, "30", "brief.yaml", "more"), "scantling set ID VALUE [BRIEF]"),
    ((HEADS, "a", "b", "--remove"), "scantling set ID [BRIEF] --remove"),
    ((HEADS, "many"), f"brief.yaml:{LINE}:"),
    (("offise.name", "x"), "did you mean office.name?"),
    ((HEADS, "30", "none.yaml"), "no such file; there is brief.yaml"),
    (("pins.host.cores.needed", "30"), "a pin needs its reason"),
    (("pins.host.cores.neded", "30", "--because", "so"), "did you mean host.cores.needed?"),
]


@pytest.mark.parametrize(("words", "says"), WRONG_COMMANDS)
def test_a_command_that_cannot_be_done_ends_with_2(brief: Path, words: tuple[str, ...], says: str) -> None:
    done = command(*words, folder=brief.parent)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert brief.read_text(encoding="utf-8") == millrace()


@pytest.mark.parametrize(("said", "code", "heads"), [(b"n\n", 1, "40"), (b"\n", 1, "40"), (b"y\n", 0, "30")])
def test_a_person_at_a_terminal_is_asked(brief: Path, said: bytes, code: int, heads: str) -> None:
    """A pseudo-terminal: the answer decides."""
    ours, theirs = pty.openpty()
    words = [sys.executable, "-m", "scantling", "set", HEADS, "30"]
    one = subprocess.Popen(
        words, cwd=brief.parent, env=environment(), stdin=theirs, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    os.write(ours, said)
    _, told = one.communicate(timeout=60)
    os.close(ours)
    os.close(theirs)
    assert b"Write it?" in told
    assert (one.returncode, answer(brief, HEADS)) == (code, heads)
