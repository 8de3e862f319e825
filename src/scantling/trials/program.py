"""A program in whole numbers: columns, rows, and HiGHS to solve it without a word on standard output."""

import os
import signal
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event, Thread
from typing import Any

STANDARD_OUTPUT = 1
INFINITE = float("inf")
MOST_NODES = 20_000
"""Nodes after which the solver is called off: a number, not a time, so that every machine answers the same."""
LONGEST = 20.0
"""Seconds after which an answer is no longer waited for: the solver's own limits don't hold in its preparations."""
PARTING = 5.0
"""Seconds within which a solver that is called off ends; it does at its next look at the clock."""
PREPARED_WITHOUT = (1 << 12) + (1 << 13) + (1 << 15)
"""Preparations left out, by HiGHS's own numbers: aggregating and parallel rows, which together can go round for ever
(version 1.16, on a program of 95 rows), and probing, which costs more than it saves here."""


Row = tuple[float, Mapping[int, float], float]
"""The least, each column's number, the most."""


class UnfinishedError(Exception):
    """The solver came to no end: what it said."""


@dataclass
class Program:
    """Minimise the sum of costs over the columns, each between nought and one, every row within its ends."""

    costs: list[float] = field(default_factory=list)
    highest: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    lowest: list[float] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)

    def column(self, cost: float = 0.0, *, whole: bool = False, ends: tuple[float, float] = (0.0, 1.0)) -> int:
        """A new column; its number."""
        self.costs.append(cost)
        self.lowest.append(ends[0])
        self.highest.append(ends[1])
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(self, low: float, terms: Mapping[int, float], high: float) -> None:
        """What the columns times these numbers must add up to."""
        self.rows.append((low, terms, high))

    def shut(self, column: int) -> None:
        """A column that must stay at nought."""
        self.highest[column] = 0.0


class Solver:
    """HiGHS on one program; rows may be added between solutions."""

    def __init__(self, program: Program) -> None:
        with quiet():
            import highspy  # noqa: PLC0415 - it brings numpy: 60 ms, once, for those who plan

            self.told = highspy.HighsModelStatus
            made: Any = highspy.Highs
            self.highs = made()
            for option, setting in (
                ("output_flag", False), ("log_to_console", False), ("threads", 1), ("random_seed", 0),
                ("mip_rel_gap", 0.0), ("mip_abs_gap", 1e-6), ("mip_max_nodes", MOST_NODES),
                ("presolve_rule_off", PREPARED_WITHOUT),
            ):  # fmt: skip
                self.highs.setOptionValue(option, setting)
            self.highs.passModel(_laid_out(program, highspy))

    def add(self, low: float, terms: Mapping[int, float], high: float) -> None:
        """One more row."""
        self.highs.addRow(low, high, len(terms), list(terms), list(terms.values()))

    def solved(self) -> list[float] | None:
        """The columns of a cheapest solution, None where there is none. Raises UnfinishedError."""
        ended = Event()  # a thread itself can't be asked: once Ctrl-C breaks into its join it says that it has ended
        with quiet():
            try:
                with undisturbed():
                    Thread(target=self._run, args=(ended,), daemon=True).start()
                in_time = ended.wait(LONGEST)
            finally:
                self._called_off(ended)
        if not in_time:
            raise UnfinishedError(f"no answer within {LONGEST:g} s")
        status = self.highs.getModelStatus()
        if status in (self.told.kInfeasible, self.told.kUnboundedOrInfeasible):  # no column is without an end below
            return None
        if status != self.told.kOptimal:
            raise UnfinishedError(self.highs.modelStatusToString(status))
        return list(self.highs.getSolution().col_value)

    def _run(self, ended: Event) -> None:
        try:
            self.highs.run()
        finally:
            ended.set()

    def _called_off(self, ended: Event) -> None:
        """Wait until it has ended: a process that is left while it works would be aborted."""
        with undisturbed():
            if not ended.is_set():
                self.highs.setOptionValue("time_limit", 0.0)
                ended.wait(PARTING)


@contextmanager
def undisturbed() -> Iterator[None]:
    """Ctrl-C is heard afterwards."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _laid_out(program: Program, highspy: Any) -> Any:
    """The program as HiGHS takes it, row by row."""
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(program.costs), len(program.rows)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = program.costs, program.lowest, program.highest
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in program.whole]
    starts, places, numbers = [0], [], []
    for _, terms, _ in program.rows:
        places += list(terms)
        numbers += list(terms.values())
        starts.append(len(places))
    lp.row_lower_ = [low for low, _, _ in program.rows]
    lp.row_upper_ = [high for _, _, high in program.rows]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = starts, places, numbers
    return lp


@contextmanager
def quiet() -> Iterator[None]:
    """Whatever a library writes to the descriptor of standard output goes nowhere: a banner would spoil JSON on a pipe."""
    if sys.stdout is not None:
        sys.stdout.flush()
    try:
        kept = os.dup(STANDARD_OUTPUT)
    except OSError:  # standard output is closed: nothing can be spoilt
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STANDARD_OUTPUT)
    try:
        yield
    finally:
        os.dup2(kept, STANDARD_OUTPUT)
        os.close(nowhere)
        os.close(kept)
