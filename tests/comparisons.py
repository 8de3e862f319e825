"""What tests of comparing share: two Millraces, their comparison, and the command line."""

import os
import subprocess
import sys
from functools import cache
from pathlib import Path

from offices import ROOT, millrace, planned
from scantling import api
from scantling.brief.editing import with_values
from scantling.plan.comparing import Comparison

HEADS = "people.roles.volunteers.heads"
ENV = {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT / "src"), "COLUMNS": "160"}


def scantling(*words: str, folder: Path) -> "subprocess.CompletedProcess[str]":
    """Run a command as a person would."""
    command = [sys.executable, "-m", "scantling", *words]
    return subprocess.run(command, cwd=folder, env=ENV, text=True, capture_output=True, check=False)


@cache
def between(old: str, new: str) -> Comparison:
    """The comparison of two briefs' texts, with all their answers."""
    sides = [api.Planned(api.inputs(text, "brief.yaml", api.stock()), planned(text)) for text in (old, new)]
    return api.compare_planned(sides[0], sides[1])


def larger() -> str:
    """A Millrace with more people, a new cloud of cameras, another name of a device, and no recorder's data."""
    return with_values(
        millrace(),
        {
            HEADS: "90", "devices.cameras.count": "30", "data.sets.archive.size": "20 TB",
            "devices.terminals.name": "Terminals", "data.sets.recordings": None,
        },
    )  # fmt: skip
