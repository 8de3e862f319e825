"""The command that takes a price list: what it shows, how it asks, what it writes, and one sentence for each mistake."""

import json
import os
import pty
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from offices import ROOT
from pricelist_samples import ROWS, listed

ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
SAID = ("--article", "A-12=spin-12", "--article", "A-4=disk.spin-4")


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own, in the list's folder."""
    command = [sys.executable, "-m", "scantling", "prices", *words]
    return subprocess.run(
        command, capture_output=True, text=True, env=ENVIRONMENT, cwd=folder, check=False, stdin=subprocess.DEVNULL
    )


def test_the_command_shows_asks_and_writes(tmp_path: Path) -> None:
    folder = listed(tmp_path).parent
    words = ("acme.csv", "--article", "A-12=spin-12", "--article", "A-4=disk.spin-4")
    told = run(folder, *words)
    assert told.returncode == 2
    assert "Nobody can be asked here: add --yes" in told.stderr
    assert "disk.spin-12       268.00 ->       281.40 EUR    +5.0 %  acme.csv:2:C" in told.stdout
    assert not (folder / "firm").exists()
    assert run(folder, *words, "--yes").returncode == 0
    assert "281.40 EUR" in (folder / "firm/prices.yaml").read_text(encoding="utf-8")
    again = run(folder, "acme.csv")
    assert (again.returncode, again.stderr) == (0, "")
    assert "0 new prices, 2 as before" in again.stdout


def test_the_command_stops_at_odd_rows_and_speaks_json(tmp_path: Path) -> None:
    folder = listed(tmp_path, ROWS[0], ("A-4", "", "call", "")).parent
    words = ("acme.csv", "--article", "A-12=spin-12", "--article", "A-4=disk.spin-4", "--yes")
    told = run(folder, *words)
    assert told.returncode == 2
    assert "acme.csv:3:C: " in told.stderr
    assert (
        "nothing was taken, for 1 odd row; mend the list, or leave such rows out with --leave-out-odd" in told.stderr
    )
    assert not (folder / "firm").exists()
    spoken = run(folder, *words, "--json", "--leave-out-odd")
    assert spoken.returncode == 0
    found = json.loads(spoken.stdout)
    assert [(change["article"], change["new"]) for change in found["changes"]] == [("disk.spin-12", "281.40")]
    assert found["odd"][0] == {
        "file": "acme.csv",
        "row": 3,
        "column": "C",
        "says": '"call" is no price; ask the supplier, or leave the row out',
    }
    assert (folder / "firm/prices.yaml").is_file()


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("nowhere.csv",), "nowhere.csv: no such file"),
        (("acme.csv", "--column", "prize=Net EUR"), "--column prize: no such role"),
        (("acme.csv", "--column", "price"), "write it as ROLE=HEAD"),
        (("acme.csv", "--priced-on", "yesterday"), "is not a day"),
        (("acme.csv", "--jump", "lots"), "is not a number of per cent"),
        (("acme.csv", "--as", "../x"), "a list's name is small letters"),
        (("acme.csv", "--sheet", "Prices"), "which has no sheets"),
        (("acme.csv", "--firm", "acme.csv"), "acme.csv is a file; name the folder"),
    ],
)
def test_what_the_command_cannot_use_is_one_sentence(words: Sequence[str], says: str, tmp_path: Path) -> None:
    told = run(listed(tmp_path).parent, *words)
    assert told.returncode == 2
    assert says in told.stderr
    assert "Traceback" not in told.stderr


@pytest.mark.parametrize(("answer", "code"), [("y", 0), ("n", 1), ("", 1)])
def test_a_person_is_asked_at_a_terminal(answer: str, code: int, tmp_path: Path) -> None:
    """Only a clear yes writes."""
    listed(tmp_path)
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "scantling", "prices", "acme.csv", *SAID]
    with subprocess.Popen(
        command,
        stdin=theirs,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
        cwd=tmp_path,
    ) as running:
        os.write(ours, f"{answer}\n".encode())
        _, asked = running.communicate(timeout=60)
    os.close(ours)
    os.close(theirs)
    assert running.returncode == code
    assert "Take 2 prices into firm/prices.yaml, and keep its reading as acme? [y/N]" in asked
    assert (tmp_path / "firm/prices.yaml").exists() == (code == 0)
