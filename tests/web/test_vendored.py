"""What is vendored is what its makers released, with its licence beside it."""

import hashlib
import re
from pathlib import Path

import pytest

from scantling.web.page import STATIC

FOLDERS = [STATIC, Path(__file__).parent / "vendor"]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_every_vendored_file_has_its_checksum_and_its_licence(folder: Path) -> None:
    """As the registry gave it, to the byte."""
    lines = (folder / "SHA256SUMS").read_text("ascii").split("\n")
    sums = {name: digest for digest, name in (line.split("  ") for line in lines if line)}
    minified = {path.name for path in folder.glob("*.min.js")}
    assert minified == set(sums)
    for name, digest in sums.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest, name
        licence = (folder / f"{name.split('.')[0]}-LICENSE.txt").read_text("utf-8")
        assert re.search(r"Zero-Clause BSD|Mozilla Public License", licence), name
