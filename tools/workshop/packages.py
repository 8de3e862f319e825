"""Installs Debian packages for the full tests, with every service kept from starting; or says how."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

POLICY = Path("/usr/sbin/policy-rc.d")
NO_SERVICE = "#!/bin/sh\n# Nothing starts while packages for tests are installed.\nexit 101\n"
INSTALL = ("apt-get", "install", "-y", "--no-install-recommends")


def provide(missing: Sequence[str], policy: Path = POLICY) -> bool:
    """Whether nothing is missing afterwards: installs as root on Debian, otherwise prints the line to paste."""
    if not missing:
        return True
    if os.geteuid() == 0 and shutil.which("apt-get") and install(missing, policy):
        return True
    print(
        f"The full tests need {', '.join(missing)}. As root on Debian, paste:\n    {advice(missing)}", file=sys.stderr
    )
    return False


def advice(missing: Sequence[str]) -> str:
    """The line to paste."""
    return f"apt-get update && {' '.join(INSTALL)} {' '.join(missing)}"


def install(missing: Sequence[str], policy: Path) -> bool:
    """Install the packages; whether that succeeded."""
    quiet = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    with no_services(policy):
        for command in (["apt-get", "update"], [*INSTALL, *missing]):
            print(" ".join(command), file=sys.stderr, flush=True)
            if subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL, check=False).returncode:
                return False
    return True


@contextmanager
def no_services(policy: Path) -> Iterator[None]:
    """While it lasts, no installed service is started; the machine's own policy is put back after."""
    kept = policy.with_name(policy.name + ".before-scantling")
    if (
        policy.exists() and not kept.exists()
    ):  # a kept one is left from a run that was killed: still the machine's own
        shutil.copy2(policy, kept)
    part = policy.with_name(policy.name + ".part")
    part.write_text(NO_SERVICE, "utf-8")
    part.chmod(0o755)
    part.replace(policy)
    try:
        yield
    finally:
        if kept.exists():
            kept.replace(policy)
        else:
            policy.unlink()
