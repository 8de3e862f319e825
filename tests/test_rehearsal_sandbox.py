"""The sandbox in all its ways: what is told when one is shut, nothing on the host touched, nothing left when it ends."""

import ctypes
import os
import platform
import signal
import struct
import time
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from ordinary_user import IS_ROOT, NOBODY, OPEN, as_ordinary, become, by_way, in_child, processes, quiet

from scantling.trials.rehearsal import reaper, refusals, sandbox, ways
from scantling.trials.rehearsal.calls import BIND, DEEP, NEW_MOUNTS, PRIVATE, called, mount, unshare
from scantling.trials.rehearsal.limits import Limits, limits
from scantling.trials.rehearsal.rooms import here
from scantling.trials.rehearsal.sandbox import Inside, RehearsalError, SandboxError, run
from scantling.trials.rehearsal.trees import tree


def listed(folder: str) -> list[str]:
    """The names in a folder."""
    return sorted(one.name for one in Path(folder).iterdir())


def seen_inside(inside: Inside) -> dict[str, Any]:
    """What there is to see."""
    (inside.files / "note").write_text("kept in memory", "utf-8")
    return {
        "way": inside.way.name,
        "user": os.geteuid(),
        "files": str(inside.files),
        "working": str(Path.cwd()),
        "network": str(Path("/proc/self/ns/net").readlink()),
        "mounts": str(Path("/proc/self/ns/mnt").readlink()),
        "interfaces": listed("/proc/sys/net/ipv4/conf"),
        "processes": sorted(processes()),
        "parent": os.getppid(),
        "memory": Path("/proc/self/mountinfo").read_text("utf-8").splitlines()[-1].partition(" - ")[2].split()[0],
        "map": Path("/proc/self/uid_map").read_text("utf-8").split(),
    }


# ------------------------------------------------------------------------------------------------------------ ways in


@pytest.mark.parametrize("name", OPEN)
def test_inside_one_is_root_alone_in_a_network_of_its_own(name: str) -> None:
    seen = by_way(name, seen_inside)
    assert seen["way"] == name
    assert seen["user"] == 0
    assert seen["files"] == seen["working"]
    assert seen["memory"] == "tmpfs"
    assert seen["network"] != str(Path("/proc/self/ns/net").readlink())
    assert seen["mounts"] != str(Path("/proc/self/ns/mnt").readlink())
    assert seen["interfaces"] == ["all", "default", "lo"]
    assert seen["processes"] == [1, 2]
    assert seen["parent"] == 1
    assert not Path(seen["files"], "note").exists()


def test_one_id_and_range_differ_by_the_ids_that_exist() -> None:
    one = by_way(ways.ONE, seen_inside)
    assert one["map"] == ["0", str(NOBODY if IS_ROOT else os.geteuid()), "1"]
    if IS_ROOT:
        assert by_way(ways.RANGE, seen_inside)["map"][2] == "65536"


def test_events_come_in_order_and_before_the_result() -> None:
    def work(inside: Inside) -> int:
        for number in range(1000):
            inside.tell({"number": number})
        return 1000

    def told() -> tuple[list[Any], int]:
        heard: list[Any] = []
        return heard, run(work, heard.append)

    heard, result = as_ordinary(told)
    assert [one["number"] for one in heard] == list(range(1000))
    assert result == 1000


def lent_range(register: Path) -> dict[str, Any]:
    """As an ordinary user with ids set aside, in mounts of one's own where /etc/subuid says so; the host's stays as it is."""
    unshare(NEW_MOUNTS)
    mount("none", "/", "", DEEP | PRIVATE)
    for _, where in ways.HELPERS:
        mount(str(register), where, "", BIND)
    become(NOBODY)

    def work(inside: Inside) -> dict[str, Any]:
        os.setgroups([1, 2])
        os.chown(inside.files / "tmp", 1000, 1000)
        return {"map": Path("/proc/self/uid_map").read_text("utf-8").split(), "groups": os.getgroups()}

    return run(work, quiet, ways.RANGE)


@pytest.mark.skipif(
    not IS_ROOT, reason="only root can lay a register of ids over the machine's, in mounts of its own"
)
def test_a_range_of_ids_is_lent_by_the_programs_made_for_it(tmp_path: Path) -> None:
    register = tmp_path / "subuid"
    register.write_text(f"somebody:500000:65536\n{NOBODY}:700000:65536\n", "utf-8")
    register.chmod(0o644)
    seen = in_child(lambda: lent_range(register))
    assert seen["map"] == ["0", str(NOBODY), "1", "1", "700000", "65535"]
    assert seen["groups"] == [1, 2]


# ------------------------------------------------------------------------------------------------------ why one is shut


def test_a_range_needs_its_programs_and_ids_set_aside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ways, "HELPERS", (("no-such-helper", "/etc/subuid"),) * 2)
    assert "the program no-such-helper is not installed" in as_ordinary(lambda: ways.way(ways.RANGE)).reason
    monkeypatch.setattr(ways, "HELPERS", (("sh", "/etc/no-such-register"),) * 2)
    assert "/etc/no-such-register sets none aside for this user" in as_ordinary(lambda: ways.way(ways.RANGE)).reason


def test_registers_of_ids_are_read_as_their_manual_says(tmp_path: Path) -> None:
    # subuid(5): login name or number, first id, number of ids
    register = tmp_path / "subuid"
    register.write_text("# none\n4711:100000:0\nbroken\n4711:x:5\n471:7:7\n4711:200000:1000\n", "utf-8")
    assert ways.set_aside(register, 4711) == (200000, 1000)
    register.write_text("root:300000:100000\n", "utf-8")
    assert ways.set_aside(register, 0) == (300000, 65535)


def test_root_is_for_root() -> None:
    assert as_ordinary(lambda: ways.way(ways.ROOT)) == ways.Way(
        ways.ROOT, works=False, reason="root: this user is not root"
    )


def test_no_way_at_all_is_told_with_a_reason_for_each() -> None:
    def shut(_inside: Inside) -> str:
        Path("/proc/sys/user/max_user_namespaces").write_text("0", "utf-8")  # of this namespace alone
        become_somebody_without_rights()
        try:
            run(seen_inside, quiet)
        except SandboxError as wrong:
            return str(wrong)
        return "a way in was found"

    said = as_ordinary(lambda: run(shut, quiet, ways.ONE))
    assert "ordinary user with one id: a user namespace of one's own: this machine allows no more of them" in said
    assert "user.max_user_namespaces is 0" in said
    assert "ordinary user with a range of ids: " in said


def become_somebody_without_rights() -> None:
    """Root of a namespace may have none; what it may do there is taken from it (capset(2))."""
    head, nothing = struct.pack("=Ii", 0x20080522, 0), bytes(24)
    called("capset", ctypes.c_char_p(head), ctypes.c_char_p(nothing))


def refuse_unshare() -> None:
    """Lay a filter of system calls on this process that refuses unshare(2), as containers do (seccomp(2))."""
    number = {"x86_64": 272, "aarch64": 97}[platform.machine()]
    steps = [(0x20, 0, 0, 0), (0x15, 0, 1, number), (0x06, 0, 0, 0x00050000 | 1), (0x06, 0, 0, 0x7FFF0000)]
    code = ctypes.create_string_buffer(b"".join(struct.pack("=HBBI", *one) for one in steps))
    program = struct.pack("=H6xQ", len(steps), ctypes.addressof(code))
    called("prctl", 38, ctypes.c_ulong(1), 0, 0, 0)
    called("prctl", 22, ctypes.c_ulong(2), ctypes.c_char_p(program), 0, 0)


def test_a_filter_of_system_calls_is_recognised() -> None:
    def filtered() -> ways.Way:
        refuse_unshare()
        return ways.way(ways.ONE)

    said = as_ordinary(filtered)
    assert not said.works
    assert "filter of system calls (seccomp)" in said.reason


@pytest.mark.parametrize(
    ("name", "value"),
    [("kernel/unprivileged_userns_clone", "0"), ("kernel/apparmor_restrict_unprivileged_userns", "1")],
)
def test_switches_of_distributions_are_named(
    name: str, value: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # this kernel has none of them: how they would look is from memory
    place = tmp_path / name
    place.parent.mkdir(parents=True)
    place.write_text(f"{value}\n", "utf-8")
    monkeypatch.setattr(refusals, "SETTINGS", tmp_path)
    said = refusals.reason("it", PermissionError(1, "Operation not permitted"), as_root=False)
    assert f"{name.replace('/', '.')} is {value}" in said
    assert name.replace("/", ".") not in refusals.reason("it", PermissionError(1, "no"), as_root=True)


def test_a_way_of_another_name_is_refused() -> None:
    with pytest.raises(SandboxError, match="there is no way in called tunnel; there are range, one-id, root"):
        run(seen_inside, quiet, "tunnel")


# ------------------------------------------------------------------------------------------------- the host stays as it is


@pytest.fixture
def anybodys() -> Iterator[Path]:
    """A folder that any user reaches, unlike those of the test's own."""
    with TemporaryDirectory() as name:
        Path(name).chmod(0o777)
        yield Path(name)


@pytest.mark.parametrize("name", OPEN)
def test_nothing_can_be_written_on_the_host(name: str, anybodys: Path) -> None:
    mine = anybodys / "mine"
    mine.write_text("as it was", "utf-8")
    mine.chmod(0o666)
    before = Path("/proc/self/mountinfo").read_text("utf-8")
    interfaces, forwards = listed("/sys/class/net"), Path("/proc/sys/net/ipv4/ip_forward").read_text("utf-8")

    def work(_inside: Inside) -> str:
        Path("/proc/sys/net/ipv4/ip_forward").write_text("1", "utf-8")
        try:
            mine.write_text("changed", "utf-8")
        except OSError as wrong:
            return wrong.strerror or ""
        return "written"

    assert by_way(name, work) == "Read-only file system"
    assert mine.read_text("utf-8") == "as it was"
    assert Path("/proc/self/mountinfo").read_text("utf-8") == before
    assert listed("/sys/class/net") == interfaces
    assert Path("/proc/sys/net/ipv4/ip_forward").read_text("utf-8") == forwards


def test_an_older_kernel_makes_mounts_read_only_one_by_one() -> None:
    def mounts() -> str:
        unshare(NEW_MOUNTS)
        mount("none", "/", "", DEEP | PRIVATE)
        reaper.read_only_one_by_one()
        return Path("/proc/self/mountinfo").read_text("utf-8")

    def work(_inside: Inside) -> str:
        return mounts()

    told = by_way(ways.ONE, work)
    assert {line.split()[5].split(",")[0] for line in told.splitlines()} == {"ro"}
    assert reaper.plain(r"/a\040b\134c") == "/a b\\c"


def test_programs_of_root_have_no_right_over_the_machine() -> None:
    if not IS_ROOT:
        assert ways.way(ways.ROOT).reason == "root: this user is not root"
        return

    def work(inside: Inside) -> str:
        made = tree(inside.files, "files")
        done = made.ran(
            here("home"), ["sh", "-c", "grep CapEff /proc/self/status; date -s 2001-01-01; mount -t tmpfs x /tmp"]
        )
        return (done.stdout + done.stderr).decode()

    told = by_way(ways.ROOT, work)
    rights = int(told.split("CapEff:")[1].split()[0], 16)
    # capabilities(7): CAP_SYS_TIME 25, CAP_SYS_ADMIN 21, CAP_SYS_MODULE 16, CAP_MKNOD 27, CAP_SYS_BOOT 22
    assert not any(rights >> number & 1 for number in (16, 21, 22, 25, 27))
    assert "cannot set date" in told
    assert "permission denied" in told.lower()
    assert time.time() > 1_700_000_000


# ---------------------------------------------------------------------------------------------------------------- errors


class OddError(RehearsalError):
    """One that can't be packed."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"{first} and {second}")


def failing(wrong: BaseException) -> str:
    """What the driver hears of an error inside."""

    def work(_inside: Inside) -> None:
        raise wrong

    def heard() -> str:
        try:
            run(work, quiet)
        except RehearsalError as told:
            return f"{type(told).__name__}: {told}"
        return "nothing"

    return as_ordinary(heard)


def test_errors_travel_out_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(sandbox.DEBUG, raising=False)
    assert failing(RehearsalError("line 3: mend it")) == "RehearsalError: line 3: mend it"
    assert failing(OddError("this", "that")) == "RehearsalError: this and that"
    stumbled = failing(ValueError("seven"))
    assert stumbled.startswith("SandboxError: the rehearsal stumbled over a mistake of its own (ValueError: seven)")
    assert "\n" not in stumbled
    refused = failing(OSError(28, "cable p1: No space left on device"))
    assert (
        refused
        == "SandboxError: the rehearsal broke off, for the kernel refused a step: cable p1: No space left on device"
    )
    assert "SystemExit" in failing(SystemExit(0))
    monkeypatch.setenv(sandbox.DEBUG, "1")
    assert "Traceback" in failing(ValueError("seven"))


def test_a_result_that_cannot_be_handed_out_is_told() -> None:
    def heard() -> str:
        try:
            run(lambda _inside: lambda: 0, quiet)
        except SandboxError as told:
            return str(told)
        return "nothing"

    assert "pickle" in as_ordinary(heard)


@pytest.mark.parametrize(("who", "how"), [("work", "by signal 9, Killed"), ("exit", "with 3")])
def test_an_office_that_dies_tells_its_last_words(who: str, how: str) -> None:
    def work(_inside: Inside) -> None:
        os.write(2, b"no memory left\n")
        if who == "exit":
            os._exit(3)
        os.kill(os.getpid(), signal.SIGKILL)

    def heard() -> str:
        try:
            run(work, quiet)
        except SandboxError as told:
            return str(told)
        return "nothing"

    assert as_ordinary(heard) == f"the office ended before its work was done ({how}); its last words: no memory left"


# ---------------------------------------------------------------------------------------------------------------- limits


def test_this_machine_has_what_an_office_is_built_from() -> None:
    def work(inside: Inside) -> Limits:
        return limits(here("home"), inside.neighbours)

    found = by_way(ways.ONE, work)
    assert found.lacking == ()
    assert found.neighbours == int(refusals.setting(sandbox.NEIGHBOURS) or 1024)
    assert found.against(10) == ()


def test_bounds_are_told_before_they_are_met() -> None:
    assert "5000 stations need 40600" in Limits(20000, 1024).against(5000)[0]
    assert (
        Limits(20000, 1024, ("bridges (Operation not supported)",))
        .against(1)[0]
        .endswith("(Operation not supported)")
    )
    assert not Limits(1, 1024).crowded(250)
    assert Limits(1, 1024).crowded(300)
