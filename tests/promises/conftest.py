"""Tells at the end of a run which promises are kept and which are still open (strict expected failures)."""

from pathlib import Path

import pytest

HERE = Path(__file__).parent.name


def _promised(reports: list[pytest.TestReport]) -> list[str]:
    return [report.nodeid.split("::", 1)[1] for report in reports if f"/{HERE}/" in f"/{report.nodeid}"]


def _words(name: str) -> str:
    return name.removeprefix("test_").replace("_", " ")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Kept, open and broken, by name; a promise counts as kept only when its test passed."""
    told = {
        "kept": _promised(terminalreporter.stats.get("passed", [])),
        "open": _promised(terminalreporter.stats.get("xfailed", [])),
        "broken": _promised(terminalreporter.stats.get("failed", []) + terminalreporter.stats.get("error", [])),
    }
    if not any(told.values()):
        return
    terminalreporter.section("promises: " + ", ".join(f"{len(names)} {state}" for state, names in told.items()))
    for state in ("open", "broken"):
        for name in told[state]:
            terminalreporter.write_line(f"{state}: {_words(name)}")
