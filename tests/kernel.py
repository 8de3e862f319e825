"""The kernel's own packet filter for tests: every call lives in a network namespace of its own, never in the host's."""

import json
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Self

from scantling.trials.rehearsal.rule_parts import parts
from scantling.figures.traffic import Leg

PATH = "/usr/sbin:/sbin:/usr/bin:/bin"
FIRST_OUTSIDE = "outside-1"
LINK_LOCAL = "fe80::1"
"""The firewall in a lab bears it on each link, as every router does one."""
OWN_NAMESPACE = ("unshare", "--net") if os.geteuid() == 0 else ("unshare", "--map-root-user", "--net")
"""Root needs no other user's rights for it."""
LOADED = 'for again in 1 2; do for part in "$@"; do nft -f "$part" || exit; done; done; nft -j list ruleset'


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
    """What nftables says against a file: nothing when it takes it. For an ordinary user a long one is loaded in parts."""
    whole = os.geteuid() == 0 or len(parts(rules)) == 1
    checked = alone(["nft", "--check", "--file", "-"], rules) if whole else loaded(rules)
    return checked.stderr if checked.returncode or checked.stderr else ""


def loaded(rules: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Load a file twice (the second replaces the first) and list what the kernel holds, as JSON."""
    pieces = [rules] if os.geteuid() == 0 else parts(rules)
    with TemporaryDirectory() as folder:
        files = [Path(folder, f"{number}.nft") for number in range(len(pieces))]
        for file, piece in zip(files, pieces, strict=True):
            file.write_text(piece, "utf-8")
        return alone(["sh", "-c", LOADED, "sh", *map(str, files)], **variables)


def listing(rules: str, **variables: str) -> list[dict[str, Any]]:
    """The kernel's listing of a file that was loaded, as its JSON objects."""
    told = loaded(rules, **variables)
    assert not told.returncode, told.stderr
    found: list[dict[str, Any]] = json.loads(told.stdout)["nftables"]
    return found


def rules_of(objects: Sequence[dict[str, Any]], chain: str) -> list[dict[str, Any]]:
    """The rules of one chain, in order."""
    return [one["rule"] for one in objects if "rule" in one and one["rule"]["chain"] == chain]


class Lab:
    """An office's firewall in the kernel, with its zones around it, in a process of its own; it ends with the process."""

    def __init__(self, legs: Sequence[Leg], *, as_nobody: bool = False) -> None:
        command = [
            sys.executable,
            str(Path(__file__).with_name("kernel_lab.py")),
            *(["--as-nobody"] if as_nobody else []),
        ]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.ask("build", legs=[described(leg) for leg in legs])

    def __enter__(self) -> Self:
        """As it stands."""
        return self

    def __exit__(self, *_: object) -> None:
        """The process ends, and with it all of its namespaces."""
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.close()
        self.process.wait(10)
        self.process.stdout.close()

    def ask(self, verb: str, **given: object) -> dict[str, Any]:
        """One request, one answer. Raises AssertionError with what went wrong there."""
        assert self.process.stdin
        assert self.process.stdout
        self.process.stdin.write(json.dumps({"verb": verb, **given}) + "\n")
        self.process.stdin.flush()
        answer: dict[str, Any] = json.loads(self.process.stdout.readline() or '{"wrong": "it ended by itself"}')
        assert "wrong" not in answer, answer["wrong"]
        return answer

    def load(self, rules: str) -> None:
        """Forget all connections and load a file of rules."""
        self.ask("load", rules=rules)

    def send(self, packets: Sequence[tuple[str, bytes]]) -> list[tuple[str, bytes]]:
        """Send packets, each from the port of a zone or from "firewall", and tell what the router sent out by which port."""
        heard = self.ask("send", packets=[(origin, packet.hex()) for origin, packet in packets])["heard"]
        return [(interface, bytes.fromhex(packet)) for interface, packet in heard]

    def counted(self) -> dict[tuple[str, str], int]:
        """Packets that each rule decided, by chain and number; those that the router took for itself are ("taken", "taken")."""
        found: Counter[tuple[str, str]] = Counter()
        for one in self.ask("counted")["listing"]:
            rule = one.get("rule", {})
            counts = [part["counter"]["packets"] for part in rule.get("expr", ()) if "counter" in part]
            if counts and rule["table"] in {"office", "lab"}:
                found[rule["chain"], rule["comment"].split()[0]] += counts[0]
        return dict(found)


def described(leg: Leg) -> dict[str, object]:
    """A port of the firewall, for the process that builds it; to the outside goes all that goes nowhere else."""
    everything = ("0.0.0.0/0", "::/0") if leg.interface == FIRST_OUTSIDE else ()
    return {
        "interface": leg.interface,
        "networks": [*everything, *(str(network) for network in leg.networks)],
        "own": [f"{host}/{host.max_prefixlen}" for host in leg.own],
    }
