"""The command `keep` as a person and a script meet it: shown, asked, written, and exit codes."""

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from offices import BRIEFS
from scantling import UserError, cli


@pytest.fixture
def fold(tmp_path: Path) -> Path:
    """Fold & Fell's brief, nothing beside it."""
    return Path(shutil.copy(BRIEFS["fold"], tmp_path / "brief.yaml"))


def standing(brief: Path) -> Path:
    """The file beside it."""
    return brief.with_name("standing.yaml")


def run(*words: str, said: str = "") -> tuple[int, str]:
    """Exit code and all that was said, in a pipe."""
    done = CliRunner().invoke(cli.cli, list(words), input=said)
    if isinstance(done.exception, UserError):
        return 2, str(done.exception)
    return done.exit_code, done.output


def test_the_command_shows_the_lines_and_asks_nobody_in_a_pipe(fold: Path) -> None:
    code, told = run("keep", str(fold))
    assert code == 2
    assert "add --yes" in told
    assert not standing(fold).exists()


def test_the_command_writes_when_it_may(fold: Path) -> None:
    code, told = run("keep", str(fold), "--bought", "--on", "2026-12-01", "--yes")
    assert code == 0
    assert "+   block: 10.71.0.0/16" in told
    assert "on: 2026-12-01" in told
    assert not [line for line in told.splitlines() if line.startswith("- ")]
    assert run("keep", str(fold), "--bought", "--yes") == (0, "standing.yaml says all of it already\n")


@pytest.mark.parametrize(("answer", "code"), [("y\n", 0), ("n\n", 1), ("\n", 1)])
def test_the_command_does_as_it_is_told(fold: Path, monkeypatch: pytest.MonkeyPatch, answer: str, code: int) -> None:
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda _: True, raising=False)
    assert run("keep", str(fold), said=answer)[0] == code
    assert standing(fold).exists() is (code == 0)


def test_the_command_tells_a_program_and_writes_only_with_yes(fold: Path) -> None:
    code, told = run("keep", str(fold), "--json")
    assert code == 0
    assert {one["path"] for one in json.loads(told)["added"]} >= {"issued.block", "issued.zones.staff"}
    assert not standing(fold).exists()
    assert run("keep", str(fold), "--json", "--yes")[0] == 0
    assert standing(fold).exists()


def test_a_day_that_is_none_is_refused(fold: Path) -> None:
    code, told = run("keep", str(fold), "--on", "2026-02-30")
    assert code == 2
    assert "is not a day" in told
