"""The last door of the command line: a defect and an interrupt are told in one sentence."""

import sys

import pytest

from offices import BRIEFS
from scantling import api, cli

MILLRACE = str(BRIEFS["millrace"])


def told_by_main(capsys: pytest.CaptureFixture[str]) -> tuple[object, str]:
    """Exit code and sentence of the program's own main, in this process."""
    with pytest.raises(SystemExit) as end:
        cli.main()
    return end.value.code, capsys.readouterr().err


def test_what_nobody_foresaw_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A defect of ours has its own code, its place, and no traceback."""

    def broken(*_: object) -> None:
        raise ZeroDivisionError("all\ngone")

    monkeypatch.setattr(api, "plan", broken)
    monkeypatch.setattr(sys, "argv", ["scantling", "plan", MILLRACE])
    code, says = told_by_main(capsys)
    assert code == cli.DEFECT
    assert "Traceback" not in says
    for words in ("a defect of scantling", "test_cli_defects.py", "all gone"):
        assert words in says


def test_an_interrupt_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(api, "book", interrupted)
    monkeypatch.setattr(sys, "argv", ["scantling", "book", "--no-weigh", MILLRACE])
    code, says = told_by_main(capsys)
    assert (code, says.strip()) == (2, "stopped; nothing was left half-written")
