"""Loads rules into the firewall's room with nft and lists what the kernel holds, as JSON; changes one rule in place."""

import json
import os
import subprocess
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.rule_parts import parts

Runner = Callable[[Sequence[str], bytes], "subprocess.CompletedProcess[bytes]"]
"""Runs a command in the firewall's room, with its input."""
Statement = Mapping[str, Any]
NFT, NFT_JSON, LISTED = ("nft", "-f", "-"), ("nft", "-j", "-f", "-"), ("nft", "-j", "list", "table")
FILTER, TABLES = "office", (("inet", "office"), ("ip", "office-nat"))
"""The generated tables: that of the filter, and both of them with their families."""
TOO_LONG, MISSING = b"Message too long", b"No such file or directory"
MOST, LEAST = 30_000, 500
"""Octets of a part: tried at first, as most files fit so; and below which no smaller ones are tried."""
SYSTEM_PATH = "/usr/sbin:/sbin:/usr/bin:/bin"


class LoadingError(OSError):
    """What nft says against rules."""


def in_room(room: Room) -> Runner:
    """Runs a command of this machine in a room; the clock's zone is UTC, in which hours of rules are read."""
    surroundings = {**os.environ, "PATH": SYSTEM_PATH, "LC_ALL": "C.UTF-8", "TZ": "UTC"}

    def run(command: Sequence[str], given: bytes) -> "subprocess.CompletedProcess[bytes]":
        with room.entered():
            return subprocess.run(command, input=given, capture_output=True, check=False, env=surroundings)

    return run


def load(run: Runner, rules: bytes) -> int:
    """Load a file of rules byte for byte; where the kernel takes less at once, in parts. How many. Raises LoadingError."""
    most = MOST
    while True:
        pieces = [piece.encode("latin-1") for piece in parts(rules.decode("latin-1"), most)]  # whatever the bytes
        refused = next((told for told in (run(NFT, piece) for piece in pieces) if told.returncode), None)
        if refused is None:
            return len(pieces)
        if TOO_LONG not in refused.stderr or most < LEAST:
            raise _wrong("the rules can't be loaded", refused)
        most = min(most, len(rules)) // 2


def listing(run: Runner) -> list[dict[str, Any]]:
    """The kernel's own listing of the generated tables, as nft gives its JSON objects. Raises LoadingError.

    A table that is not there lists nothing. The recorder is left out: its sets take longer than all rules.
    """
    found: list[dict[str, Any]] = []
    for table in TABLES:
        told = run((*LISTED, *table), b"")
        if told.returncode and MISSING not in told.stderr:
            raise _wrong("the rules can't be listed", told)
        # the first object tells of nft itself, once is enough
        found += json.loads(told.stdout)["nftables"][bool(found) :] if not told.returncode else []
    return found


def done(run: Runner, *statements: Statement) -> None:
    """Do JSON statements of nft in one step, such as {"replace": {"rule": {...}}}. Raises LoadingError."""
    told = run(NFT_JSON, json.dumps({"nftables": list(statements)}).encode())
    if told.returncode:
        raise _wrong("the rules can't be changed", told)


def replaced(run: Runner, rule: Statement) -> None:
    """Put a rule, as a listing gives it and changed, in the place of the one with its handle. Raises LoadingError.

    nft reads every set first, the recorder's too: an empty recorder makes it quick.
    """
    done(run, {"replace": {"rule": rule}})


def _wrong(what: str, told: "subprocess.CompletedProcess[bytes]") -> LoadingError:
    said = (told.stderr or told.stdout).decode(errors="replace").strip()
    return LoadingError(f"{what}: {said}")
