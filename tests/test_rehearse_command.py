"""The command rehearse: options, exit codes, what it writes, bad input, Ctrl-C; with invented rehearsals, and once for real."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from offices import BRIEFS, ROOT
from rehearsal_samples import EVERY, SMALL, WRONG
from scantling import api, cli
from scantling.cli.terminal import BAD_INPUT, FINE, STOPPED
from scantling.trials.rehearsal.report import evidence
from scantling.trials.rehearsal.results import Rehearsed
from scantling.trials.rehearsal.sandbox import RehearsalError
from scantling.trials.rehearsal.wish import Wish

FOLD = str(BRIEFS["fold"])
ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "LC_ALL": "C.UTF-8"}


def flat(text: str) -> str:
    """On one line, as if the page were as wide as it likes."""
    return " ".join(text.split())


# ------------------------------------------------------------------------------------------------------------ the command


class Asked:
    """Stands in for the verb: notes what is wished, and gives back what was invented."""

    def __init__(self, found: Rehearsed | BaseException) -> None:
        self.found, self.wish = found, Wish()

    def __call__(self, _made: Any, wish: Wish, tell: Callable[[str], None], _who: Any = None) -> Rehearsed:
        """What was invented."""
        self.wish = wish
        tell("trying")
        if isinstance(self.found, BaseException):
            raise self.found
        return self.found


def run(monkeypatch: pytest.MonkeyPatch, found: Rehearsed | BaseException, *words: str) -> tuple[int, Asked]:
    """The command as its door opens it; exit code, and what was asked of the verb."""
    asked = Asked(found)
    monkeypatch.setattr(api, "rehearse", asked)
    monkeypatch.setattr(sys, "argv", ["scantling", "rehearse", FOLD, *words])
    with pytest.raises(SystemExit) as end:
        cli.main()
    assert isinstance(end.value.code, int)
    return end.value.code, asked


@pytest.mark.parametrize(("name", "code"), [("small", FINE), ("large", FINE), ("wrong", STOPPED), ("bare", STOPPED)])
def test_the_exit_code_says_whether_all_went_as_meant(name: str, code: int, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run(monkeypatch, EVERY[name])[0] == code


def test_options_reach_the_verb(monkeypatch: pytest.MonkeyPatch) -> None:
    assert run(monkeypatch, SMALL)[1].wish == Wish()
    words = ("--everyone", "--year", "3", "--family", "6", "--drill", "--planted", "--busiest-day", "--live")
    wished = run(monkeypatch, SMALL, *words)[1].wish
    assert (wished.everyone, wished.year, wished.families) == (True, 3, (6,))
    assert (wished.drill, wished.planted, wished.busiest, wished.live) == (True, True, True, True)


def test_json_is_the_evidence_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    code, _ = run(monkeypatch, WRONG, "--json")
    assert code == STOPPED
    assert capfdbinary.readouterr() == (evidence(WRONG).encode("ascii"), b"")


def test_out_leaves_record_and_drawings(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = run(monkeypatch, WRONG, "--out", str(tmp_path / "a"))
    assert code == STOPPED
    assert api.read_rehearsal(tmp_path / "a" / "rehearsal.json") == WRONG
    for name in ("T-1.svg", "T-2-night.svg", "T-3.svg"):
        assert name in capsys.readouterr().out or (tmp_path / "a" / name).is_file()
    assert run(monkeypatch, SMALL, "--out", str(tmp_path / "a"))[0] == FINE
    assert "Of an earlier rehearsal, and left there: T-2-night.svg" in flat(capsys.readouterr().out)


def test_a_folder_that_cannot_be_written_is_told_before_anything_is_stood_up(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("x", "utf-8")
    code, asked = run(monkeypatch, SMALL, "--out", str(tmp_path / "file"), "--drill")
    assert code == BAD_INPUT
    assert not asked.wish.drill
    assert "is a file; name a folder with --out" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (RehearsalError("the office died: kea-dhcp4 said: no such port"), "kea-dhcp4 said: no such port"),
        (KeyboardInterrupt(), "stopped; nothing was left half-written"),
    ],
)
def test_what_ends_a_rehearsal_is_one_sentence(
    wrong: BaseException, says: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = run(monkeypatch, wrong)
    told = capsys.readouterr()
    assert (code, told.out) == (BAD_INPUT, "")
    assert says in told.err
    assert "Traceback" not in told.err


WRONG_WORDS = [
    (("--year", "9"), "0<=x<=5"), (("--year", "x"), "not a valid integer"), (("--family", "5"), "'5' is not one of '4', '6'"),
    (("--everone",), "--everyone"), (("there-is-none.yaml",), "there-is-none.yaml"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), WRONG_WORDS)
def test_bad_input_ends_with_two_and_a_sentence(words: tuple[str, ...], says: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "rehearse", *words], env=ENV, capture_output=True, text=True, check=False
    )
    assert done.returncode == BAD_INPUT
    assert says in done.stderr
    assert not done.stdout
    assert "Traceback" not in done.stderr


def test_help_of_every_option_fits_one_line() -> None:
    """At 80 letters, as a terminal shows it; what all commands share is left out."""
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "rehearse", "--help"],
        env={**ENV, "COLUMNS": "80"}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    options = done.stdout.partition("Options:\n")[2].splitlines()
    shared = next(place for place, line in enumerate(options) if "--firm" in line)
    assert all(line.lstrip().startswith("-") for line in options[shared + 4 :]), options
    assert "not the box" in done.stdout


# ---------------------------------------------------------------------------------------------------------- for real, once


def test_it_is_really_stood_up_and_the_json_is_alike(tmp_path: Path) -> None:
    """The smallest example twice, as a person starts it: all as meant, the same bytes, nothing on standard error."""
    words = [sys.executable, "-m", "scantling", "rehearse", FOLD, "--json", "--out", str(tmp_path)]
    one, two = (subprocess.run(words, env=ENV, capture_output=True, check=False) for _ in range(2))
    assert (one.returncode, one.stderr) == (FINE, b"")
    assert one.stdout == two.stdout
    told = json.loads(one.stdout)
    assert told["compared"]["well"] is True
    assert told["compared"]["agreement"]["agree"] == told["compared"]["agreement"]["probes"] > 1000
    kept = api.read_rehearsal(tmp_path / "rehearsal.json")
    assert evidence(kept).encode("ascii") == two.stdout
    assert not api.of_another_plan(api.plan(BRIEFS["fold"]), kept)


def test_ctrl_c_ends_it_at_once() -> None:
    """When the office is being built, and a little later: the sentence, the exit code, within two seconds.

    On a machine that has other work it may take one more try to see it in that time.
    """
    for later in (0.0, 0.3):
        assert any(ended_by_ctrl_c(later) < 2 for _ in range(4))


def ended_by_ctrl_c(later: float) -> float:
    """How long a rehearsal takes to end from Ctrl-C, so long after it has begun to build; it ends as it should."""
    words = [sys.executable, "-m", "scantling", "rehearse", FOLD]
    with subprocess.Popen(words, env=ENV, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as going:
        children = Path(f"/proc/{going.pid}/task/{going.pid}/children")
        end = time.monotonic() + 120
        while not children.read_text("ascii") and time.monotonic() < end:
            time.sleep(0.005)
        time.sleep(later)
        begun = time.monotonic()
        going.send_signal(signal.SIGINT)
        out, err = going.communicate(timeout=60)
        seconds = time.monotonic() - begun
    assert (going.returncode, out) == (BAD_INPUT, "")
    assert err.strip() == "stopped; nothing was left half-written"
    return seconds
