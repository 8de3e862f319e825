"""The first process inside: it dies with whoever started it, lays out files and mounts, and reaps what others leave."""

import ctypes
import errno
import os
import re
import resource
import signal
import sys
from pathlib import Path

from scantling.trials.rehearsal.calls import (
    AGAIN, BIND, DEEP, DIES_WITH, DUMPABLE, NO_DEVICES, NO_PROGRAMS, NO_SUID, PRIVATE, READ_ONLY,
    called, mount, prctl,
)  # fmt: skip
from scantling.trials.rehearsal.refusals import Refused, step

PLACES = ("/media", "/mnt", "/srv", "/opt", "/tmp")  # noqa: S108 - a place to mount on, inside only
MOUNT_SETATTR, RECURSIVE = 442, 0x8000
"""Number of mount_setattr(2), the same on every architecture since Linux 5.12; AT_RECURSIVE."""
SWITCH = Path("/proc/sys/net/ipv4/ip_forward")
OPTIONS = {"ro": READ_ONLY, "nosuid": NO_SUID, "nodev": NO_DEVICES, "noexec": NO_PROGRAMS} | {
    "noatime": 1 << 10, "nodiratime": 1 << 11, "relatime": 1 << 21,
}  # fmt: skip


class Attributes(ctypes.Structure):
    """What mount_setattr(2) is told."""

    _fields_ = (
        ("put", ctypes.c_uint64), ("cleared", ctypes.c_uint64), ("spread", ctypes.c_uint64), ("user", ctypes.c_uint64),
    )  # fmt: skip


def bound_to(parent: int) -> None:
    """Die at once when `parent` does, or now if it has died already; to be said again after a change of credentials."""
    prctl(DIES_WITH, signal.SIGKILL)
    prctl(DUMPABLE, 1)  # lost by a change of ids; without it this process can't see its own files in /proc
    if os.getppid() != parent:
        os._exit(1)


def settled() -> Path:
    """Make mounts private, the host's files read-only, a /proc of one's own and a folder in memory. Returns the folder.

    To be called by the first process of the new namespaces. Raises Refused.
    """
    with step("mounts of one's own"):
        mount("none", "/", "", DEEP | PRIVATE)
        read_only()
    own_proc()
    with step("switches of the network (/proc/sys/net)"):
        SWITCH.write_text("0", "utf-8")
    place = covered()
    with step("a folder in memory"):
        mount("none", str(place), "tmpfs", NO_SUID | NO_DEVICES, "mode=755")
    os.chdir(place)
    (place / "tmp").mkdir()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    return place


def read_only() -> None:
    """Whatever the host has mounted can't be written from here. Raises OSError."""
    try:
        attributes("/", put=READ_ONLY, deep=True)
    except OSError as wrong:
        if wrong.errno != errno.ENOSYS:
            raise
        read_only_one_by_one()


def read_only_one_by_one() -> None:
    """The same on a kernel before 5.12: every mount alone, with the options that it has already. Raises OSError."""
    for line in Path("/proc/self/mountinfo").read_text("utf-8").splitlines():
        point, options = line.split()[4:6]
        own = sum(OPTIONS.get(option, 0) for option in options.split(",") if option != "ro")
        mount("none", plain(point), "", AGAIN | BIND | READ_ONLY | own)


def plain(point: str) -> str:
    r"""A path as it is, from one where blanks stand as \040."""
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), point)


def attributes(place: str, *, put: int = 0, cleared: int = 0, deep: bool = False) -> None:
    """Set or clear options of a mount, and of all below it. Raises OSError."""
    told = Attributes(put=put, cleared=cleared)
    called(
        "syscall", ctypes.c_long(MOUNT_SETATTR), -100, place.encode(), ctypes.c_uint(RECURSIVE if deep else 0),
        ctypes.byref(told), ctypes.c_size_t(ctypes.sizeof(told)),
    )  # fmt: skip


def own_proc() -> None:
    """A /proc that shows these processes alone. Raises Refused.

    Where a container hides parts of its own, the kernel gives no new one, and the old one serves.
    """
    try:
        mount("none", "/proc", "proc", NO_SUID | NO_DEVICES | NO_PROGRAMS)
    except PermissionError:
        with step("switches of the network (/proc)"):
            attributes("/proc", cleared=READ_ONLY)


def covered() -> Path:
    """A folder to mount on, such that nothing this program still reads is hidden. Raises Refused."""
    needed = [Path(one).absolute() for one in (*sys.path, sys.prefix, sys.base_prefix, sys.executable)] + [Path.cwd()]
    for name in PLACES:
        place = Path(name)
        if place.is_dir() and not place.is_symlink() and not any(one.is_relative_to(place) for one in needed):
            return place
    raise Refused(f"a folder to work in: none of {', '.join(PLACES)} is there and free")


def reaped(child: int) -> int:
    """Reap whatever ends until `child` does. Returns its exit status as of os.waitstatus_to_exitcode."""
    while True:
        ended, status = os.wait()
        if ended == child:
            return os.waitstatus_to_exitcode(status)
