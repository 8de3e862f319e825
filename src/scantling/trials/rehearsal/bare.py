"""What can be said of an office where nothing may be stood up: what real parsers say of its files, and the proof of its rules."""

import hashlib
import os
import shlex
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from scantling.outputs.files import Written
from scantling.trials.proof.proving import Case, proof
from scantling.trials.rehearsal.results import Agreement, Checked

MEMORY = "/dev/shm"  # noqa: S108 - files in memory, so that nothing is written on the disk
BESIDE = "/usr/local/sbin:/usr/sbin:/sbin:/usr/local/bin:/usr/bin:/bin"
NEEDS_RIGHTS = frozenset({"nft"})
"""Parsers that ask the kernel, which lets only an administrator of a network do that."""
PATIENCE = 30.0


def parsed(files: Sequence[Written]) -> list[Checked]:
    """What each file's own checker says, where it is installed and needs no rights."""
    folder = MEMORY if Path(MEMORY).is_dir() and os.access(MEMORY, os.W_OK) else None
    with TemporaryDirectory(dir=folder) as where:
        for one in files:
            place = Path(where, one.path)
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(one.content)
        return [_parsed(one, Path(where, one.path)) for one in files if one.checked_by]


def _parsed(one: Written, place: Path) -> Checked:
    words = shlex.split(one.checked_by.replace("{file}", shlex.quote(str(place))))
    digest = hashlib.sha256(one.content).hexdigest()
    program = shutil.which(words[0], path=BESIDE)
    if program is None or words[0] in NEEDS_RIGHTS:
        return Checked(one.path, digest, "")
    try:
        told = subprocess.run(
            [program, *words[1:]], capture_output=True, text=True, check=False, timeout=PATIENCE, cwd=place.parent
        )
    except subprocess.TimeoutExpired:
        return Checked(one.path, digest, words[0], f"it didn't end within {PATIENCE:g} s")
    said = " ".join((told.stderr or told.stdout).split()) if told.returncode else ""
    return Checked(one.path, digest, words[0], said or (f"refused it ({told.returncode})" if told.returncode else ""))


def agreed(case: Case) -> Agreement:
    """The proof of the compiled rules alone, with no packet sent."""
    found = proof(case)
    says = f"{found.about}: {found.verdict}, {found.holding} of {found.intents} intents hold"
    return Agreement(0, 0, 0, says, tuple(one.says for one in found.differences))


def digests(files: Mapping[str, Written]) -> list[Checked]:
    """Files that no parser reads, so that all of them are told by their digest."""
    return [Checked(path, hashlib.sha256(one.content).hexdigest(), "") for path, one in files.items()]
