"""System packages for the full tests: no service starts, and an ordinary user gets the line to paste."""

import os
import subprocess
from pathlib import Path

import pytest

from workshop import packages

DONE = subprocess.CompletedProcess[str]


@pytest.mark.parametrize("own", [None, "#!/bin/sh\nexit 0\n"])
def test_no_service_starts_while_packages_are_installed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, own: str | None
) -> None:
    """The policy says 101 during both calls and is as before afterwards, even when they fail."""
    policy = tmp_path / "policy-rc.d"
    if own is not None:
        policy.write_text(own, "utf-8")
        policy.chmod(0o750)
    seen: list[tuple[str, int]] = []

    def run(command: list[str], **_: object) -> DONE:
        seen.append((command[1], os.waitstatus_to_exitcode(os.system(str(policy)))))  # noqa: S605 - the planted file
        return DONE(command, 1 if command[1] == "install" else 0)

    monkeypatch.setattr(subprocess, "run", run)
    assert not packages.install(["poppler-utils"], policy)
    assert seen == [("update", 101), ("install", 101)]
    assert [path.name for path in tmp_path.iterdir()] == ([policy.name] if own is not None else [])
    if own is not None:
        assert policy.read_text("utf-8") == own
        assert policy.stat().st_mode & 0o777 == 0o750


def test_a_policy_left_by_a_killed_run_is_not_taken_for_the_machines_own(tmp_path: Path) -> None:
    """The kept one is put back."""
    policy = tmp_path / "policy-rc.d"
    policy.write_text(packages.NO_SERVICE, "utf-8")
    policy.with_name("policy-rc.d.before-scantling").write_text("own", "utf-8")
    with packages.no_services(policy):
        assert policy.read_text("utf-8") == packages.NO_SERVICE
    assert policy.read_text("utf-8") == "own"


def test_an_ordinary_user_gets_the_line_to_paste(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """And nothing is installed."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert not packages.provide(["poppler-utils"])
    assert "apt-get update && apt-get install -y --no-install-recommends poppler-utils" in capsys.readouterr().err
    assert packages.provide([])
