"""Runs the tests of a tier, after seeing to the system packages that the full tier needs."""

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from workshop import environment, packages

NEEDED = {"pdftotext": "poppler-utils", "pdftoppm": "poppler-utils"}  # program -> Debian package, full tier only


def test(root: Path, words: Sequence[str]) -> int:
    """Run pytest, short or full; returns its exit code, 1 when the machine lacks something in CI."""
    full = "--all" in words
    given = [word for word in words if word != "--all"]
    if full:
        missing = sorted({package for program, package in NEEDED.items() if not shutil.which(program)})
        if not packages.provide(missing) and os.environ.get("CI"):
            return 1
    spread = [] if given else ["-n", "auto"]  # a chosen test is run where a debugger can reach it
    scale = {"SCANTLING_SCALE": "full" if full else "short"}
    return environment.python(root, "developer", ["-m", "pytest", *spread, *given], scale)
