"""The README's commands run as they stand."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
BESIDE = f"{os.environ.get('PATH', '')}:/usr/local/sbin:/usr/sbin:/sbin"
COMMANDS = re.findall(r"^\$ (scantling .*)$", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE)


def test_there_are_commands() -> None:
    """Otherwise the test below would be about nothing."""
    assert len(COMMANDS) >= 4


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_of_the_readme_runs(command: str, tmp_path: Path) -> None:
    """Exit 0, something said, nothing on standard error."""
    words = shlex.split(command)[1:]
    words = [str(tmp_path / "out") if word.startswith("out/") else word for word in words]
    done = subprocess.run(
        [sys.executable, "-m", "scantling", *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=False,
    )
    if words[0] == "rehearse" and not shutil.which("nft", path=BESIDE):  # the short tier installs no servers
        assert (done.returncode, done.stderr) == (1, "")
        assert "nothing was stood up" in done.stdout
        return
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout


def test_every_link_of_the_readme_leads_somewhere() -> None:
    """Relative links name files that are there."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        assert (ROOT / target).is_file(), target
