"""Runs of the command new in processes of their own, for the tests of it."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from shutil import copytree

from interview_samples import BAKERY, DAY
from offices import ROOT
from scantling.api.interviewing import BRIEF, Meeting

ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": str(ROOT / "src"),
    "NO_COLOR": "1",
    "TERM": "dumb",
    "PYTHONUNBUFFERED": "1",
}
PATIENCE = 60


def new(*words: str, typed: tuple[str, ...] = (), where: Path) -> subprocess.CompletedProcess[str]:
    """`scantling new` with lines on a pipe."""
    command = [sys.executable, "-m", "scantling", *words]
    given = "".join(f"{line}\n" for line in typed)
    return subprocess.run(
        command, input=given, capture_output=True, text=True, encoding="utf-8", env=ENVIRONMENT, cwd=where, check=False,
        timeout=PATIENCE,
    )  # fmt: skip


def price(told: str) -> str:
    """The rough price that new has said."""
    found = re.search(r"^Rough price, tax included: ([\d,]+\.\d\d EUR)$", told, re.MULTILINE)
    assert found, told
    return found[1]


def planned_price(brief: str, where: Path) -> str:
    """The rough price that plan says for a brief, as new writes it."""
    told = new("plan", brief, "--json", where=where)
    assert told.returncode in (0, 1), told.stderr
    total = next(figure for figure in json.loads(told.stdout)["figures"] if figure["id"] == "money.total")
    return f"{float(total['value']):,.2f} EUR"


def copied(bakery: Path, where: Path) -> Path:
    """The brief of that interview's folder, copied."""
    copytree(bakery / "o", where / "o")
    return where / "o/brief.yaml"


def interviewed(where: Path) -> Path:
    """The brief of a whole interview held by the api, in a folder of its own."""
    meeting = Meeting(where / "o", DAY)
    for line in BAKERY:
        meeting.put(line)
    meeting.write(yes=False)
    return where / "o" / BRIEF
