"""The kernel's own packet filter for tests: every call lives in a network namespace of its own, never in the host's."""

import json
import os
import subprocess
from collections.abc import Mapping, Sequence
from typing import Any

PATH = "/usr/sbin:/sbin:/usr/bin:/bin"
OWN_NAMESPACE = ("unshare", "--map-root-user", "--net")


def alone(command: Sequence[str], given: str = "", **variables: str) -> subprocess.CompletedProcess[str]:
    """Run a command in a network namespace that dies with it, as its root; the clock's zone is UTC unless told."""
    surroundings: Mapping[str, str] = {**os.environ, "PATH": PATH, "LC_ALL": "C.UTF-8", "TZ": "UTC", **variables}
    return subprocess.run(
        [*OWN_NAMESPACE, *command],
        input=given,
        env=surroundings,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def accepted(rules: str) -> str:
    """What nftables says against a file: nothing when it takes it."""
    checked = alone(["nft", "--check", "--file", "-"], rules)
    return checked.stderr if checked.returncode or checked.stderr else ""


def listing(rules: str, **variables: str) -> list[dict[str, Any]]:
    """Load a file twice (the second replaces the first) and list what the kernel holds, as its JSON objects."""
    told = alone(
        [
            "sh",
            "-c",
            'rules=$(cat); for again in 1 2; do printf "%s\\n" "$rules" | nft -f - || exit; done; nft -j list ruleset',
        ],
        rules,
        **variables,
    )
    assert not told.returncode, told.stderr
    found: list[dict[str, Any]] = json.loads(told.stdout)["nftables"]
    return found


def rules_of(objects: Sequence[dict[str, Any]], chain: str) -> list[dict[str, Any]]:
    """The rules of one chain, in order."""
    return [one["rule"] for one in objects if "rule" in one and one["rule"]["chain"] == chain]
