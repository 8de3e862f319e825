"""The promises about bad input: a clear error, exit code 2, nothing lost, nothing half-written."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from offices import BRIEFS, ROOT, changed, fold, planned

from scantling import UserError, api
from scantling.catalogue.reading import DATA

ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src")}
OLD = b"the book of last year"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("heads: 4", "heads: 0", "0 is too little"),
        ("heads: 4", "heads: 1000000000", "from 1 to 100,000"),
        ("size: 2.2 TB", "size: 1 ZB", "1 ZB is too much"),
        ("monthly: 45.00 EUR", "monthly: -45.00 EUR", "too little"),
        ("profile: files", "profile: ghosts", "is not one of backup, "),
    ],
)
def test_what_nobody_can_mean_is_refused(tmp_path: Path, old: str, new: str, says: str) -> None:
    """No people, a thousand million people, 1 ZB, a negative price and an unknown profile are refused with exit code 2."""
    brief = tmp_path / "brief.yaml"
    brief.write_text(changed(fold(), old, new), "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "plan", str(brief)], env=ENV, text=True, capture_output=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr.startswith("brief.yaml:")
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_a_catalogue_row_without_a_field_is_named(tmp_path: Path) -> None:
    """A catalogue row that lacks a field is refused with file, line and the field's name."""
    stock = tmp_path / "stock"
    shutil.copytree(DATA, stock)
    hosts = stock / "hosts.yaml"
    hosts.write_text(changed(hosts.read_text("utf-8"), "noise: 31 dB, ", ""), "utf-8")
    with pytest.raises(UserError, match=r"hosts\.yaml:\d+.*noise"):
        api.stock(stock)


def test_a_folder_in_the_books_place_is_told(tmp_path: Path) -> None:
    """Where a folder stands in a file's place, or a file in the folder's, nothing is written and the place is named."""
    (tmp_path / "plan.json").mkdir()
    (tmp_path / "book.pdf").write_bytes(OLD)
    with pytest.raises(UserError, match=r"plan\.json"):
        api.book(planned(fold()), tmp_path)
    assert (tmp_path / "book.pdf").read_bytes() == OLD
    with pytest.raises(UserError, match=r"book\.pdf"):
        api.book(planned(fold()), tmp_path / "book.pdf")
    assert {path.name for path in tmp_path.iterdir()} == {"plan.json", "book.pdf"}


@pytest.mark.parametrize("where", ["/proc/scantling", "/sys/scantling"])
def test_a_folder_that_can_not_be_written_is_told(where: str) -> None:
    """A folder where nothing can be written ends with exit code 2 and its name."""
    command = [sys.executable, "-m", "scantling", "book", str(BRIEFS["fold"]), "--no-weigh", "--out", where]
    done = subprocess.run(command, env=ENV, text=True, capture_output=True, check=False)
    assert done.returncode == 2
    assert where in done.stderr
    assert "Traceback" not in done.stderr


def test_a_full_disk_loses_nothing() -> None:
    """A disk that is full ends with exit code 2, says so, and leaves the old files and no parts."""
    folder = Path("/dev/shm/scantling-promise")  # noqa: S108 - a file system in memory, where a size can be limited
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    try:
        (folder / "book.pdf").write_bytes(OLD)
        limited = f"ulimit -f 64; exec '{sys.executable}' -m scantling book '{BRIEFS['fold']}' --out '{folder}'"
        done = subprocess.run(["/bin/bash", "-c", limited], env=ENV, text=True, capture_output=True, check=False)
        assert done.returncode == 2, done.stderr
        assert "nothing was changed" in done.stderr
        assert {path.name: path.read_bytes() for path in folder.iterdir()} == {"book.pdf": OLD}
    finally:
        shutil.rmtree(folder)


@pytest.mark.parametrize("at", [1, 3, 9])
def test_an_interrupt_while_writing_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """Ctrl-C during a write leaves every old file as it was and no parts, whenever it comes."""
    (tmp_path / "book.pdf").write_bytes(OLD)
    calls = iter(range(1, 1000))
    real = os.fsync

    def interrupted(number: int) -> None:
        if next(calls) == at:
            raise KeyboardInterrupt
        real(number)

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        api.book(planned(fold()), tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"book.pdf": OLD}
