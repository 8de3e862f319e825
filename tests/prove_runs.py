"""Runs of the command prove, as a person starts it."""

import os
import subprocess
import sys

from offices import BRIEFS, ROOT

ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src")}
MILLRACE = str(BRIEFS["millrace"])


def run(*words: str) -> subprocess.CompletedProcess[str]:
    """The command with some words after it."""
    return subprocess.run(
        [sys.executable, "-m", "scantling", "prove", *words], env=ENV, text=True, capture_output=True, check=False
    )
