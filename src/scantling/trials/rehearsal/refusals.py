"""Says in plain words why the kernel refused a step on the way into namespaces, and what a person can do."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

USER_NAMESPACES = "a user namespace of one's own"
REFUSING = {errno.EPERM, errno.EACCES}
FULL = {errno.ENOSPC, errno.EUSERS}
SETTINGS = Path("/proc/sys")


class Refused(Exception):  # noqa: N818 - it is what happened, and never leaves this folder
    """A step was refused; its text is the reason in plain words."""


@contextmanager
def step(what: str, *, as_root: bool = False) -> Iterator[None]:
    """Turn what the kernel says against a step into a reason. Raises Refused."""
    try:
        yield
    except OSError as wrong:
        raise Refused(reason(what, wrong, as_root=as_root)) from wrong


def reason(what: str, wrong: OSError, *, as_root: bool) -> str:
    """Why a step was refused: limits and switches of this machine first, then what the kernel itself says.

    Sources: user_namespaces(7), namespaces(7) (limits under /proc/sys/user), unshare(2) and seccomp(2) of the Linux
    manual; the two switches of distributions from memory.
    """
    if wrong.errno in FULL:
        return f"{what}: this machine allows no more of them ({spent()})"
    if wrong.errno in {errno.EINVAL, errno.ENOSYS}:
        return f"{what}: this kernel was built without them"
    if wrong.errno == errno.EROFS:
        return f"{what}: they can only be read here, as in a container; run outside the container"
    if wrong.errno in REFUSING:
        return f"{what}: {forbidder(as_root=as_root)}"
    return f"{what}: {wrong.strerror}"


def spent() -> str:
    """The limits of namespaces that stand at 0, or that they are used up."""
    at_zero = [
        f"user.max_{kind}_namespaces is 0"
        for kind in ("user", "net", "mnt", "pid")
        if setting(f"user/max_{kind}_namespaces") == "0"
    ]
    return " and ".join(at_zero) or "all that user.max_user_namespaces and its like allow are in use"


def forbidder(*, as_root: bool) -> str:
    """Who forbids it, as far as this machine tells."""
    if not as_root:
        if setting("kernel/unprivileged_userns_clone") == "0":
            return "switched off for ordinary users on this machine (kernel.unprivileged_userns_clone is 0)"
        if setting("kernel/apparmor_restrict_unprivileged_userns") == "1":
            return (
                "kept from ordinary users by this machine's security profiles "
                "(kernel.apparmor_restrict_unprivileged_userns is 1)"
            )
    if filtered():
        return "forbidden by a filter of system calls (seccomp), as containers have; run outside the container"
    if as_root:
        return "forbidden even to root here, as in a container that holds rights back; run outside the container"
    return "forbidden by the kernel (Operation not permitted), as in a container or a changed root folder"


def setting(name: str) -> str:
    """A setting of the kernel; empty where this kernel hasn't it."""
    try:
        return (SETTINGS / name).read_text("utf-8").strip()
    except OSError:
        return ""


def filtered() -> bool:
    """Whether a filter of system calls lies on this process."""
    try:
        lines = Path("/proc/self/status").read_text("utf-8").splitlines()
    except OSError:
        return False
    return "Seccomp:\t2" in lines
