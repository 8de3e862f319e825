"""The promises of the one door, ./dev."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def dev(*words: str, home: str) -> subprocess.CompletedProcess[str]:
    """Run ./dev with nothing of a person's surroundings but the path to programs."""
    surroundings = {"PATH": os.environ["PATH"], "HOME": home}
    command = [sys.executable, str(ROOT / "dev"), *words]
    return subprocess.run(command, env=surroundings, text=True, capture_output=True, check=False)


@pytest.mark.parametrize("word", ["help", "-h", "--help"])
def test_help_names_every_command(tmp_path: Path, word: str) -> None:
    """./dev tells a newcomer every command, without making an environment or leaving anything behind."""
    done = dev(word, home=str(tmp_path))
    assert done.returncode == 0, done.stderr
    told = {line.split()[1] for line in done.stdout.splitlines() if line.startswith("./dev ")}
    assert {"run", "test", "check", "bench", "scantling"} <= told
    assert "--all" in done.stdout
    assert not list(tmp_path.iterdir())


def test_a_wrong_word_is_answered_with_the_right_ones(tmp_path: Path) -> None:
    """A word that ./dev does not know is named, the commands are told, and the exit code says so."""
    done = dev("rum", home=str(tmp_path))
    assert done.returncode == 2
    assert "rum" in done.stderr
    assert "./dev run" in done.stderr
