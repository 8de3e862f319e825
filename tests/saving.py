"""What tests of saving share: one answer of the example and its line, how it is read, and a program's surroundings."""

import os
import sys
from pathlib import Path
from typing import Any

from offices import millrace
from scantling.brief.reading import read_text
from scantling.figures.composing import composed

HEADS = "people.roles.volunteers.heads"
LINE = 1 + next(i for i, line in enumerate(millrace().splitlines()) if line.lstrip().startswith("volunteers:"))


def answer(path: Path, id_: str) -> str:
    """One answer of a file."""
    tree: Any = composed(read_text(path), path.name)[0]
    for step in id_.split("."):
        tree = tree[step]
    return str(tree)


def environment() -> dict[str, str]:
    """What a program of this project needs to find it."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
