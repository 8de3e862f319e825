"""A file tree for each machine: the host's programs read-only, all else its own, so that files lie where the plan puts them.

Programs enter by chroot(2). What a service's author needs to know:

- Every user of the tree's /etc/passwd has id 0 and group 0, so that programs may "become" them where there is one id
  only. setgroups(2) is refused there; programs that insist on it can't run with one id.
- The tree's root is a folder of the sandbox's memory; /usr is the host's, read-only; /dev holds null, zero, full, random,
  urandom and tty; /proc is the sandbox's own. There is no /sys.
- Standard input is empty, both outputs go to a log in memory. The environment is a short list of its own.
- Programs die with the office: its first process ends, and the kernel ends all others inside.
- Folders that a package would make are not there: `folder` them. Tried with one id, each from its generated file at its
  place: `nsd -d` (needs /run/nsd, /var/lib/nsd; warns "unable to initgroups" and goes on), `unbound -d` (/var/lib/unbound),
  `chronyd -x -d` (/var/lib/chrony, /run/chrony of mode 750; it keeps root, since _chrony is root here), `kea-dhcp4 -c`
  (/run/kea, /var/lib/kea; it wants the interface that its file names).
"""

import os
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from scantling.trials.rehearsal.calls import BIND, DEEP, mount
from scantling.trials.rehearsal.rooms import Room
from scantling.trials.rehearsal.sandbox import RehearsalError

ENVIRONMENT: Mapping[str, str] = {
    "PATH": "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin",
    "HOME": "/root",
    "LC_ALL": "C.UTF-8",
    "TZ": "UTC",
}
USERS = (
    "root", "nobody", "daemon", "nsd", "unbound", "_kea", "kea", "_chrony", "chrony", "named", "bind", "ntp", "ldap",
    "openldap", "dnsmasq", "tcpdump",
)  # fmt: skip
GROUPS = (*USERS, "nogroup", "tty", "adm", "shadow")
FROM_USR = ("bin", "sbin", "lib", "lib32", "lib64", "libx32")
FOLDERS = (
    "dev/shm", "etc", "home", "proc", "root", "run/lock", "tmp", "usr", "var/cache", "var/lib", "var/log", "var/spool",
    "var/tmp",
)  # fmt: skip
ANYBODYS = ("dev/shm", "run/lock", "tmp", "var/tmp")
DEVICES = ("null", "zero", "full", "random", "urandom", "tty")
LINKS = {
    "var/run": "../run",
    "var/lock": "../run/lock",
    "dev/fd": "/proc/self/fd",
    "dev/stdin": "/proc/self/fd/0",
    "dev/stdout": "/proc/self/fd/1",
    "dev/stderr": "/proc/self/fd/2",
    "etc/mtab": "/proc/self/mounts",
}
OF_THE_HOST = (
    "ld.so.cache",
    "ld.so.conf",
    "services",
    "protocols",
    "rpc",
    "ethertypes",
    "gai.conf",
    "bindresvport.blacklist",
)
HOST_FOLDERS = ("ld.so.conf.d", "alternatives", "iproute2", "ssl")
NAMES = "passwd: files\ngroup: files\nshadow: files\nhosts: files dns\nnetworks: files\nprotocols: files\nservices: files\n"


@dataclass(frozen=True, slots=True)
class Tree:
    """The files of one machine."""

    path: Path
    """Its root, as seen from outside it."""
    machine: str

    def place(self, where: str) -> Path:
        """Where a path of the machine lies. Raises RehearsalError if it leads out of the tree."""
        place = self.path / where.lstrip("/")
        folder = place.parent.resolve()
        if ".." in place.parts or not folder.is_relative_to(self.path) or place.is_symlink():
            raise RehearsalError(f"{where} on {self.machine} leads out of the files made for it")
        return folder / place.name

    def put(self, where: str, content: bytes, mode: int = 0o644) -> None:
        """Write a file, with the folders that it needs. Raises RehearsalError."""
        place = self.place(where)
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
            place.chmod(mode)
        except OSError as wrong:
            raise RehearsalError(f"{where} can't be written on {self.machine}: {wrong.strerror}") from wrong

    def folder(self, where: str, mode: int = 0o755) -> None:
        """Make a folder, if it isn't there. Raises RehearsalError."""
        place = self.place(where)
        try:
            place.mkdir(parents=True, exist_ok=True)
            place.chmod(mode)
        except OSError as wrong:
            raise RehearsalError(f"folder {where} can't be made on {self.machine}: {wrong.strerror}") from wrong

    def has(self, program: str) -> bool:
        """Whether a program is there, by name or path."""
        folders = [""] if "/" in program else ENVIRONMENT["PATH"].split(":")
        with self.entered():
            return any(os.access(f"{folder}/{program}" if folder else program, os.X_OK) for folder in folders)

    @contextmanager
    def entered(self) -> Iterator[None]:
        """This process sees the tree as its root; children that it starts stay there.

        To be used by a process with one thread, for short: all paths mean those of the machine meanwhile.
        """
        root, here = os.open("/", os.O_RDONLY | os.O_CLOEXEC), os.open(".", os.O_RDONLY | os.O_CLOEXEC)
        os.chroot(self.path)
        try:
            os.chdir("/")
            yield
        finally:
            os.fchdir(root)
            os.chroot(".")
            os.fchdir(here)
            os.close(root)
            os.close(here)

    def started(
        self, room: Room, command: Sequence[str], log: str, more: Mapping[str, str] | None = None
    ) -> "subprocess.Popen[bytes]":
        """Start a program in a room; what it says goes to the machine's file `log`. `more`: for its environment.

        Raises RehearsalError if it isn't there.
        """
        self.put(log, b"")
        try:
            with self.place(log).open("ab") as said, self.entered():
                return room.started(
                    command, stdin=subprocess.DEVNULL, stdout=said, stderr=said, start_new_session=True,
                    env={**ENVIRONMENT, **(more or {})},
                )  # fmt: skip
        except OSError as wrong:
            raise RehearsalError(f"{command[0]} can't be started on {self.machine}: {wrong.strerror}") from wrong

    def ran(
        self, room: Room, command: Sequence[str], given: bytes = b"", patience: float = 60.0
    ) -> "subprocess.CompletedProcess[bytes]":
        """Run a program in a room to its end. Raises RehearsalError if it isn't there or doesn't end within `patience` s."""
        try:
            with self.entered():
                program = room.started(
                    command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT
                )
            with program:
                try:
                    out, wrong = program.communicate(given, timeout=patience)
                finally:
                    program.kill()  # one that has ended is not touched by it
        except OSError as wrong_start:
            raise RehearsalError(
                f"{command[0]} can't be run on {self.machine}: {wrong_start.strerror}"
            ) from wrong_start
        except subprocess.TimeoutExpired as late:
            raise RehearsalError(f"{command[0]} on {self.machine} didn't end within {patience:g} s") from late
        return subprocess.CompletedProcess(command, program.returncode, out, wrong)

    def said(self, log: str, lines: int = 5) -> str:
        """The last lines of a log; empty if nothing was said."""
        place = self.place(log)
        text = place.read_bytes().decode("utf-8", "replace") if place.exists() else ""
        return "\n".join(text.rstrip().splitlines()[-lines:])


def tree(files: Path, machine: str) -> Tree:
    """The tree of a machine, made in the sandbox's folder. Raises RehearsalError."""
    made = Tree(files / "machines" / machine, machine)
    try:
        _folders(made.path)
        _mounts(made.path)
        for name, content in {**_of_the_host(), **_own(machine)}.items():
            (made.path / "etc" / name).write_bytes(content)
    except OSError as wrong:
        raise RehearsalError(f"the files of {machine} can't be laid out: {wrong.strerror or wrong}") from wrong
    return made


def _folders(root: Path) -> None:
    for folder in FOLDERS:
        (root / folder).mkdir(parents=True, exist_ok=True)
    for folder in ANYBODYS:
        (root / folder).chmod(0o1777)
    for name, target in LINKS.items():
        (root / name).symlink_to(target)


def _mounts(root: Path) -> None:
    """Programs, devices and processes; read-only where the sandbox made them so."""
    for name in ("usr", "proc", *FROM_USR):
        of_host = Path("/", name)
        if of_host.is_symlink():
            (root / name).symlink_to(of_host.readlink())
        elif of_host.is_dir():
            (root / name).mkdir(exist_ok=True)
            mount(f"/{name}", str(root / name), "", BIND | DEEP)
    for name in DEVICES:
        if Path("/dev", name).exists():
            (root / "dev" / name).touch()
            mount(f"/dev/{name}", str(root / "dev" / name), "", BIND)
    for name in HOST_FOLDERS:
        of_host = Path("/etc", name)
        if of_host.is_dir() and os.access(of_host, os.R_OK | os.X_OK):
            (root / "etc" / name).mkdir()
            mount(str(of_host), str(root / "etc" / name), "", BIND | DEEP)


def _own(machine: str) -> dict[str, bytes]:
    """What of its small /etc is made for it."""
    users = "".join(f"{name}:x:0:0:{name}:/{'root' if name == 'root' else ''}:/bin/sh\n" for name in USERS)
    made = {
        "passwd": users,
        "group": "".join(f"{name}:x:0:\n" for name in GROUPS),
        "hosts": f"127.0.0.1 localhost {machine}\n::1 localhost ip6-localhost\n",
        "hostname": f"{machine}\n",
        "nsswitch.conf": NAMES,
        "resolv.conf": "# no resolver unless the plan gives one\n",
    }
    return {name: text.encode() for name, text in made.items()}


@cache
def _of_the_host() -> dict[str, bytes]:
    """What of it is the host's, where the host has it; read once. Raises OSError."""
    found = {name: Path("/etc", name) for name in OF_THE_HOST} | {"localtime": Path("/usr/share/zoneinfo/UTC")}
    return {name: place.read_bytes() for name, place in found.items() if os.access(place, os.R_OK)}
