"""Calls of the C library that Python 3.11 has no words for: namespaces, mounts, the signal at a parent's death."""

import ctypes
import os
import signal

NEW_TIME, NEW_MOUNTS, NEW_USER, NEW_PROCESSES, NEW_NETWORK = 0x80, 0x20000, 0x10000000, 0x20000000, 0x40000000
READ_ONLY, NO_SUID, NO_DEVICES, NO_PROGRAMS, AGAIN, BIND, DEEP, PRIVATE = 1, 2, 4, 8, 32, 4096, 16384, 1 << 18
DIES_WITH, DUMPABLE = 1, 4
LIBC = ctypes.CDLL(None, use_errno=True)


def forked() -> int:
    """Fork, and return what os.fork does. Ctrl-C is held back meanwhile: the hooks that Python runs after a fork swallow it."""
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return os.fork()
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def called(name: str, *arguments: object) -> None:
    """Call the C library. Raises OSError with what it says."""
    if getattr(LIBC, name)(*arguments) != 0:
        number = ctypes.get_errno()
        raise OSError(number, f"{name}: {os.strerror(number)}")


def unshare(kinds: int) -> None:
    """Go into namespaces of one's own. Raises OSError."""
    called("unshare", kinds)


def setns(descriptor: int, kind: int) -> None:
    """Go into the namespace of a descriptor, this thread alone. Raises OSError."""
    called("setns", descriptor, kind)


def prctl(option: int, value: int) -> None:
    """Set something of this process. Raises OSError."""
    called("prctl", option, ctypes.c_ulong(value), 0, 0, 0)


def mount(source: str, target: str, kind: str, flags: int, data: str = "") -> None:
    """Mount something. Raises OSError."""
    called(
        "mount", source.encode(), target.encode(), kind.encode() or None, ctypes.c_ulong(flags), data.encode() or None
    )
