"""Ctrl-C while the second solver works: the sentence, the exit code, no abort; and a solver that is called off has ended."""

import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from offices import BRIEFS
from scantling.cli.terminal import BAD_INPUT
from scantling.trials import program
from scantling.trials.program import Program, Solver, UnfinishedError

COLUMNS, ROWS, MOST = 40, 5, 99
COMMAND = f"""
import sys
sys.path.insert(0, {str(Path(__file__).parent)!r})
from scantling.cli import main
from scantling.trials.program import Solver
from scantling.trials.second_solver import SecondSolver
from test_program_interrupted import hard

def cheapest(_):
    solver = Solver(hard())
    print("solving", file=sys.stderr, flush=True)
    solver.solved()

SecondSolver.cheapest = cheapest
sys.argv = ["scantling", "plan", {str(BRIEFS["fold"])!r}]
main()
"""


def hard() -> Program:
    """Market split (Cornuejols and Dawande 1998, from memory): small, and far beyond what branching ends in seconds."""
    chance = random.Random(5)
    made = Program()
    columns = [made.column(float(chance.randint(1, 9)), whole=True) for _ in range(COLUMNS)]
    for _ in range(ROWS):
        weights = [chance.randint(0, MOST) for _ in columns]
        half = float(sum(weights) // 2)
        made.row(half, dict(zip(columns, map(float, weights), strict=True)), half)
    return made


@pytest.mark.parametrize("later", [0.0, 0.1, 0.4])
def test_ctrl_c_while_the_second_solver_works_ends_the_command_in_one_sentence(later: float) -> None:
    """At its beginning, and when it is deep in its work."""
    words = [sys.executable, "-c", COMMAND]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as going:
        assert going.stderr is not None
        assert going.stderr.readline() == "solving\n"
        time.sleep(later)
        going.send_signal(signal.SIGINT)
        out, err = going.communicate(timeout=60)
    assert (going.returncode, out) == (BAD_INPUT, "")
    assert err.strip() == "stopped; nothing was left half-written"


def test_a_solver_that_is_called_off_has_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """No thread of it is left, which would be caught working when the process ends or forks."""
    monkeypatch.setattr(program, "LONGEST", 0.3)
    before = threading.active_count()
    with pytest.raises(UnfinishedError, match=r"no answer within 0\.3 s"):
        Solver(hard()).solved()
    end = time.monotonic() + 10
    while threading.active_count() > before and time.monotonic() < end:
        time.sleep(0.01)
    assert threading.active_count() == before
