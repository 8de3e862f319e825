"""A test run tells each failure at once, its end tier, counts, skips and promises, alone and spread; in CI a skip fails."""

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
SKIPPING = """
import pytest


def test_one():
    assert True


@pytest.mark.skip(reason="planted")
def test_two():
    raise AssertionError
"""
PROMISES = '''
import pytest


def test_first():
    """The sun rises."""


@pytest.mark.xfail(strict=True, reason="not yet")
def test_second():
    """The moon is cheese."""
    assert False


def test_third():
    """Nothing breaks."""
    assert False
'''
FORGOTTEN = '''
import pytest


@pytest.mark.xfail(strict=True, reason="not yet")
def test_fourth():
    """It is kept by now."""
'''

WRONG = """
import pytest


@pytest.fixture
def broken():
    raise OSError("no such thing")


def test_one():
    assert 1 + 1 == 3


def test_two(broken):
    pass


def test_three():
    pass
"""
HANGING = """
import time


def test_hangs():
    time.sleep(60)


def test_after():
    pass
"""


@pytest.fixture
def suite(tmp_path: Path) -> Path:
    """A folder laid out like tests/, with the real conftest files."""
    shutil.copy(TESTS / "conftest.py", tmp_path)
    (tmp_path / "promises").mkdir()
    shutil.copy(TESTS / "promises/conftest.py", tmp_path / "promises")
    (tmp_path / "pytest.ini").write_text("[pytest]\naddopts = --import-mode=importlib\n", "utf-8")
    return tmp_path


def run(suite: Path, *words: str, **variables: str) -> tuple[int, str]:
    """Exit code and output of a run of that folder."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("CI", "PYTEST", "SCANTLING"))}
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *words]
    done = subprocess.run(command, cwd=suite, env=kept | variables, check=False, capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


@pytest.mark.parametrize("spread", [(), ("-n", "1")])
def test_a_skip_is_named_and_fails_in_ci_only(suite: Path, spread: tuple[str, ...]) -> None:
    """With its reason."""
    (suite / "test_it.py").write_text(SKIPPING, "utf-8")
    code, told = run(suite, *spread)
    assert code == 0
    assert "1 passed, 1 skipped" in told
    assert "skipped: test_it.py::test_two: Skipped: planted" in told
    assert run(suite, *spread, CI="1")[0] == 1


@pytest.mark.parametrize("tier", ["short", "full"])
def test_the_tier_is_told_and_decides_the_count(suite: Path, tier: str) -> None:
    """Short without a word."""
    (suite / "test_it.py").write_text(
        f"def test_it(scale):\n    assert scale(short=1, full=2) == {1 if tier == 'short' else 2}\n", "utf-8"
    )
    code, told = run(suite, **({"SCANTLING_SCALE": tier} if tier == "full" else {}))
    assert code == 0
    assert f"tier: {tier}" in told


@pytest.mark.parametrize("spread", [(), ("-n", "1")])
def test_promises_are_told(suite: Path, spread: tuple[str, ...]) -> None:
    """Kept by number, open and broken by their words."""
    (suite / "promises/test_it.py").write_text(PROMISES, "utf-8")
    code, told = run(suite, *spread)
    assert code == 1
    assert "promises: 1 kept, 1 open, 1 broken" in told
    assert "open: The moon is cheese." in told
    assert "broken: Nothing breaks." in told


def test_a_promise_kept_but_marked_open_fails(suite: Path) -> None:
    """Strict: the mark must go."""
    (suite / "promises/test_it.py").write_text(FORGOTTEN, "utf-8")
    code, told = run(suite)
    assert code == 1
    assert "1 broken" in told


def test_a_promise_without_words_is_refused(suite: Path) -> None:
    """The docstring is the promise."""
    (suite / "promises/test_it.py").write_text("def test_it():\n    pass\n", "utf-8")
    code, told = run(suite)
    assert code == pytest.ExitCode.USAGE_ERROR
    assert "promises nothing" in told


@pytest.mark.parametrize("spread", [(), ("-n", "1"), ("-n", "1", "-v")])
def test_a_failure_is_told_at_once(suite: Path, spread: tuple[str, ...]) -> None:
    """By name, with its error and where it rose, on a line of its own, before the run's end says anything."""
    (suite / "test_it.py").write_text(WRONG, "utf-8")
    code, told = run(suite, *spread)
    assert code == 1
    lines = told.split("= ERRORS =")[0].splitlines()
    found = [line.split(" == ", 1)[1] for line in lines if line.startswith("== ") and " s == " in line]
    assert found == [
        "FAILED test_it.py::test_one (call): assert (1 + 1) == 3 at test_it.py:11",
        "FAILED test_it.py::test_two (setup): OSError: no such thing at test_it.py:7",
    ]


@pytest.mark.parametrize("spread", [(), ("-n", "1")])
def test_a_file_that_can_not_be_read_is_told_at_once(suite: Path, spread: tuple[str, ...]) -> None:
    """It is no test yet, so that nothing else names it."""
    (suite / "test_it.py").write_text("import nothing_of_that_name\n", "utf-8")
    code, told = run(suite, *spread)
    assert code != 0
    line = "FAILED test_it.py (collecting): E   ModuleNotFoundError: No module named 'nothing_of_that_name'"
    assert line in told.split("= ERRORS =")[0]


@pytest.mark.parametrize("spread", [(), ("-n", "1")])
def test_the_time_is_told_now_and_then(suite: Path, spread: tuple[str, ...]) -> None:
    """Here after every test; a file beside the folder's own makes the wait short."""
    ours = (suite / "conftest.py").read_text("utf-8")
    assert ours.count("TOLD_EVERY = 600.0") == 1
    (suite / "conftest.py").write_text(ours.replace("TOLD_EVERY = 600.0", "TOLD_EVERY = 0.0"), "utf-8")
    (suite / "test_it.py").write_text("def test_one():\n    pass\n", "utf-8")
    code, told = run(suite, *spread)
    assert code == 0
    assert "s == 1 tests ended" in told


def test_a_test_that_hangs_is_ended_with_a_trace(suite: Path) -> None:
    """With this project's own setting, at a shorter limit: the run goes on, and says where the test stood."""
    ours = tomllib.loads((TESTS.parent / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]["ini_options"]
    assert ours["faulthandler_timeout"] == 600
    assert ours["faulthandler_exit_on_timeout"] is True
    (suite / "test_it.py").write_text(HANGING, "utf-8")
    limit = ("-o", "faulthandler_timeout=1", "-o", "faulthandler_exit_on_timeout=true")
    code, told = run(suite, "-n", "1", *limit)
    assert code == 1
    assert "line 6 in test_hangs" in told
    assert "crashed while running 'test_it.py::test_hangs'" in told.split("= FAILURES =")[0]
    assert "1 passed, 1 failed" in told
