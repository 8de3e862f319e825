"""How this program starts itself as a child process: the same Python, and this very program to be found by it."""

import os
import sys
from pathlib import Path

from scantling import __file__ as package


def python(*words: str) -> list[str]:
    """This Python with these words; the folder one stands in gives no modules."""
    return [sys.executable, "-P", *words]


def environment(**more: str) -> dict[str, str]:
    """Ours, with this very program to be found, and more."""
    home = str(Path(package).resolve().parents[1])
    path = os.pathsep.join(one for one in (home, os.environ.get("PYTHONPATH", "")) if one)
    return {**os.environ, "PYTHONPATH": path, **more}
