"""How long the program takes to start and answer, against an empty interpreter."""

import subprocess
import sys

from measuring import Row, best


def _process(*words: str) -> float:
    return best(lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True))


def bench_help() -> list[Row]:
    """`scantling --help` as a whole process."""
    empty = _process("-c", "pass")
    return [Row("scantling --help", _process("-m", "scantling", "--help"), "empty interpreter", empty, "under 80 ms")]


def bench_plan() -> list[Row]:
    """`scantling plan` of the demo office as a whole process, reading included."""
    empty = _process("-c", "pass")
    brief = "examples/millrace/brief.yaml"
    seconds = best(
        lambda: subprocess.run([sys.executable, "-m", "scantling", "plan", brief], check=False, capture_output=True),
        repeats=3,
    )
    return [Row("scantling plan, Millrace, whole process", seconds, "empty interpreter", empty, "reported")]
