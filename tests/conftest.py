"""One scale for all tests; a failure told at once; the last lines of a run: tier, skips, promises; in CI a skip fails."""

import os
import time
from collections.abc import Iterable
from pathlib import Path
from typing import Protocol

import pytest
from hypothesis import settings

TIER = os.environ.get("SCANTLING_SCALE", "short")
TOLD_EVERY = 600.0  # seconds: a run that is ended from outside has then said how far it came
STATES = {"passed": "kept", "xfailed": "open", "failed": "broken", "error": "broken"}

settings.register_profile("short", max_examples=50, deadline=None, derandomize=True)
# What judges a commit gives the same commit the same verdict; the full counts by hand search for something new each time.
settings.register_profile("full", max_examples=500, deadline=None, print_blob=True, derandomize="CI" in os.environ)
settings.load_profile(TIER)


def examples(*, short: int, full: int) -> settings:
    """So many examples of a property by the tier; for one whose example costs so much that the profile's many take minutes."""
    return settings(max_examples=full if TIER == "full" else short)


costly = examples(short=50, full=120)
"""For a property of which one example takes some hundredths of a second."""


class Scale(Protocol):
    """Picks a count by the tier."""

    def __call__(self, *, short: int, full: int) -> int:
        """`short` in the short tier, `full` in the full one."""


@pytest.fixture(scope="session")
def scale() -> Scale:
    """Smaller counts in the short tier; the assertions are the same in both."""

    def pick(*, short: int, full: int) -> int:
        return full if TIER == "full" else short

    return pick


class Teller:
    """Tells what can't wait for the end of a run, which may never come: each failure, and now and then the time."""

    def __init__(self, reporter: pytest.TerminalReporter) -> None:
        self.reporter = reporter
        self.started = self.told = time.monotonic()
        self.ended = 0

    @pytest.hookimpl(trylast=True)
    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """A failed step of a test, from whichever process ran it; else the time, when it was long not told."""
        self.ended += report.when == "teardown"
        if report.failed:
            self.tell(f"FAILED {report.nodeid} ({report.when}): {_mistake(report)}", red=True)
        elif time.monotonic() - self.told > TOLD_EVERY:
            self.tell(f"{self.ended} tests ended")

    @pytest.hookimpl(trylast=True)
    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """A file of tests that can't be read."""
        if report.failed:
            self.tell(f"FAILED {report.nodeid} (collecting): {_mistake(report)}", red=True)

    def tell(self, words: str, *, red: bool = False) -> None:
        """One line of its own, among the dots too, and at once, even into a pipe."""
        self.told = time.monotonic()
        self.reporter.write(f"\n== {self.told - self.started:.0f} s == {words}\n", red=red, bold=red)
        self.reporter.flush()


def _mistake(report: pytest.TestReport | pytest.CollectReport) -> str:
    """What went wrong, in one line: the error's first line and where it rose, or the last line of a bare text."""
    crash = getattr(report.longrepr, "reprcrash", None)
    if crash is None:
        lines = str(report.longrepr).strip().splitlines() or ["no words"]
        return lines[-1][:300]
    lines = str(crash.message).strip().splitlines() or ["no words"]
    return f"{lines[0][:300]} at {Path(crash.path).name}:{crash.lineno}"


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    """Only where there is a terminal to tell it on: a worker of a spread run has none."""
    reporter = config.pluginmanager.getplugin("terminalreporter")
    if isinstance(reporter, pytest.TerminalReporter):
        config.pluginmanager.register(Teller(reporter), "teller")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tier and counts, skips by name, promises by state."""
    kinds = ("passed", "failed", "error", "xfailed", "xpassed", "skipped")
    counts = {kind: len(terminalreporter.stats.get(kind, [])) for kind in kinds}
    told = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count) or "nothing ran"
    terminalreporter.section(f"tier: {TIER}")
    terminalreporter.write_line(told)
    for report in _skipped(terminalreporter):
        terminalreporter.write_line(f"skipped: {report.nodeid}: {_reason(report)}")
    _tell_promises(terminalreporter)


def _skipped(reporter: pytest.TerminalReporter) -> list[pytest.TestReport]:
    return reporter.stats.get("skipped", [])


def _reason(report: pytest.TestReport) -> str:
    return report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)


def _promises(reports: Iterable[pytest.TestReport]) -> list[str]:
    """The words of those that are promises; tests/promises/conftest.py puts them there, in whichever process runs."""
    return [
        str(words) for report in reports for key, words in getattr(report, "user_properties", ()) if key == "promise"
    ]


def _tell_promises(reporter: pytest.TerminalReporter) -> None:
    told: dict[str, list[str]] = {"kept": [], "open": [], "broken": []}
    for outcome, state in STATES.items():
        told[state] += _promises(reporter.stats.get(outcome, []))
    if not any(told.values()):
        return
    reporter.section("promises: " + ", ".join(f"{len(words)} {state}" for state, words in told.items()))
    for state in ("open", "broken"):
        for words in told[state]:
            reporter.write_line(f"{state}: {words}")


@pytest.hookimpl(tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """In CI a skip is a failure."""
    reporter = session.config.pluginmanager.getplugin("terminalreporter")
    if os.environ.get("CI") and isinstance(reporter, pytest.TerminalReporter) and _skipped(reporter):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
