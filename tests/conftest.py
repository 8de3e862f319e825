"""One scale for all tests, and the last lines of a run: tier, counts, skips by name; in CI a skip fails the run."""

import os
from typing import Protocol

import pytest

TIER = os.environ.get("SCANTLING_SCALE", "short")


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


def _skips(reporter: pytest.TerminalReporter) -> list[str]:
    return [report.nodeid for report in reporter.stats.get("skipped", [])]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tier, counts, skips by name."""
    kinds = ("passed", "failed", "error", "xfailed", "xpassed", "skipped")
    counts = {kind: len(terminalreporter.stats.get(kind, [])) for kind in kinds}
    told = ", ".join(f"{count} {kind}" for kind, count in counts.items() if count) or "nothing ran"
    terminalreporter.section(f"tier: {TIER}")
    terminalreporter.write_line(told)
    for name in _skips(terminalreporter):
        terminalreporter.write_line(f"skipped: {name}")


@pytest.hookimpl(tryfirst=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """In CI a skip is a failure."""
    reporter = session.config.pluginmanager.getplugin("terminalreporter")
    if isinstance(reporter, pytest.TerminalReporter) and os.environ.get("CI") and _skips(reporter):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
