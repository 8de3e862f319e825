"""The three ways into namespaces: a range of ids, one id, root; each can be tried first, and tells why it doesn't work."""

import os
import pwd
import shutil
import signal
import subprocess
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from scantling.trials.rehearsal.calls import NEW_MOUNTS, NEW_NETWORK, NEW_PROCESSES, NEW_USER, forked, prctl, unshare
from scantling.trials.rehearsal.reaper import bound_to, settled
from scantling.trials.rehearsal.refusals import USER_NAMESPACES, Refused, step

RANGE, ONE, ROOT = "range", "one-id", "root"
LABELS = {
    RANGE: "ordinary user with a range of ids",
    ONE: "ordinary user with one id",
    ROOT: "root",
}
MOST = 65535
OWN_NETWORK = Path("/proc/self/ns/net")
DROP_RIGHT = 24
"""PR_CAPBSET_DROP."""
RIGHTS_INSIDE = {*range(9), 10, 11, 12, 13, 14, 18, 23}
"""Files and ids of one's own tree (0 to 8), network (10 to 13), memory, chroot, niceness."""
HELPERS = (("newuidmap", "/etc/subuid"), ("newgidmap", "/etc/subgid"))


@dataclass(frozen=True, slots=True)
class Way:
    """One way in, and whether it is open here."""

    name: str
    """range, one-id or root."""
    works: bool
    reason: str = ""
    """Why it doesn't work, in plain words."""

    @property
    def label(self) -> str:
        """As a person calls it."""
        return LABELS[self.name]


def ways() -> tuple[Way, ...]:
    """All three, each tried in a process of its own that is gone afterwards."""
    return tuple(way(name) for name in LABELS)


def way(name: str) -> Way:
    """One of them, tried. Raises KeyError for a name that isn't one."""
    reason = hindrance(LABELS[name] and name)
    return Way(name, not reason, reason)


def hindrance(name: str) -> str:
    """Go in by a way, with everything that needs rights, in a child. Returns why it failed, or nothing."""
    return told_by_child(lambda: attempt(name))


def attempt(name: str) -> str:
    """Enter, and settle in a first process there. Returns why it failed, or nothing."""
    try:
        enter(name)
    except Refused as refused:
        return str(refused)
    return told_by_child(settling)


def settling() -> str:
    """Mounts, /proc and folder of the first process. Returns why they failed, or nothing."""
    try:
        settled()
    except Refused as refused:
        return str(refused)
    return ""


def told_by_child(work: Callable[[], str]) -> str:
    """What a forked child says; it never returns from here, whatever happens in it."""
    heard, saying = os.pipe()
    child = forked()
    if child == 0:
        said = ""
        try:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            os.close(heard)
            said = work()
        except BaseException as wrong:  # noqa: BLE001 - a fork must not run on into its parent's code
            said = f"it broke off unexpectedly ({type(wrong).__name__}: {wrong})"
        finally:
            os.write(saying, said.encode("utf-8", "replace")[:4096])
            os._exit(0)
    os.close(saying)
    with os.fdopen(heard, "rb") as stream:
        said = stream.read().decode("utf-8")
    os.waitpid(child, 0)
    return said


def enter(name: str) -> None:
    """Take this process, freshly forked and with one thread, out of the host's network and mounts.

    Its next child is the first process of a family of its own. Raises Refused; then it must end, being half-way in.
    """
    parent = os.getppid()
    bound_to(parent)
    host = OWN_NETWORK.stat().st_ino
    if name == ROOT:
        if os.geteuid() != 0:
            raise Refused("root: this user is not root")
    elif name == ONE:
        with_one_id()
    else:
        with_range()
    with step("namespaces of network, mounts and processes", as_root=name == ROOT):
        unshare(NEW_NETWORK | NEW_MOUNTS | NEW_PROCESSES)
    if OWN_NETWORK.stat().st_ino == host:
        raise Refused("a network of one's own: the kernel said yes but left this process in the host's network")
    bound_to(parent)  # a change of credentials makes the kernel forget it


def hold_back() -> None:
    """Where root came in without a user namespace: what is started from now on gets no right over the host. Raises OSError.

    Clock, modules, devices, mounts and the like are the whole machine's; capabilities(7), "bounding set".
    """
    last = int(Path("/proc/sys/kernel/cap_last_cap").read_text("utf-8"))
    for right in set(range(last + 1)) - RIGHTS_INSIDE:
        prctl(DROP_RIGHT, right)


def with_one_id() -> None:
    """A user namespace where this user is root and there is nobody else. Raises Refused."""
    user, group = os.geteuid(), os.getegid()
    with step(USER_NAMESPACES):
        unshare(NEW_USER)
        Path("/proc/self/setgroups").write_text("deny", "utf-8")
        Path("/proc/self/uid_map").write_text(f"0 {user} 1", "utf-8")
        Path("/proc/self/gid_map").write_text(f"0 {group} 1", "utf-8")


def with_range() -> None:
    """A user namespace where this user is root and a range of other ids exists. Raises Refused."""
    commands = [] if os.geteuid() == 0 else mapping_commands(os.getpid())
    ready, go = os.pipe()
    heard, saying = os.pipe()
    target = os.getpid()
    helper = os.fork()  # it stays outside, for only from there may more than one id be lent
    if helper == 0:
        said = ""
        try:
            os.close(go)
            said = lend(target, commands) if os.read(ready, 1) else ""
        except BaseException as wrong:  # noqa: BLE001 - a fork must not run on into its parent's code
            said = f"a range of ids: {type(wrong).__name__}: {wrong}"
        finally:
            os.write(saying, said.encode("utf-8", "replace")[:4096])
            os._exit(0)
    os.close(saying)
    os.close(ready)
    with os.fdopen(heard, "rb") as stream, os.fdopen(go, "wb", 0) as going:
        with step(USER_NAMESPACES):
            unshare(NEW_USER)
        going.write(b"g")
        said = stream.read().decode("utf-8")
    os.waitpid(helper, 0)
    if said:
        raise Refused(said)
    with step("groups of one's own"):
        os.setgroups([])


def lend(target: int, commands: list[list[str]]) -> str:
    """Write the maps of ids of another process: root itself, others through the programs made for it. Returns what failed."""
    if not commands:
        return lend_as_root(target)
    for command in commands:
        done = subprocess.run(command, capture_output=True, check=False, stdin=subprocess.DEVNULL)
        if done.returncode:
            said = done.stderr.decode("utf-8", "replace").strip() or f"ended with {done.returncode}"
            return f"a range of ids: {Path(command[0]).name} refused ({said.splitlines()[-1]})"
    return ""


def lend_as_root(target: int) -> str:
    """Root lends the ids that it has itself. Returns what failed."""
    try:
        for kind in ("uid", "gid"):
            count = min(MOST + 1, reach(Path(f"/proc/self/{kind}_map").read_text("utf-8")))
            Path(f"/proc/{target}/{kind}_map").write_text(f"0 0 {count}", "utf-8")
    except OSError as wrong:
        return f"a range of ids: root may not lend its own ({wrong.strerror})"
    return ""


def reach(map_of_ids: str) -> int:
    """How many ids, from 0 on, exist without a gap."""
    count = 0
    for line in sorted(map_of_ids.splitlines(), key=lambda one: int(one.split()[0])):
        first, _, many = (int(word) for word in line.split())
        if first != count:
            break
        count += many
    return count


def mapping_commands(target: int) -> list[list[str]]:
    """The two programs that lend an ordinary user the ids set aside for it. Raises Refused."""
    user, group = os.geteuid(), os.getegid()
    commands = []
    for (program, register), own in zip(HELPERS, (user, group), strict=True):
        path = shutil.which(program)
        if path is None:
            raise Refused(f"a range of ids: the program {program} is not installed here")
        first, many = set_aside(Path(register), user)
        commands.append([path, str(target), "0", str(own), "1", "1", str(first), str(many)])
    return commands


def set_aside(register: Path, user: int) -> tuple[int, int]:
    """First and number of the ids set aside for a user, as subuid(5) says. Raises Refused."""
    called = {str(user)}
    with suppress(KeyError):
        called.add(pwd.getpwuid(user).pw_name)
    try:
        lines = register.read_text("utf-8", "replace").splitlines()
    except FileNotFoundError:
        lines = []
    except OSError as wrong:
        raise Refused(f"a range of ids: {register} can't be read ({wrong.strerror})") from wrong
    for line in lines:
        name, _, numbers = line.strip().partition(":")
        first, _, many = numbers.partition(":")
        if name in called and first.isdigit() and many.isdigit() and int(many) > 0:
            return int(first), min(int(many), MOST)
    raise Refused(f"a range of ids: {register} sets none aside for this user")
