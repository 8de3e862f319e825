"""One scale for all tests, and the last lines of a run: tier, counts, skips by name, promises; in CI a skip fails."""

import os
from collections.abc import Iterable
from typing import Protocol

import pytest
from hypothesis import settings

TIER = os.environ.get("SCANTLING_SCALE", "short")
STATES = {"passed": "kept", "xfailed": "open", "failed": "broken", "error": "broken"}

settings.register_profile("short", max_examples=50, deadline=None, derandomize=True)
settings.register_profile("full", max_examples=500, deadline=None, print_blob=True)
settings.load_profile(TIER)


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
