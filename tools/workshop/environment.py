"""Makes .venv from a hashed lock, once a lock, and runs its Python."""

import fcntl
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Literal

Tier = Literal["runtime", "developer"]

LOCKS: dict[Tier, str] = {"runtime": "requirements.lock", "developer": "requirements-dev.lock"}
MARKER = "scantling.json"
LAUNCHER = """#!/bin/sh
exec "$(dirname "$0")/python" -m scantling "$@"
"""
COMPILE = (
    *("pip", "compile", "--quiet", "--universal", "--generate-hashes", "--python-version", "3.11"),
    *("--no-emit-index-url", "--no-header", "--no-annotate"),  # no host name stands in the repository
)


class EnvironmentMissingError(Exception):
    """The environment can't be made; the text says what to do."""


def python(root: Path, tier: Tier, words: Sequence[str], extra: dict[str, str] | None = None) -> int:
    """Run the environment's Python in the root; returns its exit code."""
    make(root, tier)
    command = [str(root / ".venv/bin/python"), *words]
    return subprocess.run(command, cwd=root, env=surroundings() | (extra or {}), check=False).returncode


def surroundings() -> dict[str, str]:
    """The process's environment variables, without what leads tools astray."""
    kept = {
        name: value for name, value in os.environ.items() if name not in {"PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV"}
    }
    if not kept.get("HOME"):  # a package installer would else keep its cache in the current folder
        kept.pop("HOME", None)
        kept |= {"PIP_NO_CACHE_DIR": "1", "UV_NO_CACHE": "1"}
    return {"UV_SYSTEM_CERTS": "1", "UV_NATIVE_TLS": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"} | kept


def make(root: Path, tier: Tier) -> None:
    """Make .venv, or leave it when it was made whole from the same lock. Raises EnvironmentMissingError."""
    if fresh(root, tier):
        return
    with alone(root):
        if fresh(root, tier):  # made while we waited
            return
        tier = "developer" if fresh_marker(root).get("tier") == "developer" else tier
        clear(root)
        print(f"making .venv from {LOCKS[tier]} ...", file=sys.stderr, flush=True)
        fill(root, tier)
        settle(root)
        write_marker(root, tier)


def clear(root: Path) -> None:
    """Put an empty .venv, marked as unfinished, in the place of an old one.

    Raises EnvironmentMissingError for one that ./dev did not make: it is somebody's, and stays.
    """
    folder, old = root / ".venv", root / ".venv.old"
    if folder.exists():
        if not (folder / MARKER).exists():
            raise EnvironmentMissingError("there is a .venv that ./dev did not make; move it away, then try again")
        if old.exists():
            shutil.rmtree(old)
        folder.rename(old)
        shutil.rmtree(old)
    folder.mkdir()
    (folder / MARKER).write_text("{}", "utf-8")


def fresh(root: Path, tier: Tier) -> bool:
    """Whether .venv was finished from this very lock, here, by a Python that is still there."""
    found = fresh_marker(root)
    made = found.get("tier")
    if made not in LOCKS or (tier == "developer" and made != "developer"):
        return False
    return found == marker(root, made) and (root / ".venv/bin/python").exists()


def marker(root: Path, tier: Tier) -> dict[str, str]:
    """What tells one environment from another."""
    digest = sha256((root / LOCKS[tier]).read_bytes()).hexdigest()
    version = ".".join(map(str, sys.version_info[:2]))
    return {"tier": tier, "lock": digest, "python": version, "root": str(root)}


def fresh_marker(root: Path) -> dict[str, str]:
    """The marker in .venv; empty when there is none or it can't be read."""
    try:
        read = json.loads((root / ".venv" / MARKER).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {key: str(value) for key, value in read.items()} if isinstance(read, dict) else {}


def write_marker(root: Path, tier: Tier) -> None:
    """Last of all, and in one step: a half-made environment never looks whole."""
    part = root / ".venv" / (MARKER + ".part")
    part.write_text(json.dumps(marker(root, tier)), "utf-8")
    part.replace(root / ".venv" / MARKER)


def fill(root: Path, tier: Tier) -> None:
    """Make the environment and install the lock: with uv when it is there, else with pip alone."""
    uv, lock_file = shutil.which("uv"), str(root / LOCKS[tier])
    target = root / ".venv"
    if uv:
        run([sys.executable, "-m", "venv", "--without-pip", str(target)])
        words = [uv, "pip", "install", "--quiet", "--compile-bytecode", "--python", str(target / "bin/python")]
        if run([*words, "--require-hashes", "--no-deps", "-r", lock_file], must=False):
            return
        print("uv did not manage; trying pip", file=sys.stderr)
        clear(root)
    if not importlib.util.find_spec("ensurepip"):
        version = ".".join(map(str, sys.version_info[:2]))
        raise EnvironmentMissingError(
            f"this Python comes without venv and pip. On Debian: apt-get install python{version}-venv; then try again"
        )
    run([sys.executable, "-m", "venv", str(target)])
    words = [str(target / "bin/python"), "-m", "pip", "install", "-qq", "--only-binary", ":all:"]
    run([*words, "--require-hashes", "--no-deps", "-r", lock_file])


def settle(root: Path) -> None:
    """Let the environment find src without a build, give the program its short name, and compile it.

    pip compiles what it installs, and so does uv when asked to: whoever may not write here, or has Python write no bytecode, would
    else compile everything again at each start, which takes a third of a second.
    """
    site = next((root / ".venv/lib").glob("python*/site-packages"))
    (site / "scantling.pth").write_text(os.path.relpath(root / "src", site) + "\n", "utf-8")
    launcher = root / ".venv/bin/scantling"
    launcher.write_text(LAUNCHER, "utf-8")
    launcher.chmod(0o755)
    run([str(root / ".venv/bin/python"), "-m", "compileall", "-q", "-j", "0", str(root / "src")], must=False)


def run(command: Sequence[str], *, must: bool = True) -> bool:
    """Run a command; whether it succeeded. Raises EnvironmentMissingError when it must and does not."""
    done = subprocess.run(command, env=surroundings(), check=False)
    if must and done.returncode:
        raise EnvironmentMissingError(f"this did not succeed, see above: {' '.join(command)}")
    return done.returncode == 0


@contextmanager
def alone(root: Path) -> Iterator[None]:
    """One maker at a time."""
    with (root / ".venv.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


def lock(root: Path) -> int:
    """Write both lock files from pyproject.toml. Raises EnvironmentMissingError without uv."""
    uv = shutil.which("uv")
    if not uv:
        raise EnvironmentMissingError("writing the lock files needs uv on the path")
    base = [uv, *COMPILE, "pyproject.toml"]
    for words in (["-o", LOCKS["runtime"]], ["--group", "dev", "-c", LOCKS["runtime"], "-o", LOCKS["developer"]]):
        if code := subprocess.run([*base, *words], cwd=root, env=surroundings(), check=False).returncode:
            return code
    return 0
