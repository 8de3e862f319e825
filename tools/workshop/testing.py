"""Runs the tests of a tier, after seeing to the system packages that the full tier needs."""

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from workshop import environment, packages

NEEDED = {
    "pdftotext": "poppler-utils", "pdftoppm": "poppler-utils", "nft": "nftables", "ip": "iproute2",
    "kea-dhcp4": "kea-dhcp4-server", "kea-dhcp6": "kea-dhcp6-server", "nsd-checkzone": "nsd",
    "unbound-checkconf": "unbound", "named-checkzone": "bind9-utils", "chronyd": "chrony", "yanglint": "libyang2-tools",
    "udhcpc": "udhcpc", "dhcrelay": "isc-dhcp-relay", "sysctl": "procps", "chromium": "chromium",
}  # fmt: skip
"""Program -> Debian package, for the full tier; many programs stand where only an administrator's path leads."""
SPREAD = ["-n", "auto", "--dist", "worksteal", "--durations", "25", "--durations-min", "5"]
"""Runs of neighbours stay in one process, which makes what they share once; whoever is done first takes over from the others."""
BESIDE = f"{os.environ.get('PATH', '')}:/usr/local/sbin:/usr/sbin:/sbin"


def test(root: Path, words: Sequence[str]) -> int:
    """Run pytest, short or full; returns its exit code, 1 when the machine lacks something in CI."""
    full = "--all" in words
    given = [word for word in words if word != "--all"]
    if full:
        missing = sorted({package for program, package in NEEDED.items() if not shutil.which(program, path=BESIDE)})
        if not packages.provide(missing) and os.environ.get("CI"):
            return 1
    spread = [] if given else SPREAD  # a chosen test is run where a debugger can reach it
    scale = {"SCANTLING_SCALE": "full" if full else "short"}
    return environment.python(root, "developer", ["-m", "pytest", *spread, *given], scale)
