"""What can be said of an office where nothing may be stood up: what real parsers say of its files, and the proof of its rules."""

import hashlib
import os
import re
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
LEFT_OUT = frozenset({"nft", "yanglint"})
"""Parsers that are not asked: one asks the kernel, which lets only an administrator of a network do that; one needs models
(RFC 7223, RFC 8519) that lie on no machine as a rule."""
PORTS, PORT = re.compile(rb'("interfaces":\s*)(\[[^\]]*\])'), re.compile(rb'("interface":\s*)"[^"]*"')
HERE = b'"lo"'
"""A port that every machine has."""
WITHOUT_PORTS = frozenset({"kea-dhcp4", "kea-dhcp6"})
"""Parsers that want the ports of the machine for which a file is meant."""
PORTLESS = "kea-dhcp4 and kea-dhcp6 read their files without the names of ports, for this machine has none that are called so."
PATIENCE = 30.0


def parsed(files: Sequence[Written]) -> list[Checked]:
    """What each file's own checker says, where it is installed and needs no rights."""
    folder = MEMORY if Path(MEMORY).is_dir() and os.access(MEMORY, os.W_OK) else None
    with TemporaryDirectory(dir=folder) as where:
        for one in files:
            place = Path(where, one.path)
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(_portless(one.content) if _reader(one) in WITHOUT_PORTS else one.content)
        return [_parsed(one, Path(where, one.path)) for one in files if one.checked_by]


def _reader(one: Written) -> str:
    """The program that reads a file; empty where none does."""
    return one.checked_by.partition(" ")[0]


def _portless(content: bytes) -> bytes:
    """Without the names of ports, on as many lines as before, so that a parser counts them as they are."""
    none_listed = PORTS.sub(lambda found: found[1] + b"[" + b"\n" * found[2].count(b"\n") + b"]", content, 1)
    return PORT.sub(lambda found: found[1] + HERE, none_listed)


def _parsed(one: Written, place: Path) -> Checked:
    words = shlex.split(one.checked_by.replace("{file}", shlex.quote(str(place))))
    digest = hashlib.sha256(one.content).hexdigest()
    program = shutil.which(words[0], path=BESIDE)
    if program is None or words[0] in LEFT_OUT:
        return Checked(one.path, digest, "")
    try:
        told = subprocess.run(
            [program, *words[1:]], capture_output=True, check=False, timeout=PATIENCE, cwd=place.parent
        )
    except subprocess.TimeoutExpired:
        return Checked(one.path, digest, words[0], f"it didn't end within {PATIENCE:g} s")
    if not told.returncode:
        return Checked(one.path, digest, words[0])
    said = " ".join((told.stderr or told.stdout).decode("utf-8", "replace").split()).replace(str(place), one.path)
    return Checked(one.path, digest, words[0], said or f"refused it ({told.returncode})")


def agreed(case: Case) -> Agreement:
    """The proof of the compiled rules alone, with no packet sent."""
    found = proof(case)
    says = f"{found.about}: {found.verdict}, {found.holding} of {found.intents} intents hold"
    return Agreement(0, 0, 0, says, tuple(one.says for one in found.differences))


def digests(files: Mapping[str, Written]) -> list[Checked]:
    """Files that no parser reads, so that all of them are told by their digest."""
    return [Checked(path, hashlib.sha256(one.content).hexdigest(), "") for path, one in files.items()]
