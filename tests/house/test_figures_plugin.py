"""The types of figures are shown to bite: mypy finds every planted mistake, where it stands, and nothing else."""

import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PLANTED = Path(__file__).with_name("planted_types.py")
SAID = re.compile(r"planted_types\.py:(\d+): error: (.*)")


def test_mypy_finds_each_planted_mistake_and_nothing_else() -> None:
    command = [sys.executable, "-m", "mypy", "--config-file", "pyproject.toml", "--no-pretty", "--no-error-summary"]
    done = subprocess.run([*command, str(PLANTED)], cwd=ROOT, text=True, capture_output=True, check=False)
    assert not done.stderr
    found: dict[int, list[str]] = {}
    for line, message in SAID.findall(done.stdout):
        found.setdefault(int(line), []).append(message)
    lines = PLANTED.read_text("utf-8").splitlines()
    planted = {n: line.partition("# planted: ")[2] for n, line in enumerate(lines, 1) if "# planted: " in line}
    assert len(planted) > 20
    missed = {n: (said, found.get(n)) for n, said in planted.items() if not any(said in m for m in found.get(n, []))}
    assert not missed
    assert not {n: said for n, said in found.items() if n not in planted}
