"""Runs every check of the repository, one line each; shows the output of those that fail."""

import subprocess
import time
from collections.abc import Sequence
from pathlib import Path

from workshop import environment

STEPS: tuple[tuple[str, str], ...] = (
    ("format", "-m ruff format --check --output-format concise ."),
    ("lint", "-m ruff check --output-format concise ."),
    ("types", "-m mypy"),
    ("imports", ".venv/bin/lint-imports --no-cache"),
    ("budgets", "tools/budgets.py"),
    ("purity", "tools/purity.py"),
    ("stale pages", "tools/pages.py --check"),
    ("outside checks", "tools/checks.py"),
)
TELLING = {"outside checks"}  # steps whose output is worth reading when all is well


def check(root: Path, chosen: Sequence[str] = ()) -> int:
    """Run all steps, or those whose names hold a given word, whatever fails; 0 when all is well."""
    steps = [(name, words) for name, words in STEPS if not chosen or any(word in name for word in chosen)]
    if not steps:
        print(f"no such step; there are: {', '.join(name for name, _ in STEPS)}")
        return 2
    environment.make(root, "developer")
    failed = [name for name, words in steps if not step(root, name, words)]
    print(f"failed: {', '.join(failed)}" if failed else "all checks passed")
    return 1 if failed else 0


def step(root: Path, name: str, words: str) -> bool:
    """Run one step and print its line; whether it succeeded."""
    began = time.monotonic()
    command = [str(root / ".venv/bin/python"), *words.split()]
    surroundings = environment.surroundings()
    done = subprocess.run(command, cwd=root, env=surroundings, check=False, text=True, capture_output=True)
    fine = done.returncode == 0
    print(f"{'ok  ' if fine else 'FAIL'} {name:<15} {time.monotonic() - began:5.1f} s", flush=True)
    if not fine or name in TELLING:
        print((done.stdout + done.stderr).rstrip(), flush=True)
    return fine
